//! From a screen's tree of elements to flat lists in drawing order, one for each locale.

use crate::behaviour::field::Field;
use crate::elements::Element;
use crate::elements::scope::{Scope, no_field};
use crate::hardware::display::KeyPlace;
use crate::limits;
use crate::project::rules::KeySpec;
use crate::project::screen::{Node, ScreenHead, What};
use crate::screen::Item;
use crate::screen::condition::{ConditionSpec, LimitSpec};
use crate::screen::crowd::crowds;
use crate::screen::guard::Guard;
use crate::screen::label::KeyLabel;
use crate::screen::layout::{Slot, arrange};
use crate::screen::place::PlaceSpec;
use crate::screen::template::Template;
use crate::screen::values::{Condition, FieldId, Limit, Test};
use crate::source::amount::At;
use crate::source::fault::{Fault, no_such};
use crate::source::spans::Span;
use embedded_graphics::prelude::Transform;
use embedded_graphics::primitives::Rectangle;
use std::sync::Arc;

/// An element settled but not yet placed.
struct Draft {
    name: String,
    kind: &'static str,
    span: Span,
    when: Vec<Condition>,
    /// Not on this screen at all; its room is kept.
    absent: bool,
}

/// What stands above an element: conditions of the groups around it, and whether they can hold on this screen.
#[derive(Clone, Default)]
struct Above {
    when: Vec<Condition>,
    absent: bool,
}

/// Settles and places a screen's elements in its area, in the scope's locale.
pub fn picture(nodes: &[Node], scope: &mut Scope<'_>, area: Rectangle) -> Vec<Item> {
    let mut drafts = Vec::new();
    let mut elements: Vec<Box<dyn Element>> = Vec::new();
    let slots = settle(nodes, &Above::default(), scope, &mut drafts, &mut elements);
    let spots = arrange(&slots, &elements, area.size);
    let crowds = crowds(&slots, &elements, &spots, area.size);
    drafts
        .into_iter()
        .zip(elements)
        .zip(spots.into_iter().zip(crowds))
        .filter(|((draft, _), _)| !draft.absent)
        .map(|((draft, element), (spot, crowd))| {
            let Draft { name, kind, span, when, .. } = draft;
            let [place, room] = [spot.area, spot.room].map(|spot| spot.translate(area.top_left));
            let (nature, operations) = (element.nature(), element.operations(place));
            Item { name, kind, nature, span, area: place, room, crowd, when, operations }
        })
        .collect()
}

/// Settles the labels of a screen's keys, in the scope's locale.
pub fn labels(head: &ScreenHead, keys: &[KeyPlace], scope: &mut Scope<'_>) -> Vec<KeyLabel> {
    let mut labels = Vec::new();
    for (index, place) in keys.iter().enumerate() {
        let key = head.keys.get(&(index + 1).to_string());
        let spec = key.map(|key| &key.value);
        labels.push(KeyLabel {
            key: index,
            span: key.map_or(0..0, |key| key.value.label.as_ref().map_or(key.span.clone(), |label| label.span.clone())),
            words: spec.map_or(Vec::new(), |spec| words(spec, scope)),
            side: place.side,
            centre: place.centre_px,
            width: place.width_px,
            acts: key.is_some_and(|key| key.value.acts()),
        });
    }
    labels
}

/// A label's words and when each is shown.
fn words(key: &KeySpec, scope: &mut Scope<'_>) -> Vec<(Guard, Template)> {
    if let Some(label) = &key.label {
        if let Some(other) = key.labels.first() {
            scope.fault(Fault::at(other.span.clone(), "a key has either `label` or `labels`"));
        }
        return scope.template(label).map(|template| (Guard::Always, template)).into_iter().collect();
    }
    let choices = &key.labels;
    let mut lists = Vec::new();
    let mut templates = Vec::new();
    for (place, choice) in choices.iter().enumerate() {
        let At { span, value: choice } = choice;
        let shown = match &choice.when {
            None if place + 1 < choices.len() => {
                let fault = Fault::at(span.clone(), "what stands after this label can never be shown");
                scope.fault(fault.help("add a `when`, or move it to the end"));
                Some(Shown::Always)
            }
            None => Some(Shown::Always),
            Some(when) => place_condition(&when.value, &when.span, scope),
        };
        let conditions = match shown {
            Some(Shown::While(condition)) => vec![condition],
            Some(Shown::Always) | None => Vec::new(),
            Some(Shown::Never) => continue,
        };
        lists.push(conditions);
        templates.push(scope.template(&choice.text));
    }
    let lists = Arc::new(lists);
    let guarded =
        |(place, template): (usize, Option<Template>)| Some((Guard::First { lists: lists.clone(), place }, template?));
    templates.into_iter().enumerate().filter_map(guarded).collect()
}

fn settle<'n>(
    nodes: &'n [Node],
    above: &Above,
    scope: &mut Scope<'_>,
    drafts: &mut Vec<Draft>,
    elements: &mut Vec<Box<dyn Element>>,
) -> Vec<Slot<'n>> {
    let mut slots = Vec::new();
    for node in nodes {
        if elements.len() >= limits::ELEMENTS {
            let fault =
                Fault::at(node.span.clone(), format!("a screen may have at most {} elements", limits::ELEMENTS));
            scope.fault(fault);
            break;
        }
        let mut under = above.clone();
        if let Some(spec) = &node.place.when {
            match place_condition(&spec.value, &spec.span, scope) {
                Some(Shown::Always) | None => {}
                Some(Shown::Never) => under.absent = true,
                Some(Shown::While(condition)) => under.when.push(condition),
            }
        }
        match &node.what {
            What::Group(group, children) => {
                slots.push(Slot::Group(&node.place, group, settle(children, &under, scope, drafts, elements)));
            }
            What::Leaf(kind, spec) => {
                let Some(element) = spec.resolve(scope) else { continue };
                slots.push(Slot::Leaf(&node.place, elements.len()));
                let Above { when, absent } = under;
                drafts.push(Draft { name: name(&node.place), kind, span: node.span.clone(), when, absent });
                elements.push(element);
            }
        }
    }
    slots
}

fn name(place: &PlaceSpec) -> String {
    place.name.clone().unwrap_or_default()
}

/// When an element is shown on one screen.
enum Shown {
    Always,
    Never,
    While(Condition),
}

/// The condition of an element: on a field or on the flow. Faults are noted.
fn place_condition(spec: &ConditionSpec, span: &Span, scope: &mut Scope<'_>) -> Option<Shown> {
    if let Some(only) = spec.lasts.as_ref().map(|at| &at.span).or(spec.after.as_ref().map(|at| &at.span)) {
        let fault = Fault::at(only.clone(), "only `while` asks for a time after something");
        scope.fault(fault.help("for what an event leaves on the screen write { event = \"...\" }"));
        return None;
    }
    let asked = [spec.field.is_some(), spec.screen.is_some(), spec.from_screen.is_some(), spec.event.is_some()];
    let tests = spec.below.is_some() || spec.from.is_some() || spec.is.is_some();
    if asked.iter().filter(|asked| **asked).count() != 1 || (tests && spec.field.is_none()) {
        let fault = Fault::at(span.clone(), "a condition asks one of `field`, `screen`, `from-screen` and `event`");
        scope.fault(fault.help("write { field = \"...\", below = 15 }, or { screen = \"...\" }"));
        return None;
    }
    if let Some(screens) = &spec.screen {
        let known = screens.value.names().iter().all(|name| screen(name, &screens.span, scope).is_some());
        let here = screens.value.names().iter().any(|name| name == scope.screen);
        return known.then_some(if here { Shown::Always } else { Shown::Never });
    }
    if let Some(from) = &spec.from_screen {
        let wanted = screen(&from.value, &from.span, scope)?;
        return Some(Shown::While(Condition { field: scope.flow_state.before?, test: Test::Is(wanted as f64) }));
    }
    if let Some(name) = &spec.event {
        let Some(event) = scope.events.iter().position(|event| event.name == name.value) else {
            let known = scope.events.iter().map(|event| event.name.as_str());
            let fault = no_such("event", "events", (&name.value, &name.span), known);
            scope.fault(fault.or_help(format!("add it to device.toml: [events.{}]", name.value)));
            return None;
        };
        let field = scope.flow_state.happened.get(event).copied().flatten()?;
        return Some(Shown::While(Condition { field, test: Test::Is(1.0) }));
    }
    condition(spec, span, scope.fields, scope.faults).map(Shown::While)
}

/// The position of a screen.
fn screen(name: &str, span: &Span, scope: &mut Scope<'_>) -> Option<usize> {
    let found = scope.screens.iter().position(|id| id == name);
    if found.is_none() {
        scope.fault(no_such("screen", "screens", (name, span), scope.screens.iter().map(String::as_str)));
    }
    found
}

/// A condition on a field, found. Faults are noted.
pub fn condition(spec: &ConditionSpec, span: &Span, fields: &[Field], faults: &mut Vec<Fault>) -> Option<Condition> {
    let Some(asked) = spec.field.as_ref().filter(|_| !spec.asks_the_flow()) else {
        let fault = Fault::at(
            span.clone(),
            "only elements, labels and `while` can ask where the flow is; this condition asks a field",
        );
        faults.push(fault.help("write { field = \"...\", below = 15 }"));
        return None;
    };
    let mut find = |name: &At<String>| {
        let found = fields.iter().position(|field| field.name == name.value).map(FieldId);
        if found.is_none() {
            faults.push(no_field(name, fields));
        }
        found
    };
    let field = find(asked)?;
    let mut limit = |limit: &At<LimitSpec>| match &limit.value {
        LimitSpec::Number(number) => Some(Limit::Number(*number)),
        LimitSpec::Field(name) => find(&At { span: limit.span.clone(), value: name.clone() }).map(Limit::Field),
    };
    let test = match (&spec.below, &spec.from, spec.is) {
        (Some(below), None, None) => Test::Below(limit(below)?),
        (None, Some(from), None) => Test::From(limit(from)?),
        (None, None, Some(wanted)) => Test::Is(wanted),
        _ => {
            let fault = Fault::at(span.clone(), "a condition needs exactly one of `below`, `from` and `is`");
            faults.push(fault.help("write { field = \"...\", below = 15 }"));
            return None;
        }
    };
    Some(Condition { field, test })
}

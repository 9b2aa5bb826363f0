//! From a screen's tree of elements to flat lists in drawing order, one for each locale.

use super::scope::{Scope, no_field};
use crate::design::amount::At;
use crate::design::fault::Fault;
use crate::design::project::{ConditionSpec, LimitSpec};
use crate::design::screen::{Node, Place, What};
use crate::flow::field::Field;
use crate::limits;
use crate::screen::Item;
use crate::screen::elements::Element;
use crate::screen::layout::{Slot, arrange};
use crate::screen::values::{Condition, FieldId, Limit, Test};
use embedded_graphics::prelude::Size;

/// An element settled but not yet placed.
struct Draft {
    name: String,
    kind: &'static str,
    span: crate::design::source::Span,
    when: Vec<Condition>,
}

/// Settles and places a screen's elements in the scope's locale.
pub fn picture(nodes: &[Node], scope: &mut Scope<'_>, size: Size) -> Vec<Item> {
    let mut drafts = Vec::new();
    let mut elements: Vec<Box<dyn Element>> = Vec::new();
    let slots = settle(nodes, &[], scope, &mut drafts, &mut elements);
    let spots = arrange(&slots, &elements, size);
    drafts
        .into_iter()
        .zip(elements)
        .zip(spots)
        .map(|((draft, element), spot)| {
            let Draft { name, kind, span, when } = draft;
            Item { name, kind, span, area: spot.area, room: spot.room, when, element }
        })
        .collect()
}

fn settle<'n>(
    nodes: &'n [Node],
    above: &[Condition],
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
        let mut when = above.to_vec();
        if let Some(spec) = &node.place.when {
            when.extend(condition(&spec.value, &spec.span, scope.fields, scope.faults));
        }
        match &node.what {
            What::Group(group, children) => {
                slots.push(Slot::Group(&node.place, group, settle(children, &when, scope, drafts, elements)));
            }
            What::Leaf(kind, spec) => {
                let Some(element) = spec.resolve(scope) else { continue };
                slots.push(Slot::Leaf(&node.place, elements.len()));
                drafts.push(Draft { name: name(&node.place), kind, span: node.span.clone(), when });
                elements.push(element);
            }
        }
    }
    slots
}

fn name(place: &Place) -> String {
    place.name.clone().unwrap_or_default()
}

/// A condition with its field found. Faults are noted.
pub fn condition(
    spec: &ConditionSpec,
    span: &crate::design::source::Span,
    fields: &[Field],
    faults: &mut Vec<Fault>,
) -> Option<Condition> {
    let mut find = |name: &At<String>| {
        let found = fields.iter().position(|field| field.name == name.value).map(FieldId);
        if found.is_none() {
            faults.push(no_field(name, fields));
        }
        found
    };
    let field = find(&spec.field)?;
    let mut limit = |limit: &At<LimitSpec>| match &limit.value {
        LimitSpec::Number(number) => Some(Limit::Number(*number)),
        LimitSpec::Field(name) => find(&At { span: limit.span.clone(), value: name.clone() }).map(Limit::Field),
    };
    let test = match (&spec.below, &spec.from, spec.is) {
        (Some(below), None, None) => Test::Below(limit(below)?),
        (None, Some(from), None) => Test::From(limit(from)?),
        (None, None, Some(wanted)) => Test::Is(wanted),
        _ => {
            let fault = Fault::at(span.clone(), "a condition has exactly one of `below`, `from` and `is`");
            faults.push(fault.help("write { field = \"...\", below = 15 }"));
            return None;
        }
    };
    Some(Condition { field, test })
}

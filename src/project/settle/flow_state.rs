//! Which flow states the conditions of elements ask for, and the fields made to hold them. Not for changing them; see
//! [`crate::behaviour::flow_state`].

use super::screens::condition;
use crate::behaviour::Event;
use crate::behaviour::field::{Field, Motion, Renewal};
use crate::behaviour::flow_state::FlowState;
use crate::project::device::ProjectSpec;
use crate::project::screen::{Node, ScreenSpec, What};
use crate::screen::condition::ConditionSpec;
use crate::screen::template::Piece;
use crate::screen::values::FieldId;
use crate::screen::values::{Condition, Test};
use crate::source::amount::At;
use crate::source::fault::{Fault, nearest};
use crate::source::spans::Span;

/// Adds the fields that conditions need; names that do not exist are reported where the condition is settled.
pub fn flow_state(
    screens: &[(String, ScreenSpec)],
    project: &ProjectSpec,
    events: &[Event],
    locales: usize,
    fields: &mut Vec<Field>,
) -> FlowState {
    let mut before = None;
    let mut happened: Vec<Option<Span>> = vec![None; events.len()];
    for (_, screen) in screens {
        let mut see = |spec: &ConditionSpec, span: &Span| {
            if spec.from_screen.is_some() {
                before.get_or_insert(span.clone());
            }
            let event = spec.event.as_ref().and_then(|name| events.iter().position(|event| event.name == name.value));
            if let Some(event) = event {
                happened[event].get_or_insert(span.clone());
            }
        };
        look(&screen.content, &mut see);
        for choice in screen.head.keys.values().flat_map(|key| &key.value.labels) {
            choice.value.when.iter().for_each(|when| see(&when.value, &when.span));
        }
    }
    let mut add = |name: String, span: Span, texts: Vec<String>, sample: f64| {
        let id = FieldId(fields.len());
        let piece = Piece::Choice { field: id, texts: texts.clone() };
        fields.push(Field {
            name,
            span,
            unit: String::new(),
            units: None,
            within: None,
            text: Vec::new(),
            range: [0.0, texts.len().saturating_sub(1) as f64],
            step: 1.0,
            only: Vec::new(),
            pieces: vec![piece; locales],
            sample,
            renewal: Renewal::Never,
            motion: Motion::Still,
            history: 0,
        });
        id
    };
    let ids: Vec<String> = screens.iter().map(|(id, _)| id.clone()).collect();
    let whiles = project.events.values().filter_map(|at| at.value.only.as_ref());
    let whiles = whiles.chain(project.board.loads.values().filter_map(|at| at.value.only.as_ref()));
    let whiles = whiles.chain(project.fields.values().filter_map(|at| at.value.only.as_ref()));
    let front = whiles.filter(|only| only.value.screen.is_some()).map(|only| only.span.clone()).next();
    let front = front.map(|span| add("screen in front".into(), span, ids.clone(), f64::NAN));
    let before = before.map(|span| add("screen before".into(), span, ids, f64::NAN));
    let words = || ["no", "yes"].map(str::to_owned).to_vec();
    let happened = events
        .iter()
        .zip(happened)
        .map(|(event, span)| span.map(|span| add(format!("{} since entry", event.name), span, words(), 0.0)));
    FlowState { before, front, happened: happened.collect() }
}

/// Every condition in a tree of elements.
fn look(nodes: &[Node], see: &mut impl FnMut(&crate::screen::condition::ConditionSpec, &Span)) {
    for node in nodes {
        if let Some(when) = &node.place.when {
            see(&when.value, &when.span);
        }
        if let What::Group(_, children) = &node.what {
            look(children, see);
        }
    }
}

/// What must hold while an event may happen or a field is sampled: a field's condition, or a screen in front.
pub fn only(
    spec: Option<&At<ConditionSpec>>,
    screens: &[String],
    flow_state: &FlowState,
    fields: &[Field],
    faults: &mut Vec<Fault>,
) -> Vec<Condition> {
    let Some(spec) = spec else { return Vec::new() };
    let Some(names) = &spec.value.screen else {
        return condition(&spec.value, &spec.span, fields, faults).into_iter().collect();
    };
    let [name] = names.value.names() else {
        let fault = Fault::at(names.span.clone(), "`while` asks for one screen");
        faults.push(fault.help("write while = { screen = \"...\" }"));
        return Vec::new();
    };
    let Some(screen) = screens.iter().position(|id| id == name) else {
        let fault = Fault::at(names.span.clone(), format!("there is no screen `{name}`"));
        faults.push(fault.help(nearest(name, screens.iter().map(String::as_str)).unwrap_or_default()));
        return Vec::new();
    };
    flow_state.front.map(|field| Condition { field, test: Test::Is(screen as f64) }).into_iter().collect()
}

//! Which flow states conditions ask for, and the fields made to hold them. Not for changing them; see
//! [`crate::behaviour::flow_state`]. What `while` says is [`super::whiles`]'s.

use super::whiles::Asked;
use crate::behaviour::field::{Field, Motion, Renewal};
use crate::behaviour::flow_state::{FlowState, Recent};
use crate::project::device::ProjectSpec;
use crate::project::screen::{Node, ScreenSpec, What};
use crate::screen::condition::{ConditionSpec, WhileSpec};
use crate::screen::template::Piece;
use crate::screen::values::FieldId;
use crate::source::spans::Span;
use crate::units::plain_time;

/// Adds the fields that conditions need; names that do not exist are reported where the condition is settled.
pub fn flow_state(
    screens: &[(String, ScreenSpec)],
    project: &ProjectSpec,
    names: &Asked<'_>,
    locales: usize,
    fields: &mut Vec<Field>,
) -> FlowState {
    let events = names.events;
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
            quantity: None,
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
    let whiles = whiles(project);
    let front = whiles.iter().find(|(only, _)| only.screen.is_some()).map(|(_, span)| (*span).clone());
    let front = front.map(|span| add("screen in front".into(), span, ids.clone(), f64::NAN));
    let before = before.map(|span| add("screen before".into(), span, ids, f64::NAN));
    let words = || ["no", "yes"].map(str::to_owned).to_vec();
    let happened = events
        .iter()
        .zip(happened)
        .map(|(event, span)| span.map(|span| add(format!("{} since entry", event.name), span, words(), 0.0)));
    let happened: Vec<Option<FieldId>> = happened.collect();
    let mut recent: Vec<Recent> = Vec::new();
    for (only, span) in whiles {
        let Some((cause, lasts)) = names.time(only) else { continue };
        if !recent.iter().any(|known| known.cause == cause && known.lasts == lasts) {
            let name = format!("within {} of {}", plain_time(lasts), names.cause(cause));
            recent.push(Recent { cause, lasts, field: add(name, span.clone(), words(), 0.0) });
        }
    }
    FlowState { before, front, happened, recent }
}

/// Every condition of a `while`, with its place.
fn whiles(project: &ProjectSpec) -> Vec<(&ConditionSpec, &Span)> {
    let events = project.events.values().filter_map(|at| at.value.only.as_ref());
    let loads = project.board.loads.values().filter_map(|at| at.value.only.as_ref());
    let fields = project.fields.values().filter_map(|at| at.value.only.as_ref());
    events.chain(loads).chain(fields).flat_map(WhileSpec::each).collect()
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

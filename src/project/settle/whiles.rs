//! What `while` says: what must hold so that an event may happen, a field is sampled, a load draws. Not for the fields that
//! hold flow states; see [`super::flow_state`].

use super::screens::condition;
use crate::behaviour::field::Field;
use crate::behaviour::flow_state::{After, FlowState};
use crate::behaviour::{Event, EventId};
use crate::limits;
use crate::project::device::ProjectSpec;
use crate::screen::ScreenId;
use crate::screen::condition::{CauseKey, CauseSpec, ConditionSpec, WhileSpec};
use crate::screen::values::{Condition, Test};
use crate::source::amount::At;
use crate::source::fault::{Fault, Table, no_such};
use crate::source::spans::Span;
use crate::units::{Seconds, plain_time};

/// The names that a `while` may ask for.
pub struct Asked<'a> {
    /// The ids of the screens and boxes.
    pub screens: &'a [String],
    /// The events.
    pub events: &'a [Event],
    /// How many keys there are.
    pub keys: usize,
}

impl Asked<'_> {
    /// The time after something that a condition asks for, where it does and its names exist.
    pub fn time(&self, spec: &ConditionSpec) -> Option<(After, Seconds)> {
        let lasts = spec.lasts.as_ref()?.value.0;
        let [least, most] = limits::AFTER;
        Some((self.find(&spec.after.as_ref()?.value)?, Seconds(lasts.0.clamp(least.0, most.0))))
    }

    fn find(&self, cause: &CauseSpec) -> Option<After> {
        match cause {
            CauseSpec::Key(CauseKey::Any(_)) => Some(After::Key(None)),
            CauseSpec::Key(CauseKey::Number(number)) => {
                let key = usize::try_from(*number).ok()?.checked_sub(1)?;
                (key < self.keys).then_some(After::Key(Some(key)))
            }
            CauseSpec::Screen(name) => {
                self.screens.iter().position(|id| id == name).map(|at| After::Entry(ScreenId(at)))
            }
            CauseSpec::Event(name) => {
                self.events.iter().position(|event| event.name == *name).map(|at| After::Event(EventId(at)))
            }
        }
    }

    /// A cause in words.
    pub fn cause(&self, cause: After) -> String {
        let screen = |id: ScreenId| self.screens.get(id.0).map_or("", String::as_str);
        match cause {
            After::Key(None) => "any key".into(),
            After::Key(Some(key)) => format!("key {}", key + 1),
            After::Entry(id) => format!("screen {}", screen(id)),
            After::Event(id) => format!("event {}", self.events.get(id.0).map_or("", |event| event.name.as_str())),
        }
    }

    /// What there is no cause of.
    fn no_cause(&self, cause: &CauseSpec, span: &Span) -> Fault {
        match cause {
            CauseSpec::Key(_) => {
                let help = format!("the keys are 1 to {}; \"any\" stands for all of them", self.keys);
                Fault::at(span.clone(), "there is no such key").follows(Table::Display).help(help)
            }
            CauseSpec::Screen(name) => {
                no_such("screen", "screens", (name, span), self.screens.iter().map(String::as_str))
            }
            CauseSpec::Event(name) => {
                let known = self.events.iter().map(|event| event.name.as_str());
                let fault = no_such("event", "events", (name, span), known);
                fault.or_help(format!("add it to device.toml: [events.{name}]"))
            }
        }
    }
}

/// The conditions of a `while`, found; without one none. Faults are noted.
pub fn conditions(
    spec: Option<&At<WhileSpec>>,
    asked: &Asked<'_>,
    flow_state: &FlowState,
    fields: &[Field],
    faults: &mut Vec<Fault>,
) -> Vec<Condition> {
    let each = spec.map(WhileSpec::each).unwrap_or_default();
    each.into_iter().filter_map(|(spec, span)| one(spec, span, asked, flow_state, fields, faults)).collect()
}

/// Events that happen only for a time after themselves: none of them ever begins.
pub fn after_themselves(events: &[Event], flow_state: &FlowState, project: &ProjectSpec) -> Vec<Fault> {
    let asks = |index: usize, event: &Event| {
        let own = flow_state.recent.iter().filter(|recent| recent.cause == After::Event(EventId(index)));
        let fields: Vec<_> = own.map(|recent| recent.field).collect();
        event.only.iter().any(|condition| fields.contains(&condition.field))
    };
    let never = events.iter().enumerate().filter(|(index, event)| asks(*index, event));
    let fault = |(_, event): (usize, &Event)| {
        let span = project.events.get(&event.name)?.value.only.as_ref()?.span.clone();
        let fault = Fault::at(span, format!("the event `{}` waits for itself: it never happens", event.name));
        Some(fault.help("let it be after a key, a screen or another event"))
    };
    never.filter_map(fault).collect()
}

fn one(
    spec: &ConditionSpec,
    span: &Span,
    asked: &Asked<'_>,
    flow_state: &FlowState,
    fields: &[Field],
    faults: &mut Vec<Fault>,
) -> Option<Condition> {
    let timed = spec.lasts.is_some() || spec.after.is_some();
    let tests = spec.below.is_some() || spec.from.is_some() || spec.is.is_some() || spec.field.is_some();
    if spec.from_screen.is_some()
        || spec.event.is_some()
        || [spec.screen.is_some(), timed, tests].iter().filter(|one| **one).count() != 1
    {
        let fault = Fault::at(
            span.clone(),
            "a condition of `while` asks one of a field, a screen in front, and a time after something",
        );
        faults.push(fault.help(
            "write { field = \"...\", below = 15 }, { screen = \"...\" } or { for = \"10 s\", after = { key = \"any\" } }; several stand in a list",
        ));
        return None;
    }
    if timed {
        return after(spec, span, asked, flow_state, faults);
    }
    let Some(names) = &spec.screen else { return condition(spec, span, fields, faults) };
    let [name] = names.value.names() else {
        let fault = Fault::at(names.span.clone(), "`while` asks for one screen");
        faults.push(fault.help("write while = { screen = \"...\" }"));
        return None;
    };
    let Some(screen) = asked.screens.iter().position(|id| id == name) else {
        faults.push(asked.no_cause(&CauseSpec::Screen(name.clone()), &names.span));
        return None;
    };
    flow_state.front.map(|field| Condition { field, test: Test::Is(screen as f64) })
}

/// A time after something.
fn after(
    spec: &ConditionSpec,
    span: &Span,
    asked: &Asked<'_>,
    flow_state: &FlowState,
    faults: &mut Vec<Fault>,
) -> Option<Condition> {
    let (Some(lasts), Some(cause)) = (&spec.lasts, &spec.after) else {
        let fault = Fault::at(span.clone(), "a time after something needs `for` and `after`");
        faults.push(fault.help("write { for = \"10 s\", after = { key = \"any\" } }, or after = { screen = \"...\" } or { event = \"...\" }"));
        return None;
    };
    let [least, most] = limits::AFTER;
    if !(least..=most).contains(&lasts.value.0) {
        let range = format!("expected {} to {}", plain_time(least), plain_time(most));
        faults.push(Fault::at(lasts.span.clone(), "a time after something is out of range").label(range));
        return None;
    }
    let Some((wanted, lasts)) = asked.time(spec) else {
        faults.push(asked.no_cause(&cause.value, &cause.span));
        return None;
    };
    let known = flow_state.recent.iter().find(|recent| recent.cause == wanted && recent.lasts == lasts);
    known.map(|recent| Condition { field: recent.field, test: Test::Is(1.0) })
}

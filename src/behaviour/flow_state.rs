//! What a running device remembers of its own flow for conditions: the screen before, which events have happened since
//! the screen was entered, and what happened so short a time ago that a `while` still holds. Kept as fields, so that
//! redraws, lints and exports treat them like any other value; firmware sets them itself.

use super::EventId;
use crate::screen::ScreenId;
use crate::screen::values::{FieldId, Values};
use crate::units::Seconds;

/// The fields that hold flow states; only those that a condition asks for exist.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FlowState {
    /// Holds the position of the screen before; missing (NaN) where there was none.
    pub before: Option<FieldId>,
    /// Holds the position of the screen or box in front.
    pub front: Option<FieldId>,
    /// For each event the field that is 1 once it has happened on the screen shown, 0 until then.
    pub happened: Vec<Option<FieldId>>,
    /// Times after something, each once.
    pub recent: Vec<Recent>,
}

/// A field that is 1 from a cause on for some time, and 0 else; each time that the cause happens the time begins anew.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Recent {
    /// The cause.
    pub cause: After,
    /// How long.
    pub lasts: Seconds,
    /// The field.
    pub field: FieldId,
}

/// After what a time counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum After {
    /// A key goes down, or does something by being kept down or let go; `None`: any key.
    Key(Option<usize>),
    /// A screen is entered, or a box opens.
    Entry(ScreenId),
    /// An event happens.
    Event(EventId),
}

impl After {
    /// Whether what happened, told as one key, entry or event, is this cause.
    pub fn is(self, what: Self) -> bool {
        self == what || matches!((self, what), (Self::Key(None), Self::Key(_)))
    }
}

impl FlowState {
    /// A screen is entered from another.
    pub fn enter(&self, values: &mut Values, from: ScreenId) {
        self.before.into_iter().for_each(|field| keep(values, field, from.0 as f64));
        self.happened.iter().flatten().for_each(|field| keep(values, *field, 0.0));
    }

    /// Another screen or box is in front.
    pub fn show(&self, values: &mut Values, front: ScreenId) {
        self.front.into_iter().for_each(|field| keep(values, field, front.0 as f64));
    }

    /// Whether a field holds a time after something.
    pub fn is_recent(&self, field: FieldId) -> bool {
        self.recent.iter().any(|recent| recent.field == field)
    }

    /// Something happens after which times count; the positions of those times are told.
    pub fn begin(&self, values: &mut Values, what: After, begun: &mut Vec<usize>) {
        for (index, recent) in self.recent.iter().enumerate().filter(|(_, recent)| recent.cause.is(what)) {
            keep(values, recent.field, 1.0);
            begun.push(index);
        }
    }

    /// A time after something is over.
    pub fn end(&self, values: &mut Values, recent: usize) {
        self.recent.get(recent).into_iter().for_each(|recent| keep(values, recent.field, 0.0));
    }

    /// An event happens on the screen shown.
    pub fn happen(&self, values: &mut Values, event: EventId) {
        self.happened.get(event.0).into_iter().flatten().for_each(|field| keep(values, *field, 1.0));
    }
}

/// Sets a field where that changes it.
fn keep(values: &mut Values, field: FieldId, value: f64) {
    if values.of(field) != value {
        values.put(field, value);
    }
}

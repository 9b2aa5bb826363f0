//! What a running device remembers of its own flow for conditions on elements: the screen before, and which events have
//! happened since the screen was entered. Kept as fields, so that redraws, lints and exports treat them like any other
//! value; firmware sets them itself.

use super::EventId;
use crate::screen::ScreenId;
use crate::screen::values::{FieldId, Values};

/// The fields that hold flow states; only those that a condition asks for exist.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FlowState {
    /// Holds the position of the screen before; missing (NaN) where there was none.
    pub before: Option<FieldId>,
    /// Holds the position of the screen or box in front.
    pub front: Option<FieldId>,
    /// For each event the field that is 1 once it has happened on the screen shown, 0 until then.
    pub happened: Vec<Option<FieldId>>,
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

//! The live values of one moment: what the fields hold, and their history for charts.

use jiff::SignedDuration;
use jiff::civil::DateTime;
use std::sync::Arc;

/// The position of a field in [`crate::device::Device::fields`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FieldId(pub usize);

/// What every field holds at one moment.
#[derive(Clone, Debug)]
pub struct Values {
    /// Midnight of the first day, from which times count.
    pub start: DateTime,
    /// Current value of each field: a number, a choice's position, or seconds after the start.
    pub now: Vec<f64>,
    /// Past values of each field, oldest first; NaN where a sample is missing. Shared by copies until one changes.
    pub past: Arc<Vec<Vec<f64>>>,
    /// How often each field was changed, so that what shows it knows when to be drawn anew.
    pub version: Vec<u64>,
}

impl Values {
    /// The current value of a field.
    pub fn of(&self, field: FieldId) -> f64 {
        self.now[field.0]
    }

    /// The value of a field so many samples ago, 0 being the present one; missing (NaN) beyond what is kept.
    pub fn back(&self, field: FieldId, samples: usize) -> f64 {
        match samples {
            0 => self.of(field),
            _ => self.past[field.0].iter().rev().nth(samples).copied().unwrap_or(f64::NAN),
        }
    }

    /// A field's value as one of so many choices: the nearest, the first where it is missing.
    pub fn choice(&self, field: FieldId, choices: usize) -> usize {
        // The cast makes 0 of a missing value and of a negative one.
        (self.of(field).round() as usize).min(choices.saturating_sub(1))
    }

    /// The moment so many seconds after the start; the nearest that the calendar has where that is too far.
    pub fn moment(&self, seconds: f64) -> DateTime {
        // The cast makes 0 of a missing value.
        self.start.saturating_add(SignedDuration::from_secs(seconds as i64))
    }

    /// Past values of a field, oldest first, as many as the charts ask for.
    pub fn past(&self, field: FieldId) -> &[f64] {
        &self.past[field.0]
    }

    /// Sets a field and leaves its history as it is.
    pub fn put(&mut self, field: FieldId, value: f64) {
        self.version[field.0] += u64::from(self.now[field.0].to_bits() != value.to_bits());
        self.now[field.0] = value;
    }

    /// Sets a field and appends the value to its history, which keeps its length.
    pub fn set(&mut self, field: FieldId, value: f64) {
        self.put(field, value);
        if !self.past[field.0].is_empty() {
            let past = &mut Arc::make_mut(&mut self.past)[field.0];
            self.version[field.0] += 1;
            past.rotate_left(1);
            if let Some(last) = past.last_mut() {
                *last = value;
            }
        }
    }
}

/// A condition on a field.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Condition {
    /// The field asked.
    pub field: FieldId,
    /// What must hold.
    pub test: Test,
}

/// A test of a value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Test {
    /// Below a number.
    Below(Limit),
    /// At or above a number.
    From(Limit),
    /// Equal to a number.
    Is(f64),
}

/// A number or another field's value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Limit {
    /// A number.
    Number(f64),
    /// A field.
    Field(FieldId),
}

impl Limit {
    /// The number of the moment.
    pub fn of(self, values: &Values) -> f64 {
        match self {
            Self::Number(number) => number,
            Self::Field(field) => values.of(field),
        }
    }

    /// The number that it states.
    pub fn number(self) -> Option<f64> {
        match self {
            Self::Number(number) => Some(number),
            Self::Field(_) => None,
        }
    }

    /// The field whose value it is.
    pub fn field(self) -> Option<FieldId> {
        match self {
            Self::Number(_) => None,
            Self::Field(field) => Some(field),
        }
    }
}

impl Condition {
    /// Whether it holds.
    pub fn holds(&self, values: &Values) -> bool {
        let value = values.of(self.field);
        match self.test {
            Test::Below(limit) => value < limit.of(values),
            Test::From(limit) => value >= limit.of(values),
            Test::Is(wanted) => value == wanted,
        }
    }

    /// The fields it reads.
    pub fn fields(&self) -> Vec<FieldId> {
        match self.test {
            Test::Below(Limit::Field(other)) | Test::From(Limit::Field(other)) => vec![self.field, other],
            _ => vec![self.field],
        }
    }
}

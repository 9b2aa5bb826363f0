//! When an operation is drawn, and where a value stands on a scale.
//!
//! Not for the conditions that a designer writes; see [`super::condition`].

use super::values::{Condition, FieldId, Limit, Values};
use std::sync::Arc;

/// When an operation is drawn, beside the conditions of its element.
#[derive(Clone, Debug)]
pub enum Guard {
    /// Always.
    Always,
    /// Where a field's value is missing.
    Missing(Level),
    /// Where a field's share is above a number, or where it is not (a missing value is not).
    Above {
        /// The field on its scale.
        level: Level,
        /// The share.
        share: f64,
        /// Drawn where it is above; else where it is not.
        holds: bool,
    },
    /// Where a field, rounded, is a number, or where it is not.
    Is {
        /// The field.
        field: FieldId,
        /// The number.
        number: f64,
        /// Drawn where it is; else where it is not.
        holds: bool,
    },
    /// Where a field chooses this one of so many; the nearest one where it chooses none.
    Choice {
        /// The field.
        field: FieldId,
        /// Which one, counted from 0.
        place: usize,
        /// How many.
        of: usize,
    },
    /// Where of several lists of conditions this one is the first of which all hold.
    First {
        /// The lists.
        lists: Arc<Vec<Vec<Condition>>>,
        /// Which one.
        place: usize,
    },
    /// Where all of these hold.
    All(Vec<Guard>),
}

/// A field on a scale.
#[derive(Clone, Copy, Debug)]
pub struct Level {
    /// The field.
    pub field: FieldId,
    /// Values at the empty and the full end.
    pub scale: [f64; 2],
}

/// A limit on a scale.
#[derive(Clone, Copy, Debug)]
pub struct Threshold {
    /// The limit.
    pub limit: Limit,
    /// Values at the empty and the full end.
    pub scale: [f64; 2],
}

impl Level {
    /// Where the value stands from the empty end, 0, to the full end, 1; not a number where it is missing.
    pub fn share(&self, values: &Values) -> f64 {
        share(values.of(self.field), self.scale)
    }
}

impl Threshold {
    /// Where the limit stands from the empty end, 0, to the full end, 1; `None` where it is not known.
    pub fn share(&self, values: &Values) -> Option<f64> {
        Some(share(self.limit.of(values), self.scale)).filter(|share| !share.is_nan())
    }
}

/// A value's place on a scale, from the empty end, 0, to the full end, 1.
pub fn share(value: f64, [low, high]: [f64; 2]) -> f64 {
    (value - low) / (high - low)
}

/// The nearest whole number; of two that are as near the upper one, also where sums of decimals came out a hair below. So
/// arithmetic in whole numbers, as firmware does it, comes to the same.
pub fn nearest(number: f64) -> f64 {
    (number + 0.5 + HAIR).floor()
}

/// What sums of decimals may fall short of the exact number.
pub const HAIR: f64 = 1e-9;

impl Guard {
    /// Whether it holds.
    #[inline]
    pub fn holds(&self, values: &Values) -> bool {
        // Most operations are always drawn, which is seen without a call.
        matches!(self, Self::Always) || self.holds_with(values)
    }

    fn holds_with(&self, values: &Values) -> bool {
        match self {
            Self::Always => true,
            Self::Missing(level) => level.share(values).is_nan(),
            Self::Above { level, share, holds } => (level.share(values) > *share) == *holds,
            Self::Is { field, number, holds } => (values.of(*field).round() == *number) == *holds,
            Self::Choice { field, place, of } => values.choice(*field, *of) == *place,
            Self::First { lists, place } => {
                let holds = |list: &Vec<Condition>| list.iter().all(|condition| condition.holds(values));
                lists.iter().position(holds) == Some(*place)
            }
            Self::All(guards) => guards.iter().all(|guard| guard.holds(values)),
        }
    }

    /// The fields that it asks.
    pub fn fields(&self) -> Vec<FieldId> {
        match self {
            Self::Always => Vec::new(),
            Self::Missing(level) | Self::Above { level, .. } => vec![level.field],
            Self::Is { field, .. } | Self::Choice { field, .. } => vec![*field],
            Self::First { lists, place } => {
                lists.iter().take(place + 1).flatten().flat_map(Condition::fields).collect()
            }
            Self::All(guards) => guards.iter().flat_map(Self::fields).collect(),
        }
    }

    /// Whether what it guards stands in the place of something else with the same words.
    pub fn repeats(&self) -> bool {
        match self {
            Self::Is { holds, .. } => *holds,
            Self::All(guards) => guards.iter().any(Self::repeats),
            _ => false,
        }
    }
}

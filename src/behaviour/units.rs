//! Units that a setting chooses for a field, and what the chosen one means for changes of the field's value.

use super::field::Field;
use crate::screen::shown::Scale;
use crate::screen::values::{FieldId, Values};

/// The units that a field can be shown in, and the field that chooses.
#[derive(Clone, Debug, PartialEq)]
pub struct Units {
    /// Its values 0, 1, 2, ... are the units.
    pub by: FieldId,
    /// The units; the first is the field's own.
    pub units: Vec<Unit>,
}

/// One unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    /// As it is written after the number.
    pub name: String,
    /// From the field's own unit to this one.
    pub scale: Scale,
    /// Decimals shown.
    pub decimals: usize,
}

/// Within what a change of a field stays, and in which steps it goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Smallest and largest value of the moment, in the field's own unit.
    pub range: [f64; 2],
    /// What lies between two neighbouring values, in the unit shown.
    pub step: f64,
    /// The unit shown.
    pub scale: Scale,
    /// Values are whole numbers of the last decimal: no other unit can leave parts of it.
    pub whole: bool,
}

impl Units {
    /// The unit of the moment.
    pub fn chosen(&self, values: &Values) -> Option<&Unit> {
        self.units.get(values.choice(self.by, self.units.len()))
    }
}

impl Bounds {
    /// The ends and the step of a field whose unit is its own.
    pub fn plain(range: [f64; 2], step: f64) -> Self {
        Self { range, step, scale: Scale::OWN, whole: true }
    }

    /// The value after `amount` more in the unit shown. In another unit than the field's own, the change goes from the
    /// number that is seen, so that what is seen afterwards is that number and the amount.
    pub fn moved(&self, value: f64, amount: f64) -> f64 {
        if self.scale == Scale::OWN {
            return value + amount;
        }
        let seen = (self.scale.shown(value) / self.step).round() * self.step;
        self.scale.held(seen + amount)
    }

    /// Whether a value lies within, a hair of conversion aside.
    pub fn hold(&self, value: f64) -> bool {
        let [low, high] = self.range;
        let slack = if self.scale == Scale::OWN { 0.0 } else { self.step / self.scale.factor * 1e-6 };
        (low - slack..=high + slack).contains(&value)
    }
}

impl Field {
    /// The ends and the step of the moment: the unit is the one chosen, and a position stays within what exists.
    pub fn bounds(&self, values: &Values) -> Bounds {
        let [low, high] = self.range;
        // Of a missing number nothing exists. What does not exist has its first position still.
        let most = self.within.map_or(high, |count| high.min(values.of(count).round().max(1.0) - 1.0));
        let range = [low, most.max(low)];
        match self.units.as_ref().and_then(|units| units.chosen(values)) {
            Some(unit) => Bounds { range, step: 10f64.powi(-(unit.decimals as i32)), scale: unit.scale, whole: false },
            None => Bounds::plain(range, self.step),
        }
    }
}

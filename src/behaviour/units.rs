//! Units that a setting chooses for a field, and what the chosen one means for changes of the field's value.

use super::field::{Field, Renewal};
use crate::screen::ratio::{Ratio, nearest};
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

/// Numbers that are held as so many decimals and shown in a unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Converted {
    /// The conversion.
    pub ratio: Ratio,
    /// The unit is the field's own: a change adds to what is held, whatever of it is shown.
    pub own: bool,
    /// What one step of the unit is of what is held, at least 1.
    pub step: i128,
}

/// Within what a change of a field stays, and in which steps it goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Smallest and largest value of the moment, in the field's own unit.
    pub range: [f64; 2],
    /// What lies between two neighbouring values that are held, in the field's own unit.
    pub grain: f64,
    /// What lies between two neighbouring values shown, in the unit shown.
    pub step: f64,
    /// The unit of the moment; `None` where the field has one only.
    pub unit: Option<Converted>,
}

/// Decimals held beyond those shown of a field that keys change in several units: ten steps of 0.1 ft are 0.3048 m.
const FINER: u32 = 3;

/// Numbers of the last decimal held at most, so that charts and gauges in firmware have room to multiply.
const MOST_HELD: f64 = 5e7;

impl Converted {
    /// A unit of a field that is held with so many decimals.
    pub fn of(unit: &Unit, held: u32) -> Self {
        let ratio = Ratio::as_taken(unit.scale, held, unit.decimals as u32);
        let step = (ratio.divide / ratio.multiply.max(1)).max(1);
        Self { ratio, own: unit.scale == Scale::OWN, step }
    }

    /// The number held after `amount` steps more. In another unit than the field's own, the change goes from the number
    /// that is seen, so that what is seen afterwards is that number and the amount.
    pub fn moved(&self, held: i128, amount: i128) -> i128 {
        if self.own {
            return held + nearest(amount * self.ratio.divide, self.ratio.multiply.max(1));
        }
        self.ratio.held(self.ratio.shown(held) + amount)
    }
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
        Self { range, grain: step, step, unit: None }
    }
}

impl Field {
    /// Decimals that are held beyond those shown in the field's own unit: where keys change it in several.
    pub fn finer(&self) -> u32 {
        if self.units.is_none() || self.renewal != Renewal::Never {
            return 0;
        }
        let most = self.range.iter().fold(0.0f64, |most, end| most.max(end.abs())) / self.step;
        (0..=FINER).rev().find(|finer| most * 10f64.powi(*finer as i32) <= MOST_HELD).unwrap_or(0)
    }

    /// Decimals that are held: those shown in its own unit, and the finer ones.
    pub fn held(&self) -> u32 {
        let shown = self.pieces.first().map_or(0, |piece| piece.decimals() as u32);
        (shown + self.finer()).min(9)
    }

    /// What lies between two neighbouring values that are held.
    pub fn grain(&self) -> f64 {
        match self.finer() {
            0 => self.step,
            finer => 1.0 / ((1.0 / self.step).round() * 10f64.powi(finer as i32)),
        }
    }

    /// The ends and the step of the moment: the unit is the one chosen, and a position stays within what exists.
    pub fn bounds(&self, values: &Values) -> Bounds {
        let [low, high] = self.range;
        // Of a missing number nothing exists. What does not exist has its first position still.
        let most = self.within.map_or(high, |count| high.min(values.of(count).round().max(1.0) - 1.0));
        let range = [low, most.max(low)];
        match self.units.as_ref().and_then(|units| units.chosen(values)) {
            Some(unit) => {
                let grain = self.grain();
                let unit_step = 10f64.powi(-(unit.decimals as i32));
                let held = (1.0 / grain).log10().round() as u32;
                Bounds { range, grain, step: unit_step, unit: Some(Converted::of(unit, held)) }
            }
            None => Bounds::plain(range, self.step),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A factor of all the digits that a double has is as good as exact over all that a field holds.
    #[test]
    fn long_factors_are_taken_as_firmware_can_multiply() {
        for factor in [0.514444443214321, 3.2808398950131, 1.0936132983377, 14.503773773020923, 0.000145037737730] {
            let unit = Unit { name: String::new(), scale: Scale { factor, offset: 1.7 }, decimals: 2 };
            let ratio = Converted::of(&unit, 4).ratio;
            assert!(ratio.for_firmware().is_some(), "{factor}: {ratio:?}");
            for held in [-(MOST_HELD as i128), -123_456, 0, 77, 1_234_567, MOST_HELD as i128] {
                let exact = (held as f64 * 1e-4 * factor + 1.7) * 100.0;
                assert!((ratio.shown(held) as f64 - exact).abs() <= 1.02, "{factor}: {held} is {exact}");
            }
        }
    }
}

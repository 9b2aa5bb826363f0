//! Units that a setting chooses for a field, and what the chosen one means for changes of the field's value.

use super::field::{Field, Renewal};
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

/// From whole numbers of a field's last decimal held to whole numbers of a unit's last decimal shown, as firmware
/// calculates it: `shown = (held * multiply + offset) / divide`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ratio {
    /// Multiplies what is held.
    pub multiply: i128,
    /// Is added.
    pub offset: i128,
    /// Divides the sum; above 0.
    pub divide: i128,
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

/// Firmware multiplies by numbers below the first and divides by numbers below the second: products stay in 64 bits.
const SMALL: [i128; 2] = [1 << 28, 1 << 30];

/// Numbers of the last decimal held at most, so that charts and gauges in firmware have room to multiply.
const MOST_HELD: f64 = 5e7;

/// A fraction that is equal to a number, or as near as a double tells; the terms stay below 2^31.
fn fraction(number: f64) -> (i128, i128) {
    const MOST: i128 = 1 << 31;
    let (mut before, mut last) = ((0, 1), (1, 0));
    let mut rest = number.abs();
    for _ in 0..40 {
        let whole = rest.floor();
        let term = whole as i128;
        let next = (term.saturating_mul(last.0) + before.0, term.saturating_mul(last.1) + before.1);
        if next.0 > MOST || next.1 > MOST {
            break;
        }
        (before, last) = (last, next);
        let near = last.0 as f64 / last.1 as f64;
        if (near - number.abs()).abs() <= number.abs() * 4.0 * f64::EPSILON || rest == whole {
            break;
        }
        rest = 1.0 / (rest - whole);
    }
    (if number < 0.0 { -last.0 } else { last.0 }, last.1.max(1))
}

fn common(a: i128, b: i128) -> i128 {
    if b == 0 { a.abs() } else { common(b, a % b) }
}

/// `number / by` to the nearest, halves away from zero.
fn nearest(number: i128, by: i128) -> i128 {
    let half = if number < 0 { -by / 2 } else { by / 2 };
    (number + half) / by
}

impl Ratio {
    /// The conversion to a unit shown with `decimals` of a field that is held with `held`.
    pub fn of(scale: Scale, held: u32, decimals: u32) -> Self {
        let (factor, by) = fraction(scale.factor);
        let (add, parts) = fraction(scale.offset);
        let power = |decimals: u32| 10i128.pow(decimals.min(12));
        // (held / 10^held * factor / by + add / parts) * 10^decimals
        let (multiply, divide) = (factor * power(decimals) * parts, power(held) * by * parts);
        let offset = add * power(decimals) * power(held) * by;
        let same = common(common(multiply, divide), offset).max(1);
        Self { multiply: multiply / same, offset: offset / same, divide: divide / same }
    }

    /// The same in numbers that firmware multiplies without overflow: multiply, offset, divide. `None` where they are larger.
    pub fn for_firmware(&self) -> Option<[i32; 3]> {
        let offset = i32::try_from(self.offset).ok().filter(|offset| offset.unsigned_abs() <= 2_000_000_000)?;
        let small = |number: i128, end: i128| (1..end).contains(&number);
        let fits = small(self.multiply, SMALL[0]) && small(self.divide, SMALL[1]);
        fits.then_some([self.multiply as i32, offset, self.divide as i32])
    }

    /// The nearest conversion whose divisor is at most so large and whose numbers firmware can multiply, found by continued
    /// fractions (A. Ya. Khinchin, "Continued Fractions", 1964, theorem 16); `None` where there is none.
    pub fn near(&self, most: i128) -> Option<[i32; 3]> {
        let (mut before, mut last) = ((0, 1), (1, 0));
        let (mut number, mut by) = (self.multiply, self.divide);
        let mut best = None;
        while by != 0 {
            let (whole, rest) = (number / by, number % by);
            let next = (whole * last.0 + before.0, whole * last.1 + before.1);
            if next.1 > most {
                break;
            }
            (before, last) = (last, next);
            let near = Self { multiply: last.0, offset: nearest(self.offset * last.1, self.divide), divide: last.1 };
            best = near.for_firmware().or(best);
            (number, by) = (by, rest);
        }
        best
    }

    /// What is shown of a number held.
    pub fn shown(&self, held: i128) -> i128 {
        nearest(held * self.multiply + self.offset, self.divide)
    }

    /// The number held that is nearest to what is shown.
    pub fn held(&self, shown: i128) -> i128 {
        nearest(shown * self.divide - self.offset, self.multiply.max(1))
    }
}

impl Converted {
    /// A unit of a field that is held with so many decimals.
    pub fn of(unit: &Unit, held: u32) -> Self {
        let exact = Ratio::of(unit.scale, held, unit.decimals as u32);
        // With more digits than firmware multiplies, the machine here takes what firmware can take.
        let near =
            || exact.near(SMALL[1] - 1).map(|[multiply, offset, divide]| [multiply, offset, divide].map(i128::from));
        let ratio = match exact.for_firmware() {
            Some(_) => exact,
            None => near().map_or(exact, |[multiply, offset, divide]| Ratio { multiply, offset, divide }),
        };
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

    /// Exact by definition: the international foot is 0.3048 m, the degree Fahrenheit 5/9 K (NIST Handbook 44, appendix C).
    #[test]
    fn conversions_are_exact() {
        let feet = Scale { factor: 3.280839895013123, offset: 0.0 };
        assert_eq!(Ratio::of(feet, 5, 1), Ratio { multiply: 1, offset: 0, divide: 3048 });
        let fahrenheit = Ratio::of(Scale { factor: 1.8, offset: 32.0 }, 1, 1);
        assert_eq!(fahrenheit, Ratio { multiply: 9, offset: 1600, divide: 5 });
        assert_eq!([0, 1000, -400].map(|held| fahrenheit.shown(held)), [320, 2120, -400]);
        assert_eq!([320, 2120, -400].map(|shown| fahrenheit.held(shown)), [0, 1000, -400]);
        // Six digits of a foot, held to a thousandth of a centimetre: refused before, though it could not be rounded more.
        let rounded = Ratio::of(Scale { factor: 3.28084, offset: 0.0 }, 5, 1);
        assert_eq!(rounded.for_firmware(), Some([82_021, 0, 250_000_000]));
        let kelvin = Ratio::of(Scale { factor: 1.0, offset: 273.15 }, 1, 0);
        assert_eq!((kelvin.shown(0), kelvin.shown(-2732)), (273, 0));
    }

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

//! A field's values as whole numbers of its last decimal, the way firmware holds them: 21.5 with one decimal is 215.
//!
//! Changes by keys are worked out in these numbers, so that ten steps of 0.1 make 1 exactly and a device with integers
//! comes to the same value as this program.

/// How a field's values are counted: its range and how many of its last decimal make one.
#[derive(Clone, Copy, Debug)]
pub struct Count {
    scale: f64,
    low: i128,
    high: i128,
}

/// A number this near to a whole one is meant to be it: decimals are no binary fractions.
const NEAR: f64 = 1e-6;

/// Most decimals that a field has.
pub const DECIMALS: u8 = 9;

impl Count {
    /// The counting of a field with a range, and a step between neighbouring values.
    pub fn new([low, high]: [f64; 2], step: f64) -> Self {
        let scale = (1.0 / step).round();
        let inside = |end: f64, inward: fn(f64) -> f64| {
            let near = (end * scale).round();
            (if (end * scale - near).abs() <= NEAR { near } else { inward(end * scale) }) as i128
        };
        let low = inside(low, f64::ceil);
        Self { scale, low, high: inside(high, f64::floor).max(low) }
    }

    /// The smallest and the largest number inside the range.
    pub fn ends(&self) -> (i128, i128) {
        (self.low, self.high)
    }

    /// The nearest whole number of the last decimal; 0 for a missing value.
    pub fn number(&self, value: f64) -> i128 {
        (value * self.scale).round() as i128
    }

    /// The value of a number.
    pub fn value(&self, number: i128) -> f64 {
        number as f64 / self.scale
    }

    /// Whether a value is a whole number of the last decimal.
    pub fn holds(&self, value: f64) -> bool {
        value.is_finite() && (value * self.scale - (value * self.scale).round()).abs() <= NEAR
    }

    /// The number inside the range.
    pub fn clamped(&self, number: i128) -> i128 {
        number.clamp(self.low, self.high)
    }

    /// The number inside the range, where one step past an end is the other end.
    pub fn wrapped(&self, number: i128, step: i128) -> i128 {
        if (self.low..=self.high).contains(&number) {
            return number;
        }
        let span = self.high.saturating_sub(self.low).saturating_add(step);
        (self.low + number.saturating_sub(self.low).rem_euclid(span)).min(self.high)
    }
}

/// So many times an amount; the factor counts to thousandths, the result is rounded, halves away from zero.
pub fn times(amount: i128, factor: f64) -> i128 {
    let product = amount.saturating_mul(thousandths(factor));
    let half = if product < 0 { -500 } else { 500 };
    product.saturating_add(half) / 1000
}

/// A factor as a whole number of thousandths.
pub fn thousandths(factor: f64) -> i128 {
    (factor * 1000.0).round() as i128
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tenths_add_up_exactly() {
        let count = Count::new([-5.0, 5.0], 0.1);
        let after = (0..10).fold(0.0, |now, _| count.value(count.clamped(count.number(now) + count.number(0.1))));
        assert_eq!(after, 1.0);
        assert_ne!((0..10).fold(0.0, |now, _| now + 0.1), 1.0, "binary fractions do not");
    }

    #[test]
    fn ends_lie_inside_the_range() {
        assert_eq!(Count::new([0.3, 2.75], 0.1).ends(), (3, 27));
        assert_eq!(Count::new([0.2, 0.4], 1.0).ends(), (1, 1));
        assert_eq!(Count::new([-0.5, 0.5], 1.0).ends(), (0, 0));
    }

    #[test]
    fn one_past_an_end_is_the_other() {
        let count = Count::new([-1.0, 2.0], 1.0);
        assert_eq!([3, -2, 7, 2].map(|number| count.wrapped(number, 1)), [-1, 2, -1, 2]);
    }

    #[test]
    fn factors_round_halves_away_from_zero() {
        assert_eq!([times(3, 2.5), times(-3, 2.5), times(7, 1.0), times(1, 1.4)], [8, -8, 7, 1]);
    }
}

//! Round numbers along an axis, after P. S. Heckbert, "Nice Numbers for Graph Labels", Graphics Gems (1990) 61-63:
//! steps are 1, 2 or 5 times a power of ten.
//!
//! Not for points in time; see `chart::hours`.

use crate::screen::template::number;

/// A step of 1, 2 or 5 times a power of ten. Kept in two parts so that its multiples are exact.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TickStep {
    mantissa: i64,
    power: i32,
}

impl TickStep {
    /// The step nearest to `size` in Heckbert's sense, or the next one not below it.
    fn near(size: f64, up: bool) -> Self {
        let size = if size.is_finite() && size > 0.0 { size.clamp(1e-12, 1e12) } else { 1.0 };
        let power = size.log10().floor();
        let share = size / 10f64.powf(power);
        // Heckbert's limits, with a hair of slack for what division leaves over.
        let limits =
            if up { [1.0 + 1e-9, 2.0 + 1e-9, 5.0 + 1e-9] } else { [1.5, 3.0, 7.0].map(|limit| limit * (1.0 - 1e-9)) };
        let (mantissa, carry) = match limits.iter().position(|limit| share < *limit) {
            Some(0) => (1, 0),
            Some(1) => (2, 0),
            Some(2) => (5, 0),
            _ => (1, 1),
        };
        Self { mantissa, power: power as i32 + carry }
    }

    /// The step's size.
    pub fn size(self) -> f64 {
        self.multiple(1)
    }

    /// The step `count` times.
    pub fn multiple(self, count: i64) -> f64 {
        let whole = count.saturating_mul(self.mantissa) as f64;
        if self.power < 0 { whole / 10f64.powi(-self.power) } else { whole * 10f64.powi(self.power) }
    }

    /// Decimals that its multiples need.
    pub fn decimals(self) -> usize {
        self.power.min(0).unsigned_abs() as usize
    }

    /// A multiple as text.
    pub fn text(self, count: i64) -> String {
        let mut text = String::new();
        number(self.multiple(count), self.decimals(), &mut text);
        text
    }

    /// The largest count whose multiple is not above `value`.
    pub fn below(self, value: f64) -> i64 {
        (value / self.size() + 1e-9).floor().clamp(-1e15, 1e15) as i64
    }

    /// The smallest count whose multiple is not below `value`.
    pub fn above(self, value: f64) -> i64 {
        (value / self.size() - 1e-9).ceil().clamp(-1e15, 1e15) as i64
    }
}

/// The step for about `wanted` ticks over `low` to `high`, and never finer than `decimals` allow.
pub fn step(low: f64, high: f64, wanted: usize, decimals: usize) -> TickStep {
    step_within(0.0, TickStep::near(high - low, true).size(), wanted, decimals)
}

/// As [`step`], for a scale whose ends stay as they are and are not rounded outwards first.
pub fn step_within(low: f64, high: f64, wanted: usize, decimals: usize) -> TickStep {
    let step = TickStep::near((high - low) / (wanted.max(2) - 1) as f64, false);
    if step.decimals() > decimals { TickStep { mantissa: 1, power: -(decimals as i32) } } else { step }
}

/// Counts of the first and last multiple between `low` and `high`.
pub fn inside(step: TickStep, low: f64, high: f64) -> std::ops::RangeInclusive<i64> {
    let (first, last) = (step.above(low), step.below(high));
    // More ticks than any screen has pixels would only cost time.
    first..=last.min(first.saturating_add(4_096))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Heckbert's own figure (Graphics Gems, page 62; memory): data from 105 to 543, five ticks wanted, labels 100 to 600 by 100.
    #[test]
    fn the_published_example_comes_out() {
        let step = step(105.0, 543.0, 5, 9);
        let labels: Vec<String> = (step.below(105.0)..=step.above(543.0)).map(|count| step.text(count)).collect();
        assert_eq!(labels, ["100", "200", "300", "400", "500", "600"]);
    }

    #[test]
    fn steps_follow_the_published_limits() {
        let nearest = |size| TickStep::near(size, false).size();
        assert_eq!([1.49, 1.5, 2.99, 3.0, 6.99, 7.0].map(nearest), [1.0, 2.0, 2.0, 5.0, 5.0, 10.0]);
        let next = |size| TickStep::near(size, true).size();
        assert_eq!([0.1, 0.11, 0.2, 0.21, 0.5, 0.51].map(next), [0.1, 0.2, 0.2, 0.5, 0.5, 1.0]);
    }

    #[test]
    fn labels_have_the_decimals_of_their_step_and_no_rounding_noise() {
        let step = step_within(-0.3, 0.4, 4, 9);
        let labels: Vec<String> = inside(step, -0.3, 0.4).map(|count| step.text(count)).collect();
        assert_eq!(labels, ["−0.2", "0.0", "0.2", "0.4"]);
    }

    #[test]
    fn steps_are_no_finer_than_the_decimals_shown() {
        assert_eq!(step(20.1, 20.4, 5, 1).size(), 0.1);
        assert_eq!(step(20.0, 21.0, 5, 0).size(), 1.0);
    }

    #[test]
    fn odd_ranges_give_some_step() {
        for (low, high) in [(f64::NAN, 1.0), (0.0, 0.0), (1.0, 0.0), (f64::MIN, f64::MAX), (0.0, f64::INFINITY)] {
            assert!(step(low, high, 4, 2).size() > 0.0);
            assert!(inside(step(low, high, 4, 2), low, high).count() <= 4_097);
        }
    }
}

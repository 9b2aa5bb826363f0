//! Numbers of the design as firmware knows them: whole units of a field's last decimal.
//!
//! What a condition with real numbers says about whole units is found by asking the condition itself, so that both agree to
//! the last bit.

use crate::device::Device;
use crate::firmware::tables::condition::decimals;
use crate::screen::values::FieldId;

/// Largest number of units that firmware multiplies and adds without overflow.
pub(super) const MOST: f64 = 500_000_000.0;

/// Numbers as whole units of one size.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Units {
    /// What a field's own value is multiplied by.
    pub factor: i32,
    /// The numbers.
    pub numbers: Vec<i32>,
    /// Decimals of the unit.
    pub decimals: u32,
}

/// The numbers in units fine enough for them and for a field's own; `None` where they have too many decimals or are too
/// large.
pub(super) fn units(numbers: &[f64], own: u32) -> Option<Units> {
    let exact = |decimals: u32| {
        let scale = 10f64.powi(decimals as i32);
        numbers.iter().all(|number| {
            let whole = (number * scale).round();
            whole.abs() <= MOST && whole / scale == *number
        })
    };
    let decimals = (own..=9).find(|decimals| exact(*decimals))?;
    let scale = 10f64.powi(decimals as i32);
    let numbers = numbers.iter().map(|number| (number * scale).round() as i32).collect();
    Some(Units { factor: 10i32.pow(decimals - own), numbers, decimals })
}

/// Units of a field's last decimal in 1.
pub(super) fn scale(device: &Device, field: FieldId) -> f64 {
    10f64.powi(decimals(device, field.0) as i32)
}

/// The first number of units for which something is true that stays true from there on; `None` where it never is.
pub(super) fn first(scale: f64, holds: impl Fn(f64) -> bool) -> Option<i32> {
    let at = |units: i64| holds(units as f64 / scale);
    let (mut low, mut high) = (i64::from(i32::MIN) + 1, i64::from(i32::MAX));
    if !at(high) {
        return None;
    }
    while low < high {
        let middle = low + (high - low) / 2;
        if at(middle) { high = middle } else { low = middle + 1 }
    }
    i32::try_from(low).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_as_fine_as_the_numbers_need() {
        assert_eq!(units(&[12.5, -3.0], 1), Some(Units { factor: 1, numbers: vec![125, -30], decimals: 1 }));
        assert_eq!(units(&[0.25], 1), Some(Units { factor: 10, numbers: vec![25], decimals: 2 }));
        assert_eq!(units(&[1.0 / 3.0], 0), None);
        assert_eq!(units(&[1e12], 0), None);
    }

    #[test]
    fn the_first_unit_is_the_one_that_the_condition_says() {
        assert_eq!(first(10.0, |value| value > 0.3), Some(4));
        assert_eq!(first(1.0, |value| value >= -7.0), Some(-7));
        assert_eq!(first(1.0, |_| false), None);
    }
}

//! One unit for numbers that stand together, in a column or along an axis, so that they can be compared at a glance. Not for
//! a number alone: that is [`super::show`].

use super::{Quantity, Seconds, YEAR, grouped};

/// A unit and its decimals for several values.
#[derive(Clone, Debug, PartialEq)]
pub struct Scale {
    factor: f64,
    unit: String,
    decimals: usize,
}

/// Prefixes that a column may have, each with what one of it is.
const PREFIXES: [(f64, &str); 6] = [(1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "u"), (1e-9, "n")];

/// Units of times: each up to the largest value that it suits.
const TIMES: [(f64, f64, &str); 7] = [
    (0.9995e-3, 1e-6, "us"),
    (0.9995, 1e-3, "ms"),
    (120.0, 1.0, "s"),
    (7200.0, 60.0, "min"),
    (172_800.0, 3600.0, "h"),
    (2.0 * YEAR, 86_400.0, "d"),
    (f64::INFINITY, YEAR, "years"),
];

impl Scale {
    /// The unit that suits the largest of the values, with three significant figures of it, four where
    /// others are far smaller.
    pub fn of(values: impl IntoIterator<Item = f64>, si: &str) -> Self {
        let sizes: Vec<f64> = values.into_iter().filter(|value| value.is_finite()).map(f64::abs).collect();
        let largest = sizes.iter().copied().fold(0.0, f64::max);
        // A decimal more where others are far smaller than the largest.
        let wide = sizes.iter().any(|size| *size > 0.0 && *size < largest / 30.0);
        let (factor, unit) = match si {
            Seconds::SI => {
                let (_, factor, unit) = TIMES.into_iter().find(|(end, ..)| largest < *end).unwrap_or(TIMES[2]);
                if largest == 0.0 { (1.0, "s".to_owned()) } else { (factor, unit.to_owned()) }
            }
            "1" => (0.01, "%".to_owned()),
            "C" => (if largest < 0.36 { 3.6e-3 } else { 3.6 }, if largest < 0.36 { "uAh" } else { "mAh" }.to_owned()),
            "" | "B" | "°C" | "%" => (1.0, si.to_owned()),
            _ => {
                let found = PREFIXES.into_iter().find(|(factor, _)| largest >= factor * 0.9995);
                let (factor, prefix) = found.unwrap_or(if largest == 0.0 { PREFIXES[2] } else { PREFIXES[5] });
                (factor, format!("{prefix}{si}"))
            }
        };
        let whole = matches!(si, "B");
        let size = largest / factor;
        let decimals = if whole || size >= 99.95 { 0 } else { 2 - usize::from(size >= 9.995 && !wide) };
        Self { factor, unit, decimals }
    }

    /// As [`Scale::of`] for a table of phases, of which some are far shorter or smaller than others: times up to 100 s in
    /// milliseconds, charges in coulombs, and decimals down to the second figure of the smallest, three at most.
    pub fn fine(values: impl IntoIterator<Item = f64>, si: &str) -> Self {
        let sizes: Vec<f64> = values.into_iter().filter(|value| value.is_finite()).map(f64::abs).collect();
        let largest = sizes.iter().copied().fold(0.0, f64::max);
        let smallest = sizes.iter().copied().filter(|size| *size > 0.0).fold(f64::INFINITY, f64::min);
        if largest == 0.0 {
            return Self::of(sizes, si);
        }
        let (factor, unit) = match si {
            Seconds::SI if (0.9995e-3..100.0).contains(&largest) => (1e-3, "ms".to_owned()),
            "C" => {
                let (factor, prefix) =
                    PREFIXES.into_iter().find(|(factor, _)| largest >= factor * 0.9995).unwrap_or(PREFIXES[5]);
                (factor, format!("{prefix}C"))
            }
            _ => {
                let Self { factor, unit, .. } = Self::of(sizes, si);
                (factor, unit)
            }
        };
        let most = match largest / factor {
            size if size >= 999.5 => 1,
            size if size >= 99.95 => 2,
            _ => 3,
        };
        let wanted = (1.0 - (smallest / factor).log10().floor()).clamp(0.0, f64::from(most));
        let decimals = if matches!(si, "B") { 0 } else { wanted as usize };
        Self { factor, unit, decimals }
    }

    /// The unit's symbol; empty for plain numbers.
    pub fn unit(&self) -> &str {
        &self.unit
    }

    /// The value in the unit.
    pub fn number(&self, value: f64) -> f64 {
        value / self.factor
    }

    /// A value with the unit. What is there and would be shown as nothing is shown as less than the last decimal.
    pub fn show(&self, value: f64) -> String {
        let (number, decimals) = (self.number(value), self.decimals);
        let smallest = 0.1_f64.powi(decimals as i32);
        let text = if number != 0.0 && number.abs() < smallest / 2.0 {
            format!("{}<{smallest:.decimals$}", if number < 0.0 { "-" } else { "" })
        } else {
            grouped(&format!("{number:.decimals$}"))
        };
        if self.unit.is_empty() { text } else { format!("{text} {}", self.unit) }
    }
}

/// Quantities in one unit, with as many decimals each.
pub fn column<Q: Quantity>(values: &[Q]) -> Vec<String> {
    let scale = Scale::of(values.iter().map(|value| (*value).into()), Q::SI);
    values.iter().map(|value| scale.show((*value).into())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Coulombs, Joules};

    /// Once `2.8 s` under `617 ms`, and `11.6 mC` under `12.5 uC`.
    #[test]
    fn phases_of_an_update_have_one_unit_and_keep_their_smallest() {
        let shown = |values: &[f64], si: &str| {
            let scale = Scale::fine(values.iter().copied(), si);
            values.iter().map(|value| scale.show(*value)).collect::<Vec<_>>()
        };
        assert_eq!(shown(&[2.62, 0.051, 0.013], "s"), ["2620 ms", "51 ms", "13 ms"]);
        assert_eq!(shown(&[0.0006, 0.0426, 0.721], "s"), ["0.60 ms", "42.60 ms", "721.00 ms"]);
        assert_eq!(shown(&[11.6e-3, 12.5e-6], "C"), ["11.600 mC", "0.013 mC"]);
        assert_eq!(shown(&[5.38e-3, 0.963e-3], "A"), ["5.38 mA", "0.96 mA"]);
        assert_eq!(shown(&[0.0, 0.0], "J"), ["0.00 J", "0.00 J"]);
    }

    #[test]
    fn a_column_has_one_unit_and_its_decimals_aligned() {
        assert_eq!(column(&[Joules(8.634), Joules(0.544), Joules(0.0005)]), ["8.63 J", "0.54 J", "<0.01 J"]);
        assert_eq!(column(&[Seconds(0.711), Seconds(4.16), Seconds(0.0)]), ["0.71 s", "4.16 s", "0.00 s"]);
        assert_eq!(column(&[Seconds(2.01 * YEAR), Seconds(720.0 * 86_400.0)]), ["2.01 years", "1.97 years"]);
        assert_eq!(column(&[Seconds(0.3), Seconds(0.0123)]), ["300 ms", "12 ms"]);
        assert_eq!(column(&[Coulombs(5400.0), Coulombs(36.0)]), ["1,500 mAh".replace(',', ""), "10 mAh".to_owned()]);
        assert_eq!(column(&[Joules(0.0)]), ["0.00 J"]);
    }
}

//! Units of figures: how a value is written and read, alone and beside others.

use crate::units::column::Scale;
use crate::units::{
    Amps, Bytes, Coulombs, DAY, Joules, Quantity, Ratio, Seconds, ValueFault, Volts, Watts, figures as digits, grouped,
    plain_time,
};
use serde_json::{Value, json};

/// What a figure counts, which decides how it is written and read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// A life, in days.
    Days,
    /// A time of an update, in seconds.
    Seconds,
    /// A long time, in seconds.
    Span,
    /// Joules.
    Joules,
    /// Watts.
    Watts,
    /// Amperes.
    Amps,
    /// A charge, in coulombs, written in mAh.
    Coulombs,
    /// Volts.
    Volts,
    /// Storage.
    Bytes,
    /// A share, in percent.
    Percent,
    /// A whole number of things.
    Count,
    /// How often in a time, without a unit.
    Rate,
}

impl Unit {
    /// The unit of the number; empty for counts and rates.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Days => "d",
            Self::Seconds | Self::Span => "s",
            Self::Joules => "J",
            Self::Watts => "W",
            Self::Amps => "A",
            Self::Coulombs => "C",
            Self::Volts => "V",
            Self::Bytes => "B",
            Self::Percent => "%",
            Self::Count | Self::Rate => "",
        }
    }

    /// A value as a person reads it.
    pub fn show(self, value: f64) -> String {
        match self {
            Self::Days => plain_time(DAY * value),
            Self::Seconds => Seconds(value).to_string(),
            Self::Span => plain_time(Seconds(value)),
            Self::Joules => Joules(value).to_string(),
            Self::Watts => Watts(value).to_string(),
            Self::Amps => Amps(value).to_string(),
            Self::Coulombs => format!("{} mAh", digits(value / 3.6)),
            Self::Volts => Volts(value).to_string(),
            Self::Bytes => grouped(&digits(value)) + " B",
            Self::Percent => digits(value) + " %",
            Self::Count | Self::Rate => grouped(&digits(value)),
        }
    }

    /// A value for other programs: bytes and counts are integers.
    pub fn json(self, value: f64) -> Value {
        match self {
            Self::Bytes | Self::Count if value.fract() == 0.0 && value.abs() < 9e15 => json!(value as i64),
            _ => json!(value),
        }
    }

    /// The unit for values that stand together, and what one of the figure's own unit is in SI.
    pub fn scale(self, values: impl IntoIterator<Item = f64>) -> UnitScale {
        let (si, own) = match self {
            Self::Days => ("s", DAY.0),
            Self::Seconds | Self::Span => ("s", 1.0),
            _ => (self.symbol(), 1.0),
        };
        UnitScale { own, scale: Scale::of(values.into_iter().map(|value| value * own), si), unit: self }
    }

    /// Reads a value: a quantity with its unit, or a number in [`Unit::symbol`].
    ///
    /// # Errors
    /// A sentence that says what was expected.
    pub fn parse(self, text: &str) -> Result<f64, ValueFault> {
        if let Ok(number) = text.trim().parse::<f64>() {
            return if number.is_finite() { Ok(number) } else { Err(ValueFault("the value must be finite".into())) };
        }
        match self {
            Self::Days => Seconds::parse(text).map(|time| time / DAY),
            Self::Seconds | Self::Span => Seconds::parse(text).map(f64::from),
            Self::Joules => Joules::parse(text).map(f64::from),
            Self::Watts => Watts::parse(text).map(f64::from),
            Self::Amps => Amps::parse(text).map(f64::from),
            Self::Coulombs => Coulombs::parse(text).map(f64::from),
            Self::Volts => Volts::parse(text).map(f64::from),
            Self::Bytes => Bytes::parse(text).map(f64::from),
            Self::Percent => Ratio::parse(text).map(|share| share.0 * 100.0),
            Self::Count | Self::Rate => Err(ValueFault(format!("expected a number; {text:?} is none"))),
        }
    }
}

/// How values of one figure are shown together: in one unit, with as many decimals each.
#[derive(Clone, Debug)]
pub struct UnitScale {
    own: f64,
    scale: Scale,
    unit: Unit,
}

impl UnitScale {
    /// A value with the unit; a count or rate as if alone.
    pub fn show(&self, value: f64) -> String {
        if matches!(self.unit, Unit::Count | Unit::Rate) {
            self.unit.show(value)
        } else {
            self.scale.show(value * self.own)
        }
    }

    /// A value as a number in [`UnitScale::symbol`].
    pub fn number(&self, value: f64) -> f64 {
        self.scale.number(value * self.own)
    }

    /// The unit's symbol; empty for counts and rates.
    pub fn symbol(&self) -> &str {
        self.scale.unit()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_counted_is_an_integer_for_programs() {
        let json = |unit: Unit, value: f64| unit.json(value).to_string();
        assert_eq!((json(Unit::Bytes, 4736.0), json(Unit::Count, 1000.0)), ("4736".to_owned(), "1000".to_owned()));
        assert_eq!((json(Unit::Rate, 7.0), json(Unit::Joules, 2.0)), ("7.0".to_owned(), "2.0".to_owned()));
    }

    #[test]
    fn values_are_read_as_they_are_written() {
        assert_eq!(Unit::Days.parse("90 d"), Ok(90.0));
        assert_eq!(Unit::Days.parse("90"), Ok(90.0));
        assert_eq!(Unit::Coulombs.parse("1 mAh"), Ok(3.6));
        assert_eq!(Unit::Coulombs.show(3.6), "1 mAh");
        assert_eq!((Unit::Percent.parse("15 %"), Unit::Percent.show(15.0)), (Ok(15.0), "15 %".to_owned()));
        assert!(Unit::Seconds.parse("2 mAh").is_err() && Unit::Count.parse("two").is_err());
    }
}

//! Physical quantities: SI numbers in newtypes, and the text form a designer writes (`"16 uA"`).
//!
//! Not for tolerances or where a value came from: that is [`crate::parameters`].

pub mod column;
pub mod symbols;

use std::fmt;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

/// A value that cannot be used: a sentence that says what was expected and what was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ValueFault(pub String);

impl fmt::Display for ValueFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for ValueFault {}

impl From<String> for ValueFault {
    fn from(sentence: String) -> Self {
        Self(sentence)
    }
}

impl From<ValueFault> for String {
    fn from(fault: ValueFault) -> Self {
        fault.0
    }
}

/// A physical dimension: how its quantities are read from text and shown again.
pub trait Quantity: Copy + Into<f64> + From<f64> + 'static {
    /// What the quantity is called in a message: `a current`.
    const WHAT: &'static str;
    /// A well-formed example for messages: `"16 uA"`.
    const EXAMPLE: &'static str;
    /// Accepted unit symbols, each with the factor that turns one of it into SI, best for display first.
    const SYMBOLS: &'static [(&'static str, f64)];
    /// The SI unit's symbol.
    const SI: &'static str;
    /// Smallest and largest value, in SI, that a project may state.
    const STATED: [f64; 2];

    /// Reads a number followed by a unit symbol, for example `"2.5 mA"`.
    ///
    /// # Errors
    /// A sentence that says what was expected and what was found.
    fn parse(text: &str) -> Result<Self, ValueFault> {
        let text = text.trim();
        let split = unit_start(text);
        let (number, symbol) = (text[..split].trim(), text[split..].trim());
        let expected = || format!("expected {} with its unit, such as {:?}", Self::WHAT, Self::EXAMPLE);
        let value: f64 =
            number.parse().map_err(|_| ValueFault(format!("{}; {text:?} does not begin with a number", expected())))?;
        if symbol.is_empty() {
            return Err(ValueFault(format!("{}; the unit is missing", expected())));
        }
        let plain = symbol.replace(['µ', 'μ'], "u").replace('Ω', "Ohm");
        let factor = Self::SYMBOLS.iter().find(|(name, _)| *name == plain).map(|(_, factor)| *factor);
        let Some(factor) = factor else {
            let known: Vec<&str> = Self::SYMBOLS.iter().map(|(name, _)| *name).collect();
            return Err(ValueFault(format!(
                "{}; {symbol:?} is not one of its units: {}",
                expected(),
                known.join(", ")
            )));
        };
        if !(value * factor).is_finite() {
            return Err(ValueFault(format!("{}; the number must be finite", expected())));
        }
        Ok(Self::from(value * factor))
    }
}

/// A quantity as a project states it: as [`Quantity::parse`], and within what is possible.
///
/// # Errors
/// As [`Quantity::parse`]; a sentence with the bounds for a value outside them.
pub fn stated<Q: Quantity>(text: &str) -> Result<Q, ValueFault> {
    let value = Q::parse(text)?;
    let [low, high] = Q::STATED;
    if (low..=high).contains(&value.into()) {
        return Ok(value);
    }
    let bound = |value: f64| if Q::SI == "s" { plain_time(Seconds(value)) } else { show(Q::from(value)) };
    Err(ValueFault(format!("expected {} from {} to {}; {text:?} lies outside", Q::WHAT, bound(low), bound(high))))
}

/// Where the unit begins: after the digits, sign, point and exponent of the number.
pub fn unit_start(text: &str) -> usize {
    let bytes = text.as_bytes();
    let mut end = 0;
    while end < bytes.len() {
        let exponent = matches!(bytes[end], b'e' | b'E')
            && bytes.get(end + 1).is_some_and(|next| next.is_ascii_digit() || matches!(next, b'+' | b'-'));
        match bytes[end] {
            b'0'..=b'9' | b'.' | b'+' | b'-' => end += 1,
            _ if exponent => end += 2,
            _ => break,
        }
    }
    end
}

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident $what:literal $example:literal $si:literal $low:literal..=$high:expr, [$($symbol:literal = $factor:expr),+];)+) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(pub f64);

        impl From<f64> for $name {
            fn from(value: f64) -> Self { Self(value) }
        }
        impl From<$name> for f64 {
            fn from(value: $name) -> f64 { value.0 }
        }
        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self { Self(self.0 + other.0) }
        }
        impl AddAssign for $name {
            fn add_assign(&mut self, other: Self) { self.0 += other.0; }
        }
        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self { Self(self.0 - other.0) }
        }
        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self { Self(-self.0) }
        }
        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, by: f64) -> Self { Self(self.0 * by) }
        }
        impl Div<f64> for $name {
            type Output = Self;
            fn div(self, by: f64) -> Self { Self(self.0 / by) }
        }
        impl Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 { self.0 / other.0 }
        }
        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(all: I) -> Self { all.fold(Self(0.0), Add::add) }
        }
        impl Quantity for $name {
            const WHAT: &'static str = $what;
            const EXAMPLE: &'static str = $example;
            const SI: &'static str = $si;
            const STATED: [f64; 2] = [$low, $high];
            const SYMBOLS: &'static [(&'static str, f64)] = &[$(($symbol, $factor)),+];
        }
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result { engineering(f, self.0, $si) }
        }
    )+};
}

quantities! {
    /// Time in seconds.
    Seconds "a time" "250 ms" "s" 0.0..=100.0 * YEAR,
        ["s" = 1.0, "ms" = 1e-3, "us" = 1e-6, "ns" = 1e-9, "min" = 60.0, "h" = 3600.0, "d" = 86400.0, "week" = 604_800.0,
         "month" = YEAR / 12.0, "year" = YEAR];
    /// Electric current in amperes.
    Amps "a current" "16 uA" "A" 0.0..=1e3, ["A" = 1.0, "mA" = 1e-3, "uA" = 1e-6, "nA" = 1e-9];
    /// Electric potential in volts.
    Volts "a voltage" "3.3 V" "V" 0.0..=100.0, ["V" = 1.0, "mV" = 1e-3];
    /// Electric resistance in ohms.
    Ohms "a resistance" "120 mOhm" "Ohm" 0.0..=1e6, ["Ohm" = 1.0, "mOhm" = 1e-3, "kOhm" = 1e3];
    /// Capacitance in farads.
    Farads "a capacitance" "47 uF" "F" 0.0..=1e4, ["F" = 1.0, "mF" = 1e-3, "uF" = 1e-6, "nF" = 1e-9, "pF" = 1e-12];
    /// Electric charge in coulombs.
    Coulombs "a charge" "850 mAh" "C" 0.0..=1e9, ["mAh" = 3.6, "Ah" = 3600.0, "uAh" = 3.6e-3, "C" = 1.0, "mC" = 1e-3, "uC" = 1e-6];
    /// Energy in joules.
    Joules "an energy" "20 mJ" "J" 0.0..=1e9, ["J" = 1.0, "mJ" = 1e-3, "uJ" = 1e-6, "kJ" = 1e3, "Wh" = 3600.0, "mWh" = 3.6];
    /// Power in watts.
    Watts "a power" "26.4 mW" "W" 0.0..=1e6, ["W" = 1.0, "mW" = 1e-3, "uW" = 1e-6];
    /// Frequency in hertz.
    Hertz "a frequency" "4 MHz" "Hz" 1.0..=1e12, ["Hz" = 1.0, "kHz" = 1e3, "MHz" = 1e6];
    /// Length in metres.
    Metres "a length" "66.9 mm" "m" -100.0..=100.0, ["mm" = 1e-3, "m" = 1.0, "cm" = 1e-2, "um" = 1e-6, "in" = 0.0254];
    /// Temperature in degrees Celsius.
    Celsius "a temperature" "25 °C" "°C" -273.15..=1e3, ["°C" = 1.0, "C" = 1.0, "degC" = 1.0];
    /// A dimensionless share, 1 being the whole.
    Ratio "a share" "12 %" "1" 0.0..=1e3, ["%" = 0.01, "permille" = 1e-3, "ppm" = 1e-6];
    /// A relative rate per second (self-discharge, ageing).
    PerSecond "a rate" "2 %/month" "1/s" 0.0..=1.0,
        ["%/month" = 0.01 * 12.0 / YEAR, "%/year" = 0.01 / YEAR, "%/day" = 0.01 / 86400.0, "1/s" = 1.0];
    /// An amount of storage in bytes.
    Bytes "an amount of memory" "8 KiB" "B" 0.0..=1e15, ["KiB" = 1024.0, "B" = 1.0, "MiB" = 1_048_576.0, "kB" = 1000.0, "MB" = 1e6];
}

/// A Julian year in seconds (365.25 days), the year used for rates and lives.
pub const YEAR: f64 = 365.25 * 86_400.0;
/// A day in seconds.
pub const DAY: Seconds = Seconds(86_400.0);

macro_rules! products {
    ($($a:ident * $b:ident = $c:ident;)+) => {$(
        impl Mul<$b> for $a { type Output = $c; fn mul(self, other: $b) -> $c { $c(self.0 * other.0) } }
        impl Mul<$a> for $b { type Output = $c; fn mul(self, other: $a) -> $c { $c(self.0 * other.0) } }
        impl Div<$a> for $c { type Output = $b; fn div(self, other: $a) -> $b { $b(self.0 / other.0) } }
        impl Div<$b> for $c { type Output = $a; fn div(self, other: $b) -> $a { $a(self.0 / other.0) } }
    )+};
}

products! {
    Amps * Seconds = Coulombs;
    Volts * Amps = Watts;
    Watts * Seconds = Joules;
    Coulombs * Volts = Joules;
    Ohms * Amps = Volts;
    Farads * Volts = Coulombs;
}

/// Writes a value with an SI prefix and about three significant figures, for example `12.4 uA`.
fn engineering(f: &mut fmt::Formatter<'_>, value: f64, si: &str) -> fmt::Result {
    const PREFIXES: [(f64, &str); 7] =
        [(1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "u"), (1e-9, "n"), (1e-12, "p")];
    if si == "1" {
        return write!(f, "{} %", figures(value * 100.0));
    }
    if si == "1/s" {
        // In the unit that makers state it in: cells that hold for years lose percents a year.
        let (span, unit) = if value * YEAR < 0.06 { (YEAR, "year") } else { (YEAR / 12.0, "month") };
        return write!(f, "{} %/{unit}", figures(value * 100.0 * span));
    }
    // Capacities as cells are labelled; the charge of one update stays in the SI unit.
    if si == "C" && value.abs() >= 0.36 {
        return write!(f, "{} mAh", figures(value / 3.6));
    }
    // Nobody speaks of kiloseconds.
    if si == "s" && value.abs() >= 999.5 && value.is_finite() {
        return f.write_str(&plain_time(Seconds(value)));
    }
    if si == "°C" || si == "B" || value == 0.0 || !value.is_finite() {
        return write!(f, "{} {si}", figures(value));
    }
    let (factor, prefix) =
        PREFIXES.into_iter().find(|(factor, _)| value.abs() >= *factor * 0.9995).unwrap_or(PREFIXES[6]);
    write!(f, "{} {prefix}{si}", figures(value / factor))
}

/// A quantity as a person reads it: `12.4 uA`.
pub fn show<Q: Quantity>(quantity: Q) -> String {
    show_si(quantity.into(), Q::SI)
}

/// A value in an SI unit as a person reads it: `12.4 uA`.
pub fn show_si(value: f64, si: &str) -> String {
    struct Shown<'s>(f64, &'s str);
    impl fmt::Display for Shown<'_> {
        fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            engineering(f, self.0, self.1)
        }
    }
    Shown(value, si).to_string()
}

/// A number with its noun: `1 warning`, `3 warnings`.
pub fn count(number: usize, one: &str, many: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
}

/// A number's digits with a comma between thousands, from ten thousand up.
pub fn grouped(digits: &str) -> String {
    let (sign, rest) = digits.split_at(digits.len() - digits.trim_start_matches('-').len());
    let (whole, decimals) = rest.split_at(rest.find('.').unwrap_or(rest.len()));
    if whole.len() < 5 || !whole.bytes().all(|byte| byte.is_ascii_digit()) {
        return digits.to_owned();
    }
    let parts: Vec<&str> = (0..whole.len().div_ceil(3))
        .rev()
        .map(|part| &whole[whole.len().saturating_sub(3 * (part + 1))..whole.len() - 3 * part])
        .collect();
    format!("{sign}{}{decimals}", parts.join(","))
}

/// About three significant figures, without an exponent below 10^15; whole numbers from 100 up keep all their digits.
pub fn figures(value: f64) -> String {
    let size = value.abs();
    if size >= 1e15 {
        return format!("{value:.2e}");
    }
    let decimals = if size >= 99.95 || size == 0.0 {
        0
    } else if size >= 9.995 {
        1
    } else if size >= 0.9995 {
        2
    } else {
        (2 - size.log10().floor() as i32).clamp(0, 9) as usize
    };
    let text = format!("{value:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

impl Seconds {
    /// The nearest whole microsecond: the unit that a machine counts in. Two times that round to the same one are equal.
    #[must_use]
    pub fn to_microseconds(self) -> Self {
        Self((self.0 * 1e6).round() * 1e-6)
    }

    /// The nearest whole millisecond: the unit that the rules of a device count in, as its firmware does.
    #[must_use]
    pub fn to_milliseconds(self) -> Self {
        Self((self.0 * 1e3).round() / 1e3)
    }
}

/// A span of time in the words of a table: `340 ms`, `12 min`, `3.2 d`, `1.4 years`.
pub fn plain_time(time: Seconds) -> String {
    let s = time.0;
    match s.abs() {
        x if x < 120.0 => time.to_string(),
        x if x < 7200.0 => format!("{} min", figures(s / 60.0)),
        x if x < 172_800.0 => format!("{} h", figures(s / 3600.0)),
        x if x < 2.0 * YEAR => format!("{} d", figures(s / 86_400.0)),
        _ => format!("{} years", figures(s / YEAR)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_with_unit_becomes_si() {
        let close = |a: f64, b: f64| (a - b).abs() <= 1e-12 * b.abs();
        assert!(close(Amps::parse("16 uA").unwrap().0, 16e-6));
        assert!(close(Amps::parse("16 µA").unwrap().0, 16e-6));
        assert!(close(Coulombs::parse("850mAh").unwrap().0, 3060.0));
        assert!(close(Celsius::parse("-7.5 °C").unwrap().0, -7.5));
        assert!(close(Metres::parse("2.9 in").unwrap().0, 0.07366));
        assert!(close(Seconds::parse("1e3 ms").unwrap().0, 1.0));
        assert!(close(PerSecond::parse("24 %/year").unwrap().0, PerSecond::parse("2 %/month").unwrap().0));
    }

    #[test]
    fn long_times_are_minutes_hours_days_and_years() {
        for (seconds, expected) in [
            (90.0, "90 s"),
            (999.0, "999 s"),
            (999.6, "16.7 min"),
            (12_000.0, "3.33 h"),
            (-12_000.0, "-3.33 h"),
            (864_000.0, "10 d"),
            (2.5 * YEAR, "2.5 years"),
        ] {
            assert_eq!(Seconds(seconds).to_string(), expected);
            assert_eq!(show_si(seconds, "s"), expected);
        }
    }

    #[test]
    fn errors_name_what_was_expected() {
        assert_eq!(
            Amps::parse("16").unwrap_err().0,
            "expected a current with its unit, such as \"16 uA\"; the unit is missing"
        );
        assert!(Amps::parse("16 mV").unwrap_err().0.contains("\"mV\" is not one of its units: A, mA, uA, nA"));
        assert!(Volts::parse("three V").unwrap_err().0.contains("does not begin with a number"));
        assert!(Volts::parse("1e999 V").unwrap_err().0.contains("finite"));
        assert!(Seconds::parse("").unwrap_err().0.contains("expected a time"));
    }

    #[test]
    fn display_keeps_three_figures() {
        assert_eq!(Amps(12.44e-6).to_string(), "12.4 uA");
        assert_eq!(Joules(0.0).to_string(), "0 J");
        assert_eq!(figures(1.234e300), "1.23e300");
        assert_eq!(figures(999_999_999_999.0), "999999999999");
        assert_eq!(Seconds(0.25).to_string(), "250 ms");
        assert_eq!(Ratio(0.125).to_string(), "12.5 %");
        assert_eq!(Volts(3.3).to_string(), "3.3 V");
        assert_eq!(PerSecond::parse("24 %/year").unwrap().to_string(), "2 %/month");
        assert_eq!(PerSecond::parse("1 %/year").unwrap().to_string(), "1 %/year");
        assert_eq!((Coulombs(5400.0).to_string(), Coulombs(2e-6).to_string()), ("1500 mAh".into(), "2 uC".into()));
        assert_eq!(
            ["9999", "10000", "-627716144", "12345.5", "1e300"].map(grouped),
            ["9999", "10,000", "-627,716,144", "12,345.5", "1e300"]
        );
    }

    #[test]
    fn products_keep_their_dimension() {
        assert_eq!(Amps(2.0) * Seconds(3.0), Coulombs(6.0));
        assert_eq!(Joules(6.0) / Volts(3.0), Coulombs(2.0));
        assert_eq!(Volts(3.0) / Ohms(1.5), Amps(2.0));
    }
}

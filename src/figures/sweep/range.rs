//! The values of a swept input as a designer writes them: `1uA..10uA`, `3..20` or `2.8 V, 3.0 V, 3.3 V`.
//!
//! Not for what the values do to a project: a value goes into it as the text that `--set` would take.

use crate::source::fault::Fault;
use crate::units::symbols::{factor, number};

/// Most values of one input.
pub const MOST: usize = crate::limits::SWEEP_VALUES;

/// How the values of a range are spaced.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Spacing {
    /// Equal differences.
    #[default]
    Linear,
    /// Equal ratios.
    Log,
    /// Words, one beside the other.
    Words,
}

/// One value of a swept input.
#[derive(Clone, Debug, PartialEq)]
pub struct Value {
    /// As `--set` takes it: `2.5 uA`.
    pub text: String,
    /// The same number, in the unit of the [`Values`] it belongs to.
    pub number: f64,
}

/// The values of a swept input, all in one unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Values {
    /// The unit's symbol as written; empty for plain numbers.
    pub unit: String,
    /// The values in the order they were asked for.
    pub values: Vec<Value>,
    /// Whether they are words, not numbers.
    pub words: bool,
}

fn wrong(text: &str, why: &str) -> Fault {
    Fault::plain(format!("the range {text:?} cannot be used: {why}"))
        .help("write FROM..TO, such as 1uA..10uA or 3..20, or a list such as 2.8V,3.0V,3.3V or ram,external")
}

/// The values of a range or a list; `steps` and `spacing` are for ranges.
///
/// Whole ends without a unit give whole values, each once: `3..20` for counts. Write `3.0..20.0` for what lies between.
///
/// # Errors
/// When it is neither, its units do not belong together, its ends are equal, or logarithmic spacing meets 0 or less.
pub fn values(text: &str, steps: usize, spacing: Spacing) -> Result<Values, Fault> {
    match text.split_once("..") {
        Some((from, to)) => range(text, from, to, steps, spacing),
        None => list(text),
    }
}

fn range(text: &str, from: &str, to: &str, steps: usize, spacing: Spacing) -> Result<Values, Fault> {
    let read = |end: &str| match number(end) {
        Some((value, unit)) => Ok((value, unit.to_owned())),
        None => Err(wrong(text, &format!("{:?} is not a finite number with or without a unit", end.trim()))),
    };
    let ((first, first_unit), (last, unit)) = (read(from)?, read(to)?);
    // `1..10 uA` means both ends in microamperes.
    let scale = if first_unit.is_empty() { Some(1.0) } else { factor(&first_unit, &unit) };
    let scale =
        scale.ok_or_else(|| wrong(text, &format!("the units {first_unit:?} and {unit:?} do not belong together")))?;
    let (first, last) = (tidy(first * scale), tidy(last));
    if first == last {
        return Err(wrong(text, "both ends are equal"));
    }
    if !(2..=MOST).contains(&steps) {
        return Err(Fault::plain(format!("a range has from 2 to {MOST} steps; {steps} were asked for")));
    }
    if spacing == Spacing::Log && !(first > 0.0 && last > 0.0) {
        return Err(wrong(text, "with --log both ends must be above 0"));
    }
    let whole = unit.is_empty() && !from.contains(['.', 'e', 'E']) && !to.contains(['.', 'e', 'E']);
    let at = |step: usize| {
        let share = step as f64 / (steps - 1) as f64;
        let value = match spacing {
            // The ends exactly as they were asked for.
            _ if step == 0 => first,
            _ if step == steps - 1 => last,
            Spacing::Linear | Spacing::Words => first + (last - first) * share,
            Spacing::Log => first * (last / first).powf(share),
        };
        match spacing {
            _ if whole => value.round(),
            _ if step == 0 || step == steps - 1 => value,
            Spacing::Linear | Spacing::Words => near(value, (last - first) / (steps - 1) as f64),
            Spacing::Log => near(value, value * (last / first).ln() / (steps - 1) as f64),
        }
    };
    let mut numbers: Vec<f64> = (0..steps).map(at).collect();
    numbers.dedup();
    Ok(made(numbers, unit))
}

fn list(text: &str) -> Result<Values, Fault> {
    let words = |item: &str| item.trim().starts_with(|letter: char| letter.is_alphabetic() || letter == '"');
    if text.split(',').all(words) {
        return named(text);
    }
    let mut numbers = Vec::new();
    let mut unit: Option<String> = None;
    for item in text.split(',') {
        let read = number(item);
        let (value, symbol) = read
            .ok_or_else(|| wrong(text, &format!("{:?} is not a finite number with or without a unit", item.trim())))?;
        let first = unit.get_or_insert_with(|| symbol.to_owned());
        let scale = factor(symbol, first)
            .ok_or_else(|| wrong(text, &format!("the units {first:?} and {symbol:?} do not belong together")))?;
        numbers.push(tidy(value * scale));
    }
    if !(2..=MOST).contains(&numbers.len()) {
        return Err(wrong(text, &format!("a list has from 2 to {MOST} values")));
    }
    let falls = numbers[0] > numbers[1];
    if !numbers.windows(2).all(|pair| if falls { pair[0] > pair[1] } else { pair[0] < pair[1] }) {
        return Err(wrong(text, "the values of a list must rise or fall, each once"));
    }
    Ok(made(numbers, unit.unwrap_or_default()))
}

/// Words such as the names of profiles, each once; their numbers are their positions.
fn named(text: &str) -> Result<Values, Fault> {
    let words: Vec<&str> = text.split(',').map(|word| word.trim().trim_matches('"')).collect();
    if let [word] = words[..] {
        let fault = Fault::plain(format!("{word:?} is a word alone, and a sweep takes several values"));
        return Err(
            fault.help("write a list of words such as ram,external, or `inkjoule budget PROJECT --set PATH=WORD`")
        );
    }
    if words.len() > MOST {
        return Err(wrong(text, &format!("a list has from 2 to {MOST} values")));
    }
    if let Some(at) = (1..words.len()).find(|at| words[..*at].contains(&words[*at])) {
        return Err(wrong(text, &format!("{:?} stands twice", words[at])));
    }
    let value = |(place, word): (usize, &&str)| Value { text: (*word).to_owned(), number: place as f64 };
    Ok(Values { unit: String::new(), values: words.iter().enumerate().map(value).collect(), words: true })
}

fn made(numbers: Vec<f64>, unit: String) -> Values {
    let value = |number: f64| {
        // Without hundreds of zeros.
        let plain = if number != 0.0 && !(1e-15..1e15).contains(&number.abs()) {
            format!("{number:e}")
        } else {
            number.to_string()
        };
        let text = if unit.is_empty() { plain } else { format!("{plain} {unit}") };
        Value { text, number }
    };
    Values { values: numbers.into_iter().map(value).collect(), unit, words: false }
}

/// The value to about a hundredth of the step to the next one, so that tables and `--set` have short numbers.
fn near(value: f64, step: f64) -> f64 {
    let decimals = (2.0 - step.abs().log10().floor()).clamp(0.0, 15.0) as usize;
    format!("{value:.decimals$}").parse().unwrap_or(value)
}

/// Nine significant figures: a step of 0.1 gives 0.3, not 0.30000000000000004.
fn tidy(value: f64) -> f64 {
    format!("{value:.8e}").parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(text: &str, steps: usize, spacing: Spacing) -> Vec<String> {
        values(text, steps, spacing).unwrap().values.into_iter().map(|value| value.text).collect()
    }

    #[test]
    fn ranges_are_linear_logarithmic_or_whole() {
        assert_eq!(texts("1uA..3uA", 5, Spacing::Linear), ["1 uA", "1.5 uA", "2 uA", "2.5 uA", "3 uA"]);
        assert_eq!(texts("1 uA..100 uA", 3, Spacing::Log), ["1 uA", "10 uA", "100 uA"]);
        assert_eq!(texts("500 nA..2 uA", 4, Spacing::Linear), ["0.5 uA", "1 uA", "1.5 uA", "2 uA"]);
        assert_eq!(texts("1..2 V", 2, Spacing::Linear), ["1 V", "2 V"]);
        assert_eq!(texts("3..5", 9, Spacing::Linear), ["3", "4", "5"]);
        assert_eq!(texts("0.0..0.4", 5, Spacing::Linear), ["0", "0.1", "0.2", "0.3", "0.4"]);
        assert_eq!(texts("-5 °C..5 °C", 3, Spacing::Linear), ["-5 °C", "0 °C", "5 °C"]);
        assert_eq!(texts("20..10", 3, Spacing::Linear), ["20", "15", "10"]);
        assert_eq!(texts("5 min..60 min", 4, Spacing::Linear), ["5 min", "23.3 min", "41.7 min", "60 min"]);
        assert_eq!(texts("1 mA..10 mA", 4, Spacing::Log), ["1 mA", "2.15 mA", "4.64 mA", "10 mA"]);
        assert_eq!(texts("1000 Hz..4000 Hz", 4, Spacing::Linear), ["1000 Hz", "2000 Hz", "3000 Hz", "4000 Hz"]);
    }

    #[test]
    fn lists_keep_their_order_and_first_unit() {
        assert_eq!(texts("2.8V, 3 V,3300 mV", 9, Spacing::Linear), ["2.8 V", "3 V", "3.3 V"]);
    }

    #[test]
    fn what_cannot_be_a_range_is_refused_with_the_reason() {
        let why = |text: &str, spacing| values(text, 5, spacing).unwrap_err().message;
        assert!(why("1uA..10V", Spacing::Linear).contains("do not belong together"));
        assert!(why("1uA..1000nA", Spacing::Linear).contains("both ends are equal"));
        assert!(why("0..10", Spacing::Log).contains("above 0"));
        assert!(why("fast..slow", Spacing::Linear).contains("\"fast\" is not a finite number"));
        assert!(why("1..1e999", Spacing::Linear).contains("not a finite number"));
        assert!(why("3", Spacing::Linear).contains("from 2 to"));
        assert!(why("ram", Spacing::Linear).contains("\"ram\" is a word alone"));
        assert!(why("ram,rom,ram", Spacing::Linear).contains("\"ram\" stands twice"));
        assert!(why("3,5,4", Spacing::Linear).contains("rise or fall"));
        assert!(values("1..2", 1, Spacing::Linear).unwrap_err().message.contains("from 2 to 1000 steps"));
    }
}

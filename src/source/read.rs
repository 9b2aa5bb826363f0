//! Reads tables into serde types and reports every error of a file, not only the first.
//!
//! serde stops at the first error. [`Reader::read`] notes that error, takes the smallest entry that caused it out
//! of the table, and reads again, until the rest is sound. A missing key takes out the table that lacks it.

use super::amount;
use super::fault::{Fault, nearest};
use super::spans::Span;
use crate::units::symbols;
use serde::Deserialize;
use std::collections::BTreeSet;
use toml::Spanned;
use toml::de::{DeTable, DeValue, ValueDeserializer};

/// A parsed value; its spans count in the numbering of [`super::spans::Sources`].
pub type Tree<'t> = Spanned<DeValue<'t>>;

/// More errors than this in one table are not looked for: they are rarely independent.
const MOST_FAULTS: usize = 50;

/// Largest number that a file may hold.
const LARGEST: f64 = 1e12;

/// Collects faults while trees become values.
#[derive(Debug, Default)]
pub struct Reader {
    /// What was found so far.
    pub faults: Vec<Fault>,
    /// Tables and keys of the outermost table in which a stand-in took the place of what is missing or at fault.
    pub stood_in: BTreeSet<String>,
}

impl Reader {
    /// Parses a file's text; errors are noted and what could be read is returned. Spans count from `start`.
    pub fn parse<'t>(&mut self, text: &'t str, start: usize) -> Tree<'t> {
        let (table, errors) = DeTable::parse_recoverable(text);
        // What follows on the same line follows from the first.
        let mut lines = BTreeSet::new();
        for error in &errors {
            let span = error.span().unwrap_or(0..0);
            let line = text.get(..span.start).and_then(|before| before.rfind('\n'));
            if lines.insert(line) {
                let message = format!("this is not well-formed TOML: {}", error.message());
                let fault = Fault::at(shift(&span, start), message);
                self.faults.push(match dotted_range(text, line.map_or(0, |at| at + 1)) {
                    true => fault.help("a range is a list of two numbers: [0, 120]"),
                    false => fault,
                });
            }
        }
        table.get_ref().values().for_each(|value| self.numbers(value, start));
        let span = table.span();
        moved(Spanned::new(span, DeValue::Table(table.into_inner())), start)
    }

    /// Notes numbers that no project means: what is infinite, not a number, or beyond all measure.
    fn numbers(&mut self, value: &Spanned<DeValue<'_>>, start: usize) {
        match value.get_ref() {
            DeValue::Table(table) => table.values().for_each(|value| self.numbers(value, start)),
            DeValue::Array(values) => values.iter().for_each(|value| self.numbers(value, start)),
            // No number at all is broken syntax, and noted as that.
            DeValue::Float(number) if number.as_str().is_empty() => {}
            DeValue::Float(number) if !number.as_str().parse::<f64>().is_ok_and(|number| number.abs() <= LARGEST) => {
                let fault = Fault::at(shift(&value.span(), start), format!("{number} is not a usable number"));
                self.faults.push(fault.help(format!("write a number up to {LARGEST:e}")));
            }
            _ => {}
        }
    }

    /// Reads a tree as `T`, without the entries at fault; the reasons are in `faults`. What is missing or at fault is taken
    /// from a sound tree where one is given and has it, so that the rest can still be looked at. `None` when no `T` is left.
    pub fn read<'t, T: Deserialize<'t>>(&mut self, mut tree: Tree<'t>, spare: Option<&Tree<'t>>) -> Option<T> {
        let mut holed: Vec<Span> = Vec::new();
        for _ in 0..2 * MOST_FAULTS {
            if self.faults.len() > MOST_FAULTS {
                return None;
            }
            let error = match T::deserialize(ValueDeserializer::from(tree.clone())) {
                Ok(value) => return Some(value),
                Err(error) => error,
            };
            let span = error.span().unwrap_or_else(|| tree.span());
            let missing = error.message().starts_with("missing field");
            // A key may be missing only because it was taken out before: then this is an echo, not a finding.
            // A number that is none was noted when the file was parsed.
            let noted = error.message() == "floating-point number overflowed";
            let echo = missing && holed.contains(&span);
            if !noted && !echo {
                let fault = describe(error.message(), span.clone());
                self.faults.push(with_unit(fault, &tree, &span, spare));
            }
            if let (true, Some(spare)) = (missing, spare)
                && let Some(place) = put_in(&mut tree, &span, error.message(), spare)
            {
                self.stood_in.insert(place);
                continue;
            }
            match take_out(&mut tree, &span) {
                Some(parent) => holed.push(parent),
                None => return None,
            }
        }
        None
    }

    /// Notes a fault.
    pub fn fault(&mut self, fault: Fault) {
        self.faults.push(fault);
    }
}

fn shift(span: &Span, by: usize) -> Span {
    span.start + by..span.end + by
}

/// The same tree with every span moved by an offset.
fn moved(tree: Tree<'_>, by: usize) -> Tree<'_> {
    let span = shift(&tree.span(), by);
    let value = match tree.into_inner() {
        DeValue::Array(items) => DeValue::Array(items.into_iter().map(|item| moved(item, by)).collect()),
        DeValue::Table(table) => DeValue::Table(
            table
                .into_iter()
                .map(|(key, value)| (Spanned::new(shift(&key.span(), by), key.into_inner()), moved(value, by)))
                .collect(),
        ),
        // Dates and times are texts to a project, with quotes or without: `at = 20:00`.
        DeValue::Datetime(time) => DeValue::String(time.to_string().into()),
        scalar => scalar,
    };
    Spanned::new(span, value)
}

/// The names that lead to the value at `span`; positions of lists are left out.
fn way_to(tree: &Tree<'_>, span: &Span) -> Option<Vec<String>> {
    if tree.span() == *span {
        return Some(Vec::new());
    }
    match tree.get_ref() {
        DeValue::Table(table) => table.iter().find_map(|(key, value)| {
            let mut way = way_to(value, span)?;
            way.insert(0, key.get_ref().to_string());
            Some(way)
        }),
        DeValue::Array(items) => items.iter().find_map(|item| way_to(item, span)),
        _ => None,
    }
}

/// What a sound tree has at the end of a way; for names that it does not know its first entry stands.
fn along<'s, 't>(spare: &'s Tree<'t>, way: &[String]) -> Option<&'s Tree<'t>> {
    let mut at = spare;
    for name in way {
        while let DeValue::Array(items) = at.get_ref() {
            at = items.iter().next()?;
        }
        let table = at.get_ref().as_table()?;
        at = table.get(name.as_str()).or_else(|| table.values().next().filter(|value| value.get_ref().is_table()))?;
    }
    while let DeValue::Array(items) = at.get_ref() {
        at = items.iter().next()?;
    }
    Some(at)
}

/// Puts the missing key of the table at `span` in from a sound tree. Gives the outermost name that is concerned.
fn put_in<'t>(tree: &mut Tree<'t>, span: &Span, message: &str, spare: &Tree<'t>) -> Option<String> {
    let key = message.split('`').nth(1)?;
    let way = way_to(tree, span)?;
    let found = along(spare, &way)?.get_ref().as_table()?.get(key)?;
    let value = placed(found.clone(), span);
    let table = at_span(tree, span)?;
    table.insert(Spanned::new(span.clone(), key.to_owned().into()), value);
    Some(way.into_iter().next().unwrap_or_else(|| key.to_owned()))
}

/// The table at `span`.
fn at_span<'a, 't>(tree: &'a mut Tree<'t>, span: &Span) -> Option<&'a mut DeTable<'t>> {
    if tree.span() == *span {
        let DeValue::Table(table) = tree.get_mut() else { return None };
        return Some(table);
    }
    match tree.get_mut() {
        DeValue::Table(table) => table.iter_mut().find_map(|(_, value)| at_span(value, span)),
        DeValue::Array(items) => items.iter_mut().find_map(|item| at_span(item, span)),
        _ => None,
    }
}

/// The same tree with every span at one place.
pub fn placed<'t>(tree: Tree<'t>, span: &Span) -> Tree<'t> {
    let value = match tree.into_inner() {
        DeValue::Array(items) => DeValue::Array(items.into_iter().map(|item| placed(item, span)).collect()),
        DeValue::Table(table) => {
            let entry = |(key, value): (Spanned<_>, Tree<'t>)| {
                (Spanned::new(span.clone(), key.into_inner()), placed(value, span))
            };
            DeValue::Table(table.into_iter().map(entry).collect())
        }
        scalar => scalar,
    };
    Spanned::new(span.clone(), value)
}

/// A number without its unit is shown with the unit that this very key has in a sound tree: milliamperes at work,
/// microamperes asleep.
fn with_unit(fault: Fault, tree: &Tree<'_>, span: &Span, spare: Option<&Tree<'_>>) -> Fault {
    if !fault.message.ends_with(amount::NO_UNIT) && !fault.message.ends_with("the unit is missing") {
        return fault;
    }
    let Some(way) = way_to(tree, span) else { return fault };
    let number = match along(tree, &way).map(|value| value.get_ref()) {
        Some(DeValue::String(text)) => text.trim().to_owned(),
        Some(DeValue::Integer(number)) => number.as_str().to_owned(),
        Some(DeValue::Float(number)) => number.as_str().to_owned(),
        _ => return fault,
    };
    let known = spare.and_then(|spare| along(spare, &way));
    let typical = known.and_then(|value| value.get_ref().as_table().map_or(Some(value), |table| table.get("typ")));
    let unit = typical.and_then(|value| value.get_ref().as_str()).and_then(|known| symbols::likeliest(&number, known));
    match unit {
        Some(unit) => {
            let help = format!("write \"{number} {unit}\", or another unit");
            fault.help(help)
        }
        None => fault,
    }
}

/// Takes the entry at `span` (its key or its value) out of the table or array that holds it.
/// Returns that holder's span, or `None` when the span is the whole tree or nowhere in it.
fn take_out(tree: &mut Tree<'_>, span: &Span) -> Option<Span> {
    let here = tree.span();
    match tree.get_mut() {
        DeValue::Table(table) => {
            let found = table.iter().find(|(key, value)| key.span() == *span || value.span() == *span);
            if let Some(name) = found.map(|(key, _)| key.get_ref().to_string()) {
                table.remove(name.as_str());
                return Some(here);
            }
            table.iter_mut().find_map(|(_, value)| take_out(value, span))
        }
        DeValue::Array(items) => {
            if let Some(index) = items.iter().position(|item| item.span() == *span) {
                let kept = items.iter().enumerate().filter(|(at, _)| *at != index);
                *items = kept.map(|(_, item)| item.clone()).collect();
                return Some(here);
            }
            items.iter_mut().find_map(|item| take_out(item, span))
        }
        _ => None,
    }
}

/// Whether the line that begins there has a range with dots, `0..120`, as `sweep` takes it.
fn dotted_range(text: &str, from: usize) -> bool {
    let line = text.get(from..).and_then(|rest| rest.lines().next()).unwrap_or_default();
    let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    line.match_indices("..").any(|(at, _)| digit(line[..at].chars().last()) && digit(line[at + 2..].chars().next()))
}

/// Turns serde's message into ours: what was expected, what was found, and the nearest known name.
fn describe(message: &str, span: Span) -> Fault {
    let names: Vec<&str> = message.split('`').skip(1).step_by(2).collect();
    match names.split_first() {
        Some((found, known)) if message.starts_with("unknown field") => unknown_key(found, known.iter().copied(), span),
        Some((found, known)) if message.starts_with("unknown variant") => {
            let fault = Fault::at(span, format!("`{found}` is not one of the values allowed here"))
                .label(format!("expected {}", one_of(known)));
            match nearest(found, known.iter().copied()) {
                Some(help) => fault.help(help),
                None => fault,
            }
        }
        Some((key, _)) if message.starts_with("missing field") => {
            Fault::at(span, format!("the key `{key}` is missing")).label(format!("`{key} = ...` belongs in here"))
        }
        _ => {
            let said = plain(&message.replace("invalid type: ", "found ").replace("invalid value: ", "found "));
            let help = slip(&said);
            Fault { help, ..Fault::at(span, said) }
        }
    }
}

/// What to write where a text stands in place of something else.
fn slip(said: &str) -> Option<String> {
    let (text, expected) = said.strip_prefix("found the text \"")?.split_once("\", expected ")?;
    match expected {
        "a table" => Some("write { key = value, ... }; `inkjoule guide keys` lists the keys".to_owned()),
        "a number" if text.parse::<f64>().is_ok_and(f64::is_finite) => Some(format!("without quotes: {text}")),
        _ => None,
    }
}

/// A message without Rust's names of types.
fn plain(message: &str) -> String {
    let Some((found, expected)) = message.split_once(", expected ") else {
        let said = [
            ("wanted string or table", "expected a text or a table"),
            ("wanted exactly 1 element, found 0 elements", "expected one key, found none"),
            ("wanted exactly 1 element, more than 1 element", "expected one key, found several"),
        ];
        return said.iter().fold(message.to_owned(), |text, (rust, plain)| text.replace(rust, plain));
    };
    let whole = found.starts_with("found integer ");
    let found = match found.split_once(' ') {
        Some(("found", "map")) => "found a table".to_owned(),
        Some(("found", "sequence")) => "found a list".to_owned(),
        // A word that must have a value: `signal = "count"` for `signal = { count = { step = 1 } }`.
        Some(("found", kind)) if kind.ends_with(" variant") => "found a word alone".to_owned(),
        Some(("found", kind)) => {
            let kinds = [("integer `", "`"), ("floating point `", "`"), ("boolean `", "`"), ("string ", "the text ")];
            let named = kinds.iter().find_map(|(rust, plain)| Some(format!("{plain}{}", kind.strip_prefix(rust)?)));
            format!("found {}", named.unwrap_or_else(|| kind.to_owned()))
        }
        _ => found.replace("invalid length ", "found a list of "),
    };
    let expected = match expected {
        "u8" if whole => "a whole number from 0 to 255",
        "u16" if whole => "a whole number from 0 to 65535",
        "u32" if whole => "a whole number from 0 to 4294967295",
        "u8" | "u16" | "u32" | "u64" | "usize" => "a whole number from 0 on",
        "i8" | "i16" | "i32" | "i64" | "isize" => "a whole number",
        "f32" | "f64" => "a number",
        "a map" => "a table",
        "a sequence" => "a list",
        "a boolean" | "bool" => "true or false",
        "a string" | "str" | "string" => "a text",
        "a character" | "char" => "one character",
        expected if expected.starts_with("struct ") => "a table",
        expected if expected.starts_with("enum ") => "one of the words known here",
        expected if expected.starts_with("unit ") || expected.starts_with("newtype ") => "one of the words known here",
        expected => return format!("{found}, expected {}", listed(expected)),
    };
    format!("{found}, expected {expected}")
}

/// "a tuple of size 2" and "an array of length 2" are lists to a designer, "u64" a number.
fn listed(expected: &str) -> String {
    if let Some((_, count)) = expected
        .split_once("tuple of size ")
        .or(expected.split_once("array of length "))
        .or(expected.split_once("with "))
        && let Some(count) = count.split(' ').next().filter(|count| count.parse::<usize>().is_ok())
    {
        return format!("a list of {count}");
    }
    let mut text = expected.to_owned();
    for (rust, plain) in
        [("struct ", "a table of "), ("u64", "a whole number from 0 on"), ("u32", "a whole number from 0 on")]
    {
        text = text.replace(rust, plain);
    }
    text
}

fn one_of(names: &[&str]) -> String {
    let quoted: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    match quoted.as_slice() {
        [only] => only.clone(),
        _ => format!("one of {}", quoted.join(", ")),
    }
}

/// The fault for a key that its table does not know.
pub fn unknown_key<'a>(found: &str, known: impl IntoIterator<Item = &'a str>, span: Span) -> Fault {
    let fault = Fault::at(span, format!("the key `{found}` is not known here")).label("not expected here");
    match nearest(found, known) {
        Some(help) => fault.help(help),
        None => fault,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::amount::{At, Qty};
    use crate::units::Seconds;

    #[derive(Deserialize, Debug)]
    #[serde(deny_unknown_fields)]
    #[allow(dead_code)]
    struct Outer {
        name: String,
        wait: Option<Qty<Seconds>>,
        #[serde(default)]
        items: Vec<Inner>,
    }

    #[derive(Deserialize, Debug)]
    #[serde(deny_unknown_fields)]
    #[allow(dead_code)]
    struct Inner {
        size: At<u32>,
    }

    fn read(text: &str) -> (Option<Outer>, Vec<String>) {
        let mut reader = Reader::default();
        let tree = reader.parse(text, 100);
        let value = reader.read(tree, None);
        let shown = |fault: &Fault| format!("{:?} {}", fault.span.clone().unwrap_or(0..0), fault.message);
        (value, reader.faults.iter().map(shown).collect())
    }

    #[test]
    fn sound_text_is_read_with_global_spans() {
        let (value, faults) = read("name = 'x'\nitems = [{ size = 7 }]");
        assert_eq!(faults, Vec::<String>::new());
        assert_eq!(value.map(|outer| outer.items[0].size.span.clone()), Some(129..130));
    }

    #[test]
    fn every_error_is_reported_once() {
        let (value, faults) = read("nam = 'x'\nwait = 5\nitems = [{ size = 'a' }, { siz = 3 }, { size = 4 }]\n");
        assert!(value.is_none());
        let text = faults.join("\n");
        // `name` is missing only because of the typo `nam`: that is said once.
        assert_eq!(faults.len(), 4, "{text}");
        assert!(text.contains("found the text \"a\""), "{text}");
        assert!(text.contains("100..103 the key `nam` is not known here"), "{text}");
        assert!(text.contains("5 is a bare number"), "{text}");
        assert!(text.contains("the key `siz` is not known here"), "{text}");
    }

    #[test]
    fn messages_name_no_types_of_the_program() {
        let (_, faults) = read("name = 'x'\nitems = [{ size = 'a' }, 7]\n");
        let text = faults.join("\n");
        assert!(text.contains("expected a whole number from 0 on") && text.contains("expected a table"), "{text}");
        assert!(!text.contains("u32") && !text.contains("struct"), "{text}");
    }

    #[test]
    fn broken_syntax_does_not_hide_the_rest() {
        let (_, faults) = read("name = 'x'\nwait = = 3\nitms = []\n");
        assert!(faults.iter().any(|fault| fault.contains("not well-formed TOML")), "{faults:?}");
        assert!(faults.iter().any(|fault| fault.contains("`itms`")), "{faults:?}");
    }

    /// `range = 0..120` once gave four errors, one of them about a number without a digit.
    #[test]
    fn one_slip_of_syntax_is_one_fault_with_what_to_write() {
        let (_, faults) = read("name = 'x'\nwait = 0..120\nitems = []\n");
        assert_eq!(faults.iter().filter(|fault| fault.contains("TOML")).count(), 1, "{faults:?}");
        assert!(!faults.iter().any(|fault| fault.contains("usable") || fault.contains("overflowed")), "{faults:?}");
    }
}

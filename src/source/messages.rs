//! What serde and the units say of a value that does not fit, in the words of a designer: what was expected, what was
//! found, and what this very key usually holds.

use super::amount;
use super::fault::{Fault, nearest};
use super::spans::Span;
use super::tree::{Tree, along, way_to};
use crate::units::symbols;
use toml::de::DeValue;

/// A usual value of keys that the starter project does not have, by the end of their names: milliseconds are no battery
/// life.
const USUAL: &[(&str, &str)] = &[
    ("cycle.period", "24 h"),
    ("cycle.peak", "15 h"),
    ("limits.life", "200 d"),
    ("limits.latency", "1 s"),
    ("limits.update-energy", "50 mJ"),
    ("limits.ram", "8 KiB"),
    ("limits.flash", "64 KiB"),
    ("limits.residue", "4 %"),
    ("charger.temperature", "20 °C"),
    ("charger.current", "100 mA"),
    ("termination-current", "10 mA"),
    ("usage.spread", "20 %"),
    ("min-interval", "60 s"),
    ("full-every", "24 h"),
    ("mcu-awake", "20 ms"),
    ("period", "10 s"),
    ("every", "15 min"),
    ("wait", "30 s"),
    ("after", "2 s"),
    ("look", "5 s"),
    ("for", "10 s"),
    ("on", "20 ms"),
];

/// Keys of a quantity's spread: the key before them says what it is.
const SPREAD: [&str; 3] = ["typ", "min", "max"];

/// Turns serde's message into ours: what was expected, what was found, and the nearest known name.
pub fn describe(message: &str, span: Span) -> Fault {
    let names: Vec<&str> = message.split('`').skip(1).step_by(2).collect();
    match names.split_first() {
        Some((found, known)) if message.starts_with("unknown field") => unknown_key(found, known.iter().copied(), span),
        Some((found, known)) if message.starts_with("unknown variant") => {
            let fault = Fault::at(span, format!("`{found}` is not one of the values allowed here"))
                .label(format!("expected {}", one_of(known)));
            // The others stand in the label.
            match nearest(found, known.iter().copied()).filter(|help| help.starts_with("did you")) {
                Some(help) => fault.help(help),
                None => fault,
            }
        }
        Some((key, _)) if message.starts_with("missing field") => {
            Fault::at(span, format!("the key `{key}` is missing")).label(format!("`{key} = ...` belongs in here"))
        }
        _ => {
            let said = plain(&message.replace("invalid type: ", "found ").replace("invalid value: ", "found "));
            match unit_meant(message).or_else(|| unquoted(&said)).or_else(|| table_meant(&said)) {
                Some(help) => Fault::at(span, said).help(help),
                None => Fault::at(span, said),
            }
        }
    }
}

/// The unit that a misspelt one is nearest to: capitals matter, and are easily mixed up.
fn unit_meant(message: &str) -> Option<String> {
    let (before, known) = message.split_once("\" is not one of its units: ")?;
    let found = before.rsplit('"').next()?;
    let mut same = known.split(", ").filter(|unit| unit.eq_ignore_ascii_case(found));
    match (same.next(), same.next()) {
        (Some(unit), None) => Some(format!("did you mean `{unit}`?")),
        (Some(unit), Some(other)) => Some(format!("did you mean `{unit}` or `{other}`?")),
        _ => None,
    }
}

/// How a table is written, where a text stands in its place.
fn table_meant(said: &str) -> Option<String> {
    let table = said.starts_with("found the text \"") && said.ends_with("\", expected a table");
    table.then(|| "write { key = value, ... }; `inkjoule guide keys` lists the keys".to_owned())
}

/// A number in quotes, where a bare one belongs.
fn unquoted(said: &str) -> Option<String> {
    let (found, expected) = said.strip_prefix("found the text \"")?.split_once("\", expected ")?;
    let number = found.trim().parse::<f64>().is_ok();
    (number && (expected == "a number" || expected.starts_with("a whole number")))
        .then(|| format!("leave out the quotes: {}", found.trim()))
}

/// A fault with what only the tree tells: how a table or a list is written in place of what was found, and what
/// the usual value of the key adds.
pub fn with_place(fault: Fault, tree: &Tree<'_>, span: &Span, spare: Option<&Tree<'_>>) -> Fault {
    let way = way_to(tree, span);
    let key = way.as_ref().and_then(|way| way.last());
    match (key, fault.message.as_str()) {
        (Some(key), "found a table, expected a list") => {
            let help = format!("write a heading in double brackets for each, [[{key}]], or {key} = [ ... ]");
            fault.help(help)
        }
        (Some(key), WORD_ALONE) => match along(tree, &way.clone().unwrap_or_default()).and_then(text_of) {
            Some(word) => fault.help(format!("write {key} = {{ {word} = {{ ... }} }}")),
            None => fault,
        },
        _ => with_usual(fault, tree, span, spare),
    }
}

/// What is said of a word that must have values.
const WORD_ALONE: &str = "found a word alone, expected a table";

/// A fault about a quantity with an example of what this very key usually holds, and a number without its unit with the
/// unit that is likeliest meant: milliamperes at work, microamperes asleep. `spare` is a sound tree.
fn with_usual(mut fault: Fault, tree: &Tree<'_>, span: &Span, spare: Option<&Tree<'_>>) -> Fault {
    let Some(way) = way_to(tree, span) else { return fault };
    let Some(usual) = spare.and_then(|spare| stated(spare, &way)).or_else(|| known(&way)) else { return fault };
    if let Some((before, rest)) = fault.message.split_once(SUCH_AS)
        && let Some((example, after)) = rest.split_once('"')
        && let (Some((_, unit)), Some((_, own))) = (symbols::number(example), symbols::number(&usual))
        && symbols::factor(unit, own).is_some()
    {
        fault.message = format!("{before}{SUCH_AS}{usual}\"{after}");
    }
    if !fault.message.ends_with(amount::NO_UNIT) && !fault.message.ends_with("the unit is missing") {
        return fault;
    }
    let number = along(tree, &way).and_then(text_of);
    match number.and_then(|number| {
        Some(format!("write \"{number} {}\", or another unit", symbols::likeliest(&number, &usual)?))
    }) {
        Some(help) => fault.help(help),
        None => fault,
    }
}

/// What stands before the example in a message about a quantity.
const SUCH_AS: &str = "such as \"";

fn text_of(value: &Tree<'_>) -> Option<String> {
    match value.get_ref() {
        DeValue::String(text) => Some(text.trim().to_owned()),
        DeValue::Integer(number) => Some(number.as_str().to_owned()),
        DeValue::Float(number) => Some(number.as_str().to_owned()),
        _ => None,
    }
}

/// The typical value that a sound tree has for a key.
fn stated(spare: &Tree<'_>, way: &[String]) -> Option<String> {
    let found = along(spare, way)?;
    let typical = found.get_ref().as_table().map_or(Some(found), |table| table.get("typ"));
    Some(typical?.get_ref().as_str()?.to_owned())
}

/// A usual value by the end of a key's names.
fn known(way: &[String]) -> Option<String> {
    let way = match way.split_last() {
        Some((last, before)) if SPREAD.contains(&last.as_str()) => before,
        _ => way,
    };
    let way = format!(".{}", way.join("."));
    let ends = |(end, _): &&(&str, &str)| way.strip_suffix(end).is_some_and(|before| before.ends_with('.'));
    USUAL.iter().find(ends).map(|(_, usual)| (*usual).to_owned())
}

/// A message without Rust's names of types.
fn plain(message: &str) -> String {
    let Some((found, expected)) = message.split_once(", expected ") else { return message.to_owned() };
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
        "u8" | "u16" | "u32" if found.contains("`-") => "a whole number from 0 on",
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

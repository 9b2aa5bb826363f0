//! Reads tables into serde types and reports every error of a file, not only the first.
//!
//! serde stops at the first error. [`Reader::read`] notes that error, takes the smallest entry that caused it out
//! of the table, and reads again, until the rest is sound. A missing key takes out the table that lacks it.

use super::absent::Absent;
use super::fault::{Fault, near};
use super::messages::{describe, with_place};
use super::spans::Span;
use super::syntax::{Stumbles, dotted_range};
use super::tree::{Tree, moved, put_in, shift, take_out};
use super::typed::{self, NO_KEY, OVERFLOWED};
use serde::de::DeserializeOwned;
use std::collections::BTreeSet;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// More errors than this in one table are not looked for: they are rarely independent.
const MOST_FAULTS: usize = 50;

/// Keys of the panel on which every layout rests.
const SIZES: [&str; 4] = ["pixels", "active", "mounted", "mirrored"];

/// Largest number that a file may hold.
const LARGEST: f64 = 1e12;

/// Collects faults while trees become values.
#[derive(Debug, Default)]
pub struct Reader {
    /// What was found so far.
    pub faults: Vec<Fault>,
    /// Tables and keys of the outermost table in which a stand-in took the place of what is missing or at fault.
    pub stood_in: BTreeSet<String>,
    /// Names whose entries were refused.
    pub absent: Absent,
    /// Places of entries that are not well-formed TOML: nothing is said of what was read in them.
    pub broken: Vec<Span>,
    /// The table that the tree at hand stands for: `strings/en`.
    pub root: String,
}

impl Reader {
    /// Parses a file's text; errors are noted and what could be read is returned. Spans count from `start`.
    pub fn parse<'t>(&mut self, text: &'t str, start: usize) -> Tree<'t> {
        let (table, errors) = DeTable::parse_recoverable(text);
        let places = errors.iter().map(|error| error.span().unwrap_or(0..0));
        let mut errors: Vec<(Span, &str)> = places.zip(errors.iter().map(|error| error.message())).collect();
        errors.sort_by_key(|(span, _)| span.start);
        let stumbles = Stumbles::of(text, errors.iter().map(|(span, _)| span.start));
        self.broken.extend(stumbles.broken.iter().map(|broken| shift(broken, start)));
        for (span, message) in stumbles.first.iter().filter_map(|first| errors.get(*first)) {
            let message = format!("this is not well-formed TOML: {message}");
            let fault = Fault::at(shift(span, start), message).syntax();
            let line = text.get(..span.start).and_then(|before| before.rfind('\n')).map_or(0, |at| at + 1);
            self.faults.push(match dotted_range(text, line) {
                true => fault.help("a range is a list of two numbers: [0, 120]"),
                false => fault,
            });
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
    pub fn read<'t, T: DeserializeOwned>(&mut self, mut tree: Tree<'t>, spare: Option<&Tree<'t>>) -> Option<T> {
        let mut holed: Vec<Span> = Vec::new();
        for _ in 0..2 * MOST_FAULTS {
            if self.faults.len() > MOST_FAULTS {
                return None;
            }
            let error = match typed::read::<T>(&tree) {
                Ok(value) => return Some(value),
                Err(error) => error,
            };
            let span = error.span().unwrap_or_else(|| tree.span());
            let missing = error.message().starts_with("missing field") || error.message() == NO_KEY;
            // A key may be missing only because it was taken out before: then this is an echo, not a finding.
            // A number that is none was noted when the file was parsed.
            let noted = error.message() == OVERFLOWED;
            let echo = missing && holed.contains(&span);
            if !noted && !echo {
                let fault = describe(error.message(), span.clone());
                self.faults.push(with_place(fault, &tree, &span, spare));
            }
            if let (true, Some(spare)) = (missing, spare)
                && let Some(place) = put_in(&mut tree, &span, error.message(), spare)
            {
                self.stood_in.insert(place);
                continue;
            }
            let taken = take_out(&mut tree, &span)?;
            self.absent.taken(&taken, &self.root);
            if let [table, key] = taken.way.as_slice()
                && table == "panel"
                && SIZES.iter().any(|known| near(key, known))
            {
                // Its usual value takes its place.
                self.stood_in.insert(table.clone());
            }
            holed.push(taken.holder);
        }
        None
    }

    /// Whether a place lies in an entry that is not well-formed, or holds one.
    pub fn is_broken(&self, place: &Span) -> bool {
        self.broken.iter().any(|broken| broken.start < place.end && place.start < broken.end)
    }

    /// Notes a fault.
    pub fn fault(&mut self, fault: Fault) {
        self.faults.push(fault);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::amount::{At, Qty};
    use crate::units::Seconds;
    use serde::Deserialize;

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

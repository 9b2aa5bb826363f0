//! The texts of a project in its locales.

use super::pseudo::PSEUDO;
use super::script;
use crate::limits;
use crate::source::amount::At;
use crate::source::fault::{Fault, no_such};
use crate::source::levels::MISSING_STRING;
use std::collections::{BTreeMap, BTreeSet};

/// Begins a text that names a string.
pub const NAMED: char = '@';

/// Texts by name, for each locale.
#[derive(Debug)]
pub struct Strings {
    locales: Vec<String>,
    tables: Vec<BTreeMap<String, At<String>>>,
    used: BTreeSet<String>,
    missing: BTreeSet<(usize, String)>,
}

impl Strings {
    /// Texts of the given locales; without any, one unnamed locale with no texts.
    pub fn new(mut tables: Vec<(String, BTreeMap<String, At<String>>)>) -> Self {
        if tables.is_empty() {
            tables.push((String::new(), BTreeMap::new()));
        }
        let (locales, tables) = tables.into_iter().unzip();
        Self { locales, tables, used: BTreeSet::new(), missing: BTreeSet::new() }
    }

    /// Names of the locales.
    pub fn locales(&self) -> &[String] {
        &self.locales
    }

    /// A text itself, or the string that its leading `@` names, in a locale. Faults are noted once a locale; where the
    /// string is missing, its name stands for it.
    pub fn words(&mut self, text: &At<String>, locale: usize, faults: &mut Vec<Fault>) -> Option<String> {
        let Some(name) = text.value.strip_prefix(NAMED) else {
            faults.extend(objections(text));
            return Some(within(&text.value));
        };
        self.used.insert(name.to_owned());
        if let Some(found) = self.tables[locale].get(name) {
            faults.extend(objections(found));
            return Some(within(&found.value));
        }
        if self.missing.insert((locale, name.to_owned())) {
            let place = match self.locales[locale].as_str() {
                "" => "the project has no strings folder".to_owned(),
                locale => format!("strings/{locale}.toml does not have it"),
            };
            let table = format!("strings/{}", self.locales[locale]);
            let known = self.tables[locale].keys().map(String::as_str);
            let fault = no_such("string", &table, (name, &text.span), known);
            faults.push(fault.label(place).lint(MISSING_STRING));
        }
        Some(text.value.clone())
    }

    /// Findings for strings that nothing uses.
    pub fn unused(&self) -> Vec<Fault> {
        let real = self.tables.iter().zip(&self.locales).filter(|(_, locale)| *locale != PSEUDO);
        let all = real.flat_map(|(table, locale)| table.iter().map(move |entry| (entry, locale)));
        all.filter(|((name, _), _)| !self.used.contains(*name))
            .map(|((name, text), locale)| {
                let text =
                    Fault::at(text.span.clone(), format!("the string `{name}` of strings/{locale}.toml is not used"));
                // Labels of keys are looked at only where the keys are known.
                text.lint("unused-string")
                    .follows(crate::source::fault::Table::Display)
                    .unused(&format!("{NAMED}{name}"))
                    .help("delete it, or use it as \"@...\"")
            })
            .collect()
    }

    /// Bytes of all texts in use, each with an end mark, over all locales.
    pub fn flash_bytes(&self) -> u64 {
        let real = self.tables.iter().zip(&self.locales).filter(|(_, locale)| *locale != PSEUDO);
        let used = |table: &BTreeMap<String, At<String>>| {
            table
                .iter()
                .filter(|(name, _)| self.used.contains(*name))
                .map(|(_, text)| text.value.len() as u64 + 1)
                .sum::<u64>()
        };
        real.map(|(table, _)| used(table)).sum()
    }
}

/// A text up to the length that is set: what is longer has been refused.
fn within(text: &str) -> String {
    let end = (0..=limits::TEXT_BYTES.min(text.len())).rev().find(|end| text.is_char_boundary(*end));
    text[..end.unwrap_or(0)].to_owned()
}

/// What cannot be shown as it is written.
fn objections(text: &At<String>) -> Vec<Fault> {
    let mut faults = Vec::new();
    if text.value.len() > limits::TEXT_BYTES {
        let long = format!("this text has {} bytes; at most {} are set", text.value.len(), limits::TEXT_BYTES);
        faults.push(Fault::at(text.span.clone(), long));
    }
    faults.extend(script::objection(&text.value).map(|objection| {
        let code = u32::from(objection.character);
        let fault = Fault::at(text.span.clone(), format!("U+{code:04X} in this text {}", objection.why));
        fault.lint(objection.id).help(objection.help)
    }));
    faults
}

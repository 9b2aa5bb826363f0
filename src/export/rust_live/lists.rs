//! What the crate counts: fields, screens, locales, events and keys as enumerations of Rust, with the numbers that the header
//! of `c-live` gives them. What is said of each comes from [`facts`]; not for what it means.

use crate::export::Order;
use crate::export::facts::{self, Listed};
use crate::firmware::names::Names;
use crate::firmware::tables::condition::decimals;
use crate::limits;
use crate::visible::one_line;
use std::fmt::Write;

/// One of an enumeration.
pub struct Item {
    /// Its name as Rust writes it.
    pub name: String,
    /// What is said of it.
    about: String,
}

/// Every enumeration.
pub struct Lists {
    /// Live values.
    pub fields: Vec<Item>,
    /// Screens and boxes.
    pub screens: Vec<Item>,
    /// Locales.
    pub locales: Vec<Item>,
    /// Events.
    pub events: Vec<Item>,
    /// Keys.
    pub keys: Vec<Item>,
}

impl Lists {
    /// Of an order.
    pub fn of(order: &Order<'_>) -> Self {
        let named = |list: Listed| {
            let mut given = Names::default();
            let item = |(id, about): (String, String)| {
                // What has nothing said of it is called by its name in the project.
                let about = if about.is_empty() { format!("`{id}`") } else { about };
                Item { name: given.take_camel(&id), about }
            };
            list.into_iter().map(item).collect()
        };
        let keys = 1..=order.device.keys().min(limits::KEYS);
        let mut fields: Vec<Item> = named(facts::fields(order, "`Device::arrived`"));
        for (index, field) in fields.iter_mut().enumerate() {
            if let Some((low, high)) = facts::range(order.device, index) {
                let _ = write!(field.about, "; {low} to {high} in units of the last decimal");
            }
        }
        Self {
            fields,
            screens: named(facts::screens(order)),
            locales: named(facts::locales(order)),
            events: named(facts::events(order)),
            keys: keys.map(|key| Item { name: format!("K{key}"), about: format!("Key {key} of the panel") }).collect(),
        }
    }

    /// All enumerations that have something in them.
    pub fn text(&self, order: &Order<'_>) -> String {
        let mut text =
            enumeration("A live value. Numbers are in units of its last decimal.", "Field", "u16", &self.fields);
        text += &enumeration("A screen or a box.", "Screen", "u16", &self.screens);
        text += &enumeration("A locale.", "Locale", "u8", &self.locales);
        text += &enumeration("An event.", "Event", "u16", &self.events);
        text += &enumeration("A key.", "Key", "u8", &self.keys);
        if !self.fields.is_empty() {
            text += &self.numbers(order);
        }
        text
    }

    /// What fields are in numbers.
    fn numbers(&self, order: &Order<'_>) -> String {
        let (mut digits, mut ranges) = (String::new(), String::new());
        for (index, field) in self.fields.iter().enumerate() {
            let _ = writeln!(digits, "            Self::{} => {},", field.name, decimals(order.device, index));
            if let Some((low, high)) = facts::range(order.device, index) {
                let _ = writeln!(ranges, "            Self::{} => Some(({low}, {high})),", field.name);
            }
        }
        let rest = if ranges.lines().count() < self.fields.len() { "            _ => None,\n" } else { "" };
        format!(
            "\nimpl Field {{\n    /// Its decimals: 215 with one decimal is 21.5.\n    pub const fn decimals(self) -> u8 {{\n        \
             match self {{\n{digits}        }}\n    }}\n\n    /// Its ends in units of its last decimal, where it has any.\n    \
             pub const fn range(self) -> Option<(i32, i32)> {{\n        match self {{\n{ranges}{rest}        }}\n    }}\n}}\n"
        )
    }
}

fn enumeration(about: &str, kind: &str, numbers: &str, items: &[Item]) -> String {
    if items.is_empty() {
        return String::new();
    }
    let mut text = format!(
        "\n/// {about}\n#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]\n#[repr({numbers})]\npub enum {kind} {{\n"
    );
    for (number, item) in items.iter().enumerate() {
        let _ = writeln!(text, "    /// {}.\n    {} = {number},", doc(&item.about), item.name);
    }
    let all: Vec<String> = items.iter().map(|item| format!("        Self::{},\n", item.name)).collect();
    text + &format!(
        "}}\n\nimpl {kind} {{\n    /// All of them, by their numbers.\n    #[rustfmt::skip]\n    pub const ALL: [Self; {}] = [\n{}    ];\n}}\n",
        items.len(),
        all.concat()
    )
}

/// Text that may stand in a line of documentation: on one line, and without what would be read as a link or as HTML.
pub fn doc(text: &str) -> String {
    let mut said = String::new();
    for character in one_line(text).trim().chars() {
        if ['\\', '[', ']', '<', '>', '*'].contains(&character) {
            said.push('\\');
        }
        said.push(character);
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn documentation_stays_on_its_line() {
        assert_eq!(doc(" a\nb\r[c]<d>*/ "), "a b\\[U+000D\\]\\[c\\]\\<d\\>\\*/");
    }
}

//! Names that stand in a project's text and yet are not there, because their entry is itself at fault or not well-formed.
//! Who asks for one of them is not at fault.

use super::fault::near;
use super::tree::{Taken, Tree};
use std::collections::BTreeSet;
use toml::de::DeValue;

/// Tables inside tables are looked at this far for names.
const DEEPEST: usize = 4;

/// Tables of `device.toml` whose names others ask for.
const IN_DEVICE: [&str; 7] = ["fields", "events", "fonts", "quantities", "rails", "loads", "board"];

/// Names that were refused, by the table that holds them: `fields`, `rails`, `strings/en`.
#[derive(Debug, Default)]
pub struct Absent {
    names: BTreeSet<(String, String)>,
    whole: BTreeSet<String>,
}

impl Absent {
    /// Notes what was taken out of a file's tree; `root` is the table that the file stands for.
    pub fn taken(&mut self, taken: &Taken<'_>, root: &str) {
        let Some((name, before)) = taken.way.split_last() else { return };
        let table = before.last().map_or(root, String::as_str);
        self.name(table, name);
        if !taken.value.get_ref().is_table() {
            self.whole.insert(name.clone());
        }
        self.inside(name, &taken.value, 0);
    }

    fn inside(&mut self, table: &str, value: &Tree<'_>, depth: usize) {
        let DeValue::Table(entries) = value.get_ref() else { return };
        for (key, value) in entries.iter().filter(|_| depth < DEEPEST) {
            self.name(table, key.get_ref());
            self.inside(key.get_ref(), value, depth + 1);
        }
    }

    /// Notes one name of a table.
    pub fn name(&mut self, table: &str, name: &str) {
        self.names.insert((table.to_owned(), name.to_owned()));
    }

    /// Notes that names of a table may be there that could not be read.
    pub fn table(&mut self, table: &str) {
        self.whole.insert(table.to_owned());
    }

    /// Notes that a file could not be read, or not all of it.
    pub fn unread(&mut self, file: &str) {
        let stem = file.strip_suffix(".toml").unwrap_or(file);
        match stem.split_once('/') {
            None => IN_DEVICE.iter().for_each(|table| self.table(table)),
            Some(("parts", name)) => self.name("parts", name),
            Some(_) => self.table(stem),
        }
    }

    /// Whether a name that a table does not have may have been refused. The table's own name may be misspelt.
    pub fn lacks(&self, table: &str, name: &str) -> bool {
        let refused = |(of, known): &(String, String)| known == name && (of == table || near(of, table));
        self.whole.iter().any(|whole| whole == table) || self.names.iter().any(refused)
    }
}

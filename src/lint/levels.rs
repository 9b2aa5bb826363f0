//! The level of each lint in one project: its own, or the one that `[lints]` in device.toml sets.

use super::{LINTS, Lint};
use crate::design::fault::{Fault, Level, nearest};
use crate::design::project::Named;
use std::collections::BTreeMap;

/// Levels that a project sets.
#[derive(Clone, Debug, Default)]
pub struct Levels {
    set: BTreeMap<&'static str, Level>,
}

impl Levels {
    /// The levels of `[lints]`; names that are no lint are noted.
    pub fn of(spec: &Named<Level>, faults: &mut Vec<Fault>) -> Self {
        let mut set = BTreeMap::new();
        for (id, level) in spec {
            match LINTS.iter().find(|lint| lint.id == id) {
                Some(lint) => {
                    set.insert(lint.id, level.value);
                }
                None => {
                    let fault = Fault::at(level.span.clone(), format!("there is no lint `{id}`"));
                    faults.push(fault.help(nearest(id, LINTS.iter().map(|lint| lint.id)).unwrap_or_default()));
                }
            }
        }
        Self { set }
    }

    /// The level of a lint.
    pub fn of_lint(&self, lint: &Lint) -> Level {
        self.set.get(lint.id).copied().unwrap_or(lint.level)
    }

    /// Gives findings of lints their level and drops those that are off; other faults stay as they are.
    pub fn apply(&self, faults: &mut Vec<Fault>) {
        for fault in faults.iter_mut() {
            let lint = LINTS.iter().find(|lint| Some(lint.id) == fault.id);
            fault.level = lint.map_or(fault.level, |lint| self.of_lint(lint));
        }
        faults.retain(|fault| fault.level != Level::Off);
    }
}

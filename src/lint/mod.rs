//! Lints: what a practitioner would object to in a project that can be read. One file a lint, one line in [`LINTS`].
//!
//! Not for limits that the project sets itself (see [`crate::check`]) nor for files that cannot be read. Lints without
//! a function are noted while the project is read, because only then are files and names at hand.

mod black;
mod cut;
mod dead_end;
mod digits;
mod efficiency;
mod key_idle;
mod key_label;
mod large;
pub mod levels;
mod outside;
mod overlap;
pub mod picture;
mod report;
mod roles;
mod smear;
mod subject;
pub mod text_size;
mod unaligned;
mod undated;
mod unreachable;

pub use report::{Finding, Shown};
pub use subject::Subject;

use crate::design::fault::Level;
use report::Report;

/// One lint.
pub struct Lint {
    /// Its stable name.
    pub id: &'static str,
    /// Its level unless the project sets another.
    pub level: Level,
    /// What it finds, in one sentence.
    pub about: &'static str,
    /// Finds it; `None` where it is found while the project is read.
    find: Option<fn(&Subject<'_>, &mut Report<'_>)>,
}

impl Lint {
    const fn of(id: &'static str, level: Level, about: &'static str, find: fn(&Subject<'_>, &mut Report<'_>)) -> Self {
        Self { id, level, about, find: Some(find) }
    }

    const fn noted(id: &'static str, level: Level, about: &'static str) -> Self {
        Self { id, level, about, find: None }
    }
}

use Level::{Error, Warning};

/// Every lint.
pub const LINTS: &[Lint] = &[
    Lint::noted("missing-string", Error, "A locale lacks a string that the screens use."),
    Lint::noted("missing-glyph", Error, "A face lacks a character that a screen needs in some locale."),
    Lint::noted("text-control", Error, "A text has control characters."),
    Lint::noted("text-direction", Error, "A text is written from right to left, which is not supported."),
    Lint::noted("text-shaping", Warning, "A text has characters that join, stack or move, which are drawn one by one."),
    Lint::noted("unused-string", Warning, "Nothing uses a string."),
    Lint::noted("unused-part", Warning, "Nothing uses a part."),
    Lint::noted("unused-asset", Warning, "Nothing uses a file of icons/, fonts/ or data/, or a face."),
    Lint::of("text-cut", Error, "A text is cut off at its widest, in some locale.", cut::find),
    Lint::of("outside", Error, "An element reaches out of its area or off the glass.", outside::find),
    Lint::of("overlap", Warning, "The ink of two elements runs together.", overlap::find),
    Lint::of("key-label-wide", Error, "A soft key's label is wider than the keys' pitch.", key_label::wide),
    Lint::of("key-label-off", Warning, "A soft key's label stands beside its key.", key_label::off),
    Lint::of("key-idle", Warning, "A soft key has a label and does nothing, or acts without a label.", key_idle::find),
    Lint::of("small-text", Warning, "Characters are seen under less than 16 minutes of arc.", text_size::height),
    Lint::of("small-matrix", Warning, "Characters have fewer pixels than can be told apart.", text_size::matrix),
    Lint::of("uneven-digits", Warning, "A live number is set in a face whose digits differ in width.", digits::find),
    Lint::of("smear", Warning, "Single pixels of a dithered area are driven by partial refreshes.", smear::find),
    Lint::of("large-black", Warning, "A large black area is driven by partial refreshes.", large::find),
    Lint::of("undated-value", Warning, "A screen shows a live value without its time.", undated::find),
    Lint::of("no-empty-screen", Warning, "No screen stays on the glass when the battery is empty.", roles::empty),
    Lint::of("no-link-screen", Warning, "No screen says that the link is lost.", roles::link),
    Lint::of(
        "unaligned-update",
        Warning,
        "A live element's update grows because it straddles the panel's bytes.",
        unaligned::find,
    ),
    Lint::of(
        "efficiency-unknown",
        Warning,
        "A switching rail carries currents that its table of efficiency does not reach.",
        efficiency::find,
    ),
    Lint::of("unreachable", Warning, "No key, timer or event leads to a screen.", unreachable::find),
    Lint::of("dead-end", Warning, "No keys lead back from a screen.", dead_end::find),
];

/// Everything that the lints find in a device, at the levels that the project sets; each lint's findings in the order
/// of their places. What was found while the project was read is not among it.
pub fn findings(subject: &Subject<'_>) -> Vec<Finding> {
    let mut all = Vec::new();
    for lint in LINTS {
        let level = subject.device.levels.of_lint(lint);
        if let Some(find) = lint.find.filter(|_| level != Level::Off) {
            let mut report = Report::new(subject, lint.id, level);
            find(subject, &mut report);
            all.extend(report.finish());
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn ids_are_unique_and_said_in_one_sentence() {
        let ids: BTreeSet<&str> = LINTS.iter().map(|lint| lint.id).collect();
        assert_eq!(ids.len(), LINTS.len());
        assert!(LINTS.iter().all(|lint| lint.about.ends_with('.') && lint.about.matches(". ").count() == 0));
    }
}

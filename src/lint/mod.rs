//! Lints: what a practitioner would object to in a project that can be read. One file a lint, one line in `FINDERS`.
//!
//! Not for limits that the project sets itself (see [`crate::check`]) nor for files that cannot be read. Lints without
//! a function are noted while the project is read, because only then are files and names at hand.

mod actions;
mod black;
mod box_cuts;
mod boxes;
mod capacitor;
mod cut;
mod dead_end;
mod digits;
mod editors;
mod efficiency;
mod ghosting;
mod holds;
mod journeys;
mod key_idle;
mod key_label;
mod large;
mod outside;
mod overlap;
pub mod picture;
mod report;
mod roles;
mod slow_key;
mod subject;
pub mod text_size;
mod timestamp;
mod unaligned;
mod unreachable;
mod usb_load;
mod wakes;

pub use report::{Evidence, Finding};
pub use subject::Subject;

use crate::source::levels::{LINTS, Lint};
use report::Report;

/// What finds each lint that is not noted while the project is read.
type Find = fn(&Subject<'_>, &mut Report<'_>);

const FINDERS: &[(&str, Find)] = &[
    ("text-cut", cut::find),
    ("outside", outside::find),
    ("overlap", overlap::find),
    ("key-label-wide", key_label::wide),
    ("key-label-off", key_label::off),
    ("key-idle", key_idle::find),
    ("small-text", text_size::height),
    ("small-matrix", text_size::matrix),
    ("uneven-digits", digits::find),
    ("ghosting-risk", ghosting::find),
    ("large-black", large::find),
    ("no-timestamp", timestamp::find),
    ("no-empty-screen", roles::empty),
    ("no-link-screen", roles::link),
    ("unaligned-update", unaligned::find),
    ("efficiency-unknown", efficiency::find),
    ("rail-overload", efficiency::overload),
    ("free-wake-ups", wakes::find),
    ("capacitor-leakage", capacitor::find),
    ("unreachable", unreachable::find),
    ("dead-end", dead_end::find),
    ("trapped", journeys::trapped),
    ("never-acts", actions::never),
    ("endless-events", actions::endless),
    ("moot-action", actions::moot),
    ("hold-hides-press", holds::find),
    ("box-no-exit", boxes::find),
    ("box-cuts", box_cuts::find),
    ("editor-range", editors::find),
    ("slow-key", slow_key::find),
    ("usb-load", usb_load::find),
    ("journey-derails", journeys::derails),
    ("journey-stranded", journeys::stranded),
];

/// Everything that the lints find in a device, at the levels that the project sets; each lint's findings in the order
/// of their places. What was found while the project was read is not among it.
pub fn findings(subject: &Subject<'_>) -> Vec<Finding> {
    found(subject, |_| true)
}

fn found(subject: &Subject<'_>, wanted: impl Fn(&str) -> bool) -> Vec<Finding> {
    let mut all = Vec::new();
    for (lint, find) in LINTS.iter().filter(|lint| wanted(lint.id)).filter_map(|lint| Some((lint, finder(lint)?))) {
        if subject.device.levels.is_on(lint) {
            let mut report = Report::new(subject, lint);
            find(subject, &mut report);
            all.extend(report.finish());
        }
    }
    all
}

/// Lints of elements by themselves, which hold whatever else is wrong.
const DRAWN: [&str; 3] = ["text-cut", "outside", "key-label-wide"];

/// Lints of what keys, timers and events lead to, whatever the screens show.
const FLOW: [&str; 11] = [
    "unreachable",
    "dead-end",
    "trapped",
    "never-acts",
    "endless-events",
    "moot-action",
    "hold-hides-press",
    "box-no-exit",
    "editor-range",
    "journey-derails",
    "journey-stranded",
];

/// Lints of times and currents, which need the whole device.
const ELECTRIC: [&str; 6] =
    ["slow-key", "efficiency-unknown", "rail-overload", "capacitor-leakage", "usb-load", "free-wake-ups"];

/// What the lints find in a project that cannot be used for other reasons: those of elements, those of the flow where that
/// is settled, and of what the screens show together where that is settled too.
pub fn partly(subject: &Subject<'_>, flow: bool, screens: bool) -> Vec<Finding> {
    let wanted = |id: &str| match (FLOW.contains(&id), ELECTRIC.contains(&id)) {
        (true, _) => flow,
        (_, true) => false,
        _ => DRAWN.contains(&id) || flow && screens,
    };
    found(subject, wanted)
}

fn finder(lint: &Lint) -> Option<Find> {
    FINDERS.iter().find(|(id, _)| *id == lint.id).map(|(_, find)| *find)
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

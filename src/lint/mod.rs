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

use crate::source::levels::{JOURNEY_DERAILS, LINTS};
use report::Report;

/// What finds each lint that is not noted while the project is read.
type Find = fn(&Subject<'_>, &mut Report<'_>);

/// What a lint has to know, so that it can be asked of a project that cannot be used for other reasons.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Needs {
    /// Elements by themselves, whatever else is wrong.
    Element,
    /// What keys, timers and events lead to, whatever the screens show.
    Flow,
    /// Screens with all that they show, and the flow.
    Screens,
    /// Times and currents: the whole device.
    Device,
}

const FINDERS: &[(&str, Needs, Find)] = &[
    ("text-cut", Needs::Element, cut::find),
    ("outside", Needs::Element, outside::find),
    ("overlap", Needs::Screens, overlap::find),
    ("key-label-wide", Needs::Element, key_label::wide),
    ("key-label-off", Needs::Screens, key_label::off),
    ("key-idle", Needs::Screens, key_idle::find),
    ("small-text", Needs::Screens, text_size::height),
    ("small-matrix", Needs::Screens, text_size::matrix),
    ("uneven-digits", Needs::Screens, digits::find),
    ("ghosting-risk", Needs::Screens, ghosting::find),
    ("large-black", Needs::Screens, large::find),
    ("no-timestamp", Needs::Screens, timestamp::find),
    ("no-empty-screen", Needs::Screens, roles::empty),
    ("no-link-screen", Needs::Screens, roles::link),
    ("unaligned-update", Needs::Screens, unaligned::find),
    ("efficiency-unknown", Needs::Device, efficiency::find),
    ("rail-overload", Needs::Device, efficiency::overload),
    ("free-wake-ups", Needs::Device, wakes::find),
    ("capacitor-leakage", Needs::Device, capacitor::find),
    ("unreachable", Needs::Flow, unreachable::find),
    ("dead-end", Needs::Flow, dead_end::find),
    ("trapped", Needs::Flow, journeys::trapped),
    ("never-acts", Needs::Flow, actions::never),
    ("endless-events", Needs::Flow, actions::endless),
    ("moot-action", Needs::Flow, actions::moot),
    ("hold-hides-press", Needs::Flow, holds::find),
    ("box-no-exit", Needs::Flow, boxes::find),
    ("box-cuts", Needs::Screens, box_cuts::find),
    ("editor-range", Needs::Flow, editors::find),
    ("slow-key", Needs::Device, slow_key::find),
    ("usb-load", Needs::Device, usb_load::find),
    (JOURNEY_DERAILS, Needs::Flow, journeys::derails),
    ("journey-stranded", Needs::Flow, journeys::stranded),
];

/// Everything that the lints find in a device, at the levels that the project sets; each lint's findings in the order
/// of their places. What was found while the project was read is not among it.
pub fn findings(subject: &Subject<'_>) -> Vec<Finding> {
    found(subject, |_| true)
}

fn found(subject: &Subject<'_>, wanted: impl Fn(Needs) -> bool) -> Vec<Finding> {
    let mut all = Vec::new();
    for lint in LINTS.iter().filter(|lint| subject.device.levels.is_on(lint)) {
        let finder = FINDERS.iter().find(|(id, needs, _)| *id == lint.id && wanted(*needs));
        if let Some((_, _, find)) = finder {
            let mut report = Report::new(subject, lint);
            find(subject, &mut report);
            all.extend(report.finish());
        }
    }
    all
}

/// What the lints find in a project that cannot be used for other reasons: those of elements, those of the flow where that
/// is settled, and of what the screens show together where that is settled too.
pub fn partly(subject: &Subject<'_>, flow: bool, screens: bool) -> Vec<Finding> {
    found(subject, |needs| match needs {
        Needs::Element => true,
        Needs::Flow => flow,
        Needs::Screens => flow && screens,
        Needs::Device => false,
    })
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

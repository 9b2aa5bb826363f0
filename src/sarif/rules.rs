//! The kinds of finding as SARIF rules (reportingDescriptor, 3.49), each with what to do about it.

use super::{level, message};
use crate::check;
use crate::source::fault::Level;
use crate::source::levels::{LINTS, Levels, Lint};
use serde_json::{Value, json};

/// The rule of what has no name of its own: the files cannot be used as they are written.
pub const FILES: &str = "project-file";
/// The rule of screens that are not as accepted.
pub const ACCEPTED: &str = "accepted-frame";

const OTHERS: &[Lint] = &[
    Lint { id: FILES, level: Level::Error, about: "Something in the project's files cannot be used as it is written." },
    Lint { id: ACCEPTED, level: Level::Error, about: "A screen differs from the frame that was accepted." },
];

/// What to do about each kind of finding.
const HELP: &[(&str, &str)] = &[
    ("missing-string", "Add the string to every file in strings/."),
    ("missing-glyph", "Use another font there, or add the character to the font's file."),
    ("text-control", "Take the control characters out of the text."),
    ("text-direction", "Set text from left to right, or show it as an image."),
    ("text-shaping", "Show such words as images, or look at each screen that has them."),
    ("pixel-shape", "Compare panel.active and panel.pixels with the data sheet."),
    ("unused-string", "Delete it, or use it as \"@name\"."),
    ("unused-part", "Use it with { part = \"name\" }, or delete its file."),
    ("unused-asset", "Use it, or delete it from the project."),
    ("text-cut", "Use a shorter text or a smaller font, or give the element more room."),
    ("outside", "Make the element smaller, move it, or let it take what is left with grow."),
    ("overlap", "Move the elements apart, or show one of them at a time with when."),
    ("key-label-wide", "Use a shorter word, an icon, or a smaller font for the labels."),
    ("key-label-off", "Let the keys element reach over the whole side of the panel, and check display.keys."),
    ("key-idle", "Give the key an action and a label, or neither."),
    ("small-text", "Use a larger font: characters should subtend 16 arcmin or more."),
    ("small-matrix", "Use a font of at least 5 x 7 pixels for numbers and upper-case letters, 7 x 9 for reading."),
    ("uneven-digits", "Use a font with tabular figures for numbers that change."),
    ("ghosting-risk", "Use a plain threshold, or enter the screen with a full refresh."),
    ("large-black", "Make the black area smaller, or enter the screen with a full refresh."),
    ("no-timestamp", "Show a field with a clock that is updated together with the value."),
    ("no-empty-screen", "Write a screen with role = \"battery-empty\" and no live values."),
    ("no-link-screen", "Write a screen with role = \"link-lost\" that says when data was last received."),
    ("unaligned-update", "Move the element to a multiple of the panel's alignment."),
    ("efficiency-unknown", "Extend the efficiency table with the regulator's data sheet."),
    ("rail-overload", "Spread the loads over time or over rails, or use a regulator rated for more."),
    ("capacitor-leakage", "Use a capacitor of less capacitance or less leakage, or feed it only before pulses."),
    ("unreachable", "Add a key, a timer or an event that leads to the screen, or delete it."),
    ("dead-end", "Add a key that leads back."),
    ("trapped", "Add a key, a timer or an event that leads on in every state."),
    ("free-wake-ups", "State board.mcu.sample-time, or the event's mcu-awake or charge."),
    ("endless-events", "Let one of the events set a field that no condition of the others asks, or wait by a timer."),
    ("never-acts", "Correct the alternative's when, or delete it."),
    ("moot-action", "Delete the action that is not meant."),
    ("hold-hides-press", "Let the hold begin after 500 ms or more."),
    ("box-no-exit", "Add a key or a timer with close = true."),
    ("box-cuts", "Let the box cover all or nothing of the value, or give the box an outline."),
    ("editor-range", "Let the change wrap, or open a box where it would leave the range."),
    ("slow-key", "Use a partial refresh, a faster bus or fewer conditions for a full refresh there."),
    (
        "stale-plane",
        "Send the old image before each partial refresh, or let the controller keep it, as its maker says.",
    ),
    ("few-frames", "Use a faster bus or fewer bytes for a line, or a longer stage."),
    ("usb-load", "Put the load on a rail with source = \"usb\"."),
    ("journey-derails", "Let the journey press keys that are assigned where it is, or give the key an action."),
    ("journey-interrupted", "Let the journey look longer before a press that follows a box or a refresh."),
    ("journey-stranded", "Add a key or a timer that leads to where the journey begins."),
    ("limit-ram", "Use strips or another buffer, or raise the limit."),
    ("limit-flash", "Use fewer fonts, smaller images or shorter texts, or raise the limit."),
    ("limit-energy", "See the phases of the update with budget --explain, or raise the limit."),
    ("limit-latency", "See the phases of the update with budget --explain, or raise the limit."),
    (
        "limit-residue",
        "Allow fewer partial refreshes in a row, or ask for full refreshes on entry; or raise the limit.",
    ),
    ("limit-refreshes", "Sample less often, or show fewer changing values; or raise the limit."),
    ("limit-life", "See what helps most in budget; or lower the limit."),
    (
        "supply",
        "Keep a larger reserve, lower the peak current, use a battery with less resistance or more cells, or a regulator that works from a lower voltage.",
    ),
    ("battery-current", "Spread the loads over time, lower the largest current, or use a battery rated for more."),
    ("empty-before-charge", "Charge more often or longer, or take a larger battery."),
    ("flash", "Use fewer fonts, smaller images or shorter texts, or a part with more flash."),
    ("buffer", "Choose another policy.buffer, or a part with more RAM."),
    (FILES, "Each finding says what was expected and what to write instead."),
    (ACCEPTED, "Look at the change; accept it with check --baseline FOLDER --accept."),
];

/// Every kind of finding that can be reported.
fn kinds() -> impl Iterator<Item = &'static Lint> {
    LINTS.iter().chain(check::kinds()).chain(OTHERS)
}

/// The rules in a fixed order, lints at the levels of the project.
pub fn rules(levels: &Levels) -> Vec<Value> {
    kinds().map(|kind| rule(kind, levels)).collect()
}

fn rule(kind: &Lint, levels: &Levels) -> Value {
    let lint = LINTS.iter().any(|lint| lint.id == kind.id);
    let set = if lint { levels.of_lint(kind) } else { kind.level };
    let mut help = HELP.iter().find(|(id, _)| *id == kind.id).map_or("", |(_, help)| *help).to_owned();
    if lint {
        help += &format!(
            " The level can be set for the project, a screen or an element: lints = {{ {} = \"off\" }}.",
            kind.id
        );
    }
    json!({
        "id": kind.id,
        "shortDescription": message(kind.about),
        "fullDescription": message(kind.about),
        "help": message(&help),
        // A rule that is off keeps the level it has when it is on (3.50.2 and 3.50.3).
        "defaultConfiguration": { "enabled": set != Level::Off, "level": level(if set == Level::Off { kind.level } else { set }) },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_kind_of_finding_has_one_help() {
        let kinds: BTreeSet<&str> = kinds().map(|kind| kind.id).collect();
        let helped: BTreeSet<&str> = HELP.iter().map(|(id, _)| *id).collect();
        assert_eq!(kinds, helped);
        assert_eq!(helped.len(), HELP.len(), "each once");
    }
}

//! Every lint by its stable name, and its level in one project: its own, or the one that `lints` sets in device.toml, on a
//! screen or on an element.
//!
//! Not for finding anything: some lints are noted while files are read, the others stand in [`crate::lint`].

use super::amount::Named;
use super::fault::Level::{Error, Warning};
use super::fault::{Fault, Level, nearest};
use super::spans::Span;
use std::collections::BTreeMap;

/// One lint.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lint {
    /// Its stable name.
    pub id: &'static str,
    /// Its level unless the project sets another.
    pub level: Level,
    /// What it finds, in one sentence.
    pub about: &'static str,
}

/// The lint of a string that a locale lacks.
pub const MISSING_STRING: &str = "missing-string";
/// The lint of a journey whose press does nothing where it is made.
pub const JOURNEY_DERAILS: &str = "journey-derails";
/// The lint of journeys that stop in the simulated days.
pub const JOURNEY_INTERRUPTED: &str = "journey-interrupted";

/// Every lint.
pub const LINTS: &[Lint] = &[
    Lint { id: MISSING_STRING, level: Error, about: "A locale lacks a string that the screens use." },
    Lint { id: "missing-glyph", level: Error, about: "A font lacks a character that a screen needs in some locale." },
    Lint { id: "text-control", level: Error, about: "A text has control characters." },
    Lint { id: "text-direction", level: Error, about: "A text is written from right to left, which is not supported." },
    Lint {
        id: "text-shaping",
        level: Warning,
        about: "A text has characters that join, stack or move, which are drawn one by one.",
    },
    Lint { id: "pixel-shape", level: Warning, about: "The panel's pixels are far from square." },
    Lint { id: "unused-string", level: Warning, about: "Nothing uses a string." },
    Lint { id: "unused-part", level: Warning, about: "Nothing uses a part." },
    Lint { id: "unused-asset", level: Warning, about: "Nothing uses a file of icons/, fonts/ or data/, or a font." },
    Lint { id: "text-cut", level: Error, about: "A text is cut off at its widest, in some locale." },
    Lint { id: "outside", level: Error, about: "An element reaches out of its area or off the display." },
    Lint { id: "overlap", level: Warning, about: "The ink of two elements runs together." },
    Lint { id: "key-label-wide", level: Error, about: "A soft key's label is wider than the keys' pitch." },
    Lint { id: "key-label-off", level: Warning, about: "A soft key's label is off the centre of its key." },
    Lint { id: "key-idle", level: Warning, about: "A soft key has a label and does nothing, or acts without a label." },
    Lint { id: "small-text", level: Warning, about: "Characters subtend less than 16 arcmin." },
    Lint { id: "small-matrix", level: Warning, about: "Characters have too few pixels to be distinguished." },
    Lint { id: "uneven-digits", level: Warning, about: "A live number is set in a font whose digits differ in width." },
    Lint {
        id: "ghosting-risk",
        level: Warning,
        about: "Single pixels of a dithered area are driven by partial refreshes.",
    },
    Lint { id: "large-black", level: Warning, about: "A large black area is driven by partial refreshes." },
    Lint { id: "no-timestamp", level: Warning, about: "A screen shows a live value without its time." },
    Lint { id: "no-empty-screen", level: Warning, about: "No screen stays on the display when the battery is empty." },
    Lint { id: "no-link-screen", level: Warning, about: "No screen says that the link is lost." },
    Lint {
        id: "unaligned-update",
        level: Warning,
        about: "A live element's update grows because it straddles the panel's bytes.",
    },
    Lint {
        id: "efficiency-unknown",
        level: Warning,
        about: "A switching rail carries currents that its table of efficiency does not reach.",
    },
    Lint { id: "rail-overload", level: Error, about: "The current of a rail exceeds its regulator's limit." },
    Lint {
        id: "capacitor-leakage",
        level: Warning,
        about: "The leakage of the capacitor beside the battery is a large part of what is always drawn.",
    },
    Lint {
        id: "stale-plane",
        level: Warning,
        about: "Partial refreshes send no old plane and nothing says that the controller keeps its own up to date.",
    },
    Lint {
        id: "few-frames",
        level: Warning,
        about: "The microcontroller or its bus is too slow for the minimum number of frames of a stage.",
    },
    Lint { id: "unreachable", level: Warning, about: "No key, timer or event leads to a screen." },
    Lint { id: "dead-end", level: Warning, about: "No keys lead back from a screen." },
    Lint {
        id: "trapped",
        level: Warning,
        about: "A state of the flow is never left: nothing leads back to the home screen.",
    },
    Lint {
        id: "never-acts",
        level: Warning,
        about: "An alternative of a rule is never carried out, or never changes anything.",
    },
    Lint {
        id: "free-wake-ups",
        level: Warning,
        about: "What comes more often than once a minute costs no work of the microcontroller.",
    },
    Lint { id: "endless-events", level: Error, about: "Events trigger one another endlessly in the same moment." },
    Lint { id: "moot-action", level: Warning, about: "A later action of the same list undoes an action." },
    Lint { id: "hold-hides-press", level: Warning, about: "A press is easily taken for the hold of its key." },
    Lint { id: "box-no-exit", level: Warning, about: "No key and no timer closes a box." },
    Lint { id: "box-cuts", level: Warning, about: "A box without an outline leaves part of a value below it visible." },
    Lint { id: "editor-range", level: Warning, about: "A change leads out of its field's range." },
    Lint { id: "slow-key", level: Warning, about: "Somebody who presses a key waits longer than 1 s for the image." },
    Lint {
        id: "usb-load",
        level: Warning,
        about: "The battery feeds a load that draws current only while USB is attached.",
    },
    Lint { id: JOURNEY_DERAILS, level: Error, about: "A press of a journey does nothing where it is made." },
    Lint {
        id: JOURNEY_INTERRUPTED,
        level: Warning,
        about: "Many journeys of the simulated days stop early or never begin, because something interrupts them.",
    },
    Lint { id: "journey-stranded", level: Warning, about: "Nothing leads from a screen to where a journey begins." },
];

/// The lint of a name.
pub fn lint(id: &str) -> Option<&'static Lint> {
    LINTS.iter().find(|lint| lint.id == id)
}

/// Levels that a project sets: for all of it, for a screen, for an element. The innermost that names a lint holds.
#[derive(Clone, Debug, Default)]
pub struct Levels {
    set: Set,
    /// Outer ones before those inside them.
    inner: Vec<Scope>,
}

/// Levels by the name of their lint.
type Set = BTreeMap<&'static str, Level>;

/// Levels of a screen or of an element on it.
#[derive(Clone, Debug)]
struct Scope {
    screen: usize,
    extent: Extent,
    set: Set,
}

/// What of a screen some levels hold for.
#[derive(Clone, Debug)]
pub enum Extent {
    /// All of it, with the place of its file.
    Screen(Span),
    /// An element or group: its own place, and the places of what it holds elsewhere, as in a part's file.
    Element(Span, Vec<Span>),
}

impl Extent {
    /// Whether it takes in a finding on its screen.
    fn shows(&self, span: Option<&Span>) -> bool {
        match (self, span) {
            (Self::Screen(_), _) => true,
            (Self::Element(own, held), Some(span)) => std::iter::once(own).chain(held).any(|place| within(span, place)),
            (Self::Element(..), None) => false,
        }
    }

    /// Whether a place of the files lies in its own text.
    fn holds(&self, span: Option<&Span>) -> bool {
        let (Self::Screen(own) | Self::Element(own, _)) = self;
        span.is_some_and(|span| within(span, own))
    }
}

fn within(span: &Span, place: &Span) -> bool {
    place.start <= span.start && span.end <= place.end
}

/// The levels of a `lints` table; names that are no lint are noted.
fn named(spec: &Named<Level>, faults: &mut Vec<Fault>) -> Set {
    let mut set = BTreeMap::new();
    for (id, level) in spec {
        match lint(id) {
            Some(lint) => {
                set.insert(lint.id, level.value);
            }
            None => {
                let fault = Fault::at(level.span.clone(), format!("there is no lint `{id}`"));
                faults.push(fault.help(nearest(id, LINTS.iter().map(|lint| lint.id)).unwrap_or_default()));
            }
        }
    }
    set
}

impl Levels {
    /// The levels of `[lints]` in device.toml; names that are no lint are noted.
    pub fn of(spec: &Named<Level>, faults: &mut Vec<Fault>) -> Self {
        Self { set: named(spec, faults), inner: Vec::new() }
    }

    /// Adds the levels of a screen, by its position, or of an element on it; outer ones first.
    pub fn within(&mut self, screen: usize, extent: Extent, spec: &Named<Level>, faults: &mut Vec<Fault>) {
        if !spec.is_empty() {
            self.inner.push(Scope { screen, extent, set: named(spec, faults) });
        }
    }

    /// The level of a lint where neither screen nor element sets one.
    pub fn of_lint(&self, lint: &Lint) -> Level {
        self.set.get(lint.id).copied().unwrap_or(lint.level)
    }

    /// Whether a lint is on anywhere.
    pub fn is_on(&self, lint: &Lint) -> bool {
        let inner = self.inner.iter().filter_map(|scope| scope.set.get(lint.id)).copied();
        inner.chain([self.of_lint(lint)]).any(|level| level != Level::Off)
    }

    /// The level of a finding on a screen, by the screen's position.
    pub fn on_screen(&self, lint: &Lint, screen: usize, span: Option<&Span>) -> Level {
        self.innermost(lint, |scope| scope.screen == screen && scope.extent.shows(span))
    }

    /// The level of a finding that is not one of a certain screen: by its place in the files.
    pub fn at(&self, lint: &Lint, span: Option<&Span>) -> Level {
        self.innermost(lint, |scope| scope.extent.holds(span))
    }

    fn innermost(&self, lint: &Lint, holds: impl Fn(&Scope) -> bool) -> Level {
        let inner = self.inner.iter().rev().filter(|scope| holds(scope));
        inner.filter_map(|scope| scope.set.get(lint.id).copied()).next().unwrap_or(self.of_lint(lint))
    }

    /// Gives findings of lints their level and drops those that are off; other faults stay as they are.
    pub fn apply(&self, faults: &mut Vec<Fault>) {
        for fault in faults.iter_mut() {
            let lint = fault.id.and_then(lint);
            fault.level = lint.map_or(fault.level, |lint| self.at(lint, fault.span.as_ref()));
        }
        faults.retain(|fault| fault.level != Level::Off);
    }
}

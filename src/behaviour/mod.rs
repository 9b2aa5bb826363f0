//! How a device is used: fields that move, events, keys and timers, journeys. The model only; running it is
//! [`simulate`].

pub mod field;
pub mod policy;
pub mod recall;

use crate::hardware::rail::RailId;
use crate::parameters::Input;
use crate::screen::ScreenId;
use crate::screen::values::{Condition, FieldId, Values};
use crate::source::spans::Span;
use crate::units::{Coulombs, Seconds};

/// The position of an event in [`crate::device::Device::events`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct EventId(pub usize);

/// What keys, timers and events do on one screen.
#[derive(Clone, Debug, Default)]
pub struct Wiring {
    /// What each soft key does; the first key stands at 0.
    pub keys: Vec<Action>,
    /// What happens when nobody presses a key.
    pub timers: Vec<Timer>,
    /// Where events lead.
    pub events: Vec<(EventId, ScreenId)>,
    /// How each soft key is written in the screen's file, where it is.
    pub written: Vec<Option<WrittenKey>>,
}

/// A soft key as a screen's file has it.
#[derive(Clone, Debug)]
pub struct WrittenKey {
    /// Its table.
    pub span: Span,
    /// Whether it has a label.
    pub labelled: bool,
}

/// What a press does; nothing at all when both are `None`.
#[derive(Clone, Copy, Debug, Default)]
pub struct Action {
    /// The screen it leads to.
    pub go: Option<ScreenId>,
    /// The field it changes.
    pub change: Option<Change>,
}

impl Action {
    /// Whether the press does anything.
    pub fn acts(&self) -> bool {
        self.go.is_some() || self.change.is_some()
    }
}

/// A change of a field by a press.
#[derive(Clone, Copy, Debug)]
pub struct Change {
    /// The field.
    pub field: FieldId,
    /// What happens to it.
    pub how: How,
}

/// What happens to a field.
#[derive(Clone, Copy, Debug)]
pub enum How {
    /// Added, kept within the range.
    By(f64),
    /// Set.
    To(f64),
}

/// A timer of a screen.
#[derive(Clone, Copy, Debug)]
pub struct Timer {
    /// How long nothing is pressed.
    pub wait: Seconds,
    /// The screen it leads to.
    pub go: ScreenId,
}

/// Something that happens without a key.
#[derive(Clone, Debug)]
pub struct Event {
    /// Its name.
    pub name: String,
    /// When it happens.
    pub times: Times,
    /// Charge that each occurrence takes, and from which rail.
    pub charge: Option<(RailId, Input<Coulombs>)>,
    /// It comes over a link that can be lost.
    pub link: bool,
}

impl Event {
    /// Whether it is one that happens when a condition becomes true, and the condition holds.
    pub fn holds(&self, values: &Values) -> bool {
        matches!(self.times, Times::When(condition) if condition.holds(values))
    }
}

/// When an event happens.
#[derive(Clone, Copy, Debug)]
pub enum Times {
    /// At an interval, within hours of the day.
    Every(Seconds, Hours),
    /// This often a day on average, at random times within hours of the day.
    PerDay(f64, Hours),
    /// When a condition becomes true.
    When(Condition),
}

/// Hours of the day, which may reach over midnight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hours {
    /// Begin, after midnight.
    pub from: Seconds,
    /// Length.
    pub length: Seconds,
}

impl Hours {
    /// The whole day.
    pub const ALL: Self = Self { from: Seconds(0.0), length: crate::units::DAY };

    /// Whether a time, counted from a midnight, lies within.
    pub fn hold(&self, time: Seconds) -> bool {
        (time.0 - self.from.0).rem_euclid(crate::units::DAY.0) < self.length.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_reach_over_midnight() {
        let night = Hours { from: Seconds(22.0 * 3600.0), length: Seconds(8.0 * 3600.0) };
        assert!(night.hold(Seconds(23.0 * 3600.0)) && night.hold(Seconds(86_400.0 + 3600.0)));
        assert!(!night.hold(Seconds(7.0 * 3600.0)));
    }
}

//! How a device is used: fields that move, events, keys and timers, journeys. The model only; running it is
//! [`simulate`].

pub mod canvas;
pub mod climate;
pub mod draws;
pub mod field;
pub mod recall;
pub mod simulate;
pub mod state;
pub mod stationary;
pub mod store;
pub mod tally;

use crate::design::source::Span;
use crate::device::Device;
use crate::hardware::rail::{Draw, RailId};
use crate::inputs::{Input, Point};
use crate::screen::ScreenId;
use crate::screen::values::{Condition, FieldId, Values};
use crate::units::{Celsius, Coulombs, Ratio, Seconds, Volts};
use climate::Climate;
use jiff::civil::DateTime;

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

    /// What one occurrence takes from the battery at a voltage, beside its drawing. The mean current is far below the
    /// pulse's; the efficiency is that at a pulse of one second.
    pub fn taken(&self, device: &Device, point: &Point, volts: Volts) -> Draw {
        let Some((rail, charge)) = self.charge else { return Draw::default() };
        const PULSE: Seconds = Seconds(1.0);
        let asleep = device.asleep(point, rail);
        let rise = asleep..asleep + point.of(charge) / PULSE;
        Draw::of(device.board.rails[rail.0].pull(point, rise, volts), PULSE)
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

/// How the device is used.
#[derive(Clone, Debug)]
pub struct Usage {
    /// The screen shown at first.
    pub home: ScreenId,
    /// Midnight of the first day.
    pub start: DateTime,
    /// Time of day of the sample pictures, after midnight.
    pub sample_at: Seconds,
    /// Days simulated.
    pub days: u32,
    /// Seed of every draw.
    pub seed: u64,
    /// Standard deviation of usage between owners, as a share.
    pub spread: Ratio,
    /// Temperature over the day and the year.
    pub climate: Climate,
    /// Standard deviation between devices of their mean temperature.
    pub climate_spread: Celsius,
    /// When it is at its charger; `None` where it is used until it is empty.
    pub charging: Option<Charging>,
    /// What people do.
    pub journeys: Vec<Journey>,
}

/// When and how long the device is at its charger.
#[derive(Clone, Copy, Debug)]
pub struct Charging {
    /// Days from one charge to the next.
    pub every: u32,
    /// Time of the day it begins, after midnight.
    pub at: Seconds,
    /// How long.
    pub length: Seconds,
}

/// Something people do with the device.
#[derive(Clone, Debug)]
pub struct Journey {
    /// Its name.
    pub name: String,
    /// How often a day on average.
    pub per_day: f64,
    /// Within which hours.
    pub hours: Hours,
    /// The screen it starts from.
    pub from: ScreenId,
    /// What is done.
    pub steps: Vec<Step>,
}

/// One step of a journey.
#[derive(Clone, Copy, Debug)]
pub struct Step {
    /// The key pressed, the first being 0; `None` only looks.
    pub press: Option<usize>,
    /// How long one looks before the next step.
    pub look: Seconds,
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

//! How the device is used: journeys, temperature, charger. The model only; running it is [`crate::simulate`].

use super::climate::Climate;
use crate::behaviour::Hours;
use crate::screen::ScreenId;
use crate::source::spans::Span;
use crate::units::{Celsius, Ratio, Seconds};
use jiff::civil::DateTime;

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
    /// Its table.
    pub span: Span,
    /// Its name.
    pub name: String,
    /// How often a day on average, at random times.
    pub per_day: f64,
    /// At these times of every day, after midnight.
    pub times: Vec<Seconds>,
    /// Within which hours.
    pub hours: Hours,
    /// The screen it starts from; `None` where it starts from whatever is shown.
    pub from: Option<ScreenId>,
    /// What is done.
    pub steps: Vec<Step>,
}

/// One step of a journey.
#[derive(Clone, Copy, Debug)]
pub struct Step {
    /// The key pressed, the first being 0; `None` only looks.
    pub press: Option<usize>,
    /// How long the key is kept down; `None` for a short press.
    pub hold: Option<Seconds>,
    /// How long one looks before the next step.
    pub look: Seconds,
}

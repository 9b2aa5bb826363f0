//! How the device is used: journeys, temperature, charger. The model only; running it is [`crate::simulate`].

use super::climate::Climate;
use crate::behaviour::Hours;
use crate::screen::ScreenId;
use crate::source::spans::Span;
use crate::units::{Celsius, Ratio, Seconds};
use jiff::civil::DateTime;
use std::ops::Range;

/// How the device is used.
#[derive(Clone, Debug)]
pub struct Usage {
    /// The home screen: journeys begin there unless they say otherwise.
    pub home: ScreenId,
    /// The screen shown at power-up.
    pub start_up: ScreenId,
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
    /// What is done; the ways of a choice one after the other.
    pub steps: Vec<JourneyStep>,
    /// Where one of several ways is taken.
    pub choices: Vec<Choice>,
    /// How often it is made each time, one time after the other.
    pub session: Session,
}

/// One of several ways through a journey is taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// The step that stands for the choice: nothing is done in it.
    pub at: usize,
    /// How likely each way is, and its steps; none of them is taken otherwise.
    pub ways: Vec<(Ratio, Range<usize>)>,
    /// The step after all of them.
    pub end: usize,
}

/// A journey made several times one after the other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Session {
    /// How often.
    pub times: u32,
    /// From one begin to the next.
    pub every: Seconds,
}

impl Session {
    /// Once.
    pub const ONCE: Self = Self { times: 1, every: Seconds(0.0) };
}

impl Journey {
    /// The step after one that is done; at a choice `draw` gives a number from 0 to 1.
    pub fn after(&self, done: usize, draw: &mut dyn FnMut() -> f64) -> usize {
        let choice = self.choices.iter().find(|choice| choice.at == done);
        let mut next = choice.map_or(done + 1, |choice| choice.pick(draw()));
        // The end of a way leads to the end of its choice, which may be the end of a way around it.
        while let Some(choice) = self.choices.iter().find(|choice| choice.ends_at(done, next)) {
            next = choice.end;
        }
        next
    }

    /// Every way through the journey as positions of steps, at most so many.
    pub fn ways(&self, most: usize) -> Vec<Vec<usize>> {
        let mut all = Vec::new();
        let mut open = vec![(0, Vec::new())];
        while let Some((at, mut way)) = open.pop() {
            if all.len() == most {
                break;
            }
            if at >= self.steps.len() {
                all.push(way);
                continue;
            }
            way.push(at);
            let drawn: Vec<f64> = match self.choices.iter().find(|choice| choice.at == at) {
                Some(choice) => choice.middles(),
                None => vec![0.0],
            };
            open.extend(drawn.into_iter().rev().map(|drawn| (self.after(at, &mut || drawn), way.clone())));
        }
        all
    }
}

impl Choice {
    /// The first step of the way that a number from 0 to 1 picks.
    fn pick(&self, drawn: f64) -> usize {
        let mut sum = 0.0;
        let taken = self.ways.iter().find(|(chance, _)| {
            sum += chance.0;
            drawn < sum
        });
        taken.filter(|(_, way)| !way.is_empty()).map_or(self.end, |(_, way)| way.start)
    }

    fn ends_at(&self, done: usize, next: usize) -> bool {
        next != self.end && self.ways.iter().any(|(_, way)| way.end == next && way.contains(&done))
    }

    /// A number for each way that is taken at all, and one for none of them.
    fn middles(&self) -> Vec<f64> {
        let mut middles = Vec::new();
        let mut sum = 0.0;
        for (chance, _) in self.ways.iter().filter(|(chance, _)| chance.0 > 0.0) {
            middles.push(sum + chance.0 / 2.0);
            sum += chance.0;
        }
        if sum < 1.0 - 1e-9 {
            middles.push((1.0 + sum) / 2.0);
        }
        middles
    }
}

/// One step of a journey.
#[derive(Clone, Copy, Debug)]
pub struct JourneyStep {
    /// The key pressed, the first being 0; `None` only looks.
    pub press: Option<usize>,
    /// How long the key is kept down; `None` for a short press.
    pub hold: Option<Seconds>,
    /// How long one looks before the next step.
    pub look: Seconds,
}

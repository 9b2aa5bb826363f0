//! Live values and how they move in use.

use super::count::Count;
use super::units::Units;
use super::{Event, EventId, Times};
use crate::screen::template::Piece;
use crate::screen::values::{Condition, FieldId, Values};
use crate::source::spans::Span;
use crate::units::{DAY, Seconds};
use rand::{Rng, RngExt};

/// A live value.
#[derive(Clone, Debug)]
pub struct Field {
    /// Its name.
    pub name: String,
    /// Its table in the file.
    pub span: Span,
    /// The table of its quantity, where it has one.
    pub quantity: Option<Span>,
    /// Unit shown after the number: its own.
    pub unit: String,
    /// Units that a setting chooses among.
    pub units: Option<Units>,
    /// The field that says how many values this one has: it counts what exists and stays below.
    pub within: Option<FieldId>,
    /// The further characters of a text, where this is the first.
    pub text: Vec<FieldId>,
    /// Smallest and largest value.
    pub range: [f64; 2],
    /// How it is written as text, in each locale.
    pub pieces: Vec<Piece>,
    /// The value in sample pictures.
    pub sample: f64,
    /// What lies between two neighbouring values: the last decimal shown, 1 for choices.
    pub step: f64,
    /// When it is renewed.
    pub renewal: Renewal,
    /// It is renewed at its interval only while all of these hold.
    pub only: Vec<Condition>,
    /// How it moves then.
    pub motion: Motion,
    /// Past values kept for charts.
    pub history: usize,
}

/// When a field is renewed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Renewal {
    /// Only by keys.
    Never,
    /// At an interval.
    Every(Seconds),
    /// When an event happens.
    On(EventId),
}

/// How a field moves when it is renewed.
#[derive(Clone, Debug)]
pub enum Motion {
    /// It does not.
    Still,
    /// The time of the renewal.
    Clock,
    /// A random step, turned back at the range's ends.
    Walk {
        /// Largest step.
        step: f64,
    },
    /// A cosine with an even jitter.
    Cycle {
        /// Smallest value.
        low: f64,
        /// Largest value.
        high: f64,
        /// Length of a cycle.
        period: Seconds,
        /// Time of the largest, after midnight.
        peak: Seconds,
        /// Largest deviation.
        jitter: f64,
    },
    /// A fixed step; past the range's end it starts again.
    Count {
        /// The step.
        step: f64,
    },
    /// A whole number of the range, drawn evenly.
    Draw,
    /// How many of the falling limits another field is below.
    Grade {
        /// The other field.
        field: FieldId,
        /// The limits.
        below: Vec<f64>,
    },
    /// Given values, one after the other.
    Replay {
        /// The values.
        values: Vec<f64>,
    },
}

/// The cosines of the two phases asked last: fields that move together ask the same ones in turn.
#[derive(Clone, Copy, Debug, Default)]
pub struct Wave([Option<(f64, f64)>; 2]);

impl Wave {
    /// The cosine after so many turns.
    pub fn at(&mut self, turns: f64) -> f64 {
        let [last, other] = &mut self.0;
        match (*last, *other) {
            (Some((known, cosine)), _) if known == turns => cosine,
            (before, Some((known, cosine))) if known == turns => {
                (*last, *other) = (*other, before);
                cosine
            }
            (before, _) => {
                *other = before;
                last.insert((turns, (turns * std::f64::consts::TAU).cos())).1
            }
        }
    }
}

impl Field {
    /// Whether it is renewed at its interval with these values.
    pub fn sampled(&self, values: &Values) -> bool {
        self.only.iter().all(|condition| condition.holds(values))
    }

    /// Time between its renewals, for the time axis of its history. A day where it is not known.
    pub fn interval(&self, events: &[Event]) -> Seconds {
        match self.renewal {
            Renewal::Never => DAY,
            Renewal::Every(interval) => interval,
            Renewal::On(EventId(event)) => match events.get(event).map(|event| &event.times) {
                Some(Times::Every(interval, _)) => *interval,
                Some(Times::PerDay(rate, _)) if *rate > 0.0 => DAY / *rate,
                _ => DAY,
            },
        }
    }

    /// The value after a renewal at a time from the start, when it was renewed so many times before.
    pub fn next(
        &self,
        id: FieldId,
        values: &Values,
        (time, count): (Seconds, usize),
        wave: &mut Wave,
        random: &mut impl Rng,
    ) -> f64 {
        let [low, high] = self.range;
        let now = values.of(id);
        match &self.motion {
            Motion::Still => now,
            Motion::Clock => time.0,
            Motion::Walk { step } => {
                let moved = now + step * (2.0 * random.random::<f64>() - 1.0);
                if moved > high {
                    (2.0 * high - moved).max(low)
                } else if moved < low {
                    (2.0 * low - moved).min(high)
                } else {
                    moved
                }
            }
            Motion::Cycle { low: least, high: most, period, peak, jitter } => {
                let middle = (least + most) / 2.0 + (most - least) / 2.0 * wave.at((time - *peak) / *period);
                (middle + jitter * (2.0 * random.random::<f64>() - 1.0)).clamp(low, high)
            }
            Motion::Count { step } => {
                let moved = now + step;
                if moved > high {
                    low
                } else if moved < low {
                    high
                } else {
                    moved
                }
            }
            Motion::Draw => {
                random.random_range(low.ceil() as i64..=(high.floor() as i64).max(low.ceil() as i64)) as f64
            }
            Motion::Grade { field, below } => below.iter().filter(|limit| values.of(*field) < **limit).count() as f64,
            Motion::Replay { values } => values.get(count % values.len().max(1)).copied().unwrap_or(now),
        }
    }

    /// Whether its values have no ends: a clock runs on.
    pub fn is_endless(&self) -> bool {
        self.range[0] == f64::MIN
    }

    /// A history for sample pictures that ends in the sample value: the field's own motion, seen backwards.
    pub fn sample_history(&self, interval: Seconds, now: Seconds, random: &mut impl Rng) -> Vec<f64> {
        let count = Count::new(self.range, self.grain());
        // As the device holds it, a number of its last decimal.
        let held = |value: f64| if value.is_finite() { count.value(count.number(value)) } else { value };
        let mut past: Vec<f64> = Vec::with_capacity(self.history);
        let mut value = self.sample;
        for back in 0..self.history {
            let time = now - interval * back as f64;
            value = if back == 0 { self.sample } else { self.earlier(value, back, time, random) };
            past.push(held(value));
        }
        past.reverse();
        past
    }

    fn earlier(&self, later: f64, back: usize, time: Seconds, random: &mut impl Rng) -> f64 {
        let [low, high] = self.range;
        match &self.motion {
            Motion::Walk { step } => (later + step * (2.0 * random.random::<f64>() - 1.0)).clamp(low, high),
            Motion::Cycle { low: least, high: most, period, peak, jitter } => {
                let phase = (time - *peak) / *period * std::f64::consts::TAU;
                let cosine = (least + most) / 2.0 + (most - least) / 2.0 * phase.cos();
                (cosine + jitter * (2.0 * random.random::<f64>() - 1.0)).clamp(low, high)
            }
            Motion::Replay { values } if !values.is_empty() => values[values.len() - 1 - back % values.len()],
            Motion::Clock => time.0.max(-DAY.0),
            _ => later,
        }
    }
}

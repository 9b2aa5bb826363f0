//! What comes to a device from outside, day by day: journeys, events at random times, the charger.

use super::content;
use crate::behaviour::{EventId, Hours, Times};
use crate::device::Device;
use crate::machine::{Micros, micros};
use crate::random::{self, poisson};
use crate::units::{DAY, Seconds};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Something that comes from outside. Its order is that at equal times.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Happening {
    /// A day begins: its random journeys and events are drawn.
    Day(u32),
    /// The device comes to its charger on this day.
    Plug(u32),
    /// It is taken away.
    Unplug,
    /// Somebody begins a journey.
    Journey(usize),
    /// An event comes.
    Event(EventId),
}

/// What is to come.
#[derive(Debug)]
pub struct Outside {
    heap: BinaryHeap<Reverse<(Micros, Happening)>>,
    /// Nothing comes before.
    begins: Micros,
    end: Option<Micros>,
    people: bool,
    /// Random numbers of each journey, then of each event.
    journeys: Vec<ChaCha8Rng>,
    events: Vec<ChaCha8Rng>,
}

impl Outside {
    /// Everything from `begins` on, until `end` if there is one; with journeys and the charger, or events alone.
    pub fn new(device: &Device, begins: Micros, end: Option<Micros>, people: bool) -> Self {
        let sources = |contents: Vec<String>| -> Vec<ChaCha8Rng> {
            let streams = random::streams(contents.iter().map(String::as_str));
            streams.into_iter().map(|stream| random::source(device.usage.seed, stream)).collect()
        };
        let mut outside = Self {
            heap: BinaryHeap::new(),
            begins,
            end,
            people,
            journeys: sources(device.usage.journeys.iter().map(content::journey).collect()),
            events: sources(device.events.iter().map(content::event).collect()),
        };
        let today = (begins as f64 * 1e-6 / DAY.0).floor() as u32;
        outside.heap.push(Reverse((micros(DAY * f64::from(today)), Happening::Day(today))));
        if let Some(charging) = device.usage.charging.filter(|_| people) {
            outside.add(micros(charging.at), Happening::Plug(0));
        }
        outside
    }

    fn add(&mut self, time: Micros, what: Happening) {
        // An event at the very end counts, so that whole days hold as many as their intervals.
        let last = |end: Micros| time < end || (time == end && matches!(what, Happening::Event(_)));
        if time >= self.begins && self.end.is_none_or(last) {
            self.heap.push(Reverse((time, what)));
        }
    }

    /// When the next happening comes.
    pub fn next(&self) -> Option<Micros> {
        self.heap.peek().map(|Reverse((time, _))| *time)
    }

    /// The next happening, if it has come; days begin and charges are planned by themselves.
    pub fn take(&mut self, device: &Device, now: Micros) -> Option<Happening> {
        while self.next()? <= now {
            let Reverse((time, what)) = self.heap.pop()?;
            match what {
                Happening::Day(day) => self.begin_day(device, day),
                Happening::Plug(day) => {
                    let charging = device.usage.charging?;
                    self.add(time + micros(charging.length), Happening::Unplug);
                    let next = day + charging.every;
                    self.add(micros(DAY * f64::from(next) + charging.at), Happening::Plug(next));
                    return Some(what);
                }
                Happening::Unplug | Happening::Journey(_) | Happening::Event(_) => return Some(what),
            }
        }
        None
    }

    /// Draws the day's random journeys and events: a Poisson number of each, at even times within its hours.
    fn begin_day(&mut self, device: &Device, day: u32) {
        let midnight = DAY * f64::from(day);
        if self.people {
            for (index, journey) in device.usage.journeys.iter().enumerate() {
                let fixed = journey.times.iter().map(|time| micros(midnight + *time));
                let random = times(journey.per_day, journey.hours, midnight, &mut self.journeys[index]);
                for time in fixed.chain(random) {
                    for number in 0..journey.session.times {
                        let later = journey.session.every * f64::from(number);
                        self.add(time + micros(later), Happening::Journey(index));
                    }
                }
            }
        }
        for (index, event) in device.events.iter().enumerate() {
            if let Times::PerDay(rate, hours) = event.times {
                for time in times(rate, hours, midnight, &mut self.events[index]) {
                    self.add(time, Happening::Event(EventId(index)));
                }
            }
        }
        let next = micros(midnight + DAY);
        if self.end.is_none_or(|end| next < end) {
            self.heap.push(Reverse((next, Happening::Day(day + 1))));
        }
    }
}

fn times(rate: f64, hours: Hours, midnight: Seconds, random: &mut ChaCha8Rng) -> Vec<Micros> {
    let count = poisson(rate, random);
    (0..count).map(|_| micros(midnight + hours.from + hours.length * random.random::<f64>())).collect()
}

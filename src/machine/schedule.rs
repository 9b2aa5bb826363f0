//! What a machine does by itself at fixed intervals: samples of fields and periodic events.

use super::time::{Micros, micros};
use crate::behaviour::field::Renewal;
use crate::behaviour::{EventId, Times};
use crate::device::Device;
use crate::screen::values::FieldId;
use crate::units::Seconds;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Something periodic. Its order is that of the rules at one time: events before renewals, each by position.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Beat {
    /// An event.
    Event(EventId),
    /// A field is sampled.
    Renew(FieldId),
}

/// The beats to come.
#[derive(Clone, Debug, Default)]
pub struct Schedule {
    heap: BinaryHeap<Reverse<(Micros, Beat)>>,
}

impl Schedule {
    /// Everything periodic of a device, from a time on: at whole multiples of each interval after midnight.
    pub fn new(device: &Device, now: Micros) -> Self {
        let mut schedule = Self::default();
        let mut add = |interval: Seconds, beat| {
            let interval = micros(interval).max(1);
            schedule.heap.push(Reverse(((now / interval + 1) * interval, beat)));
        };
        for (index, event) in device.events.iter().enumerate() {
            if let Times::Every(interval, _) = event.times {
                add(interval, Beat::Event(EventId(index)));
            }
        }
        for (index, field) in device.fields.iter().enumerate() {
            if let Renewal::Every(interval) = field.renewal {
                add(interval, Beat::Renew(FieldId(index)));
            }
        }
        schedule
    }

    /// When the next beat comes.
    pub fn next(&self) -> Option<Micros> {
        self.heap.peek().map(|Reverse((time, _))| *time)
    }

    /// The next beat, if it is due; it comes again after its interval.
    pub fn take(&mut self, device: &Device, now: Micros) -> Option<Beat> {
        let mut first = self.heap.peek_mut()?;
        let Reverse((time, beat)) = *first;
        if time > now {
            return None;
        }
        let interval = match beat {
            Beat::Event(event) => match device.events[event.0].times {
                Times::Every(interval, _) => interval,
                Times::PerDay(..) | Times::When(_) => return None,
            },
            Beat::Renew(field) => match device.fields[field.0].renewal {
                Renewal::Every(interval) => interval,
                Renewal::Never | Renewal::On(_) => return None,
            },
        };
        let interval = micros(interval).max(1);
        // What was slept over is not made up for.
        let next = time + interval;
        *first = Reverse((if next > now { next } else { (now / interval + 1) * interval }, beat));
        Some(beat)
    }
}

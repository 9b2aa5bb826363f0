//! What is still to happen to a running device, in the order of its times.

use crate::units::Seconds;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Microseconds after midnight of the first day: whole numbers, so that the order of happenings is beyond doubt.
pub type Micros = u64;

/// A time as whole microseconds; a negative one as 0.
pub fn micros(time: Seconds) -> Micros {
    (time.0.max(0.0) * 1e6).round() as Micros
}

/// The time of a whole number of microseconds.
pub fn seconds(time: Micros) -> Seconds {
    Seconds(time as f64 * 1e-6)
}

/// Something that happens at its time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Happening {
    /// A field is renewed.
    Renew(usize),
    /// An event happens.
    Event(usize),
    /// A screen's timer ends, unless something was pressed or entered since (by its number).
    Timer(u64, usize),
    /// The panel is free again, or may redraw.
    Look,
    /// The last full refresh is as old as the policy allows.
    FullDue,
}

/// Happenings to come; those of one time in the order in which they were added.
#[derive(Debug, Default)]
pub struct Queue {
    heap: BinaryHeap<Reverse<(Micros, u64, Happening)>>,
    number: u64,
}

impl Queue {
    /// Adds a happening.
    pub fn add(&mut self, time: Micros, what: Happening) {
        self.number += 1;
        self.heap.push(Reverse((time, self.number, what)));
    }

    /// The time of the next happening.
    pub fn next_time(&self) -> Option<Micros> {
        self.heap.peek().map(|Reverse((time, ..))| *time)
    }

    /// Takes the next happening, if it is due at `now`.
    pub fn take_due(&mut self, now: Micros) -> Option<Happening> {
        self.next_time().filter(|time| *time <= now)?;
        self.heap.pop().map(|Reverse((_, _, what))| what)
    }
}

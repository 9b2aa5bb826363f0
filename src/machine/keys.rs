//! Keys that are down: holds and repetitions. What they do is in [`super::Machine`].

use super::time::{Micros, micros};
use crate::behaviour::KeyRule;
use crate::screen::ScreenId;

/// A key that is down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Down {
    /// Since when.
    pub since: Micros,
    /// What was in front then.
    pub front: ScreenId,
    /// Its hold has done what it does.
    pub held: bool,
    /// How often its press was repeated.
    pub repeats: u32,
    /// What it does belongs to what was in front when it went down; something else is in front now.
    pub stale: bool,
}

/// What a key that stays down does next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stays {
    /// Its hold.
    Hold,
    /// Its press again.
    Repeat,
}

impl Down {
    /// A key that goes down.
    pub fn new(since: Micros, front: ScreenId) -> Self {
        Self { since, front, held: false, repeats: 0, stale: false }
    }

    /// When it does something next by staying down, and what.
    pub fn next(&self, rule: &KeyRule) -> Option<(Micros, Stays)> {
        if self.stale {
            return None;
        }
        let hold = rule.hold.as_ref().filter(|_| !self.held).map(|hold| (self.since + micros(hold.after), Stays::Hold));
        let repeat = rule.repeat.map(|repeat| {
            let times = u64::from(self.repeats) * micros(repeat.every).max(1);
            (self.since + micros(repeat.after) + times, Stays::Repeat)
        });
        match (hold, repeat) {
            (Some(hold), Some(repeat)) => Some(if hold.0 <= repeat.0 { hold } else { repeat }),
            (one, other) => one.or(other),
        }
    }
}

//! What makes a device act: the cause of a way from one screen to another.

use super::{Event, EventId};
use crate::units::{Seconds, plain_time};

/// What makes a device act.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Trigger {
    /// A key is pressed; the first stands at 0.
    Press(usize),
    /// A key has been held.
    Hold(usize),
    /// A key is released.
    Release(usize),
    /// So long after the screen was entered, or after the last press.
    Timer(Seconds),
    /// An event.
    Event(EventId),
}

impl Trigger {
    /// In words: `key 1`, `hold key 1`, `after 30 s`, `event frost`.
    pub fn words(self, events: &[Event]) -> String {
        match self {
            Self::Press(key) => format!("key {}", key + 1),
            Self::Hold(key) => format!("hold key {}", key + 1),
            Self::Release(key) => format!("release key {}", key + 1),
            Self::Timer(wait) => format!("after {}", plain_time(wait)),
            Self::Event(event) => format!("event {}", events.get(event.0).map_or("", |event| event.name.as_str())),
        }
    }
}

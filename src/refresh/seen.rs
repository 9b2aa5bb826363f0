//! What the eye sees of the panel during a refresh.
//!
//! The waveform itself is the panel maker's; here a full refresh goes through negative, black and white in equal parts of
//! its drive time, and a partial one leaves its changed pixels gray until it ends.

use super::update::Mode;
use crate::frame::Frame;
use embedded_graphics::prelude::Point;
use embedded_graphics::primitives::Rectangle;

/// What is seen of the panel at one moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// Ink and paper.
    pub frame: Frame,
    /// Pixels on their way, seen as gray.
    pub settling: Option<Frame>,
}

/// A refresh as it is seen. Times are whole microseconds.
#[derive(Clone, Debug)]
pub struct Drive {
    /// The waveform.
    pub mode: Mode,
    /// The panel is driven from then on.
    pub from: u64,
    /// The new picture stands.
    pub to: u64,
    /// What stood before.
    pub before: Frame,
}

/// Steps that the drive of a full refresh is shown in.
const STEPS: u64 = 3;

impl Drive {
    /// The times at which the panel looks different.
    pub fn turns(&self) -> Vec<u64> {
        let length = self.to - self.from;
        let at = |step: u64| self.from + (length * step).div_ceil(STEPS);
        match self.mode {
            Mode::Full => vec![at(0), at(1), at(2), self.to],
            Mode::Partial => vec![self.from, self.to],
        }
    }

    /// The next time at which the panel looks different.
    pub fn next_turn(&self, now: u64) -> Option<u64> {
        self.turns().into_iter().find(|time| *time > now)
    }

    /// What is seen at a time; `after` is the picture that stands in the end.
    pub fn seen(&self, now: u64, after: &Frame) -> Seen {
        let still = |frame: &Frame| Seen { frame: frame.clone(), settling: None };
        if now < self.from {
            return still(&self.before);
        }
        if now >= self.to {
            return still(after);
        }
        if self.mode == Mode::Partial {
            return Seen { frame: after.clone(), settling: self.before.difference(after) };
        }
        let mut frame = self.before.clone();
        match ((now - self.from) * STEPS / (self.to - self.from).max(1)).min(STEPS - 1) {
            0 => frame.invert(Rectangle::new(Point::zero(), frame.size())),
            1 => frame.clear(true),
            _ => frame.clear(false),
        }
        Seen { frame, settling: None }
    }
}

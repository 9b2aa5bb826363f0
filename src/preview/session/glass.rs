//! What the eye sees of the glass during a refresh.
//!
//! The waveform itself is the panel maker's; here a full refresh goes through negative, black and white in equal
//! parts of its drive time, and a partial one leaves its changed pixels gray until it ends. The times are the budget's.

use super::Session;
use super::queue::Micros;
use crate::frame::Frame;
use crate::refresh::activity::Activity;
use crate::refresh::update::Mode;
use embedded_graphics::prelude::Point;
use embedded_graphics::primitives::Rectangle;

/// When the glass is driven.
#[derive(Clone, Copy, Debug)]
pub struct Drive {
    /// The waveform.
    pub mode: Mode,
    /// It begins.
    pub from: Micros,
    /// The new picture stands.
    pub to: Micros,
}

/// Steps that the drive of a full refresh is shown in.
const STEPS: Micros = 3;

impl Drive {
    fn step(&self, now: Micros) -> Option<Micros> {
        let length = (self.to - self.from).max(1);
        (self.from..self.to).contains(&now).then(|| ((now - self.from) * STEPS / length).min(STEPS - 1))
    }

    /// The next time at which the glass looks different.
    pub fn next_step(&self, now: Micros) -> Option<Micros> {
        let length = self.to - self.from;
        let at = |step: Micros| self.from + (length * step).div_ceil(STEPS);
        let steps = match self.mode {
            Mode::Full => vec![at(0), at(1), at(2), self.to],
            Mode::Partial => vec![self.from, self.to],
        };
        steps.into_iter().find(|time| *time > now)
    }
}

/// What is seen of the glass at one moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// Ink and paper.
    pub frame: Frame,
    /// Pixels on their way, seen as gray.
    pub settling: Option<Frame>,
}

impl Session {
    /// What is seen of the glass now.
    pub fn seen(&self) -> Seen {
        let still = |frame: &Frame| Seen { frame: frame.clone(), settling: None };
        let Some(drive) = &self.drive else { return still(&self.glass) };
        if self.now < drive.from {
            return still(&self.before);
        }
        let Some(step) = drive.step(self.now) else { return still(&self.glass) };
        if drive.mode == Mode::Partial {
            return Seen { frame: self.glass.clone(), settling: self.before.difference(&self.glass) };
        }
        let mut frame = self.before.clone();
        match step {
            0 => frame.invert(Rectangle::new(Point::zero(), frame.size())),
            1 => frame.clear(true),
            _ => frame.clear(false),
        }
        Seen { frame, settling: None }
    }

    /// The picture that the panel holds once no refresh is under way.
    pub fn glass(&self) -> &Frame {
        &self.glass
    }

    /// How often each region of the glass was driven since the counts began.
    pub fn activity(&self) -> &Activity {
        &self.tally.activity
    }
}

//! What the eye sees of the glass during a refresh, and how often each part of it was driven.
//!
//! The waveform itself is the panel maker's; here a full refresh goes through negative, black and white in equal
//! parts of its drive time, and a partial one leaves its changed pixels gray until it ends. The times are the budget's.

use super::Session;
use super::queue::Micros;
use crate::frame::Frame;
use crate::refresh::update::Mode;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// Pixels along the side of a cell of the activity map.
pub const CELL: u32 = 8;

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

    /// Columns and rows of the activity map: cells of [`CELL`] pixels.
    pub fn activity_size(&self) -> Size {
        let size = self.device.panel.size();
        Size::new(size.width.div_ceil(CELL), size.height.div_ceil(CELL))
    }

    /// How often each cell was driven since the counts began, row by row: by a full refresh all of them, by a partial
    /// one those with a pixel that changed.
    pub fn activity(&self) -> &[u32] {
        &self.activity
    }

    pub(super) fn count_activity(&mut self, mode: Mode) {
        if mode == Mode::Full {
            self.activity.iter_mut().for_each(|count| *count += 1);
            return;
        }
        let Some(difference) = self.before.difference(&self.glass) else { return };
        let columns = self.activity_size().width as usize;
        for (index, count) in self.activity.iter_mut().enumerate() {
            let corner =
                Point::new(((index % columns) * CELL as usize) as i32, ((index / columns) * CELL as usize) as i32);
            if difference.ink_count_in(Rectangle::new(corner, Size::new(CELL, CELL))) > 0 {
                *count += 1;
            }
        }
    }
}

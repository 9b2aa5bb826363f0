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

#[cfg(test)]
mod tests {
    use super::*;

    fn drive(mode: Mode, from: u64, to: u64) -> (Drive, Frame) {
        let mut before = Frame::new(3, 1);
        before.set(0, 0, true);
        let mut after = Frame::new(3, 1);
        after.set(1, 0, true);
        (Drive { mode, from, to, before }, after)
    }

    /// The three pixels, `#` for ink, and which of them are gray.
    fn shown(drive: &Drive, now: u64, after: &Frame) -> String {
        let Seen { frame, settling } = drive.seen(now, after);
        let pixel = |x| match settling.as_ref().is_some_and(|gray| gray.ink(x, 0)) {
            true => '~',
            false if frame.ink(x, 0) => '#',
            false => '.',
        };
        (0..3).map(pixel).collect()
    }

    /// By hand: ten microseconds in three steps begin at 0, 3.3 and 6.7 of them, the next whole one each.
    #[test]
    fn a_full_refresh_is_seen_as_negative_black_white_and_the_picture() {
        let (drive, after) = drive(Mode::Full, 1000, 1010);
        assert_eq!(drive.turns(), [1000, 1004, 1007, 1010]);
        let seen =
            [(999, "#.."), (1000, ".##"), (1003, ".##"), (1004, "###"), (1006, "###"), (1007, "..."), (1009, "...")];
        for (now, expected) in seen.into_iter().chain([(1010, ".#."), (2000, ".#.")]) {
            assert_eq!(shown(&drive, now, &after), expected, "at {now}");
        }
    }

    #[test]
    fn a_partial_refresh_leaves_what_changes_gray() {
        let (drive, after) = drive(Mode::Partial, 7, 9);
        assert_eq!(drive.turns(), [7, 9]);
        assert_eq!([6, 7, 8, 9].map(|now| shown(&drive, now, &after)), ["#..", "~~.", "~~.", ".#."]);
    }

    #[test]
    fn the_panel_looks_different_at_its_turns_and_only_there() {
        for (mode, length) in [Mode::Full, Mode::Partial].into_iter().flat_map(|mode| (1..40).map(move |to| (mode, to)))
        {
            let (drive, after) = drive(mode, 50, 50 + length);
            let mut turns: Vec<u64> =
                (1..=100).filter(|now| shown(&drive, now - 1, &after) != shown(&drive, *now, &after)).collect();
            turns.dedup();
            let mut expected = drive.turns();
            expected.dedup();
            assert_eq!(turns, expected, "{mode:?} over {length}");
            let mut now = 0;
            let walked: Vec<u64> = std::iter::from_fn(|| {
                now = drive.next_turn(now)?;
                Some(now)
            })
            .collect();
            assert_eq!(walked, expected, "{mode:?} over {length}");
        }
    }
}

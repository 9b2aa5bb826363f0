//! Ghosting residue: what partial refreshes leave of older images, as far as the project states it.
//!
//! The model is one number: each partial refresh leaves a stated share of the contrast on every pixel that its windows send,
//! shares add up, and a full refresh takes all of it away. Kept by regions of [`CELL`] pixels, as in [`super::activity`],
//! so a pixel beside a window of the same region counts with it. Not for how a waveform works: the share is measured on
//! the panel, or an assumption.

use super::activity::CELL;
use crate::screen::ScreenId;
use crate::units::{Ratio, Seconds};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// The most that a region took between two full refreshes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worst {
    /// Partial refreshes that drove it since the last full one.
    pub partials: u32,
    /// Column and row of the region.
    pub region: (usize, usize),
    /// The screen that was shown when it came to that.
    pub screen: ScreenId,
    /// How long it stayed so, until the next full refresh; the longest where it came to as many more than once.
    pub lasted: Seconds,
}

/// Counts of every region since the last full refresh, and the worst so far.
#[derive(Clone, Debug, Default)]
pub struct Residue {
    columns: usize,
    rows: usize,
    since: Vec<u32>,
    turn: u32,
    taken: Vec<u32>,
    /// The worst since the last full refresh, and when it came to that.
    now: Option<(Worst, Seconds)>,
    worst: Option<Worst>,
}

impl Residue {
    /// A display of this many pixels that was just cleaned.
    pub fn new(size: Size) -> Self {
        let (columns, rows) = (size.width.div_ceil(CELL) as usize, size.height.div_ceil(CELL) as usize);
        let none = vec![0; columns * rows];
        Self { columns, rows, since: none.clone(), taken: none, ..Self::default() }
    }

    /// A full refresh at a time.
    pub fn full(&mut self, time: Seconds) {
        self.worst = self.until(time);
        if self.now.take().is_some() {
            self.since.iter_mut().for_each(|count| *count = 0);
        }
    }

    /// A partial refresh of these windows of the upright image, that leads to a screen.
    pub fn partial(&mut self, windows: impl IntoIterator<Item = Rectangle>, screen: ScreenId, time: Seconds) {
        self.turn = self.turn.wrapping_add(1);
        for window in windows {
            let Some(far) = window.bottom_right() else { continue };
            let cell = |pixel: i32| pixel.max(0) as usize / CELL as usize;
            for row in cell(window.top_left.y)..(cell(far.y) + 1).min(self.rows) {
                for column in cell(window.top_left.x)..(cell(far.x) + 1).min(self.columns) {
                    let index = row * self.columns + column;
                    if self.taken[index] == self.turn {
                        continue;
                    }
                    self.taken[index] = self.turn;
                    self.since[index] += 1;
                    let partials = self.since[index];
                    if self.now.is_none_or(|(worst, _)| partials > worst.partials) {
                        let worst = Worst { partials, region: (column, row), screen, lasted: Seconds(0.0) };
                        self.now = Some((worst, time));
                    }
                }
            }
        }
    }

    /// The most partial refreshes of a region since the last full one.
    pub fn most(&self) -> u32 {
        self.since.iter().copied().max().unwrap_or(0)
    }

    /// The regions of the upright image that more than a share is left on, where each partial refresh leaves `one`.
    pub fn above(&self, share: Ratio, one: Ratio) -> impl Iterator<Item = Rectangle> + '_ {
        let cells = self.since.iter().enumerate();
        let marked = cells.filter(move |(_, count)| f64::from(**count) * one.0 > share.0);
        marked.map(|(index, _)| {
            let (x, y) = (index % self.columns.max(1), index / self.columns.max(1));
            Rectangle::new(Point::new((x as u32 * CELL) as i32, (y as u32 * CELL) as i32), Size::new(CELL, CELL))
        })
    }

    /// The worst up to a time. `None` where no partial refresh was made.
    pub fn until(&self, time: Seconds) -> Option<Worst> {
        let now = self.now.map(|(worst, begin)| Worst { lasted: time - begin, ..worst });
        let worse = |a: &Worst, b: &Worst| (a.partials, a.lasted.0) > (b.partials, b.lasted.0);
        match (self.worst, now) {
            (Some(worst), Some(now)) => Some(if worse(&now, &worst) { now } else { worst }),
            (worst, now) => worst.or(now),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn window(x: i32, y: i32, w: u32, h: u32) -> Rectangle {
        Rectangle::new(Point::new(x, y), Size::new(w, h))
    }

    /// By hand, on 3 x 2 regions: the left one is driven at 0, 10, 20 and 30 s, the middle at 10 and 20 s, a full refresh
    /// at 100 s; then the middle is driven four times from 200 s to 230 s and cleaned at 240 s; then the right one once.
    #[test]
    fn a_sequence_done_by_hand() {
        let mut residue = Residue::new(Size::new(24, 16));
        assert_eq!(residue.until(Seconds(5.0)), None);
        let (left, both) = (window(0, 0, 8, 8), window(7, 2, 2, 1));
        residue.partial([left], ScreenId(0), Seconds(0.0));
        residue.partial([both], ScreenId(1), Seconds(10.0));
        residue.partial([both, left], ScreenId(1), Seconds(20.0));
        residue.partial([left], ScreenId(2), Seconds(30.0));
        let first = Worst { partials: 4, region: (0, 0), screen: ScreenId(2), lasted: Seconds(70.0) };
        assert_eq!(residue.until(Seconds(100.0)), Some(first));
        residue.full(Seconds(100.0));
        for time in [200.0, 210.0, 220.0, 230.0] {
            residue.partial([window(9, 0, 3, 3)], ScreenId(0), Seconds(time));
        }
        residue.full(Seconds(240.0));
        assert_eq!(residue.until(Seconds(240.0)), Some(first), "as many, but it stayed for 10 s only");
        residue.partial([window(16, 8, 100, 100)], ScreenId(0), Seconds(250.0));
        assert_eq!(residue.until(Seconds(9_000.0)), Some(first));
        for time in [300.0, 310.0, 320.0, 330.0] {
            residue.partial([window(20, 8, 2, 8)], ScreenId(1), Seconds(time));
        }
        let last = Worst { partials: 5, region: (2, 1), screen: ScreenId(1), lasted: Seconds(20.0) };
        assert_eq!(residue.until(Seconds(350.0)), Some(last));
    }
}

//! Ghosting residue: what partial refreshes leave of older images, as far as the project states it.
//!
//! The model is one number: each partial refresh leaves a stated share of the contrast on every pixel that its windows send,
//! shares add up, and a full refresh takes all of it away. Exact for each pixel: the display is kept as a grid whose lines
//! are the edges of all windows so far, so that the pixels of a cell were driven alike. Not for how a waveform works: the
//! share is measured on the panel, or an assumption.

use crate::screen::ScreenId;
use crate::units::{Ratio, Seconds};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use std::ops::Range;

/// The most that pixels took between two full refreshes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worst {
    /// Partial refreshes that drove them since the last full one.
    pub partials: u32,
    /// Pixels of the upright image that took them all: of several areas the first.
    pub area: Rectangle,
    /// The screen that was shown when it came to that.
    pub screen: ScreenId,
    /// How long it stayed so, until the next full refresh; the longest where it came to as many more than once.
    pub lasted: Seconds,
}

/// Counts of all pixels since the last full refresh, and the worst so far.
#[derive(Clone, Debug)]
pub struct Residue {
    /// Edges of the cells from 0 to the display's width, and to its height.
    across: Vec<u32>,
    down: Vec<u32>,
    /// Of each cell, row by row: partial refreshes since the last full one, and the last one that drove it.
    cells: Vec<Cell>,
    turn: u32,
    /// The worst since the last full refresh, and when it came to that.
    now: Option<(Worst, Seconds)>,
    worst: Option<Worst>,
}

#[derive(Clone, Copy, Debug, Default)]
struct Cell {
    since: u32,
    taken: u32,
}

impl Residue {
    /// A display of this many pixels that was just cleaned.
    pub fn new(size: Size) -> Self {
        let (across, down) = (vec![0, size.width], vec![0, size.height]);
        Self { across, down, cells: vec![Cell::default()], turn: 0, now: None, worst: None }
    }

    /// A full refresh at a time.
    pub fn full(&mut self, time: Seconds) {
        self.worst = self.until(time);
        if self.now.take().is_some() {
            self.cells.iter_mut().for_each(|cell| cell.since = 0);
        }
    }

    /// A partial refresh of these windows of the upright image, that leads to a screen.
    pub fn partial(&mut self, windows: impl IntoIterator<Item = Rectangle>, screen: ScreenId, time: Seconds) {
        self.turn = self.turn.wrapping_add(1);
        for window in windows {
            let Some((columns, rows)) = self.covered(&window) else { continue };
            let wide = self.across.len() - 1;
            for row in rows {
                for column in columns.clone() {
                    let cell = &mut self.cells[row * wide + column];
                    // Windows of one refresh may overlap.
                    if std::mem::replace(&mut cell.taken, self.turn) == self.turn {
                        continue;
                    }
                    cell.since += 1;
                    let partials = cell.since;
                    if self.now.is_none_or(|(worst, _)| partials > worst.partials) {
                        let worst = Worst { partials, area: self.area(column, row), screen, lasted: Seconds(0.0) };
                        self.now = Some((worst, time));
                    }
                }
            }
        }
    }

    /// The columns and rows of cells that a window covers, which become cells of their own. `None` of a window beside the
    /// display.
    fn covered(&mut self, window: &Rectangle) -> Option<(Range<usize>, Range<usize>)> {
        let side = |from: i32, length: u32, edges: &[u32]| {
            let last = edges.last().copied().unwrap_or_default();
            let end = (i64::from(from) + i64::from(length)).clamp(0, i64::from(last)) as u32;
            let from = from.max(0) as u32;
            (from < end).then_some((from, end))
        };
        let (left, right) = side(window.top_left.x, window.size.width, &self.across)?;
        let (top, bottom) = side(window.top_left.y, window.size.height, &self.down)?;
        for edge in [left, right] {
            self.part_columns(edge);
        }
        for edge in [top, bottom] {
            self.part_rows(edge);
        }
        let place = |edges: &[u32], edge| edges.partition_point(|known| *known < edge);
        let columns = place(&self.across, left)..place(&self.across, right);
        Some((columns, place(&self.down, top)..place(&self.down, bottom)))
    }

    /// Makes an edge one of cells.
    fn part_columns(&mut self, edge: u32) {
        if let Err(at) = self.across.binary_search(&edge) {
            let wide = self.across.len() - 1;
            let twice = |row: &[Cell]| [&row[..at], &row[at - 1..]].concat();
            self.cells = self.cells.chunks_exact(wide).flat_map(twice).collect();
            self.across.insert(at, edge);
        }
    }

    fn part_rows(&mut self, edge: u32) {
        if let Err(at) = self.down.binary_search(&edge) {
            let wide = self.across.len() - 1;
            let row = self.cells[(at - 1) * wide..at * wide].to_vec();
            self.cells.splice(at * wide..at * wide, row);
            self.down.insert(at, edge);
        }
    }

    fn area(&self, column: usize, row: usize) -> Rectangle {
        let (left, top) = (self.across[column], self.down[row]);
        let size = Size::new(self.across[column + 1] - left, self.down[row + 1] - top);
        Rectangle::new(Point::new(left as i32, top as i32), size)
    }

    /// The most partial refreshes of a pixel since the last full one.
    pub fn most(&self) -> u32 {
        self.cells.iter().map(|cell| cell.since).max().unwrap_or(0)
    }

    /// The pixels of the upright image, as areas, that more than a share is left on, where each partial refresh leaves
    /// `one`.
    pub fn above(&self, share: Ratio, one: Ratio) -> impl Iterator<Item = Rectangle> + '_ {
        let wide = (self.across.len() - 1).max(1);
        let cells = self.cells.iter().enumerate();
        let marked = cells.filter(move |(_, cell)| f64::from(cell.since) * one.0 > share.0);
        marked.map(move |(index, _)| self.area(index % wide, index / wide))
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

    /// By hand, on 24 x 16 pixels: the left ones are driven at 0, 10, 20 and 30 s, those in the middle at 10 and 20 s, a
    /// full refresh at 100 s; then the middle is driven four times from 200 s to 230 s and cleaned at 240 s; then the right
    /// ones once, and two columns of them four times more.
    #[test]
    fn a_sequence_done_by_hand() {
        let mut residue = Residue::new(Size::new(24, 16));
        assert_eq!(residue.until(Seconds(5.0)), None);
        let (left, both) = (window(0, 0, 8, 8), window(7, 2, 2, 1));
        residue.partial([left], ScreenId(0), Seconds(0.0));
        residue.partial([both], ScreenId(1), Seconds(10.0));
        residue.partial([both, left], ScreenId(1), Seconds(20.0));
        residue.partial([left], ScreenId(2), Seconds(30.0));
        // Both hold the one pixel at 7, 2.
        let first = Worst { partials: 4, area: window(7, 2, 1, 1), screen: ScreenId(2), lasted: Seconds(70.0) };
        assert_eq!(residue.until(Seconds(100.0)), Some(first));
        assert_eq!(residue.above(Ratio(0.35), Ratio(0.1)).collect::<Vec<_>>(), [window(7, 2, 1, 1)]);
        residue.full(Seconds(100.0));
        for time in [200.0, 210.0, 220.0, 230.0] {
            residue.partial([window(9, 0, 3, 3)], ScreenId(0), Seconds(time));
        }
        residue.full(Seconds(240.0));
        assert_eq!(residue.until(Seconds(240.0)), Some(first), "as many, but it stayed for 10 s only");
        residue.partial([window(16, 8, 100, 100), window(-5, 3, 4, 4)], ScreenId(0), Seconds(250.0));
        assert_eq!(residue.until(Seconds(9_000.0)), Some(first));
        for time in [300.0, 310.0, 320.0, 330.0] {
            residue.partial([window(20, 8, 2, 8)], ScreenId(1), Seconds(time));
        }
        let last = Worst { partials: 5, area: window(20, 8, 2, 8), screen: ScreenId(1), lasted: Seconds(20.0) };
        assert_eq!(residue.until(Seconds(350.0)), Some(last));
    }

    /// Windows side by side do not add up, however near they are.
    #[test]
    fn what_lies_beside_a_window_takes_nothing_of_it() {
        let mut residue = Residue::new(Size::new(16, 8));
        for time in 0..4 {
            residue.partial([window(0, time, 16, 1)], ScreenId(0), Seconds(f64::from(time)));
        }
        assert_eq!(residue.most(), 1);
    }

    /// Against a count kept for each pixel, over windows of a fixed sequence.
    #[test]
    fn each_pixel_has_its_own_count() {
        const WIDTH: usize = 53;
        const HEIGHT: usize = 37;
        let mut residue = Residue::new(Size::new(WIDTH as u32, HEIGHT as u32));
        let mut pixels = [[0u32; WIDTH]; HEIGHT];
        let (mut seed, mut most) = (1u64, 0);
        let mut next = |below: u64| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (seed >> 33) % below
        };
        for step in 0..1000 {
            if next(12) == 0 {
                residue.full(Seconds(f64::from(step)));
                pixels = [[0; WIDTH]; HEIGHT];
                continue;
            }
            let windows: Vec<Rectangle> = (0..=next(3))
                .map(|_| window(next(60) as i32 - 5, next(45) as i32 - 5, next(20) as u32, next(20) as u32))
                .collect();
            for (y, row) in pixels.iter_mut().enumerate() {
                for (x, pixel) in row.iter_mut().enumerate() {
                    let at = Point::new(x as i32, y as i32);
                    *pixel += u32::from(windows.iter().any(|window| window.contains(at)));
                }
            }
            residue.partial(windows, ScreenId(0), Seconds(f64::from(step)));
            let now = pixels.iter().flatten().copied().max().unwrap_or(0);
            most = most.max(now);
            assert_eq!(residue.most(), now);
            let marked: Vec<Rectangle> = residue.above(Ratio(2.5), Ratio(1.0)).collect();
            for (y, row) in pixels.iter().enumerate() {
                for (x, pixel) in row.iter().enumerate() {
                    let at = Point::new(x as i32, y as i32);
                    assert_eq!(marked.iter().any(|area| area.contains(at)), *pixel > 2, "{x} {y}");
                }
            }
        }
        assert_eq!(residue.until(Seconds(1000.0)).map(|worst| worst.partials), Some(most));
    }
}

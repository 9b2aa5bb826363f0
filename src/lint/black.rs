//! Which pixels an element sets by itself: black ones, and white ones that it draws over what is below.

use crate::frame::Frame;
use crate::screen::Item;
use crate::screen::draw::draw;
use crate::screen::values::Values;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// Two frames to draw elements into one by one: over white and over black.
pub(super) struct Bench {
    white: Frame,
    black: Frame,
}

/// A run of pixels in one row: 64 columns from `x` on, leftmost in the most significant bit.
pub(super) struct Run {
    pub x: u32,
    pub y: u32,
    /// Pixels set to black.
    pub ink: u64,
    /// Pixels set to white.
    pub paper: u64,
}

impl Bench {
    /// A bench as large as the panel.
    pub fn new(size: Size) -> Self {
        let mut black = Frame::new(size.width, size.height);
        black.clear(true);
        Self { white: Frame::new(size.width, size.height), black }
    }

    /// Draws one element alone and gives what it set, row by row; runs without any are left out.
    pub fn draw(&mut self, item: &Item, values: &Values) -> Vec<Run> {
        let glass = Rectangle::new(Point::zero(), self.white.size());
        let area = item.area.intersection(&glass);
        self.white.fill(area, false);
        self.black.fill(area, true);
        draw(&item.operations, values, &mut self.white);
        draw(&item.operations, values, &mut self.black);
        self.runs(area)
    }

    fn runs(&self, area: Rectangle) -> Vec<Run> {
        let mut runs = Vec::new();
        let (Some(last), x0) = (area.bottom_right(), area.top_left.x as usize) else { return runs };
        for y in area.rows().map(|y| y as u32) {
            let (white, black) = (self.white.row(y), self.black.row(y));
            for word in x0 / 64..=last.x as usize / 64 {
                let first = x0.max(word * 64) - word * 64;
                let end = (last.x as usize).min(word * 64 + 63) - word * 64;
                let mask = (u64::MAX >> first) & (u64::MAX << (63 - end));
                let (ink, paper) = (white[word] & mask, !black[word] & mask);
                if ink | paper != 0 {
                    runs.push(Run { x: word as u32 * 64, y, ink, paper });
                }
            }
        }
        runs
    }
}

/// The columns of a word's bits, from left to right.
pub(super) fn columns(x: u32, mut bits: u64) -> impl Iterator<Item = u32> {
    std::iter::from_fn(move || {
        let at = bits.leading_zeros();
        bits &= !(1u64.checked_shl(63u32.checked_sub(at)?)?);
        Some(x + at)
    })
}

/// The least rectangle around pixels of runs that `bits` chooses; `None` if there are none.
pub(super) fn bounds(runs: &[Run], bits: impl Fn(&Run) -> u64) -> Option<Rectangle> {
    let mut found: Option<(u32, u32, u32, u32)> = None;
    for run in runs {
        let chosen = bits(run);
        if chosen != 0 {
            let (left, right) = (run.x + chosen.leading_zeros(), run.x + 63 - chosen.trailing_zeros());
            let (l, t, r, b) = found.unwrap_or((left, run.y, right, run.y));
            found = Some((l.min(left), t.min(run.y), r.max(right), b.max(run.y)));
        }
    }
    found.map(|(l, t, r, b)| Rectangle::with_corners(Point::new(l as i32, t as i32), Point::new(r as i32, b as i32)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_and_bounds_of_bits() {
        assert_eq!(columns(64, 1 << 63 | 1).collect::<Vec<_>>(), [64, 127]);
        assert_eq!(columns(0, 0).count(), 0);
        let runs = [Run { x: 0, y: 3, ink: 1 << 60, paper: 0 }, Run { x: 0, y: 5, ink: 1 << 50, paper: 0 }];
        let area = bounds(&runs, |run| run.ink).unwrap();
        assert_eq!(area, Rectangle::new(Point::new(3, 3), Size::new(11, 3)));
    }
}

//! What changed between two frames of one size: which pixels, how many, where.
//!
//! Not for choosing update windows; that takes a panel, too.

use super::area::Area;
use super::bits::Frame;
use super::fill::{extent, ones};
use embedded_graphics::primitives::Rectangle;

/// Words that are compared at once.
const RUN: usize = 64;

/// The changed pixels of one row: the first is column `from`, the last is column `to - 1`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct RowChange {
    /// The row.
    pub y: u32,
    /// The first changed column.
    pub from: u32,
    /// The column after the last changed one.
    pub to: u32,
}

impl Frame {
    /// Ink where the two frames differ; `None` if their sizes differ.
    pub fn difference(&self, other: &Frame) -> Option<Frame> {
        let words = self.words().iter().zip(other.words()).map(|(a, b)| a ^ b);
        (self.size() == other.size()).then(|| self.with_words(words.collect()))
    }

    /// Ink where the two frames differ in the part of `area` inside them, as a frame of that part's size; `None` where
    /// nothing of it lies inside, or if the sizes differ.
    pub fn difference_in(&self, other: &Frame, area: Rectangle) -> Option<Frame> {
        let area = Area::within(&area, self.width(), self.height()).filter(|_| self.size() == other.size())?;
        let mut difference = Frame::new(area.width(), area.y1 - area.y0);
        let (first, shift, mask) = ((area.x0 / 64) as usize, area.x0 % 64, difference.last_word_mask());
        for (y, to) in (area.y0..).zip(difference.rows_mut(0, area.y1 - area.y0)) {
            let (old, new) = (&self.row(y)[first..], &other.row(y)[first..]);
            to.iter_mut().zip(old).zip(new).for_each(|((to, old), new)| *to = old ^ new);
            let beyond = old.get(to.len()).zip(new.get(to.len())).map_or(0, |(old, new)| old ^ new);
            if shift > 0 {
                let mut right = beyond;
                for word in to.iter_mut().rev() {
                    (*word, right) = ((*word << shift) | (right >> (64 - shift)), *word);
                }
            }
            if let Some(last) = to.last_mut() {
                *last &= mask;
            }
        }
        Some(difference)
    }

    /// How many pixels differ; `None` if the sizes differ.
    pub fn changed_pixels(&self, other: &Frame) -> Option<u64> {
        (self.size() == other.size()).then(|| self.changed(other).map_or(0, |(_, pixels)| pixels))
    }

    /// The smallest rectangle that holds all pixels that differ, and how many do; `None` if none do, or if the sizes differ.
    pub fn changed(&self, other: &Frame) -> Option<(Rectangle, u64)> {
        let bounds = self.changed_bounds(other)?;
        let first = bounds.top_left.y as usize * self.words_per_row();
        let rows = first..first + bounds.size.height as usize * self.words_per_row();
        let words = self.words()[rows.clone()].iter().zip(&other.words()[rows]);
        Some((bounds, ones(words.map(|(old, new)| old ^ new))))
    }

    /// The smallest rectangle that holds all pixels that differ; `None` if none do, or if the sizes differ.
    pub fn changed_bounds(&self, other: &Frame) -> Option<Rectangle> {
        if self.size() != other.size() {
            return None;
        }
        let (first, last) = (self.runs(other).position(|(a, b)| a != b)?, self.runs(other).rposition(|(a, b)| a != b)?);
        let (from, to) = (first * RUN / self.words_per_row(), ((last + 1) * RUN).div_ceil(self.words_per_row()));
        let (mut columns, mut y) = (vec![0; self.words_per_row()], None);
        for at in from as u32..self.height().min(to as u32) {
            let mut row = 0;
            for ((all, old), new) in columns.iter_mut().zip(self.row(at)).zip(other.row(at)) {
                row |= old ^ new;
                *all |= old ^ new;
            }
            if row != 0 {
                y = Some((y.map_or(at, |(top, _)| top), at + 1));
            }
        }
        let ((x0, x1), (y0, y1)) = extent(columns.into_iter()).zip(y)?;
        Some(Area { x0, y0, x1, y1 }.rectangle())
    }

    /// The words of both frames in runs of [`RUN`]: most of two frames is alike, and that is seen fastest run by run.
    fn runs<'a>(
        &'a self,
        other: &'a Frame,
    ) -> impl DoubleEndedIterator<Item = (&'a [u64], &'a [u64])> + ExactSizeIterator {
        self.words().chunks(RUN).zip(other.words().chunks(RUN))
    }

    /// The rows that hold changes, from the top; `None` if the sizes differ.
    pub fn changed_rows<'a>(&'a self, other: &'a Frame) -> Option<impl Iterator<Item = RowChange> + 'a> {
        let changed = |y: u32| {
            let (old, new) = (self.row(y), other.row(y));
            if old == new {
                return None;
            }
            let (from, to) = extent(old.iter().zip(new).map(|(a, b)| a ^ b))?;
            Some(RowChange { y, from, to })
        };
        (self.size() == other.size()).then(|| (0..self.height()).filter_map(changed))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::assert::assert_picture;
    use embedded_graphics::prelude::*;

    #[test]
    fn changes_are_seen_counted_and_bounded() {
        let old = Frame::from_pattern(&["##....", "......", "..##..", "......"]);
        let new = Frame::from_pattern(&["##....", "....#.", ".####.", "......"]);
        assert_picture(&old.difference(&new).expect("same size"), &["......", "....#.", ".#..#.", "......"]);
        let part = Rectangle::new(Point::new(3, 1), Size::new(9, 2));
        assert_picture(&old.difference_in(&new, part).expect("partly inside"), &[".#.", ".#."]);
        assert_eq!(old.changed_pixels(&new), Some(3));
        assert_eq!(old.changed_bounds(&new), Some(Rectangle::new(Point::new(1, 1), Size::new(4, 2))));
        let rows: Vec<RowChange> = old.changed_rows(&new).expect("same size").collect();
        assert_eq!(rows, [RowChange { y: 1, from: 4, to: 5 }, RowChange { y: 2, from: 1, to: 5 }]);
    }

    #[test]
    fn frames_of_other_sizes_have_no_difference() {
        // Same number of words, so only the size check tells them apart.
        let (a, b) = (Frame::new(10, 4), Frame::new(11, 4));
        assert_eq!((a.difference(&b), a.changed_pixels(&b), a.changed_bounds(&b)), (None, None, None));
        assert!(a.changed_rows(&b).is_none());
        assert_eq!(a.changed_bounds(&a), None);
    }
}

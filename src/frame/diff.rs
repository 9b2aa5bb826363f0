//! What changed between two frames of one size: which pixels, how many, where.
//!
//! Not for choosing update windows; that takes a panel, too.

use super::area::Area;
use super::bits::Frame;
use super::fill::{extent, ones};
use embedded_graphics::primitives::Rectangle;

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

    /// How many pixels differ; `None` if the sizes differ.
    pub fn changed_pixels(&self, other: &Frame) -> Option<u64> {
        let words = self.words().iter().zip(other.words()).map(|(a, b)| a ^ b);
        (self.size() == other.size()).then(|| ones(words))
    }

    /// The smallest rectangle that holds all pixels that differ; `None` if none do, or if the sizes differ.
    pub fn changed_bounds(&self, other: &Frame) -> Option<Rectangle> {
        let mut changes = self.changed_rows(other)?;
        let first = changes.next()?;
        let mut area = Area { x0: first.from, y0: first.y, x1: first.to, y1: first.y + 1 };
        for change in changes {
            area = Area { x0: area.x0.min(change.from), x1: area.x1.max(change.to), y1: change.y + 1, ..area };
        }
        Some(area.rectangle())
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

//! What changed between two frames of one size: which pixels, how many, where.
//!
//! Not for choosing update windows; that takes a panel, too.

use super::area::Area;
use super::bits::Frame;
use super::fill::{extent, ones};
use embedded_graphics::primitives::Rectangle;
use pulp::{Arch, Simd};
use std::ops::Range;

/// Words that are compared at once.
const RUN: usize = 64;

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
        self.changed_in(other, self.rows_apart(other)?)
    }

    /// As [`Frame::changed`] for some of the rows: where something was drawn.
    pub fn changed_in(&self, other: &Frame, rows: Range<u32>) -> Option<(Rectangle, u64)> {
        let rows = rows.start..rows.end.min(self.height());
        if self.size() != other.size() || rows.is_empty() {
            return None;
        }
        compare(self, other, rows)
    }

    /// The smallest rectangle that holds all pixels that differ; `None` if none do, or if the sizes differ.
    pub fn changed_bounds(&self, other: &Frame) -> Option<Rectangle> {
        self.changed(other).map(|(bounds, _)| bounds)
    }

    /// Takes over some of the rows from another frame of the same size; rows that there are not are ignored.
    pub fn adopt(&mut self, other: &Frame, rows: Range<u32>) {
        let rows = rows.start..rows.end.min(self.height());
        if self.size() == other.size() && !rows.is_empty() {
            let words = self.words_of(rows);
            self.words_mut()[words.clone()].copy_from_slice(&other.words()[words]);
        }
    }

    /// The rows between the first and the last run of words that differ, and few more: most of two frames is alike, and
    /// that is seen fastest run by run. `None` if no rows are, or if the sizes differ.
    fn rows_apart(&self, other: &Frame) -> Option<Range<u32>> {
        if self.size() != other.size() {
            return None;
        }
        let mut runs = self.words().chunks(RUN).zip(other.words().chunks(RUN));
        let (first, last) = (runs.clone().position(|(a, b)| a != b)?, runs.rposition(|(a, b)| a != b)?);
        let row = |word: usize| (word / self.words_per_row()) as u32;
        Some(row(first * RUN)..row((last + 1) * RUN) + 1)
    }

    /// Where the words of some rows lie.
    fn words_of(&self, rows: Range<u32>) -> Range<usize> {
        self.words_per_row() * rows.start as usize..self.words_per_row() * rows.end as usize
    }
}

/// The rectangle around the pixels of some rows that differ, and how many do.
#[pulp::with_simd(compare = Arch::new())]
#[inline(always)]
fn compare_with<S: Simd>(_: S, old: &Frame, new: &Frame, rows: Range<u32>) -> Option<(Rectangle, u64)> {
    let words = old.words_of(rows.clone());
    let (old_words, new_words) = (&old.words()[words.clone()], &new.words()[words]);
    // Rows of a few words are compared fastest when it is known how many.
    match old.words_per_row() {
        1 => compare_short::<1>(old_words, new_words, rows.start),
        2 => compare_short::<2>(old_words, new_words, rows.start),
        3 => compare_short::<3>(old_words, new_words, rows.start),
        4 => compare_short::<4>(old_words, new_words, rows.start),
        5 => compare_short::<5>(old_words, new_words, rows.start),
        6 => compare_short::<6>(old_words, new_words, rows.start),
        7 => compare_short::<7>(old_words, new_words, rows.start),
        width => compare_long(old_words, new_words, width, rows.start),
    }
}

/// One pass over rows of `WORDS` words, the first of which is row `first`.
#[inline(always)]
fn compare_short<const WORDS: usize>(old: &[u64], new: &[u64], first: u32) -> Option<(Rectangle, u64)> {
    let mut columns = [0; WORDS];
    let (mut pixels, mut y0, mut y1) = (0, None, 0);
    for (y, (old, new)) in (first..).zip(old.as_chunks::<WORDS>().0.iter().zip(new.as_chunks::<WORDS>().0)) {
        let differ: [u64; WORDS] = std::array::from_fn(|at| old[at] ^ new[at]);
        if differ.iter().fold(0, |all, word| all | word) != 0 {
            columns.iter_mut().zip(differ).for_each(|(all, word)| *all |= word);
            pixels += ones(differ);
            y0 = y0.or(Some(y));
            y1 = y + 1;
        }
    }
    let (x0, x1) = extent(columns.into_iter())?;
    Some((Area { x0, y0: y0?, x1, y1 }.rectangle(), pixels))
}

/// The same of rows of `width` words.
#[inline(always)]
fn compare_long(old: &[u64], new: &[u64], width: usize, first: u32) -> Option<(Rectangle, u64)> {
    let differ = |(old, new): (&[u64], &[u64])| old.iter().zip(new).fold(0, |all, (old, new)| all | (old ^ new)) != 0;
    let mut rows = old.chunks_exact(width).zip(new.chunks_exact(width));
    let above = rows.clone().position(differ)?;
    let below = rows.rposition(differ)? + 1;
    let (old, new) = (&old[above * width..below * width], &new[above * width..below * width]);
    let pixels = ones(old.iter().zip(new).map(|(old, new)| old ^ new));
    // Changes mostly begin in one of the first columns of words and end in one of the last.
    let column = |at: usize| {
        let rows = old.chunks_exact(width).zip(new.chunks_exact(width));
        rows.fold(0, |all, (old, new)| all | (old[at] ^ new[at]))
    };
    let some = |at: usize| Some((64 * at as u32, column(at))).filter(|(_, all)| *all != 0);
    let x0 = (0..width).find_map(some).map(|(start, all)| start + all.leading_zeros())?;
    let x1 = (0..width).rev().find_map(some).map(|(start, all)| start + 64 - all.trailing_zeros())?;
    let (y0, y1) = (first + above as u32, first + below as u32);
    Some((Area { x0, y0, x1, y1 }.rectangle(), pixels))
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
        assert_eq!(old.changed_in(&new, 2..9), Some((Rectangle::new(Point::new(1, 2), Size::new(4, 1)), 2)));
        assert_eq!(old.changed_bounds(&new), Some(Rectangle::new(Point::new(1, 1), Size::new(4, 2))));
    }

    #[test]
    fn frames_of_other_sizes_have_no_difference() {
        // Same number of words, so only the size check tells them apart.
        let (a, b) = (Frame::new(10, 4), Frame::new(11, 4));
        assert_eq!((a.difference(&b), a.changed_pixels(&b), a.changed_bounds(&b)), (None, None, None));
        assert_eq!(a.changed_bounds(&a), None);
    }
}

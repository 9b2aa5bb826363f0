//! Filling, inverting and counting rectangles of pixels, a word at a time.
//!
//! Not for copying pictures; see `blit`.

use super::area::{Area, columns, word_span};
use super::bits::Frame;
use embedded_graphics::primitives::Rectangle;

impl Frame {
    /// Makes every pixel of `area` ink or paper; what lies outside the frame is ignored.
    pub fn fill(&mut self, area: Rectangle, ink: bool) {
        if ink {
            self.change(&area, |word, mask| *word |= mask);
        } else {
            self.change(&area, |word, mask| *word &= !mask);
        }
    }

    /// Swaps ink and paper in `area`; what lies outside the frame is ignored.
    pub fn invert(&mut self, area: Rectangle) {
        self.change(&area, |word, mask| *word ^= mask);
    }

    /// Makes every pixel ink or paper.
    pub fn clear(&mut self, ink: bool) {
        if !ink {
            self.words_mut().fill(0);
            return;
        }
        self.words_mut().fill(u64::MAX);
        let mask = self.last_word_mask();
        for row in self.rows_mut(0, self.height()) {
            if let Some(last) = row.last_mut() {
                *last = mask;
            }
        }
    }

    /// Pixels of ink.
    pub fn ink_count(&self) -> u64 {
        ones(self.words().iter().copied())
    }

    /// Pixels of ink in the part of `area` inside the frame.
    pub fn ink_count_in(&self, area: Rectangle) -> u64 {
        let Some(area) = Area::within(&area, self.width(), self.height()) else { return 0 };
        let (first, last, first_mask, last_mask) = word_span(area.x0, area.x1);
        let in_row = |y| match &self.row(y)[first..=last] {
            [only] => ones([only & first_mask & last_mask]),
            [left, middle @ .., right] => ones([left & first_mask, right & last_mask]) + ones(middle.iter().copied()),
            [] => 0,
        };
        (area.y0..area.y1).map(in_row).sum()
    }

    /// The smallest rectangle that holds all ink; `None` if there is none.
    pub fn ink_bounds(&self) -> Option<Rectangle> {
        let inked = |y: &u32| self.row(*y).iter().any(|&word| word != 0);
        let top = (0..self.height()).find(inked)?;
        let bottom = (top..self.height()).rfind(inked)?;
        let mut columns = vec![0; self.words_per_row()];
        for y in top..=bottom {
            columns.iter_mut().zip(self.row(y)).for_each(|(all, word)| *all |= word);
        }
        let (left, right) = extent(columns.iter().copied())?;
        Some(Area { x0: left, y0: top, x1: right, y1: bottom + 1 }.rectangle())
    }

    /// Applies `paint` to each word that `area` touches, with the mask of the pixels meant.
    fn change(&mut self, area: &Rectangle, paint: impl Fn(&mut u64, u64)) {
        let Some(area) = Area::within(area, self.width(), self.height()) else { return };
        // Column by column: rows of screens are a few words, too few for filling them as memory to be worth its start.
        for (column, mask) in columns(area.x0, area.x1) {
            self.each_in_column(column, area.y0, area.y1, |word| paint(word, mask));
        }
    }
}

/// Set bits in all words.
#[inline(always)]
pub(super) fn ones(words: impl IntoIterator<Item = u64>) -> u64 {
    words.into_iter().map(|word| u64::from(word.count_ones())).sum()
}

/// The half-open range of columns from the first to the last set bit of a row.
pub(super) fn extent(row: impl Iterator<Item = u64>) -> Option<(u32, u32)> {
    let mut range: Option<(u32, u32)> = None;
    for (start, word) in (0u32..).step_by(64).zip(row) {
        if word != 0 {
            let left = range.map_or(start + word.leading_zeros(), |(left, _)| left);
            range = Some((left, start + 64 - word.trailing_zeros()));
        }
    }
    range
}

//! The picture itself: one bit a pixel in 64-bit words.
//!
//! Not for drawing or byte layouts; the neighbouring files add those.

use embedded_graphics::prelude::Size;

/// The longest side of a frame in pixels. Far beyond any e-paper panel; it keeps a mistyped size from taking all memory.
pub const LARGEST_SIDE: u32 = 32_768;

/// A picture of one bit a pixel; a set bit is ink (black).
///
/// Column `x` of a row is bit `63 - x % 64` of word `x / 64`, so the most significant bit is leftmost. Rows are padded
/// to whole words and the padding is always zero, which lets whole words be compared, counted and copied.
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Frame {
    width: u32,
    height: u32,
    words_per_row: usize,
    words: Vec<u64>,
}

impl Frame {
    /// A frame of `width` by `height` pixels, all paper. Sides beyond [`LARGEST_SIDE`] are cut to it; where a size comes
    /// from a file, use [`Frame::checked`].
    pub fn new(width: u32, height: u32) -> Self {
        let (width, height) = (width.min(LARGEST_SIDE), height.min(LARGEST_SIDE));
        let words_per_row = width.div_ceil(64) as usize;
        Self { width, height, words_per_row, words: vec![0; words_per_row * height as usize] }
    }

    /// A frame of `width` by `height` pixels, all paper; `None` if a side is beyond [`LARGEST_SIDE`].
    pub fn checked(width: u32, height: u32) -> Option<Self> {
        (width <= LARGEST_SIDE && height <= LARGEST_SIDE).then(|| Self::new(width, height))
    }

    /// Columns.
    pub fn width(&self) -> u32 {
        self.width
    }

    /// Rows.
    pub fn height(&self) -> u32 {
        self.height
    }

    /// Columns and rows.
    pub fn size(&self) -> Size {
        Size::new(self.width, self.height)
    }

    /// Whether the pixel is ink; false outside the frame.
    pub fn ink(&self, x: u32, y: u32) -> bool {
        x < self.width && y < self.height && self.words[self.index(x, y)] & bit(x) != 0
    }

    /// Makes the pixel ink or paper; does nothing outside the frame.
    pub fn set(&mut self, x: u32, y: u32, ink: bool) {
        if x < self.width && y < self.height {
            let index = self.index(x, y);
            if ink {
                self.words[index] |= bit(x);
            } else {
                self.words[index] &= !bit(x);
            }
        }
    }

    /// The words of row `y`, leftmost pixel in the most significant bit, padding zero; empty outside the frame.
    pub fn row(&self, y: u32) -> &[u64] {
        let start = self.words_per_row * y as usize;
        if y < self.height { &self.words[start..start + self.words_per_row] } else { &[] }
    }

    /// All rows from the top, as [`Frame::row`] gives them.
    pub fn rows(&self) -> impl DoubleEndedIterator<Item = &[u64]> + ExactSizeIterator {
        (0..self.height).map(|y| self.row(y))
    }

    /// All words, row by row; see [`Frame::words_per_row`].
    pub fn words(&self) -> &[u64] {
        &self.words
    }

    /// Words in one row.
    pub fn words_per_row(&self) -> usize {
        self.words_per_row
    }

    /// The words of row `y` for writing. The writer keeps the padding zero.
    pub(super) fn row_mut(&mut self, y: u32) -> &mut [u64] {
        let start = self.words_per_row * y as usize;
        if y < self.height { &mut self.words[start..start + self.words_per_row] } else { &mut [] }
    }

    /// The words of rows `from..to`, which lie inside the frame, row by row for writing. The writer keeps the padding zero.
    pub(super) fn rows_mut(&mut self, from: u32, to: u32) -> impl Iterator<Item = &mut [u64]> {
        let words = &mut self.words[self.words_per_row * from as usize..self.words_per_row * to as usize];
        // A frame without columns has no words either; chunks of none cannot be had.
        words.chunks_exact_mut(self.words_per_row.max(1))
    }

    /// Changes word `column`, which is one of a row, of rows `from..to`, which lie inside the frame, one after the other.
    /// The writer keeps the padding zero.
    #[inline(always)]
    pub(super) fn each_in_column(&mut self, column: usize, from: u32, to: u32, mut change: impl FnMut(&mut u64)) {
        let words = &mut self.words[..self.words_per_row * to as usize];
        let mut at = self.words_per_row * from as usize + column;
        // An iterator in steps would begin with a division, which takes as long as many of the short columns there are.
        while let Some(word) = words.get_mut(at) {
            change(word);
            at += self.words_per_row;
        }
    }

    /// All words for writing. The writer keeps the padding zero.
    pub(super) fn words_mut(&mut self) -> &mut [u64] {
        &mut self.words
    }

    /// A frame of the same size with other words; `words` has the right length and zero padding.
    pub(super) fn with_words(&self, words: Vec<u64>) -> Self {
        debug_assert_eq!(words.len(), self.words.len());
        Self { words, ..*self }
    }

    /// The bits of a row's last word that are pixels.
    pub(super) fn last_word_mask(&self) -> u64 {
        u64::MAX << ((64 - self.width % 64) % 64)
    }

    fn index(&self, x: u32, y: u32) -> usize {
        self.words_per_row * y as usize + (x / 64) as usize
    }
}

fn bit(x: u32) -> u64 {
    1 << (63 - x % 64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pixels_outside_are_paper_and_cannot_be_set() {
        let mut frame = Frame::new(65, 2);
        frame.set(64, 1, true);
        frame.set(65, 1, true);
        frame.set(0, 2, true);
        assert!(frame.ink(64, 1) && !frame.ink(65, 1) && !frame.ink(0, 2) && !frame.ink(u32::MAX, u32::MAX));
        assert_eq!(frame.words(), [0, 0, 0, 1 << 63]);
        frame.set(64, 1, false);
        assert_eq!(frame, Frame::new(65, 2));
    }

    #[test]
    fn sizes_beyond_the_limit_are_refused_or_cut() {
        assert_eq!(Frame::checked(LARGEST_SIDE + 1, 1), None);
        assert_eq!(Frame::new(u32::MAX, 1).width(), LARGEST_SIDE);
        assert_eq!(Frame::new(0, 7).rows().count(), 7);
    }
}

//! Copying one frame onto another, a word at a time, with clipping: glyphs, icons, rendered areas.
//!
//! Not for scaling or turning; see [`super::turn`].

use super::area::{Area, overlap, word_span};
use super::bits::Frame;
use embedded_graphics::prelude::*;
use embedded_graphics::primitives::Rectangle;

/// What the pixels of a source do to the pixels under them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Paint {
    /// The source's ink becomes ink; its paper changes nothing.
    Ink,
    /// The source's ink becomes paper; its paper changes nothing.
    Paper,
    /// Ink and paper are both copied.
    Opaque,
    /// The source's ink swaps ink and paper; its paper changes nothing.
    Invert,
}

impl Frame {
    /// Copies all of `source` with its top left corner at `at`, changing only pixels inside `clip` and the frame.
    ///
    /// ```
    /// use embedded_graphics::{prelude::*, primitives::Rectangle};
    /// use inkjoule::frame::{Frame, Paint};
    /// let mut frame = Frame::new(4, 2);
    /// let everything = Rectangle::new(Point::zero(), frame.size());
    /// frame.blit(&Frame::from_pattern(&["##", ".#"]), Point::new(3, 0), everything, Paint::Ink);
    /// assert_eq!(frame.to_string(), "...#\n....\n");
    /// ```
    pub fn blit(&mut self, source: &Frame, at: Point, clip: Rectangle, paint: Paint) {
        self.blit_part(source, Rectangle::new(Point::zero(), source.size()), at, clip, paint);
    }

    /// Copies `part` of `source` so that the part's top left corner lands at `at`, changing only pixels inside `clip` and
    /// the frame. Pixels of `part` outside `source` copy nothing.
    pub fn blit_part(&mut self, source: &Frame, part: Rectangle, at: Point, clip: Rectangle, paint: Paint) {
        let Some(from) = Area::within(&part, source.width(), source.height()) else { return };
        let right = i64::from(part.top_left.x) - i64::from(at.x);
        let below = i64::from(part.top_left.y) - i64::from(at.y);
        self.copy([(source, from, right, below)].into_iter(), clip, paint);
    }

    /// Copies all of several frames, each with its top left corner at its point, changing only pixels inside `clip` and
    /// the frame: the glyphs of a line.
    pub fn blit_all<'a>(&mut self, sources: impl Iterator<Item = (Point, &'a Frame)>, clip: Rectangle, paint: Paint) {
        let whole = |(at, source): (Point, &'a Frame)| {
            let from = Area { x0: 0, y0: 0, x1: source.width(), y1: source.height() };
            (source, from, -i64::from(at.x), -i64::from(at.y))
        };
        self.copy(sources.map(whole), clip, paint);
    }

    /// Copies parts of frames, each with how far to the right of and below their place they lie.
    fn copy<'a>(&mut self, parts: impl Iterator<Item = (&'a Frame, Area, i64, i64)>, clip: Rectangle, paint: Paint) {
        match paint {
            Paint::Ink => self.copy_with(parts, clip, |word, ink, mask| *word |= ink & mask),
            Paint::Paper => self.copy_with(parts, clip, |word, ink, mask| *word &= !(ink & mask)),
            Paint::Opaque => self.copy_with(parts, clip, |word, ink, mask| *word = (*word & !mask) | (ink & mask)),
            Paint::Invert => self.copy_with(parts, clip, |word, ink, mask| *word ^= ink & mask),
        }
    }

    fn copy_with<'a>(
        &mut self,
        parts: impl Iterator<Item = (&'a Frame, Area, i64, i64)>,
        clip: Rectangle,
        paint: impl Fn(&mut u64, u64, u64),
    ) {
        let Some(clip) = Area::within(&clip, self.width(), self.height()) else { return };
        for (source, from, right, below) in parts {
            if let Some(copy) = Copy::new(from, right, below, clip) {
                copy.run(self, source, &paint);
            }
        }
    }
}

/// A clipped copy: the pixels to change, and how far to the right and below them their source pixels lie.
struct Copy {
    to: Area,
    right: i64,
    below: i64,
}

impl Copy {
    fn new(from: Area, right: i64, below: i64, clip: Area) -> Option<Self> {
        let landing = |start: u32, end: u32, shift: i64| (i64::from(start) - shift, i64::from(end) - shift);
        let wide = |start: u32, end: u32| (i64::from(start), i64::from(end));
        let (x0, x1) = overlap(landing(from.x0, from.x1, right), wide(clip.x0, clip.x1))?;
        let (y0, y1) = overlap(landing(from.y0, from.y1, below), wide(clip.y0, clip.y1))?;
        Some(Self { to: Area::new(x0, y0, x1, y1)?, right, below })
    }

    fn run(&self, frame: &mut Frame, source: &Frame, paint: impl Fn(&mut u64, u64, u64)) {
        if source.words_per_row() == 1 {
            self.run_narrow(frame, source, paint);
        } else {
            self.run_wide(frame, source, paint);
        }
    }

    /// A source whose rows are one word each, as those of nearly all glyphs are, lands in one or two words of a row.
    fn run_narrow(&self, frame: &mut Frame, source: &Frame, paint: impl Fn(&mut u64, u64, u64)) {
        let (first, last, first_mask, last_mask) = word_span(self.to.x0, self.to.x1);
        // From the left edge of the first word to where the source's first column lands.
        let inset = -self.right - 64 * first as i64;
        let (back, on) = ((-inset).clamp(0, 63) as u32, inset.clamp(0, 63) as u32);
        let above = usize::try_from(i64::from(self.to.y0) + self.below).unwrap_or(usize::MAX);
        let words = source.words().get(above..).unwrap_or_default();
        if first == last {
            let mask = first_mask & last_mask;
            let mut words = words.iter();
            frame.each_in_column(first, self.to.y0, self.to.y1, |to| {
                if let Some(word) = words.next() {
                    paint(to, (word >> on) << back, mask);
                }
            });
        } else {
            for (row, word) in frame.rows_mut(self.to.y0, self.to.y1).zip(words) {
                if let [left, right] = &mut row[first..=last] {
                    paint(left, word >> on, first_mask);
                    paint(right, (word << 1) << (63 - on), last_mask);
                }
            }
        }
    }

    fn run_wide(&self, frame: &mut Frame, source: &Frame, paint: impl Fn(&mut u64, u64, u64)) {
        let (first, last, first_mask, last_mask) = word_span(self.to.x0, self.to.x1);
        let (words, bits) = (self.right.div_euclid(64), self.right.rem_euclid(64));
        let start = first as i64 + words;
        for (y, row) in (self.to.y0..).zip(frame.rows_mut(self.to.y0, self.to.y1)) {
            let Ok(source_y) = u32::try_from(i64::from(y) + self.below) else { continue };
            let from = source.row(source_y);
            // Outside the source row there is nothing; such words are needed only under bits that are masked off.
            let word_at = |index: i64| usize::try_from(index).ok().and_then(|i| from.get(i)).copied().unwrap_or(0);
            let mut left = word_at(start);
            for (index, word) in (0..).zip(&mut row[first..=last]) {
                let right = word_at(start + index + 1);
                let ink = (left << bits) | (right >> 1 >> (63 - bits));
                let mut mask = if index == 0 { first_mask } else { u64::MAX };
                if index as usize == last - first {
                    mask &= last_mask;
                }
                paint(word, ink, mask);
                left = right;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::assert::assert_picture;

    fn painted(paint: Paint) -> Frame {
        let mut frame = Frame::from_pattern(&["....####", "....####", "....####"]);
        let ring = Frame::from_pattern(&["####", "#..#", "####"]);
        let clip = Rectangle::new(Point::zero(), Size::new(8, 2));
        frame.blit(&ring, Point::new(2, 0), clip, paint);
        frame
    }

    #[test]
    fn each_paint_treats_ink_and_paper_its_own_way() {
        assert_picture(&painted(Paint::Ink), &["..######", "..#.####", "....####"]);
        assert_picture(&painted(Paint::Paper), &["......##", "....#.##", "....####"]);
        assert_picture(&painted(Paint::Opaque), &["..######", "..#..###", "....####"]);
        assert_picture(&painted(Paint::Invert), &["..##..##", "..#.#.##", "....####"]);
    }

    #[test]
    fn a_part_is_taken_from_a_sheet() {
        let sheet = Frame::from_pattern(&["#####", "#..##", "##.#.", "#..##"]);
        let mut frame = Frame::new(4, 4);
        let all = Rectangle::new(Point::zero(), frame.size());
        let glyph = Rectangle::new(Point::new(3, 1), Size::new(2, 3));
        frame.blit_part(&sheet, glyph, Point::new(1, 0), all, Paint::Ink);
        assert_picture(&frame, &[".##.", ".#..", ".##.", "...."]);
    }
}

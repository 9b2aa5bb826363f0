//! Frames as text pictures: `#` is ink, `.` is paper.
//!
//! For tests, messages and logs; not for showing a screen in a terminal.

use super::bits::Frame;
use std::fmt::{self, Write};

/// Frames with more pixels than this are summed up in `Debug` output instead of being drawn.
const LARGEST_DEBUG_PICTURE: u64 = 40_000;

impl Frame {
    /// A frame from lines of text: `#` is ink, anything else paper. The longest line gives the width.
    ///
    /// ```
    /// use inkjoule::frame::Frame;
    /// let arrow = Frame::from_pattern(&["#..", "##.", "###"]);
    /// assert_eq!(arrow.to_string(), "#..\n##.\n###\n");
    /// ```
    pub fn from_pattern(lines: &[&str]) -> Self {
        let width = lines.iter().map(|line| line.chars().count()).max().unwrap_or(0);
        let side = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
        let mut frame = Self::new(side(width), side(lines.len()));
        for (y, line) in (0..).zip(lines) {
            for (x, _) in (0..).zip(line.chars()).filter(|(_, mark)| *mark == '#') {
                frame.set(x, y, true);
            }
        }
        frame
    }

    /// Row `y` as `#` and `.`; empty outside the frame.
    pub fn row_text(&self, y: u32) -> String {
        let width = if y < self.height() { self.width() } else { 0 };
        (0..width).map(|x| if self.ink(x, y) { '#' } else { '.' }).collect()
    }
}

impl fmt::Display for Frame {
    /// One line a row, each ended by a line feed.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for y in 0..self.height() {
            f.write_str(&self.row_text(y))?;
            f.write_char('\n')?;
        }
        Ok(())
    }
}

impl fmt::Debug for Frame {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "Frame {} x {}", self.width(), self.height())?;
        if u64::from(self.width()) * u64::from(self.height()) <= LARGEST_DEBUG_PICTURE {
            return write!(f, "{self}");
        }
        write!(f, "{} pixels of ink in {:?}", self.ink_count(), self.ink_bounds())
    }
}

//! The panel's picture in characters: half blocks, braille dots, or plain ASCII.

use crate::frame::Frame;
use crate::preview::session::Seen;
use embedded_graphics::prelude::Size;

/// What stands for pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Marks {
    /// One pixel across and two down: blocks of the upper and lower half.
    Halves,
    /// Two pixels across and four down: braille dots.
    Dots,
    /// Plain ASCII, for terminals without Unicode.
    Ascii,
}

/// How a picture becomes characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cells {
    /// What stands for pixels.
    pub marks: Marks,
    /// Pixels of the panel, across and down, that become one of the picture.
    pub shrink: u32,
}

impl Cells {
    /// The finest picture of `size` pixels that fits `columns` and `rows` of characters.
    pub fn fitting(size: Size, columns: u32, rows: u32, unicode: bool) -> Self {
        let fits = |cells: &Self| {
            let needed = cells.extent(size);
            needed.width <= columns && needed.height <= rows
        };
        let marks = if unicode { Marks::Dots } else { Marks::Ascii };
        let smaller = (1..=64).map(|shrink| Self { marks, shrink });
        let halves = Some(Self { marks: Marks::Halves, shrink: 1 }).filter(|_| unicode);
        halves.into_iter().chain(smaller).find(fits).unwrap_or(Self { marks, shrink: 64 })
    }

    /// Pixels of the shrunk picture in one character.
    fn pixels(self) -> Size {
        match self.marks {
            Marks::Halves | Marks::Ascii => Size::new(1, 2),
            Marks::Dots => Size::new(2, 4),
        }
    }

    /// Pixels of the panel in one character.
    pub fn of_panel(self) -> Size {
        self.pixels() * self.shrink
    }

    /// Columns and rows of characters that a picture takes.
    pub fn extent(self, size: Size) -> Size {
        let cell = self.of_panel();
        Size::new(size.width.div_ceil(cell.width), size.height.div_ceil(cell.height))
    }

    /// The picture, one text a row. Pixels on their way are seen as every other one.
    pub fn lines(self, seen: &Seen) -> Vec<String> {
        let small = shrunk(seen, self.shrink);
        let cell = self.pixels();
        let extent = self.extent(seen.frame.size());
        let row = |y: u32| (0..extent.width).map(|x| self.mark(&small, x * cell.width, y * cell.height)).collect();
        (0..extent.height).map(row).collect()
    }

    fn mark(self, frame: &Frame, x: u32, y: u32) -> char {
        match self.marks {
            Marks::Halves => [' ', '▀', '▄', '█'][pair(frame, x, y)],
            Marks::Ascii => [' ', '\'', '.', '#'][pair(frame, x, y)],
            Marks::Dots => {
                // Dots 1 to 8 of Unicode's braille patterns, with the bit of each.
                const BITS: [(u32, u32, u32); 8] =
                    [(0, 0, 1), (0, 1, 2), (0, 2, 4), (1, 0, 8), (1, 1, 16), (1, 2, 32), (0, 3, 64), (1, 3, 128)];
                let set = BITS.iter().filter(|(dx, dy, _)| frame.ink(x + dx, y + dy));
                let bits: u32 = set.map(|(.., bit)| bit).sum();
                // An empty pattern is not as wide as the others in every font; a space is.
                if bits == 0 { ' ' } else { char::from_u32(0x2800 + bits).unwrap_or(' ') }
            }
        }
    }
}

fn pair(frame: &Frame, x: u32, y: u32) -> usize {
    usize::from(frame.ink(x, y)) + 2 * usize::from(frame.ink(x, y + 1))
}

/// The picture with blocks of pixels as one, which is ink where a quarter of them are, so that thin lines remain.
fn shrunk(seen: &Seen, by: u32) -> Frame {
    let ink = |x: u32, y: u32| match &seen.settling {
        Some(settles) if settles.ink(x, y) => (x + y).is_multiple_of(2),
        _ => seen.frame.ink(x, y),
    };
    let size = seen.frame.size();
    let mut small = Frame::new(size.width.div_ceil(by), size.height.div_ceil(by));
    for y in 0..small.height() {
        for x in 0..small.width() {
            let block = (0..by).flat_map(|dy| (0..by).map(move |dx| (x * by + dx, y * by + dy)));
            let count = block.filter(|(x, y)| ink(*x, *y)).count() as u32;
            small.set(x, y, count > 0 && count * 4 >= by * by);
        }
    }
    small
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(picture: &[&str]) -> Seen {
        Seen { frame: Frame::from_pattern(picture), settling: None }
    }

    #[test]
    fn pixels_become_their_marks() {
        let seen = seen(&["#.#.", "##..", "....", "...#"]);
        let lines = |marks| Cells { marks, shrink: 1 }.lines(&seen);
        assert_eq!(lines(Marks::Halves), ["█▄▀ ", "   ▄"]);
        assert_eq!(lines(Marks::Ascii), ["#.' ", "   ."]);
        // Dots 1, 2, 5 and dots 1, 8 (Unicode block "Braille Patterns", U+2800 on).
        assert_eq!(lines(Marks::Dots), ["\u{2813}\u{2881}"]);
    }

    #[test]
    fn thin_lines_survive_shrinking() {
        let seen = seen(&["#....", "#....", "#....", "#...#"]);
        assert_eq!(Cells { marks: Marks::Halves, shrink: 2 }.lines(&seen), ["█ ▄"]);
    }

    #[test]
    fn the_finest_marks_that_fit_are_taken() {
        let fitting = |columns, rows, unicode| {
            let cells = Cells::fitting(Size::new(296, 128), columns, rows, unicode);
            (cells.marks, cells.shrink)
        };
        assert_eq!(fitting(296, 64, true), (Marks::Halves, 1));
        assert_eq!(fitting(200, 64, true), (Marks::Dots, 1));
        assert_eq!(fitting(80, 24, true), (Marks::Dots, 2));
        assert_eq!(fitting(80, 24, false), (Marks::Ascii, 4));
        assert_eq!(fitting(1, 1, true).0, Marks::Dots);
    }
}

//! The panel's picture in characters: half blocks, braille dots, or plain ASCII.

use crate::frame::Frame;
use crate::preview::session::Seen;
use crate::screen::inspect::Said;
use crate::screen::typeset::Stand;
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

    /// Takes the ink of the texts away that [`Self::write_over`] writes in characters.
    pub fn clear(self, frame: &mut Frame, words: &[Said]) {
        for said in words.iter().filter(|said| self.is_small(said)) {
            let (room, cap) = (said.room, said.cap_height);
            let (mut left, mut width) = (room.top_left.x, room.size.width as i32);
            let (mut top, mut height) = (room.top_left.y, room.size.height as i32);
            if said.width < width {
                let gap = width - said.width;
                left += match said.align {
                    Stand::Start => 0,
                    Stand::Center => gap / 2,
                    Stand::End => gap,
                };
                width = said.width;
                // One line: its capitals with what reaches above and below them.
                top += match said.vertical {
                    Stand::Start => 0,
                    Stand::Center => (height - cap) / 2,
                    Stand::End => height - cap,
                };
                (top, height) = (top - cap / 3, cap + 2 * (cap / 3));
            }
            for y in top.max(0)..(top + height).max(0) {
                for x in (left - 1).max(0)..(left + width + 1).max(0) {
                    frame.set(x as u32, y as u32, false);
                }
            }
        }
    }

    /// Marks of larger letters can be read.
    fn is_small(self, said: &Said) -> bool {
        said.cap_height > 0 && (said.cap_height as u32) < 2 * self.of_panel().height
    }

    /// The texts that are too small to be read as marks are written over them in characters, each in its room.
    pub fn write_over(self, lines: &mut [String], words: &[Said]) {
        let cell = self.of_panel();
        for said in words.iter().filter(|said| self.is_small(said)) {
            let (left, top) = (said.room.top_left.x.max(0) as u32, said.room.top_left.y.max(0) as u32);
            let columns = (said.room.size.width.div_ceil(cell.width)).max(1) as usize;
            let rows = (said.room.size.height / cell.height).max(1) as usize;
            let texts = if said.wrap { broken(&said.text, columns) } else { vec![said.text.clone()] };
            let texts = &texts[..texts.len().min(rows)];
            let space = match said.vertical {
                Stand::Start => 0,
                Stand::Center => (said.room.size.height / cell.height).saturating_sub(texts.len() as u32) / 2,
                Stand::End => (said.room.size.height / cell.height).saturating_sub(texts.len() as u32),
            };
            // A line stands in the row that holds the middle of its capitals.
            let first = match (said.vertical, texts.len()) {
                (Stand::Center, 1) => (top + said.room.size.height / 2) / cell.height,
                _ => (top + said.cap_height as u32 / 2) / cell.height + space,
            };
            for (row, text) in (first as usize..).zip(texts) {
                let Some(line) = lines.get_mut(row) else { break };
                let text: Vec<char> = text.chars().take(columns).collect();
                let gap = columns - text.len();
                let before = match said.align {
                    Stand::Start => 0,
                    Stand::Center => gap / 2,
                    Stand::End => gap,
                };
                let mut all: Vec<char> = line.chars().collect();
                let from = (left / cell.width) as usize;
                // The marks of the text itself go; those of what stands beside it in its room stay.
                let first = from + before.saturating_sub(1);
                let last = (from + before + text.len() + 1).min(all.len());
                all.iter_mut().take(last).skip(first).for_each(|mark| *mark = ' ');
                let places = all.iter_mut().skip(from + before);
                places.zip(&text).for_each(|(mark, letter)| *mark = *letter);
                *line = all.into_iter().collect();
            }
        }
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

/// A text in lines of at most so many characters, broken at spaces.
fn broken(text: &str, columns: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= columns => *line += &format!(" {word}"),
            _ => lines.push(word.to_owned()),
        }
    }
    lines
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

//! The icons drawn for this project, compiled into the program: black and white pictures found by name and size. Pictures
//! from a project's files are not here.

use crate::frame::Frame;

/// A line an icon: its name, its size, and its rows in hexadecimal, each filled up to whole digits.
const STORED: &str = include_str!("../../fonts/icons.txt");

/// The sizes in pixels, width and height alike, in which every icon is drawn.
pub const SIZES: [u32; 3] = [12, 16, 24];
/// The size of an icon whose size is not stated.
pub const USUAL: u32 = 16;

/// Name, size and rows of each icon.
fn stored() -> impl Iterator<Item = (&'static str, u32, &'static str)> {
    STORED.lines().filter(|line| !line.starts_with('#')).filter_map(|line| {
        let mut words = line.split(' ');
        Some((words.next()?, words.next()?.parse().ok()?, words.next()?))
    })
}

/// The names, by theme.
pub fn names() -> impl Iterator<Item = &'static str> {
    stored().filter(|(_, size, _)| *size == USUAL).map(|(name, ..)| name)
}

/// An icon in one of the [`SIZES`]; `None` for another name or size.
pub fn icon(name: &str, size: u32) -> Option<Frame> {
    let (_, size, rows) = stored().find(|(known, drawn, _)| *known == name && *drawn == size)?;
    let digits: Vec<u32> = rows.chars().map(|digit| digit.to_digit(16)).collect::<Option<_>>()?;
    let mut picture = Frame::new(size, size);
    for (y, row) in (0..size).zip(digits.chunks(size.div_ceil(4) as usize)) {
        for x in 0..size {
            picture.set(x, y, row.get(x as usize / 4).is_some_and(|digit| digit & (8 >> (x % 4)) != 0));
        }
    }
    Some(picture)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::assert::assert_picture;

    #[test]
    fn an_icon_has_the_pixels_of_its_drawing() {
        assert_picture(
            &icon("drop", 12).unwrap(),
            &[
                ".....#......",
                "....#.#.....",
                "....#.#.....",
                "...#...#....",
                "...#...#....",
                "..#.....#...",
                ".#.......#..",
                ".#.#.....#..",
                ".#.#.....#..",
                "..#.#...#...",
                "...#####....",
                "............",
            ],
        );
    }

    #[test]
    fn every_icon_is_drawn_in_every_size_and_is_no_other() {
        assert!(names().count() >= 40);
        for size in SIZES {
            let drawn: Vec<(&str, Frame)> = names().map(|name| (name, icon(name, size).unwrap())).collect();
            for (at, (name, picture)) in drawn.iter().enumerate() {
                assert!(picture.ink_count() > 0, "{name} {size}");
                for (other, second) in &drawn[..at] {
                    assert!(picture != second, "{name} and {other} are one image at {size}");
                }
            }
        }
        assert!(icon("drop", 13).is_none() && icon("dropp", 12).is_none());
    }
}

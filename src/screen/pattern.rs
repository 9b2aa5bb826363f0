//! Patterns that fill areas: greys by ordered dither, hatches, rules and dots.
//!
//! Patterns are anchored to the screen's corner, so that areas side by side join without a seam.

use crate::frame::{Frame, Gray, Method, Paint, dither};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;

/// A pattern.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Pattern {
    /// A quarter of ink, by Bayer's matrix.
    Light,
    /// Half ink: a chequer.
    Medium,
    /// Three quarters of ink.
    Dark,
    /// Lines rising to the right, every fourth pixel.
    Hatch,
    /// Lines falling to the right, every fourth pixel.
    BackHatch,
    /// Both.
    CrossHatch,
    /// Level lines, every fourth row.
    Lines,
    /// A dot every fourth pixel in every fourth row.
    Dots,
}

/// Rows and columns after which every pattern repeats.
const TILE: u32 = 8;

impl Pattern {
    /// One repetition.
    pub fn tile(self) -> Frame {
        match self {
            Self::Light => tone(4),
            Self::Medium => tone(8),
            Self::Dark => tone(12),
            Self::Hatch => each(|x, y| (x + y) % 4 == 3),
            Self::BackHatch => each(|x, y| (x + 4 - y % 4) % 4 == 0),
            Self::CrossHatch => each(|x, y| (x + y) % 8 == 7 || (x + 8 - y) % 8 == 0),
            Self::Lines => each(|_, y| y % 4 == 2),
            Self::Dots => each(|x, y| x % 4 == 1 && y % 4 == 1),
        }
    }
}

/// Grey with so many sixteenths of ink, by Bayer's matrix.
pub fn tone(sixteenths: u32) -> Frame {
    let paper = 255 * (16 - sixteenths.min(16)) / 16;
    let pixels = vec![paper as u8; (TILE * TILE) as usize];
    dither(&Gray { width: TILE, height: TILE, pixels }, Method::Bayer4)
}

fn each(ink: impl Fn(u32, u32) -> bool) -> Frame {
    let mut tile = Frame::new(TILE, TILE);
    for y in 0..TILE {
        for x in 0..TILE {
            tile.set(x, y, ink(x, y));
        }
    }
    tile
}

/// An image of a repeated tile where it lies under an area of the screen.
pub fn tiled(tile: &Frame, area: Rectangle) -> Frame {
    let mut picture = Frame::new(area.size.width, area.size.height);
    let all = Rectangle::new(Point::zero(), picture.size());
    let start = |corner: i32| -corner.rem_euclid(TILE as i32);
    for y in (start(area.top_left.y)..picture.height() as i32).step_by(TILE as usize) {
        for x in (start(area.top_left.x)..picture.width() as i32).step_by(TILE as usize) {
            picture.blit(tile, Point::new(x, y), all, Paint::Opaque);
        }
    }
    picture
}

/// Keeps the ink of `picture` where `shape` has ink too; both have the same size.
pub fn within(picture: &Frame, shape: &Frame) -> Frame {
    let all = Rectangle::new(Point::zero(), Size::new(shape.width(), shape.height()));
    let mut outside = shape.clone();
    outside.invert(all);
    let mut kept = picture.clone();
    kept.blit(&outside, Point::zero(), all, Paint::Paper);
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::assert::assert_picture;

    #[test]
    fn tones_hold_their_share_of_ink() {
        for sixteenths in 0..=16 {
            assert_eq!(tone(sixteenths).ink_count(), u64::from(sixteenths * TILE * TILE / 16));
        }
    }

    fn under(area: Rectangle) -> Frame {
        tiled(&Pattern::Hatch.tile(), area)
    }

    #[test]
    fn areas_side_by_side_join_without_a_seam() {
        let whole = under(Rectangle::new(Point::new(3, 5), Size::new(12, 3)));
        let mut joined = Frame::new(12, 3);
        for (x, width) in [(3, 5), (8, 7)] {
            let part = under(Rectangle::new(Point::new(x, 5), Size::new(width, 3)));
            joined.blit(&part, Point::new(x - 3, 0), Rectangle::new(Point::zero(), Size::new(12, 3)), Paint::Opaque);
        }
        assert_eq!(joined, whole);
        assert_picture(&whole, &["...#...#...#", "..#...#...#.", ".#...#...#.."]);
    }
}

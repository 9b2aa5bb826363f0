//! The visible part of a rectangle: clipping with numbers wide enough that nothing overflows.
//!
//! Not for drawing; see `fill` and `blit`.

use embedded_graphics::prelude::*;
use embedded_graphics::primitives::Rectangle;

/// A non-empty block of pixels inside a picture: columns `x0..x1`, rows `y0..y1`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Area {
    pub x0: u32,
    pub y0: u32,
    pub x1: u32,
    pub y1: u32,
}

impl Area {
    /// The part of `rectangle` inside a picture of `width` by `height` pixels, if there is any.
    pub fn within(rectangle: &Rectangle, width: u32, height: u32) -> Option<Self> {
        let (x0, x1) = overlap(span(rectangle.top_left.x, rectangle.size.width), (0, width.into()))?;
        let (y0, y1) = overlap(span(rectangle.top_left.y, rectangle.size.height), (0, height.into()))?;
        Self::new(x0, y0, x1, y1)
    }

    /// An area from wide bounds, if they fit pixel coordinates.
    pub fn new(x0: i64, y0: i64, x1: i64, y1: i64) -> Option<Self> {
        Some(Self {
            x0: u32::try_from(x0).ok()?,
            y0: u32::try_from(y0).ok()?,
            x1: u32::try_from(x1).ok()?,
            y1: u32::try_from(y1).ok()?,
        })
    }

    /// Columns covered.
    pub fn width(&self) -> u32 {
        self.x1 - self.x0
    }

    /// The same pixels as a rectangle of the drawing library.
    pub fn rectangle(&self) -> Rectangle {
        let point = Point::new(i32::try_from(self.x0).unwrap_or(i32::MAX), i32::try_from(self.y0).unwrap_or(i32::MAX));
        Rectangle::new(point, Size::new(self.width(), self.y1 - self.y0))
    }
}

/// A rectangle from its left, top, width and height; negative lengths count as 0.
pub fn rectangle(x: i32, y: i32, width: i32, height: i32) -> Rectangle {
    Rectangle::new(Point::new(x, y), Size::new(width.max(0) as u32, height.max(0) as u32))
}

/// A rectangle as every output in JSON tells it: left, top, width and height in px.
pub fn rectangle_json(area: &Rectangle) -> serde_json::Value {
    serde_json::json!({ "x": area.top_left.x, "y": area.top_left.y, "w": area.size.width, "h": area.size.height })
}

/// A position and a length as a half-open range.
pub(super) fn span(start: i32, length: u32) -> (i64, i64) {
    (i64::from(start), i64::from(start) + i64::from(length))
}

/// What two half-open ranges share, if anything.
pub(super) fn overlap(a: (i64, i64), b: (i64, i64)) -> Option<(i64, i64)> {
    let shared = (a.0.max(b.0), a.1.min(b.1));
    (shared.0 < shared.1).then_some(shared)
}

/// The words of a row that columns `x0..x1` (not empty) touch, with the mask of the first and of the last word.
pub(super) fn word_span(x0: u32, x1: u32) -> (usize, usize, u64, u64) {
    let last_x = x1 - 1;
    let first_mask = u64::MAX >> (x0 % 64);
    let last_mask = u64::MAX << (63 - last_x % 64);
    ((x0 / 64) as usize, (last_x / 64) as usize, first_mask, last_mask)
}

/// The words of a row that columns `x0..x1` (not empty) touch, each with the mask of those columns.
pub(super) fn columns(x0: u32, x1: u32) -> impl Iterator<Item = (usize, u64)> {
    let (first, last, first_mask, last_mask) = word_span(x0, x1);
    (first..=last).map(move |word| {
        let right = if word == last { last_mask } else { u64::MAX };
        (word, if word == first { first_mask & right } else { right })
    })
}

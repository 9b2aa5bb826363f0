//! Operations that no value changes: outlines, patterns, dashes, lines.

use crate::frame::{Frame, Paint};
use crate::screen::operation::Outline;
use crate::screen::pattern;
use embedded_graphics::Drawable;
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::{Point, PointsIter, Primitive, Size};
use embedded_graphics::primitives::{Line, PrimitiveStyleBuilder, Rectangle, RoundedRectangle, StrokeAlignment};

/// A rectangle with rounded corners, its edge inside the area.
pub(super) fn outline(outline: &Outline, area: Rectangle, frame: &mut Frame) {
    let mut style = PrimitiveStyleBuilder::new().stroke_alignment(StrokeAlignment::Inside);
    if outline.width > 0 {
        style = style.stroke_color(BinaryColor::On).stroke_width(outline.width);
    }
    if let Some(ink) = outline.fill {
        style = style.fill_color(BinaryColor::from(ink));
    }
    let shape = RoundedRectangle::with_equal_corners(area, Size::new_equal(outline.radius));
    // Drawing into a frame cannot fail: its error type has no values.
    let Ok(()) = shape.into_styled(style.build()).draw(frame);
}

/// A pattern on white in a rectangle with rounded corners.
pub(super) fn tile(radius: u32, tile: &Frame, area: Rectangle, frame: &mut Frame) {
    let seen = area.intersection(&Rectangle::new(Point::zero(), frame.size()));
    let mut shape = Frame::new(seen.size.width, seen.size.height);
    let full = Outline { width: 0, radius, fill: Some(true) };
    outline(&full, Rectangle::new(area.top_left - seen.top_left, area.size), &mut shape);
    frame.blit(&shape, seen.top_left, seen, Paint::Paper);
    frame.blit(&pattern::within(&pattern::tiled(tile, seen), &shape), seen.top_left, seen, Paint::Ink);
}

/// Ink and gaps in turn.
pub(super) fn dashes([ink, gap]: [u32; 2], upright: bool, area: Rectangle, frame: &mut Frame) {
    let (length, thick) =
        if upright { (area.size.height, area.size.width) } else { (area.size.width, area.size.height) };
    let mut at = 0;
    while at < length && ink > 0 {
        let run = ink.min(length - at);
        let (corner, size) = match upright {
            false => (Point::new(at as i32, 0), Size::new(run, thick)),
            true => (Point::new(0, at as i32), Size::new(thick, run)),
        };
        frame.fill(Rectangle::new(area.top_left + corner, size), true);
        at = at.saturating_add(ink).saturating_add(gap);
    }
}

/// A line one pixel thick.
pub(super) fn line([from, to]: [Point; 2], area: Rectangle, frame: &mut Frame) {
    for point in Line::new(from, to).points() {
        frame.fill(Rectangle::new(point, Size::new_equal(1)).intersection(&area), true);
    }
}

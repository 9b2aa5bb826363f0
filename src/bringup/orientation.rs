//! The orientation picture: no mirroring, turn, inversion or byte order leaves it as it was.

use crate::frame::blit::Paint;
use crate::frame::{Frame, rectangle};
use crate::screen::face::builtin;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// The picture for a panel of `width` by `height` pixels: a line around it, a solid square in the top left corner, a hollow
/// one top right, stairs bottom left, nothing bottom right; in the middle an F with a short foot stroke and, where
/// there is room, the words TOP and LEFT at those edges.
pub fn orientation(width: u32, height: u32) -> Frame {
    let mut frame = Frame::new(width, height);
    let unit = (width.min(height) / 16).max(1) as i32;
    let (right, bottom) = (width as i32, height as i32);
    let everything = rectangle(0, 0, right, bottom);
    frame.fill(everything, true);
    frame.fill(rectangle(1, 1, right - 2, bottom - 2), false);
    let corner = unit * 4;
    frame.fill(rectangle(unit, unit, corner, corner), true);
    frame.fill(rectangle(right - unit - corner, unit, corner, corner), true);
    frame.fill(rectangle(right - corner, unit * 2, corner - unit * 2, corner - unit * 2), false);
    for step in 0..4 {
        frame.fill(rectangle(unit, bottom - unit * (2 + step), corner - step * unit, unit), true);
    }
    // Single pixels near the empty corner tell apart what solid shapes do not: a pair across and one below.
    for (x, y) in [(4, 4), (6, 4), (4, 7), (11, 3)] {
        let pixel = Point::new(right - x, bottom - y);
        frame.fill(Rectangle::new(pixel, Size::new(1, 1)), true);
    }
    let (left, top) = ((right - 4 * unit) / 2, (bottom - 7 * unit) / 2);
    frame.fill(rectangle(left, top, unit, unit * 7), true);
    frame.fill(rectangle(left, top, unit * 4, unit), true);
    frame.fill(rectangle(left, top + unit * 3, unit * 3, unit), true);
    frame.fill(rectangle(left, top + unit * 6, unit * 2, (unit / 2).max(1)), true);
    words(&mut frame, unit, top);
    frame
}

fn words(frame: &mut Frame, unit: i32, below: i32) {
    let Some(face) = builtin::face("small") else { return };
    let (width, height) = (frame.width() as i32, frame.height() as i32);
    let everything = rectangle(0, 0, width, height);
    let top = face.width("TOP");
    if width > top + 14 * unit && below > face.line_height() + 4 {
        face.draw("TOP", Point::new((width - top) / 2, face.cap_height + 4), everything, Paint::Ink, frame);
    }
    let left = face.width("LEFT");
    if width / 2 - 3 * unit > left + 6 && height > 16 * 8 - 1 {
        face.draw("LEFT", Point::new(5, (height + face.cap_height) / 2), everything, Paint::Ink, frame);
    }
}

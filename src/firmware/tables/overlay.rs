//! Pixels that come and go as a whole: an icon under a condition, a line over a live field.
//!
//! What an element does to pixels is found by drawing it twice, on paper and on ink: what is ink both times is drawn
//! ink, what is paper both times is drawn paper, the rest it leaves as it was.

use crate::frame::{Frame, Paint};
use crate::screen::draw::draw;
use crate::screen::operation::Operation;
use crate::screen::values::Values;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// Pixels drawn as a whole.
#[derive(Clone, Debug)]
pub struct Overlay {
    /// Where its bitmap lies on the upright screen.
    pub area: Rectangle,
    /// The pixels.
    pub bits: Frame,
    /// They become paper instead of ink.
    pub reversed: bool,
}

/// What operations without live values draw: ink, then paper, each as small as can be; nothing where it draws nothing.
pub fn of(operations: &[Operation], values: &Values, size: Size) -> Vec<Overlay> {
    let full = Rectangle::new(Point::zero(), size);
    let blank = Frame::new(size.width, size.height);
    let mut ink = blank.clone();
    draw(operations, values, &mut ink);
    let mut black = blank.clone();
    black.fill(full, true);
    let mut left = black.clone();
    draw(operations, values, &mut left);
    let paper = left.difference(&black).unwrap_or(blank.clone());
    let part = |frame: &Frame, reversed| {
        let area = frame.changed_bounds(&blank)?;
        let mut bits = Frame::new(area.size.width, area.size.height);
        let everything = Rectangle::new(Point::zero(), bits.size());
        bits.blit_part(frame, area, Point::zero(), everything, Paint::Opaque);
        Some(Overlay { area, bits, reversed })
    };
    [part(&ink, false), part(&paper, true)].into_iter().flatten().collect()
}

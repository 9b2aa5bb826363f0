//! The interpreter of drawing operations: the one place where elements become pixels.
//!
//! Not for what follows from operations without drawing; see [`super::inspect`].

pub mod bearing;
pub mod level;
mod plain;
mod rows;

use super::operation::{Bitmap, Operation, Shape, Text, Value};
use super::typeset::Stand;
use super::values::{FieldId, Values};
use crate::frame::Frame;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// Draws operations in their order with the values of the moment.
pub fn draw(operations: &[Operation], values: &Values, frame: &mut Frame) {
    operations.iter().for_each(|operation| operation.draw(values, frame));
}

impl Operation {
    /// Draws it, where its guard holds.
    pub fn draw(&self, values: &Values, frame: &mut Frame) {
        if !self.guard.holds(values) {
            return;
        }
        let area = self.area;
        match &self.shape {
            Shape::Fill { ink } => frame.fill(area, *ink),
            Shape::Outline(outline) => plain::outline(outline, area, frame),
            Shape::Tile { radius, tile } => plain::tile(*radius, tile, area, frame),
            Shape::Dashes { ink_gap, upright } => plain::dashes(*ink_gap, *upright, area, frame),
            Shape::Line { ends } => plain::line(*ends, area, frame),
            Shape::Bitmap(bitmap) => bitmap.draw(area, frame),
            Shape::BitmapBy { field, bitmaps } => by_value(*field, bitmaps, area, values, frame),
            Shape::Label(label) => {
                label.face.draw(&label.text, label.origin, area, crate::frame::Paint::Ink, frame);
            }
            Shape::Text(text) => text.draw(area, values, frame),
            Shape::Value(value) => value.draw(area, values, frame),
            Shape::Bar(bar) => bar.draw(area, values, frame),
            Shape::Marker(marker) => marker.draw(area, values, frame),
            Shape::Arc(arc) => arc.draw(area, values, frame),
            Shape::RingMarker(marker) => marker.draw(area, values, frame),
            Shape::History(history) => history.draw(area, values, frame),
            Shape::Rows(rows) => rows.draw(area, values, frame),
        }
    }
}

/// The picture of a field's value; none for a missing one.
fn by_value(field: FieldId, bitmaps: &[Bitmap], area: Rectangle, values: &Values, frame: &mut Frame) {
    let value = values.of(field).round();
    // The cast of a negative number is 0.
    let index = (value as usize).min(bitmaps.len().saturating_sub(1));
    if let Some(bitmap) = bitmaps.get(index).filter(|_| !value.is_nan()) {
        bitmap.draw(area, frame);
    }
}

impl Bitmap {
    fn draw(&self, area: Rectangle, frame: &mut Frame) {
        if self.scale == 1 {
            return frame.blit(&self.picture, self.at, area, self.paint);
        }
        let ink = self.paint == crate::frame::Paint::Ink;
        for row in 0..self.picture.height() {
            for column in (0..self.picture.width()).filter(|column| self.picture.ink(*column, row)) {
                let at = Point::new((column * self.scale) as i32, (row * self.scale) as i32);
                frame.fill(Rectangle::new(self.at + at, Size::new_equal(self.scale)).intersection(&area), ink);
            }
        }
    }
}

impl Text {
    fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        self.setting.draw_within(&self.template.text(values), self.room, area, frame);
    }
}

impl Value {
    fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        let text = self.number.text(values);
        // Digits end where the unit begins, so that they don't move while the widest value's space is kept.
        let digits = self.face.width(&text);
        let widest = if self.fixed_width { self.widest } else { digits };
        let block = widest + self.gap + self.unit_width;
        let left = self.room.top_left.x + self.align.offset(self.room.size.width as i32, block);
        let indent = if self.align == Stand::Start && self.unit.pieces.is_empty() { 0 } else { widest - digits };
        self.face.draw(&text, Point::new(left + indent, self.baseline), area, self.paint, frame);
        let unit = Point::new(left + widest + self.gap, self.baseline - self.raise);
        self.unit_face.draw(&self.unit.text(values), unit, area, self.paint, frame);
    }
}

//! What follows from drawing operations without drawing them: the fields that matter, the pixels that can change, texts
//! at their widest, histories asked for, dithered areas. Redraw, checks and exports ask here, whatever the element.

use super::face::Face;
use super::operation::{Bitmap, Label, Operation, Rows, Shape, Value};
use super::template::Template;
use super::typeset::{Overflow, Setting, Stand};
use super::values::{FieldId, Limit, Values};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use std::sync::Arc;

/// A text at its widest, in its place.
#[derive(Clone, Debug)]
pub struct SetText {
    /// The widest text.
    pub text: String,
    /// The face it is set in at its usual size.
    pub face: Arc<Face>,
    /// Where it may stand.
    pub room: Rectangle,
    /// Pixels it takes there once wrapped or shrunk, as far as its element does that.
    pub needs: Size,
    /// Whether it may take several lines.
    pub wraps: bool,
    /// What happens where it needs more than its room.
    pub overflow: Overflow,
    /// The soft key that it labels, the first being 0.
    pub key: Option<usize>,
}

impl SetText {
    /// The widest of a template's texts in a setting.
    fn widest(template: &Template, setting: &Setting, room: Rectangle) -> Option<Self> {
        let texts = template.to_measure(setting).into_iter();
        let sized = texts.map(|text| (setting.settled(&text, room.size), text));
        let (needs, text) = sized.max_by_key(|(needs, _)| (needs.width, needs.height))?;
        Some(Self { text, face: setting.face.clone(), room, needs, wraps: true, overflow: setting.overflow, key: None })
    }

    /// A line that is cut off where it does not fit.
    fn line(text: String, face: &Arc<Face>, room: Rectangle) -> Self {
        let needs = Size::new(face.width(&text).max(0) as u32, face.cap_height.max(0) as u32);
        Self { text, face: face.clone(), room, needs, wraps: false, overflow: Overflow::Clip, key: None }
    }

    /// Whether the text is wider than its room.
    pub fn is_cut(&self) -> bool {
        self.needs.width > self.room.size.width
    }
}

/// A text as it stands at the moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Said {
    /// The words.
    pub text: String,
    /// Where they stand.
    pub room: Rectangle,
    /// Across it.
    pub align: Stand,
    /// Down it.
    pub vertical: Stand,
    /// Height of its capitals in pixels.
    pub cap_height: i32,
    /// Pixels that it takes across in one line.
    pub width: i32,
    /// Broken into lines where it is too wide.
    pub wrap: bool,
    /// The soft key that it labels, the first being 0.
    pub key: Option<usize>,
}

impl Said {
    fn set(text: String, room: Rectangle, setting: &Setting, key: Option<usize>) -> Self {
        let (align, vertical, cap_height) = (setting.align, setting.vertical, setting.face.cap_height);
        let width = setting.face.width(&text);
        Self { text, room, align, vertical, cap_height, width, wrap: setting.wrap, key }
    }
}

impl Operation {
    /// Its texts as they stand with these values.
    pub fn said(&self, values: &Values) -> Vec<Said> {
        if !self.guard.holds(values) {
            return Vec::new();
        }
        let line = |text: String, corner: Point, [room, width]: [i32; 2], align: Stand, cap_height: i32| {
            let room = Rectangle::new(corner, Size::new(room.max(0) as u32, cap_height.max(1) as u32));
            Said { text, room, align, vertical: Stand::Center, cap_height, width, wrap: false, key: None }
        };
        match &self.shape {
            Shape::Label(label) => {
                let (width, cap) = (label.face.width(&label.text), label.face.cap_height);
                vec![line(label.text.clone(), label.origin - Point::new(0, cap), [width; 2], Stand::Start, cap)]
            }
            Shape::Text(text) => {
                vec![Said::set(text.template.text(values).into_owned(), text.room, &text.setting, text.key)]
            }
            Shape::Value(value) => {
                let unit = value.unit.text(values);
                let gap = if unit.is_empty() { "" } else { " " };
                let (text, cap) = (format!("{}{gap}{unit}", value.number.text(values)), value.face.cap_height);
                let corner = Point::new(value.room.top_left.x, value.baseline - cap);
                let width = value.widest + value.gap + value.unit_width;
                vec![line(text, corner, [value.room.size.width as i32, width], value.align, cap)]
            }
            Shape::Rows(rows) => {
                let cells = rows.cells(self.area, values).into_iter();
                cells.map(|(text, room, setting)| Said::set(text, room, setting, None)).collect()
            }
            _ => Vec::new(),
        }
    }

    /// The fields that can change its pixels.
    pub fn fields(&self) -> Vec<FieldId> {
        let mut fields = match &self.shape {
            Shape::Fill { .. }
            | Shape::Outline(_)
            | Shape::Tile { .. }
            | Shape::Dashes { .. }
            | Shape::Line { .. }
            | Shape::Bitmap(_)
            | Shape::Label(_) => Vec::new(),
            Shape::BitmapBy { field, .. } => vec![*field],
            Shape::Text(text) => text.template.fields(),
            Shape::Value(value) => value.number.fields().into_iter().chain(value.unit.fields()).collect(),
            Shape::Bar(bar) => vec![bar.level.field],
            Shape::Arc(arc) => vec![arc.level.field],
            Shape::Marker(marker) => marker.threshold.limit.field().into_iter().collect(),
            Shape::RingMarker(marker) => marker.threshold.limit.field().into_iter().collect(),
            Shape::History(history) => {
                let clock = history.hours.as_ref().and_then(|hours| hours.clock);
                let threshold = history.threshold.and_then(Limit::field);
                [Some(history.field), threshold, clock, history.cursor].into_iter().flatten().collect()
            }
            Shape::Rows(rows) => {
                let mut fields: Vec<FieldId> = rows.rows.iter().flatten().flat_map(Template::fields).collect();
                fields.sort_unstable();
                fields.dedup();
                fields.push(rows.selected);
                fields.extend(rows.count);
                fields
            }
        };
        fields.extend(self.guard.fields());
        fields
    }

    /// The part of its area that can have pixels of it, whatever the values.
    pub fn extent(&self) -> Rectangle {
        match &self.shape {
            Shape::Value(value) => value.rows(self.area),
            Shape::Bitmap(bitmap) => bitmap.place().intersection(&self.area),
            _ => self.area,
        }
    }

    /// The histories that it shows: the field and how many samples.
    pub fn histories(&self) -> Vec<(FieldId, usize)> {
        match &self.shape {
            Shape::History(history) => vec![(history.field, history.samples)],
            Shape::Text(text) => text.template.histories(),
            Shape::Value(value) => value.number.histories(),
            Shape::Rows(rows) => rows.rows.iter().flatten().flat_map(Template::histories).collect(),
            _ => Vec::new(),
        }
    }

    /// Its texts at their widest: what checks need to find text that does not fit, or is too small to read.
    pub fn texts(&self) -> Vec<SetText> {
        match &self.shape {
            // What stands there while a guard does not hold has the same words.
            _ if self.guard.repeats() => Vec::new(),
            Shape::Label(Label { text, face, .. }) => vec![SetText::line(text.clone(), face, self.area)],
            Shape::Text(text) => {
                let widest = SetText::widest(&text.template, &text.setting, text.room);
                widest.into_iter().map(|found| SetText { key: text.key, ..found }).collect()
            }
            Shape::Value(value) => value.texts(self.area),
            Shape::History(history) => {
                let lines = history.axis.texts().into_iter();
                lines.map(|text| SetText::line(text, &history.axis.face, self.area)).collect()
            }
            Shape::Rows(rows) => rows.texts(self.area),
            _ => Vec::new(),
        }
    }

    /// The parts of the screen that it fills with dithered or patterned ink.
    pub fn dithered(&self) -> Vec<Rectangle> {
        let places = |bitmaps: &[Bitmap]| {
            let dithered = bitmaps.iter().filter(|bitmap| bitmap.dithered);
            dithered.map(|bitmap| bitmap.place().intersection(&self.area)).collect()
        };
        match &self.shape {
            Shape::Tile { .. } => vec![self.area],
            Shape::Bitmap(bitmap) => places(std::slice::from_ref(bitmap)),
            Shape::BitmapBy { bitmaps, .. } => places(bitmaps),
            _ => Vec::new(),
        }
    }
}

/// The least area around the extents of some operations.
pub fn extent(operations: &[Operation]) -> Rectangle {
    let corners = operations.iter().filter_map(|operation| {
        let extent = operation.extent();
        Some((extent.top_left, extent.bottom_right()?))
    });
    let both = corners.reduce(|a, b| (a.0.component_min(b.0), a.1.component_max(b.1)));
    both.map_or(Rectangle::zero(), |(first, last)| Rectangle::with_corners(first, last))
}

impl Bitmap {
    /// The area that it takes.
    pub fn place(&self) -> Rectangle {
        Rectangle::new(self.at, self.picture.size() * self.scale)
    }
}

impl Value {
    /// The rows of an area that digits and unit can reach.
    fn rows(&self, area: Rectangle) -> Rectangle {
        let ([above, below], [unit_above, unit_below]) = (self.face.reach(), self.unit_face.reach());
        let (top, bottom) = (above.max(unit_above + self.raise), below.max(unit_below - self.raise));
        let size = Size::new(area.size.width, (top + bottom).max(0) as u32);
        area.intersection(&Rectangle::new(Point::new(area.top_left.x, self.baseline - top), size))
    }

    /// Digits with the unit, and the unit on its own: its face may be smaller.
    fn texts(&self, area: Rectangle) -> Vec<SetText> {
        let extremes = self.number.to_measure(&Setting::plain(self.face.clone()));
        let Some(widest) = extremes.into_iter().max_by_key(|text| self.face.width(text)) else { return Vec::new() };
        if self.unit.pieces.is_empty() {
            return vec![SetText { needs: self.needs, ..SetText::line(widest, &self.face, area) }];
        }
        let unit = super::widest::widest(&self.unit, &Setting::plain(self.unit_face.clone()));
        let both = SetText::line(format!("{widest} {unit}"), &self.face, area);
        vec![SetText { needs: self.needs, ..both }, SetText::line(unit, &self.unit_face, area)]
    }
}

impl Rows {
    /// The cells of every row, where they stand when theirs is the first one seen.
    fn texts(&self, area: Rectangle) -> Vec<SetText> {
        let row = self.row(area, 0);
        let cells = self.rows.iter().flat_map(|row| row.iter().zip(&self.columns));
        cells.filter_map(|(cell, column)| SetText::widest(cell, &column.settings[0], column.cell(row))).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::Frame;
    use crate::frame::assert::assert_picture;
    use crate::screen::draw::draw;
    use crate::screen::guard::{Guard, Level};
    use crate::screen::operation::{Bar, Ends};
    use crate::screen::values::Values;

    fn values(now: f64) -> Values {
        let start = jiff::civil::date(2031, 4, 12).at(0, 0, 0, 0);
        Values { start, now: vec![now], past: vec![Vec::new()].into(), version: vec![0] }
    }

    /// A lamp that no kind of element knows: a bar over a rule, a dash while its value is missing.
    fn lamp() -> Vec<Operation> {
        let level = Level { field: FieldId(0), scale: [0.0, 10.0] };
        let full = Rectangle::new(Point::new(1, 1), Size::new(6, 2));
        let bar = Bar { level, full, rising: false, ends: Ends::Count };
        vec![
            Operation::fill(Rectangle::new(Point::new(1, 4), Size::new(6, 1)), true),
            Operation::new(full, Shape::Bar(bar)),
            Operation::fill(Rectangle::new(Point::new(3, 2), Size::new(2, 1)), true).only(Guard::Missing(level)),
        ]
    }

    #[test]
    fn what_no_element_knows_is_drawn_and_known_from_its_operations() {
        let shown = |now| {
            let mut frame = Frame::new(8, 6);
            draw(&lamp(), &values(now), &mut frame);
            frame
        };
        assert_picture(&shown(5.0), &["........", ".###....", ".###....", "........", ".######.", "........"]);
        assert_picture(&shown(f64::NAN), &["........", "........", "...##...", "........", ".######.", "........"]);
        let fields: Vec<FieldId> = lamp().iter().flat_map(Operation::fields).collect();
        assert_eq!(fields, [FieldId(0); 2]);
        assert_eq!(extent(&lamp()), Rectangle::new(Point::new(1, 1), Size::new(6, 4)));
    }
}

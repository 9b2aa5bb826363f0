//! `value`: one live value with its unit in a font of its own; digits keep their places when the value changes.

use super::{Element, INSET, Spec, inset};
use crate::elements::scope::Scope;
use crate::frame::Paint;
use crate::screen::face::Face;
use crate::screen::operation::{self, Operation, Shape};
use crate::screen::template::Template;
use crate::screen::typeset::{Setting, Stand};
use crate::screen::widest::widest;
use crate::source::amount::At;
use embedded_graphics::prelude::Size;
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;
use std::sync::Arc;

/// Keys of `value`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Value {
    /// The field.
    value: At<String>,
    /// The field that says how many samples back the value is taken: a chart's cursor. Absent: the present value.
    back: Option<At<String>>,
    /// The digits' font; absent: `bold`.
    font: Option<At<String>>,
    /// The unit's font; absent: `text`.
    unit_font: Option<At<String>>,
    /// Whether the field's unit is drawn.
    #[serde(default = "yes")]
    unit: bool,
    /// Where the unit stands: on the digits' baseline (`end`) or at their top (`start`).
    #[serde(default = "end")]
    unit_at: Stand,
    /// Across its area.
    #[serde(default)]
    align: Stand,
    /// Down its area.
    #[serde(default = "middle")]
    vertical: Stand,
    /// Room for the widest value is kept, so that digits and unit keep their places when the value changes. Without, the
    /// value is aligned as it is.
    #[serde(default = "yes")]
    fixed_width: bool,
    /// White on black: the area is filled first.
    #[serde(default)]
    inverted: bool,
}

fn yes() -> bool {
    true
}
fn end() -> Stand {
    Stand::End
}
fn middle() -> Stand {
    Stand::Center
}

#[derive(Debug)]
struct Ready {
    number: Template,
    face: Arc<Face>,
    unit: Template,
    unit_face: Arc<Face>,
    unit_at: Stand,
    align: Stand,
    vertical: Stand,
    fixed_width: bool,
    inverted: bool,
    widest: i32,
    unit_width: i32,
}

impl Spec for Value {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let face = scope.face(self.font.as_ref(), "bold");
        let unit_face = scope.face(self.unit_font.as_ref(), "text");
        let field = scope.field(&self.value);
        let (face, unit_face, field) = (face?, unit_face?, field?);
        let piece = match &self.back {
            Some(back) => scope.back(field, back)?,
            None => scope.piece(field),
        };
        let number = Template { pieces: vec![piece] };
        let unit = if self.unit { scope.unit_of(field) } else { Template::default() };
        scope.needs_glyphs(&face, &self.value.span, number.characters().into_iter());
        scope.needs_glyphs(&unit_face, &self.value.span, unit.characters().into_iter());
        let widest = face.width(&widest(&number, &Setting::plain(face.clone())));
        let unit_width = unit_face.width(&unit_widest(&unit, &unit_face));
        Some(Box::new(Ready {
            number,
            face,
            unit,
            unit_face,
            unit_at: self.unit_at,
            align: self.align,
            vertical: self.vertical,
            fixed_width: self.fixed_width,
            inverted: self.inverted,
            widest,
            unit_width,
        }))
    }
}

fn unit_widest(unit: &Template, face: &Arc<Face>) -> String {
    widest(unit, &Setting::plain(face.clone()))
}

impl Ready {
    /// Pixels between digits and unit: an eighth of the digits' height.
    fn gap(&self) -> i32 {
        if self.unit.pieces.is_empty() { 0 } else { (self.face.cap_height / 8).max(2) }
    }

    /// The digits' baseline in an area of this height.
    fn baseline(&self, height: i32) -> i32 {
        match self.vertical {
            Stand::Start => self.face.ascent,
            Stand::Center => (height - self.face.cap_height).div_euclid(2) + self.face.cap_height,
            Stand::End => height - self.face.descent,
        }
    }

    /// Pixels that the unit stands above the digits' baseline.
    fn raise(&self) -> i32 {
        match self.unit_at {
            Stand::Start => self.face.cap_height - self.unit_face.cap_height,
            Stand::Center => (self.face.cap_height - self.unit_face.cap_height) / 2,
            Stand::End => 0,
        }
    }
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        let edges = if self.inverted { 2 * INSET as i32 } else { 0 };
        let width = self.widest + self.gap() + self.unit_width + edges;
        Size::new(width.max(0) as u32, self.face.line_height().max(self.unit_face.line_height()).max(0) as u32)
    }

    fn operations(&self, area: Rectangle) -> Vec<Operation> {
        let room = if self.inverted { inset(area) } else { area };
        let value = operation::Value {
            number: self.number.clone(),
            face: self.face.clone(),
            unit: self.unit.clone(),
            unit_face: self.unit_face.clone(),
            room,
            align: self.align,
            baseline: room.top_left.y + self.baseline(room.size.height as i32),
            raise: self.raise(),
            fixed_width: self.fixed_width,
            widest: self.widest,
            gap: self.gap(),
            unit_width: self.unit_width,
            needs: self.measure(None),
            paint: if self.inverted { Paint::Paper } else { Paint::Ink },
        };
        let value = Operation::new(area, Shape::Value(Box::new(value)));
        if self.inverted { vec![Operation::fill(area, true), value] } else { vec![value] }
    }
}

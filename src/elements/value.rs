//! `value`: one live value with its unit in a face of its own; digits keep their places when the value changes.

use super::{Element, INSET, SetText, Spec, inset};
use crate::elements::scope::Scope;
use crate::frame::Frame;
use crate::frame::blit::Paint;
use crate::screen::face::Face;
use crate::screen::live::{Figure, Live};
use crate::screen::template::Template;
use crate::screen::typeset::{Overflow, Setting, Stand};
use crate::screen::values::{FieldId, Values};
use crate::screen::widest::widest;
use crate::source::amount::At;
use embedded_graphics::prelude::{Point, Size};
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
    /// The digits' face; absent: `bold`.
    face: Option<At<String>>,
    /// The unit's face; absent: `text`.
    unit_face: Option<At<String>>,
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
    steady: bool,
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
    unit: String,
    unit_face: Arc<Face>,
    unit_at: Stand,
    align: Stand,
    vertical: Stand,
    steady: bool,
    inverted: bool,
    widest: i32,
    unit_width: i32,
}

impl Spec for Value {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let face = scope.face(self.face.as_ref(), "bold");
        let unit_face = scope.face(self.unit_face.as_ref(), "text");
        let field = scope.field(&self.value);
        let (face, unit_face, field) = (face?, unit_face?, field?);
        let number = Template { pieces: vec![scope.piece(field)] };
        let unit = if self.unit { scope.unit(field) } else { String::new() };
        scope.needs_glyphs(&face, &self.value.span, number.characters().into_iter());
        scope.needs_glyphs(&unit_face, &self.value.span, unit.chars());
        let widest = face.width(&widest(&number, &Setting::plain(face.clone())));
        let unit_width = unit_face.width(&unit);
        Some(Box::new(Ready {
            number,
            face,
            unit,
            unit_face,
            unit_at: self.unit_at,
            align: self.align,
            vertical: self.vertical,
            steady: self.steady,
            inverted: self.inverted,
            widest,
            unit_width,
        }))
    }
}

impl Ready {
    /// Pixels between digits and unit: an eighth of the digits' height.
    fn gap(&self) -> i32 {
        if self.unit.is_empty() { 0 } else { (self.face.cap_height / 8).max(2) }
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

    fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        if self.inverted {
            frame.fill(area, true);
        }
        let clip = area;
        let area = if self.inverted { inset(area) } else { area };
        let paint = if self.inverted { Paint::Paper } else { Paint::Ink };
        let text = self.number.text(values);
        let (room, height) = (area.size.width as i32, area.size.height as i32);
        // Digits end where the unit begins, so that they don't move while the widest value's space is kept.
        let digits = self.face.width(&text);
        let widest = if self.steady { self.widest } else { digits };
        let block = widest + self.gap() + self.unit_width;
        let left = self.align.offset(room, block);
        let baseline = self.baseline(height);
        let indent = if self.align == Stand::Start && self.unit.is_empty() { 0 } else { widest - digits };
        self.face.draw(&text, area.top_left + Point::new(left + indent, baseline), clip, paint, frame);
        let unit_x = left + widest + self.gap();
        self.unit_face.draw(
            &self.unit,
            area.top_left + Point::new(unit_x, baseline - self.raise()),
            clip,
            paint,
            frame,
        );
    }

    fn extent(&self, area: Rectangle) -> Rectangle {
        if self.inverted {
            return area;
        }
        let baseline = self.baseline(area.size.height as i32);
        let ([above, below], [unit_above, unit_below]) = (self.face.reach(), self.unit_face.reach());
        let (top, bottom) = (above.max(unit_above + self.raise()), below.max(unit_below - self.raise()));
        let size = Size::new(area.size.width, (top + bottom).max(0) as u32);
        area.intersection(&Rectangle::new(area.top_left + Point::new(0, baseline - top), size))
    }

    fn fields(&self) -> Vec<FieldId> {
        self.number.fields()
    }

    fn texts(&self, area: Rectangle) -> Vec<SetText> {
        let extremes = self.number.extremes_in(&Setting::plain(self.face.clone()));
        let widest = extremes.into_iter().max_by_key(|text| self.face.width(text));
        let text = |number: String| SetText {
            text: if self.unit.is_empty() { number } else { format!("{number} {}", self.unit) },
            face: self.face.clone(),
            room: area,
            needs: self.measure(None),
            overflow: Overflow::Clip,
            key: None,
        };
        // The unit is looked at on its own: its face may be smaller.
        let unit = (!self.unit.is_empty()).then(|| SetText {
            text: self.unit.clone(),
            face: self.unit_face.clone(),
            room: area,
            needs: Size::new(self.unit_width.max(0) as u32, self.unit_face.cap_height.max(0) as u32),
            overflow: Overflow::Clip,
            key: None,
        });
        widest.map(text).into_iter().chain(unit).collect()
    }

    fn live(&self) -> Option<Live<'_>> {
        // Where the unit follows the digits, only the program's own code can place it.
        self.steady.then_some(Live::Value(Figure {
            number: &self.number,
            face: &self.face,
            unit: &self.unit,
            unit_face: &self.unit_face,
            unit_at: self.unit_at,
            align: self.align,
            vertical: self.vertical,
            inverted: self.inverted,
            widest: self.widest,
            gap: self.gap(),
        }))
    }
}

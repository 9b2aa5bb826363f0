//! `battery`: a small cell whose filling follows a field's share of its range; a dash for a missing value.

use super::{Element, Spec};
use crate::elements::scope::Scope;
use crate::frame::Frame;
use crate::screen::values::{FieldId, Values};
use crate::source::amount::At;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;

/// Keys of `battery`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Battery {
    /// The field; its range is empty to full.
    battery: At<String>,
}

#[derive(Debug)]
struct Ready {
    field: FieldId,
    range: [f64; 2],
}

/// The picture's size: the body and its pole.
const PICTURE: Size = Size::new(19, 9);

impl Spec for Battery {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let field = scope.field(&self.battery)?;
        Some(Box::new(Ready { field, range: scope.range(field) }))
    }
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        PICTURE
    }

    fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        let y = (area.size.height.saturating_sub(PICTURE.height) / 2) as i32;
        let at = area.top_left + Point::new(0, y);
        let part = |x, y, w, h| Rectangle::new(at + Point::new(x, y), Size::new(w, h)).intersection(&area);
        frame.fill(part(0, 0, 17, 9), true);
        frame.fill(part(1, 1, 15, 7), false);
        frame.fill(part(17, 3, 2, 3), true);
        let share = (values.of(self.field) - self.range[0]) / (self.range[1] - self.range[0]);
        if share.is_nan() {
            // A dash, as everywhere for a missing value.
            return frame.fill(part(6, 4, 5, 1), true);
        }
        let filled = (share.clamp(0.0, 1.0) * 13.0).round() as u32;
        frame.fill(part(2, 2, filled, 5), true);
    }

    fn fields(&self) -> Vec<FieldId> {
        vec![self.field]
    }
}

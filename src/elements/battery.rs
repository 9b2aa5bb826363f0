//! `battery`: a small cell whose filling follows a field's share of its range; a dash for a missing value.

use super::{Element, Spec};
use crate::elements::scope::Scope;
use crate::screen::element::Nature;
use crate::screen::guard::{Guard, Level};
use crate::screen::operation::{Bar, Ends, Operation, Shape};
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
struct Ready(Level);

/// The image's size: the body and its pole.
const PICTURE: Size = Size::new(19, 9);

impl Spec for Battery {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let field = scope.field(&self.battery)?;
        Some(Box::new(Ready(Level { field, scale: scope.range(field) })))
    }
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        PICTURE
    }

    fn nature(&self) -> Nature {
        Nature::SupplySign
    }

    fn operations(&self, area: Rectangle) -> Vec<Operation> {
        let y = (area.size.height.saturating_sub(PICTURE.height) / 2) as i32;
        let part = |x, top, w, h| Rectangle::new(area.top_left + Point::new(x, y + top), Size::new(w, h));
        let fill = |part: Rectangle, ink| Operation::fill(part.intersection(&area), ink);
        let bar = Bar { level: self.0, full: part(2, 2, 13, 5), rising: false, ends: Ends::Count };
        vec![
            fill(part(0, 0, 17, 9), true),
            fill(part(1, 1, 15, 7), false),
            fill(part(17, 3, 2, 3), true),
            // A dash, as everywhere for a missing value.
            fill(part(6, 4, 5, 1), true).only(Guard::Missing(self.0)),
            Operation::new(bar.full.intersection(&area), Shape::Bar(bar)),
        ]
    }
}

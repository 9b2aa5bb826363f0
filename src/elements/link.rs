//! `link`: rising bars for the quality of a radio link; a cross when there is none.

use super::{Element, Spec};
use crate::elements::scope::Scope;
use crate::frame::Frame;
use crate::frame::blit::Paint;
use crate::screen::values::{FieldId, Values};
use crate::source::amount::At;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;

/// Keys of `link`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Link {
    /// The field. The smallest value of its range means that there is no link; a missing value does too.
    link: At<String>,
}

#[derive(Debug)]
struct Ready {
    field: FieldId,
    range: [f64; 2],
}

/// The picture's size; as tall as the battery's.
const PICTURE: Size = Size::new(15, 9);
const BARS: u32 = 4;
const BAR: u32 = 3;

/// Drawn where bars are low, when there is no link.
const CROSS: [&str; 5] = ["#...#", ".#.#.", "..#..", ".#.#.", "#...#"];

impl Spec for Link {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let field = scope.field(&self.link)?;
        Some(Box::new(Ready { field, range: scope.range(field) }))
    }
}

impl Ready {
    /// Bars from 0 (no link) to all. Every value above the smallest has at least one.
    fn level(&self, values: &Values) -> u32 {
        let [low, high] = self.range;
        let share = (values.of(self.field) - low) / (high - low);
        if share.is_nan() { 0 } else { (share.clamp(0.0, 1.0) * f64::from(BARS)).ceil() as u32 }
    }
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        PICTURE
    }

    fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        let y = (area.size.height.saturating_sub(PICTURE.height) / 2) as i32;
        let at = area.top_left + Point::new(0, y);
        let level = self.level(values);
        for bar in 0..BARS {
            let height = if bar < level { BAR + 2 * bar } else { 1 };
            let corner = at + Point::new((bar * (BAR + 1)) as i32, (PICTURE.height - height) as i32);
            frame.fill(Rectangle::new(corner, Size::new(BAR, height)).intersection(&area), true);
        }
        if level == 0 {
            frame.blit(&Frame::from_pattern(&CROSS), at + Point::new(5, 1), area, Paint::Ink);
        }
    }

    fn fields(&self) -> Vec<FieldId> {
        vec![self.field]
    }
}

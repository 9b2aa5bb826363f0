//! `link`: rising bars for the quality of a radio link; a cross when there is none.

use super::{Element, Spec};
use crate::elements::scope::Scope;
use crate::frame::{Frame, Paint};
use crate::screen::element::Nature;
use crate::screen::guard::{Guard, Level};
use crate::screen::operation::{Bitmap, Operation, Shape};
use crate::source::amount::At;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;
use std::sync::Arc;

/// Keys of `link`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Link {
    /// The field. The smallest value of its range means that there is no link; a missing value does too.
    link: At<String>,
}

#[derive(Debug)]
struct Ready(Level);

/// The image's size; as tall as the battery's.
const PICTURE: Size = Size::new(15, 9);
const BARS: u32 = 4;
const BAR: u32 = 3;

/// Drawn where bars are low, when there is no link.
const CROSS: [&str; 5] = ["#...#", ".#.#.", "..#..", ".#.#.", "#...#"];

impl Spec for Link {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let field = scope.field(&self.link)?;
        Some(Box::new(Ready(Level { field, scale: scope.range(field) })))
    }
}

impl Ready {
    /// Whether there are more bars than this. Every value above the smallest has at least one.
    fn above(&self, bars: u32, holds: bool) -> Guard {
        Guard::Above { level: self.0, share: f64::from(bars) / f64::from(BARS), holds }
    }
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        PICTURE
    }

    fn nature(&self) -> Nature {
        Nature::LinkSign
    }

    fn operations(&self, area: Rectangle) -> Vec<Operation> {
        let y = (area.size.height.saturating_sub(PICTURE.height) / 2) as i32;
        let at = area.top_left + Point::new(0, y);
        let bar = |bar: u32, height: u32| {
            let corner = at + Point::new((bar * (BAR + 1)) as i32, (PICTURE.height - height) as i32);
            Operation::fill(Rectangle::new(corner, Size::new(BAR, height)).intersection(&area), true)
        };
        let bars = (0..BARS).flat_map(|n| [bar(n, 1), bar(n, BAR + 2 * n).only(self.above(n, true))]);
        let picture = Arc::new(Frame::from_pattern(&CROSS));
        let cross = Bitmap { picture, at: at + Point::new(5, 1), scale: 1, paint: Paint::Ink, dithered: false };
        bars.chain([Operation::new(area, Shape::Bitmap(cross)).only(self.above(0, false))]).collect()
    }
}

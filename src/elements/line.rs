//! `line`: a straight rule along the longer side of its area.

use super::{Element, Spec};
use crate::elements::scope::Scope;
use crate::frame::Frame;
use crate::screen::values::Values;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;

/// Keys of `line`.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Line {
    /// Thickness in pixels.
    line: u32,
    /// Pixels of ink and of gap, in turn; absent: solid.
    dash: Option<[u32; 2]>,
}

impl Spec for Line {
    fn resolve(&self, _: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        Some(Box::new(self.clone()))
    }
}

impl Element for Line {
    fn measure(&self, _: Option<u32>) -> Size {
        Size::new(self.line, self.line)
    }

    fn draw(&self, area: Rectangle, _: &Values, frame: &mut Frame) {
        let wide = area.size.width >= area.size.height;
        let (length, breadth) =
            if wide { (area.size.width, area.size.height) } else { (area.size.height, area.size.width) };
        let thick = self.line.min(breadth);
        let [ink, gap] = self.dash.unwrap_or([length.max(1), 0]);
        let mut at = 0;
        while at < length && ink > 0 {
            let run = ink.min(length - at);
            let (corner, size) = match wide {
                true => (Point::new(at as i32, 0), Size::new(run, thick)),
                false => (Point::new(0, at as i32), Size::new(thick, run)),
            };
            frame.fill(Rectangle::new(area.top_left + corner, size), true);
            at = at.saturating_add(ink).saturating_add(gap);
        }
    }
}

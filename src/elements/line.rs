//! `line`: a straight rule along the longer side of its area.

use super::{Element, Spec};
use crate::elements::scope::Scope;
use crate::screen::element::Nature;
use crate::screen::operation::{Operation, Shape};
use crate::source::amount::List;
use embedded_graphics::prelude::Size;
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
    dash: Option<List<u32, 2>>,
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

    fn nature(&self) -> Nature {
        Nature::Rule
    }

    fn operations(&self, area: Rectangle) -> Vec<Operation> {
        let Size { width, height } = area.size;
        let upright = height > width;
        let size =
            if upright { Size::new(self.line.min(width), height) } else { Size::new(width, self.line.min(height)) };
        let rule = Rectangle::new(area.top_left, size);
        vec![match self.dash {
            None => Operation::fill(rule, true),
            Some(List(ink_gap)) => Operation::new(rule, Shape::Dashes { ink_gap, upright }),
        }]
    }
}

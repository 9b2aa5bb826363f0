//! `box`: a rectangle with an outline, rounded corners, a fill.

use super::{Element, Spec};
use crate::frame::Frame;
use crate::resolve::scope::Scope;
use crate::screen::values::Values;
use embedded_graphics::Drawable;
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::{Primitive, Size};
use embedded_graphics::primitives::{PrimitiveStyleBuilder, Rectangle, RoundedRectangle, StrokeAlignment};
use schemars::JsonSchema;
use serde::Deserialize;

/// Keys of `box`.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Boxed {
    /// Thickness of the outline in pixels; 0 for none.
    #[serde(rename = "box")]
    outline: u32,
    /// Radius of the corners in pixels.
    #[serde(default)]
    radius: u32,
    /// What fills it.
    #[serde(default)]
    fill: Fill,
}

/// What fills a box.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Fill {
    /// Nothing: what is below stays.
    #[default]
    None,
    /// Black.
    Ink,
    /// White.
    Paper,
}

impl Spec for Boxed {
    fn resolve(&self, _: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        Some(Box::new(self.clone()))
    }
}

impl Element for Boxed {
    fn measure(&self, _: Option<u32>) -> Size {
        Size::new_equal(self.outline * 2 + 1)
    }

    fn draw(&self, area: Rectangle, _: &Values, frame: &mut Frame) {
        let mut style = PrimitiveStyleBuilder::new().stroke_alignment(StrokeAlignment::Inside);
        if self.outline > 0 {
            style = style.stroke_color(BinaryColor::On).stroke_width(self.outline);
        }
        style = match self.fill {
            Fill::None => style,
            Fill::Ink => style.fill_color(BinaryColor::On),
            Fill::Paper => style.fill_color(BinaryColor::Off),
        };
        let shape = RoundedRectangle::with_equal_corners(area, Size::new_equal(self.radius));
        // Drawing into a frame cannot fail: its error type has no values.
        let Ok(()) = shape.into_styled(style.build()).draw(frame);
    }
}

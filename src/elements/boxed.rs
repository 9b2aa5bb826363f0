//! `box`: a rectangle with an outline, rounded corners, a fill or pattern.

use super::pattern::{self, Pattern};
use super::{Element, Spec};
use crate::elements::scope::Scope;
use crate::frame::{Frame, Paint};
use crate::screen::values::Values;
use crate::source::amount::{At, Qty};
use crate::source::fault::Fault;
use crate::units::Ratio;
use embedded_graphics::Drawable;
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::{Point, Primitive, Size};
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
    /// A pattern that fills it, on white.
    pattern: Option<At<Pattern>>,
    /// A grey that fills it, as the share of ink; dithered in sixteenths.
    tone: Option<At<Qty<Ratio>>>,
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

#[derive(Debug)]
struct Ready {
    outline: u32,
    radius: u32,
    fill: Option<bool>,
    tile: Option<Frame>,
}

impl Spec for Boxed {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let fills = [self.fill != Fill::None, self.pattern.is_some(), self.tone.is_some()];
        if fills.into_iter().filter(|fill| *fill).count() > 1 {
            let span = self.pattern.as_ref().map(|pattern| &pattern.span).or(self.tone.as_ref().map(|tone| &tone.span));
            let fault = Fault::at(span.cloned().unwrap_or(0..0), "a box has one of `fill`, `pattern` and `tone`");
            scope.fault(fault);
        }
        if let Some(tone) = self.tone.as_ref().filter(|tone| !(0.0..=1.0).contains(&tone.value.0.0)) {
            scope.fault(Fault::at(tone.span.clone(), "a tone is 0 % to 100 % of ink"));
        }
        let sixteenths = |tone: &At<Qty<Ratio>>| (tone.value.0.0.clamp(0.0, 1.0) * 16.0).round() as u32;
        let tile = self.pattern.as_ref().map(|pattern| pattern.value.tile());
        let tile = tile.or(self.tone.as_ref().map(|tone| pattern::tone(sixteenths(tone))));
        let fill = match self.fill {
            Fill::None => None,
            Fill::Ink => Some(true),
            Fill::Paper => Some(false),
        };
        Some(Box::new(Ready { outline: self.outline, radius: self.radius, fill, tile }))
    }
}

impl Ready {
    /// Draws the shape with its outline, filled or not.
    fn shape(&self, area: Rectangle, outline: bool, fill: Option<bool>, frame: &mut Frame) {
        let mut style = PrimitiveStyleBuilder::new().stroke_alignment(StrokeAlignment::Inside);
        if outline && self.outline > 0 {
            style = style.stroke_color(BinaryColor::On).stroke_width(self.outline);
        }
        if let Some(ink) = fill {
            style = style.fill_color(BinaryColor::from(ink));
        }
        let shape = RoundedRectangle::with_equal_corners(area, Size::new_equal(self.radius));
        // Drawing into a frame cannot fail: its error type has no values.
        let Ok(()) = shape.into_styled(style.build()).draw(frame);
    }
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        Size::new_equal(self.outline.saturating_mul(2).saturating_add(1))
    }

    fn draw(&self, area: Rectangle, _: &Values, frame: &mut Frame) {
        if let Some(tile) = &self.tile {
            let seen = area.intersection(&Rectangle::new(Point::zero(), frame.size()));
            let mut shape = Frame::new(seen.size.width, seen.size.height);
            self.shape(Rectangle::new(area.top_left - seen.top_left, area.size), false, Some(true), &mut shape);
            frame.blit(&shape, seen.top_left, seen, Paint::Paper);
            frame.blit(&pattern::within(&pattern::tiled(tile, seen), &shape), seen.top_left, seen, Paint::Ink);
        }
        self.shape(area, true, self.fill, frame);
    }

    fn dithered(&self, area: Rectangle) -> Vec<Rectangle> {
        self.tile.iter().map(|_| area).collect()
    }
}

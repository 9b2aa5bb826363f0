//! `box`: a rectangle with an outline, rounded corners, a fill or pattern.

use super::{Element, Spec};
use crate::elements::scope::Scope;
use crate::frame::Frame;
use crate::screen::element::Nature;
use crate::screen::operation::{Operation, Outline, Shape};
use crate::screen::pattern::{self, Pattern};
use crate::source::amount::{At, Qty};
use crate::source::fault::Fault;
use crate::units::Ratio;
use embedded_graphics::prelude::Size;
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;
use std::sync::Arc;

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
    grey: Option<At<Qty<Ratio>>>,
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
    outline: Outline,
    tile: Option<Arc<Frame>>,
}

impl Spec for Boxed {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let fills = [self.fill != Fill::None, self.pattern.is_some(), self.grey.is_some()];
        if fills.into_iter().filter(|fill| *fill).count() > 1 {
            let span = self.pattern.as_ref().map(|pattern| &pattern.span).or(self.grey.as_ref().map(|grey| &grey.span));
            let fault = Fault::at(span.cloned().unwrap_or(0..0), "a box has one of `fill`, `pattern` and `grey`");
            scope.fault(fault);
        }
        if let Some(grey) = self.grey.as_ref().filter(|grey| !(0.0..=1.0).contains(&grey.value.0.0)) {
            scope.fault(Fault::at(grey.span.clone(), "a grey is 0 % to 100 % of ink"));
        }
        let sixteenths = |grey: &At<Qty<Ratio>>| (grey.value.0.0.clamp(0.0, 1.0) * 16.0).round() as u32;
        let tile = self.pattern.as_ref().map(|pattern| pattern.value.tile());
        let tile = tile.or(self.grey.as_ref().map(|grey| pattern::tone(sixteenths(grey))));
        let fill = match self.fill {
            Fill::None => None,
            Fill::Ink => Some(true),
            Fill::Paper => Some(false),
        };
        let outline = Outline { width: self.outline, radius: self.radius, fill };
        Some(Box::new(Ready { outline, tile: tile.map(Arc::new) }))
    }
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        Size::new_equal(self.outline.width.saturating_mul(2).saturating_add(1))
    }

    fn nature(&self) -> Nature {
        Nature::Rule
    }

    fn operations(&self, area: Rectangle) -> Vec<Operation> {
        let radius = self.outline.radius;
        let tile = self.tile.iter().map(|tile| Shape::Tile { radius, tile: tile.clone() });
        tile.chain([Shape::Outline(self.outline)]).map(|shape| Operation::new(area, shape)).collect()
    }
}

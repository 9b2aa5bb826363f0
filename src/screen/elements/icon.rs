//! `icon`: a picture from a file, turned to black and white once when the project is loaded.

use super::{Element, Spec};
use crate::design::amount::At;
use crate::frame::Frame;
use crate::frame::blit::Paint;
use crate::frame::dither::Method;
use crate::resolve::scope::Scope;
use crate::screen::typeset::Stand;
use crate::screen::values::Values;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;
use std::sync::Arc;

/// Keys of `icon`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Icon {
    /// PNG, JPEG, BMP or PBM file, relative to the project.
    icon: At<String>,
    /// How grey becomes black and white.
    #[serde(default)]
    tone: Tone,
    /// Grey below this is ink, 0 to 255; for `tone = "threshold"`.
    #[serde(default = "half")]
    threshold: u8,
    /// Scaled to this width and height when loaded.
    scale: Option<[u32; 2]>,
    /// Across its area.
    #[serde(default)]
    align: Stand,
    /// Down its area.
    #[serde(default)]
    vertical: Stand,
    /// White where the picture is black.
    #[serde(default)]
    reversed: bool,
}

fn half() -> u8 {
    128
}

/// How grey becomes black and white.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Tone {
    /// One limit for all pixels.
    #[default]
    Threshold,
    /// Error diffusion after Floyd and Steinberg.
    FloydSteinberg,
    /// Ordered dither with Bayer's 4 x 4 matrix.
    Bayer,
}

#[derive(Debug)]
struct Ready {
    picture: Arc<Frame>,
    align: Stand,
    vertical: Stand,
    reversed: bool,
    dithered: bool,
}

impl Spec for Icon {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let method = match self.tone {
            Tone::Threshold => Method::Threshold(self.threshold),
            Tone::FloydSteinberg => Method::FloydSteinberg,
            Tone::Bayer => Method::Bayer4,
        };
        let picture = scope.picture(&self.icon, self.scale, method)?;
        Some(Box::new(Ready { picture, align: self.align, vertical: self.vertical, reversed: self.reversed, dithered: self.tone != Tone::Threshold }))
    }
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        self.picture.size()
    }

    fn draw(&self, area: Rectangle, _: &Values, frame: &mut Frame) {
        let x = self.align.offset(area.size.width as i32, self.picture.width() as i32);
        let y = self.vertical.offset(area.size.height as i32, self.picture.height() as i32);
        let paint = if self.reversed { Paint::Paper } else { Paint::Ink };
        frame.blit(&self.picture, area.top_left + Point::new(x, y), area, paint);
    }

    fn dithered(&self, area: Rectangle) -> Vec<Rectangle> {
        if self.dithered { vec![Rectangle::new(area.top_left, self.picture.size()).intersection(&area)] } else { Vec::new() }
    }
}

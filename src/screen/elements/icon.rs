//! `icon`: a built-in icon, or a picture from a file, turned to black and white once when the project is loaded.
//!
//! What a picture looks like is settled here for `image` and `icons` too.

use super::{Element, Spec};
use crate::design::amount::At;
use crate::design::fault::Fault;
use crate::frame::dither::Method;
use crate::frame::{Frame, Paint};
use crate::resolve::pictures::{Look, Scale};
use crate::resolve::scope::Scope;
use crate::screen::icons;
use crate::screen::typeset::Stand;
use crate::screen::values::{FieldId, Values};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;
use std::sync::Arc;

/// Keys of `icon`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Icon {
    /// The name of a built-in icon, such as `battery-half`, or a PNG, JPEG, BMP, PBM or SVG file, relative to the project.
    icon: At<String>,
    /// Width and height of a built-in icon in pixels: 12, 16 or 24; 16 without this key.
    size: Option<At<u32>>,
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

pub(super) fn half() -> u8 {
    128
}

/// How grey becomes black and white.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Tone {
    /// One limit for all pixels.
    #[default]
    Threshold,
    /// Error diffusion after Floyd and Steinberg.
    FloydSteinberg,
    /// Error diffusion after Jarvis, Judice and Ninke: calmer areas, softer edges.
    JarvisJudiceNinke,
    /// Ordered dither with Bayer's 4 x 4 matrix.
    Bayer,
}

impl Tone {
    pub(super) fn method(self, threshold: u8) -> Method {
        match self {
            Self::Threshold => Method::Threshold(threshold),
            Self::FloydSteinberg => Method::FloydSteinberg,
            Self::JarvisJudiceNinke => Method::JarvisJudiceNinke,
            Self::Bayer => Method::Bayer4,
        }
    }
}

/// A picture, or one of several by a field's value, ready to draw.
#[derive(Debug)]
pub struct Picture {
    /// The pictures; there is at least one.
    pub pictures: Vec<Arc<Frame>>,
    /// Chooses one by its value; `None` for the first.
    pub by: Option<FieldId>,
    /// Across its area.
    pub align: Stand,
    /// Down its area.
    pub vertical: Stand,
    /// White where the picture is black.
    pub reversed: bool,
    /// Whether grey was dithered.
    pub dithered: bool,
}

impl Spec for Icon {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let method = self.tone.method(self.threshold);
        let look = Look { scale: self.scale.map(Scale::Exactly), method, contrast: 1.0, gamma: 1.0 };
        let picture = found(scope, &self.icon, self.size.as_ref(), &look)?;
        let picture = Picture::new(vec![picture], [self.align, self.vertical], self.tone);
        Some(Box::new(Picture { reversed: self.reversed, ..picture }))
    }
}

/// A picture by the name of a built-in icon, which has no file ending, or from a file. `size` is for the first, the
/// look for the second.
pub(super) fn found(
    scope: &mut Scope<'_>,
    name: &At<String>,
    size: Option<&At<u32>>,
    look: &Look,
) -> Option<Arc<Frame>> {
    let is_file = name.value.contains('.');
    let fault = match size {
        Some(size) if is_file => Fault::at(size.span.clone(), "`size` is for built-in icons, and this one is a file")
            .help(format!("write scale = [{0}, {0}]", size.value)),
        Some(size) if !icons::SIZES.contains(&size.value) => {
            Fault::at(size.span.clone(), "built-in icons are not drawn in this size")
                .help("expected 12, 16 or 24 pixels")
        }
        None if !is_file && look.scale.is_some() => {
            Fault::at(name.span.clone(), "a built-in icon is not scaled").help("write size = 12, 16 or 24, not `scale`")
        }
        _ if is_file => return scope.picture(name, look),
        _ => return scope.icon(name, size.map_or(icons::USUAL, |size| size.value)),
    };
    scope.fault(fault);
    None
}

impl Picture {
    /// Pictures that stand so across and down their area, black on white, the first one shown.
    pub(super) fn new(pictures: Vec<Arc<Frame>>, [align, vertical]: [Stand; 2], tone: Tone) -> Self {
        Self { pictures, by: None, align, vertical, reversed: false, dithered: tone != Tone::Threshold }
    }

    /// The picture of the moment; none for a missing value.
    fn now(&self, values: &Values) -> Option<&Frame> {
        let Some(field) = self.by else { return self.pictures.first().map(Arc::as_ref) };
        let value = values.of(field).round();
        // The cast of a negative number is 0.
        let index = (value as usize).min(self.pictures.len().saturating_sub(1));
        self.pictures.get(index).filter(|_| !value.is_nan()).map(Arc::as_ref)
    }

    fn place(&self, area: Rectangle, size: Size) -> Rectangle {
        let x = self.align.offset(area.size.width as i32, size.width as i32);
        let y = self.vertical.offset(area.size.height as i32, size.height as i32);
        Rectangle::new(area.top_left + Point::new(x, y), size)
    }
}

impl Element for Picture {
    fn measure(&self, _: Option<u32>) -> Size {
        self.pictures.iter().fold(Size::zero(), |most, picture| most.component_max(picture.size()))
    }

    fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        let Some(picture) = self.now(values) else { return };
        let paint = if self.reversed { Paint::Paper } else { Paint::Ink };
        frame.blit(picture, self.place(area, picture.size()).top_left, area, paint);
    }

    fn fields(&self) -> Vec<FieldId> {
        self.by.into_iter().collect()
    }

    fn dithered(&self, area: Rectangle) -> Vec<Rectangle> {
        let place = |picture: &Arc<Frame>| self.place(area, picture.size()).intersection(&area);
        if self.dithered { self.pictures.iter().map(place).collect() } else { Vec::new() }
    }
}

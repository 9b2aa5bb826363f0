//! `icon`: a built-in icon, or an image from a file, turned to black and white once when the project is loaded.
//!
//! What an image looks like is settled here for `image` and `icons` too.

use super::{Element, Spec};
use crate::assets::pictures::{PictureLook, Scale};
use crate::elements::scope::Scope;
use crate::frame::dither::Method;
use crate::frame::{Frame, Paint};
use crate::screen::icons;
use crate::screen::operation::{Bitmap, Operation, Shape};
use crate::screen::typeset::Stand;
use crate::screen::values::FieldId;
use crate::source::amount::{At, List};
use crate::source::fault::Fault;
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
    dithering: Dithering,
    /// Grey below this is ink, 0 to 255; for `dithering = "threshold"`.
    #[serde(default = "half")]
    threshold: u8,
    /// Scaled to this width and height when loaded.
    scale: Option<List<u32, 2>>,
    /// Across its area.
    #[serde(default)]
    align: Stand,
    /// Down its area.
    #[serde(default)]
    vertical: Stand,
    /// White where the image is black.
    #[serde(default)]
    white: bool,
}

pub(super) fn half() -> u8 {
    128
}

/// How grey becomes black and white.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Dithering {
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

impl Dithering {
    pub(super) fn method(self, threshold: u8) -> Method {
        match self {
            Self::Threshold => Method::Threshold(threshold),
            Self::FloydSteinberg => Method::FloydSteinberg,
            Self::JarvisJudiceNinke => Method::JarvisJudiceNinke,
            Self::Bayer => Method::Bayer4,
        }
    }
}

/// An image, or one of several by a field's value, ready to be placed.
#[derive(Debug)]
pub struct PlacedImage {
    /// The images; there is at least one.
    pub pictures: Vec<Arc<Frame>>,
    /// Chooses one by its value; `None` for the first.
    pub by: Option<FieldId>,
    /// Across its area.
    pub align: Stand,
    /// Down its area.
    pub vertical: Stand,
    /// White where the image is black.
    pub reversed: bool,
    /// Whether grey was dithered.
    pub dithered: bool,
}

impl Spec for Icon {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let method = self.dithering.method(self.threshold);
        let look = PictureLook {
            scale: self.scale.map(|List(scale)| Scale::Exactly(scale)),
            method,
            contrast: 1.0,
            gamma: 1.0,
        };
        let picture = found(scope, &self.icon, self.size.as_ref(), &look)?;
        let picture = PlacedImage::new(vec![picture], [self.align, self.vertical], self.dithering);
        Some(Box::new(PlacedImage { reversed: self.white, ..picture }))
    }
}

/// An image by the name of a built-in icon, which has no file ending, or from a file. `size` is for the first, the
/// look for the second.
pub(super) fn found(
    scope: &mut Scope<'_>,
    name: &At<String>,
    size: Option<&At<u32>>,
    look: &PictureLook,
) -> Option<Arc<Frame>> {
    let is_file = name.value.contains(['.', '/', '\\']);
    let fault = match size {
        Some(size) if is_file => Fault::at(size.span.clone(), "`size` is for built-in icons, and this one is a file")
            .help(format!("write scale = [{0}, {0}]", size.value)),
        Some(size) if !icons::SIZES.contains(&size.value) => {
            Fault::at(size.span.clone(), "built-in icons are not drawn in this size")
                .help("expected 12, 16 or 24 pixels")
        }
        _ if !is_file && look.scale.is_some() => {
            Fault::at(name.span.clone(), "a built-in icon is not scaled").help("write size = 12, 16 or 24, not `scale`")
        }
        _ if is_file => return scope.picture(name, look),
        _ => return scope.icon(name, size.map_or(icons::USUAL, |size| size.value)),
    };
    scope.fault(fault);
    None
}

impl PlacedImage {
    /// Images that stand so across and down their area, black on white, the first one shown.
    pub(super) fn new(pictures: Vec<Arc<Frame>>, [align, vertical]: [Stand; 2], dithering: Dithering) -> Self {
        Self { pictures, by: None, align, vertical, reversed: false, dithered: dithering != Dithering::Threshold }
    }

    fn bitmap(&self, picture: &Arc<Frame>, area: Rectangle) -> Bitmap {
        let x = self.align.offset(area.size.width as i32, picture.width() as i32);
        let y = self.vertical.offset(area.size.height as i32, picture.height() as i32);
        let paint = if self.reversed { Paint::Paper } else { Paint::Ink };
        let at = area.top_left + Point::new(x, y);
        Bitmap { picture: picture.clone(), at, scale: 1, paint, dithered: self.dithered }
    }
}

impl Element for PlacedImage {
    fn measure(&self, _: Option<u32>) -> Size {
        self.pictures.iter().fold(Size::zero(), |most, picture| most.component_max(picture.size()))
    }

    fn operations(&self, area: Rectangle) -> Vec<Operation> {
        let mut bitmaps = self.pictures.iter().map(|picture| self.bitmap(picture, area));
        let shape = match self.by {
            Some(field) => Some(Shape::BitmapBy { field, bitmaps: bitmaps.collect() }),
            None => bitmaps.next().map(Shape::Bitmap),
        };
        shape.into_iter().map(|shape| Operation::new(area, shape)).collect()
    }
}

//! `image`: an image with grey in it, dithered once when the project is loaded.

use super::icon::{Dithering, PlacedImage, half};
use super::{Element, Spec};
use crate::assets::pictures::{PictureLook, Scale};
use crate::elements::scope::Scope;
use crate::screen::typeset::Stand;
use crate::source::amount::{At, List};
use crate::source::fault::Fault;
use schemars::JsonSchema;
use serde::Deserialize;

/// Keys of `image`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Image {
    /// PNG, JPEG, BMP, PBM or SVG file, relative to the project.
    image: At<String>,
    /// How grey becomes black and white.
    #[serde(default = "diffused")]
    dithering: Dithering,
    /// Grey below this is ink, 0 to 255; for `dithering = "threshold"`.
    #[serde(default = "half")]
    threshold: u8,
    /// Distances from the middle grey are multiplied by this; 1 changes nothing.
    #[serde(default = "one")]
    contrast: f64,
    /// Midtones are lightened above 1 and darkened below.
    #[serde(default = "one")]
    gamma: f64,
    /// Scaled to this width and height when loaded.
    scale: Option<At<List<u32, 2>>>,
    /// Scaled to the largest size within this width and height that keeps its proportions.
    fit: Option<At<List<u32, 2>>>,
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

fn diffused() -> Dithering {
    Dithering::FloydSteinberg
}
fn one() -> f64 {
    1.0
}

impl Spec for Image {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        for (name, value, low) in [("contrast", self.contrast, 0.0), ("gamma", self.gamma, 0.1)] {
            if !(low..=10.0).contains(&value) {
                let fault = Fault::at(self.image.span.clone(), format!("the {name} {value} is out of range"));
                scope.fault(fault.help(format!("expected {low} to 10; 1 changes nothing")));
            }
        }
        let scale = match (&self.scale, &self.fit) {
            (Some(_), Some(fit)) => {
                scope.fault(Fault::at(fit.span.clone(), "an image has one of `scale` and `fit`"));
                None
            }
            (Some(scale), None) => Some(Scale::Exactly(scale.value.0)),
            (None, Some(fit)) => Some(Scale::Within(fit.value.0)),
            (None, None) => None,
        };
        let method = self.dithering.method(self.threshold);
        let look = PictureLook { scale, method, contrast: self.contrast, gamma: self.gamma };
        let picture =
            PlacedImage::new(vec![scope.picture(&self.image, &look)?], [self.align, self.vertical], self.dithering);
        Some(Box::new(PlacedImage { reversed: self.white, ..picture }))
    }
}

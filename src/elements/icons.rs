//! `icons`: one of several images, chosen by a field: `{ icons = ["sun", "icons/rain.pbm"], by = "weather" }`.

use super::icon::{Dithering, PlacedImage, found, half};
use super::{Element, Spec};
use crate::assets::pictures::{PictureLook, Scale};
use crate::elements::scope::Scope;
use crate::screen::typeset::Stand;
use crate::source::amount::{At, List};
use crate::source::fault::Fault;
use schemars::JsonSchema;
use serde::Deserialize;

/// Keys of `icons`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Icons {
    /// For the field's values 0, 1, 2, ...: names of built-in icons, or PNG, JPEG, BMP, PBM or SVG files, relative to the
    /// project.
    icons: At<Vec<At<String>>>,
    /// Width and height of the built-in icons in pixels: 12, 16 or 24; 16 without this key.
    size: Option<At<u32>>,
    /// The field that chooses; a missing value shows nothing.
    by: At<String>,
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

impl Spec for Icons {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let field = scope.field(&self.by);
        let look = PictureLook {
            scale: self.scale.map(|List(scale)| Scale::Exactly(scale)),
            method: self.dithering.method(self.threshold),
            contrast: 1.0,
            gamma: 1.0,
        };
        let pictures: Vec<_> =
            self.icons.value.iter().map(|name| found(scope, name, self.size.as_ref(), &look)).collect();
        let (field, count) = (field?, pictures.len());
        let [low, high] = scope.range(field);
        if count == 0 || low != 0.0 || high != (count - 1) as f64 {
            let fault = Fault::at(
                self.icons.span.clone(),
                format!("these icons are not one for each value of `{}`", self.by.value),
            );
            scope.fault(fault.label(format!("{count} icons, values {low} to {high}")));
            return None;
        }
        let pictures = pictures.into_iter().collect::<Option<Vec<_>>>()?;
        let picture = PlacedImage::new(pictures, [self.align, self.vertical], self.dithering);
        Some(Box::new(PlacedImage { by: Some(field), reversed: self.white, ..picture }))
    }
}

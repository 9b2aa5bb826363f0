//! How the panel sits in the instrument: the eye's distance and the keys beside it.

use crate::units::Metres;
use schemars::JsonSchema;
use serde::Deserialize;

/// How the panel sits in the instrument.
#[derive(Clone, Debug)]
pub struct Glass {
    /// Distance of the eye.
    pub viewing_distance: Metres,
    /// The side along which the soft keys lie.
    pub side: Side,
    /// Soft keys in order.
    pub keys: Vec<KeyPlace>,
}

/// A physical key.
#[derive(Clone, Copy, Debug)]
pub struct KeyPlace {
    /// Centre along the side, from the start of the active area.
    pub centre: Metres,
    /// Width.
    pub width: Metres,
    /// Centre in pixels.
    pub centre_px: i32,
    /// Width in pixels.
    pub width_px: u32,
}

/// A side of the screen as the user sees it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    /// Below the picture.
    #[default]
    Bottom,
    /// Above the picture.
    Top,
    /// Left of the picture.
    Left,
    /// Right of the picture.
    Right,
}

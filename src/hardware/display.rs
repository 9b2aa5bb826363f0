//! How the panel sits in the instrument: the eye's distance and the keys beside it.

use crate::units::Metres;
use schemars::JsonSchema;
use serde::Deserialize;

/// How the panel sits in the instrument.
#[derive(Clone, Debug)]
pub struct Display {
    /// Distance of the eye.
    pub viewing_distance: Metres,
    /// The side along which soft keys lie unless they say otherwise.
    pub side: Side,
    /// Soft keys in order.
    pub keys: Vec<KeyPlace>,
}

impl Display {
    /// The keys at a side, with their numbers, the first being 0.
    pub fn keys_at(&self, side: Side) -> impl Iterator<Item = (usize, &KeyPlace)> {
        self.keys.iter().enumerate().filter(move |(_, key)| key.side == Some(side))
    }

    /// The keys beside no side, with their numbers.
    pub fn unplaced(&self) -> impl Iterator<Item = (usize, &KeyPlace)> {
        self.keys.iter().enumerate().filter(|(_, key)| key.side.is_none())
    }
}

/// A physical key.
#[derive(Clone, Debug)]
pub struct KeyPlace {
    /// What it is called, where it has a name.
    pub name: String,
    /// The side at which it lies; `None` where it lies elsewhere on the instrument.
    pub side: Option<Side>,
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
    /// Below the image.
    #[default]
    Bottom,
    /// Above the image.
    Top,
    /// Left of the image.
    Left,
    /// Right of the image.
    Right,
}

impl Side {
    /// Every side.
    pub const ALL: [Self; 4] = [Self::Bottom, Self::Top, Self::Left, Self::Right];

    /// Whether keys there lie along the image's width.
    pub fn is_level(self) -> bool {
        matches!(self, Self::Bottom | Self::Top)
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Bottom => "bottom",
            Self::Top => "top",
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

impl KeyPlace {
    /// What messages call the key of a number, the first being 0.
    pub fn called(&self, index: usize) -> String {
        if self.name.is_empty() { format!("key {}", index + 1) } else { format!("key {} ({})", index + 1, self.name) }
    }
}

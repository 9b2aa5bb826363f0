//! Where elements go, as written: the same keys for every kind, and the keys of groups. Not for settling them; see
//! [`super::layout`].

use super::condition::{ConditionSpec, OnPlace};
use crate::source::amount::{At, Named};
use crate::source::fault::Level;
use schemars::JsonSchema;
use serde::Deserialize;

/// Where an element goes; the same keys for every kind.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct PlaceSpec {
    /// A name for messages and exports.
    pub name: Option<String>,
    /// Left and top corner in pixels within the surrounding area.
    pub at: Option<At<[i32; 2]>>,
    /// Width and height in pixels.
    pub size: Option<At<[u32; 2]>>,
    /// Width in pixels.
    pub width: Option<At<u32>>,
    /// Height in pixels.
    pub height: Option<At<u32>>,
    /// Docks to the top of what is left of the area, with this height.
    pub top: Option<At<u32>>,
    /// Docks to the bottom, with this height.
    pub bottom: Option<At<u32>>,
    /// Docks to the left, with this width.
    pub left: Option<At<u32>>,
    /// Docks to the right, with this width.
    pub right: Option<At<u32>>,
    /// Share of the free space that it takes in a row or column.
    pub grow: Option<f32>,
    /// Alignment across the row or column, as in CSS box alignment.
    pub align_self: Option<Align>,
    /// Empty pixels around: one number, or top, right, bottom, left.
    pub margin: Option<Edges>,
    /// Shown only while this holds.
    #[schemars(with = "Option<OnPlace>")]
    pub when: Option<At<ConditionSpec>>,
    /// Levels of lints for this element and what it holds: `lints = { overlap = "off" }`.
    pub lints: Named<Level>,
}

/// The keys of [`PlaceSpec`].
pub const PLACE_KEYS: [&str; 14] = [
    "lints",
    "name",
    "at",
    "size",
    "width",
    "height",
    "top",
    "bottom",
    "left",
    "right",
    "grow",
    "align-self",
    "margin",
    "when",
];

/// Alignment words of CSS box alignment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Align {
    /// At the start.
    Start,
    /// In the middle.
    Center,
    /// At the end.
    End,
    /// Filling.
    Stretch,
    /// On the common baseline.
    Baseline,
}

/// Distances from the four edges.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(untagged, expecting = "expected a number of pixels, or [top, right, bottom, left]")]
pub enum Edges {
    /// The same on all sides.
    All(u32),
    /// Top, right, bottom, left.
    Each([u32; 4]),
}

impl Edges {
    /// Top, right, bottom, left.
    pub fn each(self) -> [u32; 4] {
        match self {
            Self::All(n) => [n; 4],
            Self::Each(each) => each,
        }
    }
}

/// How a group lays out its content.
#[derive(Clone, Debug)]
pub struct Group {
    /// The direction.
    pub flow: GroupFlow,
    /// Gap, padding and alignment.
    pub style: GroupStyle,
}

/// The direction of a group.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GroupFlow {
    /// Elements over one another, docked or at pixel positions.
    Stack,
    /// Side by side.
    Row,
    /// One below the other.
    Column,
    /// In cells, row by row.
    Grid,
}

/// The group kinds and the key that names each.
pub const GROUPS: [(&str, GroupFlow); 4] =
    [("stack", GroupFlow::Stack), ("row", GroupFlow::Row), ("column", GroupFlow::Column), ("grid", GroupFlow::Grid)];

/// Keys of a group beside its content.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct GroupStyle {
    /// Pixels between elements.
    pub gap: u32,
    /// Pixels inside the edges.
    pub padding: Option<Edges>,
    /// Alignment across the direction.
    pub align: Option<Align>,
    /// Distribution along the direction.
    pub justify: Option<Justify>,
    /// Grid only: number of columns.
    pub columns: Option<At<u16>>,
}

/// Distribution words of CSS box alignment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Justify {
    /// Packed at the start.
    Start,
    /// Packed in the middle.
    Center,
    /// Packed at the end.
    End,
    /// First and last at the edges.
    SpaceBetween,
    /// Equal space around each.
    SpaceAround,
    /// Equal space between and at the edges.
    SpaceEvenly,
}

//! Plain shapes on a sheet: what a plot consists of once it is laid out. Lengths in points, y downwards.

use crate::frame::Frame;

/// A colour: red, green, blue.
pub type Colour = [u8; 3];

/// The sheet.
pub const PAPER: Colour = [255, 255, 255];
/// Behind a 1-bit picture, whatever the page looks like.
pub const WHITE: Colour = [254, 254, 254];
/// Titles, labels, the marked point.
pub const INK: Colour = [0x1d, 0x24, 0x2b];
/// Numbers on the axes and notes.
pub const GREY: Colour = [0x5d, 0x66, 0x6e];
/// Axis lines.
pub const AXIS: Colour = [0x9a, 0xa2, 0xa8];
/// Lines behind the curves.
pub const GRID: Colour = [0xe7, 0xe9, 0xeb];
/// Curves, darkest.
pub const CURVE: Colour = [0x14, 0x4b, 0x5e];
/// Curves, palest.
pub const CURVE_PALE: Colour = [0x86, 0xb4, 0xbd];
/// A limit.
pub const ALERT: Colour = [0xa8, 0x3a, 0x2a];

/// Arrows between screens: neighbours that differ in hue and in lightness.
pub const WAYS: [Colour; 6] = [
    [0x1f, 0x5f, 0x8b],
    [0xb0, 0x5a, 0x1c],
    [0x2f, 0x7a, 0x4f],
    [0x8a, 0x3f, 0x7c],
    [0x6b, 0x6f, 0x1e],
    [0x4a, 0x52, 0x9e],
];

/// The colour of a curve among several, pale to dark.
pub fn shade(index: usize, count: usize) -> Colour {
    let share = if count < 2 { 1.0 } else { index as f32 / (count - 1) as f32 };
    std::array::from_fn(|part| {
        let (pale, dark) = (f32::from(CURVE_PALE[part]), f32::from(CURVE[part]));
        (pale + (dark - pale) * share).round() as u8
    })
}

/// Which end of a text stands at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// The left one.
    Start,
    /// The middle.
    Middle,
    /// The right one.
    End,
}

/// A shape.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// An open line through points.
    Line {
        /// The points.
        points: Vec<[f32; 2]>,
        /// Its width.
        width: f32,
        /// Its colour.
        colour: Colour,
        /// Lengths of dash and gap, if it is dashed.
        dash: Option<[f32; 2]>,
    },
    /// A filled polygon.
    Area {
        /// Its corners.
        points: Vec<[f32; 2]>,
        /// Its colour.
        colour: Colour,
        /// From 0, not seen, to 1, solid.
        opacity: f32,
    },
    /// A disc with a rim.
    Disc {
        /// Its centre.
        centre: [f32; 2],
        /// Its radius, to the middle of the rim.
        radius: f32,
        /// The inside.
        fill: Colour,
        /// The rim.
        rim: Colour,
    },
    /// A 1-bit picture, black on white.
    Picture {
        /// Its upper left corner.
        at: [f32; 2],
        /// Its width and height on the sheet.
        size: [f32; 2],
        /// Its pixels.
        frame: Frame,
    },
    /// A line of text.
    Text {
        /// The text's anchor on its baseline.
        at: [f32; 2],
        /// The anchor.
        anchor: Anchor,
        /// Size of the em.
        size: f32,
        /// Its colour.
        colour: Colour,
        /// The text.
        text: String,
    },
}

/// A laid out plot.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// Width and height.
    pub size: [f32; 2],
    /// What it shows, for those who cannot see it.
    pub title: String,
    /// Shapes, the first lowest.
    pub shapes: Vec<Shape>,
}

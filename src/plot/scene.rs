//! Plain shapes on a sheet: what a plot consists of once it is laid out. Lengths in points, y downwards.

use crate::frame::Frame;

pub use super::palette::Colour;

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

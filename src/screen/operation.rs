//! Drawing operations: what an element becomes once it is settled and placed. Plain data with settled coordinates, in
//! pixels of the upright screen.
//!
//! Not for drawing them ([`super::draw`]) nor for what follows from them ([`super::inspect`]): both read them here, so that
//! an element that needs no new operation reaches drawing, redraw, checks and firmware tables without code of its own
//! there.

use super::chart::History;
use super::face::Face;
use super::guard::{Guard, Level, Threshold, nearest};
use super::template::Template;
use super::typeset::{Setting, Stand};
use super::values::FieldId;
use crate::frame::{Frame, Paint};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use std::sync::Arc;

/// One step of drawing an element.
#[derive(Clone, Debug)]
pub struct Operation {
    /// Nothing is drawn outside this area.
    pub area: Rectangle,
    /// Drawn only while this holds.
    pub guard: Guard,
    /// What is drawn.
    pub shape: Shape,
}

/// What an operation draws.
#[derive(Clone, Debug)]
pub enum Shape {
    /// The whole area.
    Fill {
        /// Black rather than white.
        ink: bool,
    },
    /// The area's edge, perhaps with rounded corners.
    Outline(Outline),
    /// A repeated pattern in the area, anchored to the screen's corner.
    Tile {
        /// Radius of the area's corners.
        radius: u32,
        /// One repetition.
        tile: Arc<Frame>,
    },
    /// Ink and gaps in turn along the area, across its whole breadth.
    Dashes {
        /// Pixels of ink, pixels of gap.
        ink_gap: [u32; 2],
        /// From the top down rather than from left to right.
        upright: bool,
    },
    /// A line one pixel thick.
    Line {
        /// First and last pixel.
        ends: [Point; 2],
    },
    /// A picture.
    Bitmap(Bitmap),
    /// One of several pictures by a field's value, counted from 0; none where the value is missing.
    BitmapBy {
        /// The field.
        field: FieldId,
        /// The pictures.
        bitmaps: Vec<Bitmap>,
    },
    /// A fixed line of text at a place.
    Label(Label),
    /// A text set into a room, with live values in it or without.
    Text(Text),
    /// One value with its unit.
    Value(Box<Value>),
    /// A bar that follows a field.
    Bar(Bar),
    /// A triangle that points at a limit's place beside a bar.
    Marker(Marker),
    /// A ring that is filled as a field says.
    Arc(Arced),
    /// A short thick line inside a ring at a limit's place.
    RingMarker(RingMarker),
    /// A field's history with its axes.
    History(Box<History>),
    /// Rows of cells, one of them selected, scrolled to what is selected.
    Rows(Box<Rows>),
}

/// The edge of an area.
#[derive(Clone, Copy, Debug)]
pub struct Outline {
    /// Thickness in pixels; 0 for none.
    pub width: u32,
    /// Radius of the corners in pixels.
    pub radius: u32,
    /// What is inside: ink, paper, or what was there.
    pub fill: Option<bool>,
}

/// A picture in its place.
#[derive(Clone, Debug)]
pub struct Bitmap {
    /// The picture.
    pub picture: Arc<Frame>,
    /// Its upper left corner.
    pub at: Point,
    /// Pixels along the side of one of its pixels.
    pub scale: u32,
    /// What its ink becomes; its paper leaves what is below.
    pub paint: Paint,
    /// Whether grey was dithered.
    pub dithered: bool,
}

/// A fixed line of text.
#[derive(Clone, Debug)]
pub struct Label {
    /// The words.
    pub text: String,
    /// The face.
    pub face: Arc<Face>,
    /// The first origin on the baseline.
    pub origin: Point,
}

/// A text set into a room.
#[derive(Clone, Debug)]
pub struct Text {
    /// The words.
    pub template: Template,
    /// How they are set.
    pub setting: Setting,
    /// Where they stand; ink may go beyond it as far as the operation's area.
    pub room: Rectangle,
    /// The soft key that it labels, the first being 0.
    pub key: Option<usize>,
}

/// One value with its unit. The digits end where the widest value would end, so that the unit keeps its place.
#[derive(Clone, Debug)]
pub struct Value {
    /// The value.
    pub number: Template,
    /// The digits' face.
    pub face: Arc<Face>,
    /// The unit; without pieces for none.
    pub unit: Template,
    /// The unit's face.
    pub unit_face: Arc<Face>,
    /// Where digits and unit stand.
    pub room: Rectangle,
    /// Across the room.
    pub align: Stand,
    /// The digits' baseline.
    pub baseline: i32,
    /// Pixels that the unit stands above the digits' baseline.
    pub raise: i32,
    /// Room is kept for the widest value; else the value is aligned as it is.
    pub fixed_width: bool,
    /// Pixels that the widest value takes.
    pub widest: i32,
    /// Pixels between digits and unit.
    pub gap: i32,
    /// Pixels that the widest unit takes.
    pub unit_width: i32,
    /// Pixels that the element needs with its widest value.
    pub needs: Size,
    /// Ink or paper.
    pub paint: Paint,
}

/// A bar that follows a field.
#[derive(Clone, Copy, Debug)]
pub struct Bar {
    /// What it follows.
    pub level: Level,
    /// The bar when it is full; may reach beyond the operation's area.
    pub full: Rectangle,
    /// Fills from the bottom up rather than from left to right.
    pub rising: bool,
    /// How shares become pixels.
    pub ends: Ends,
}

/// How shares of a bar become pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ends {
    /// From the pixel of this share to the value's, both filled; nothing where both are the empty end.
    From(f64),
    /// As many pixels from the empty end as the value's share of all, rounded.
    Count,
}

/// A triangle beside a bar.
#[derive(Clone, Copy, Debug)]
pub struct Marker {
    /// Its place.
    pub threshold: Threshold,
    /// The full bar, along which it stands.
    pub full: Rectangle,
    /// The bar fills from the bottom up.
    pub rising: bool,
    /// The row of its base, or its column beside a rising bar: it points down, or to the left.
    pub base: i32,
}

/// A ring, open at the bottom; lengths in pixels from its operation's corner, angles in radians clockwise from the top.
#[derive(Clone, Copy, Debug)]
pub struct Ring {
    /// The middle.
    pub centre: (f64, f64),
    /// The outer radius.
    pub outer: f64,
    /// The inner radius.
    pub inner: f64,
    /// The full end; the empty end is as far the other way.
    pub end: f64,
}

/// A ring that is filled as a field says.
#[derive(Clone, Copy, Debug)]
pub struct Arced {
    /// What it follows.
    pub level: Level,
    /// The share from which it is filled.
    pub from: f64,
    /// The ring.
    pub ring: Ring,
    /// With an outline and a gap inside it; else filled along a line.
    pub outlined: bool,
}

/// A limit's mark inside a ring.
#[derive(Clone, Copy, Debug)]
pub struct RingMarker {
    /// Its place.
    pub threshold: Threshold,
    /// The ring.
    pub ring: Ring,
    /// Its length in pixels.
    pub length: f64,
}

/// Rows of cells, as many as fit, with a scroll bar where they are not all seen.
#[derive(Clone, Debug)]
pub struct Rows {
    /// Holds the position of the selected row.
    pub selected: FieldId,
    /// Says how many of the rows exist; absent: all do.
    pub count: Option<FieldId>,
    /// The cells of each row; a row may have fewer than the columns.
    pub rows: Vec<Vec<Template>>,
    /// The columns.
    pub columns: Vec<Column>,
    /// Pixels from row to row.
    pub pitch: u32,
    /// Pixels of a row across.
    pub width: u32,
    /// Rows seen at once.
    pub visible: usize,
    /// By whole pages rather than with the selection in the middle.
    pub pages: bool,
    /// The scroll bar; empty where all rows are seen.
    pub bar: Rectangle,
}

/// Pixels that a scroll bar takes across.
pub const SCROLL_BAR: u32 = 5;

/// A column of cells.
#[derive(Clone, Debug)]
pub struct Column {
    /// Left edge, from the rows' own.
    pub left: i32,
    /// Pixels across.
    pub width: u32,
    /// How cells are set, and how those of the selected row are.
    pub settings: [Setting; 2],
}

impl Operation {
    /// An operation that is always drawn.
    pub fn new(area: Rectangle, shape: Shape) -> Self {
        Self { area, guard: Guard::Always, shape }
    }

    /// An area filled with ink, or with paper.
    pub fn fill(area: Rectangle, ink: bool) -> Self {
        Self::new(area, Shape::Fill { ink })
    }

    /// The same, drawn only while this holds too.
    pub fn only(self, guard: Guard) -> Self {
        let guard = match (self.guard, guard) {
            (Guard::Always, one) | (one, Guard::Always) => one,
            (one, other) => Guard::All(vec![one, other]),
        };
        Self { guard, ..self }
    }
}

impl Ring {
    /// The angle of a share.
    pub fn angle(&self, share: f64) -> f64 {
        self.end * (2.0 * share.clamp(0.0, 1.0) - 1.0)
    }

    /// The direction of a share in units of 2^-30 half turns, clockwise from the top.
    pub fn bearing(&self, share: f64) -> i32 {
        nearest(f64::from(self.end_bearing()) * (2.0 * share.clamp(0.0, 1.0) - 1.0)) as i32
    }

    /// The direction of the full end in the same units.
    pub fn end_bearing(&self) -> i32 {
        (self.end / std::f64::consts::PI * super::draw::bearing::HALF_TURN).round() as i32
    }

    /// The point at a radius and an angle.
    pub fn point(&self, radius: f64, angle: f64) -> (f64, f64) {
        (self.centre.0 + radius * angle.sin(), self.centre.1 - radius * angle.cos())
    }
}

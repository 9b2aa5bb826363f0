//! Plots: curves over one axis, with bands, a limit and a marked point, as SVG and as PNG.
//!
//! A [`Chart`] says what is to be seen, [`layout`] turns it into a [`scene::Scene`] of plain shapes, and `svg` and `png`
//! write those. Both look the same; the PNG is set in the program's own outline face, so no font has to be installed.
//! Not for calculating what is plotted.

pub mod layout;
pub mod letters;
pub mod palette;
pub mod png;
pub mod scene;
pub mod svg;
pub mod ticks;

/// One axis. All numbers of a chart are in the units of its axes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Axis {
    /// What is on it.
    pub label: String,
    /// The unit's symbol; empty for plain numbers.
    pub unit: String,
    /// Equal ratios are equally far apart.
    pub log: bool,
}

impl Axis {
    /// Label and unit as they stand beside the axis.
    pub fn title(&self) -> String {
        if self.unit.is_empty() { self.label.clone() } else { format!("{} ({})", self.label, self.unit) }
    }
}

/// One curve.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Curve {
    /// Its name, written at its end; empty where there is only one.
    pub label: String,
    /// Points in the order of `x`; a gap where there is no value.
    pub points: Vec<(f64, Option<f64>)>,
    /// `x`, lower and upper end of the band around it; may be empty.
    pub band: Vec<(f64, f64, f64)>,
}

/// A level that must not be passed.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// Where it lies on the `y` axis.
    pub at: f64,
    /// What is written on it.
    pub label: String,
}

/// A point that is marked.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// On the `x` axis.
    pub x: f64,
    /// On the `y` axis.
    pub y: f64,
    /// What is written beside it.
    pub label: String,
}

/// A plot.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Chart {
    /// The first line.
    pub title: String,
    /// The second line: what line and band are.
    pub note: String,
    /// Across.
    pub x: Axis,
    /// Up.
    pub y: Axis,
    /// Curves, drawn from pale to dark.
    pub curves: Vec<Curve>,
    /// The limit, if there is one.
    pub limit: Option<Limit>,
    /// The marked point, if there is one.
    pub mark: Option<Mark>,
}

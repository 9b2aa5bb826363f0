//! The samples of a chart: a line that breaks where samples are missing, or bars.

use super::axis::Scaled;
use crate::frame::Frame;
use crate::screen::guard::{HAIR, nearest};
use embedded_graphics::prelude::{Point, PointsIter, Size};
use embedded_graphics::primitives::{Line, Rectangle};
use schemars::JsonSchema;
use serde::Deserialize;

/// How samples are drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Style {
    /// A line from sample to sample.
    #[default]
    Line,
    /// A bar for each sample. Bars stand on the line of 0, up and down, where the field can be above 0 and the scale holds
    /// it; else on the lower edge: of a field that is never above 0, such as a signal level in dBm, a taller bar is a
    /// greater value.
    Bars,
}

/// Where samples stand along the time axis, the newest at the right edge.
pub struct Columns {
    /// The area inside the axes.
    pub plot: Rectangle,
    /// Places for samples.
    pub samples: usize,
    /// Lines or bars.
    pub style: Style,
}

/// Pixels from the plot beyond which it does not matter how far away a column is.
const FAR: f64 = 65_536.0;

impl Columns {
    /// Pixels from the left edge of the first place, in whole numbers of `1 / parts` pixel pitches.
    fn left(&self, place: usize) -> i32 {
        let width = self.plot.size.width as usize;
        (place * width / self.samples) as i32
    }

    /// The column of a point in time, in samples back from the newest; may be a fraction.
    pub fn back(&self, samples: f64) -> i32 {
        let (x, width) = (self.plot.top_left.x, f64::from(self.plot.size.width));
        let column = match self.style {
            Style::Line => nearest((width - 1.0) * (1.0 - samples / (self.samples - 1) as f64)),
            // The middle of the sample's bar.
            Style::Bars => (width * (1.0 - (samples + 0.5) / self.samples as f64) + HAIR).floor(),
        };
        // A time far outside the plot lands far outside it, but where sums of places still hold.
        x + column.clamp(-FAR, FAR) as i32
    }

    /// Draws the samples, oldest first; the last one is the newest.
    pub fn draw(&self, past: &[f64], stroke: u32, scaled: &Scaled, frame: &mut Frame) {
        match self.style {
            Style::Line => self.line(past, stroke, scaled, frame),
            Style::Bars => self.bars(past, scaled, frame),
        }
    }

    /// A dotted line down the plot so many samples back, and a ring around the sample there.
    pub fn cursor(&self, back: usize, past: &[f64], scaled: &Scaled, frame: &mut Frame) {
        let (x, top) = (self.back(back as f64), self.plot.top_left.y);
        for y in (0..self.plot.size.height as i32).step_by(2) {
            frame.fill(Rectangle::new(Point::new(x, top + y), Size::new(1, 1)).intersection(&self.plot), true);
        }
        let sample = past.iter().rev().nth(back).filter(|value| value.is_finite());
        if let Some(value) = sample {
            for (out, ink) in [(3, false), (2, true), (1, false)] {
                let corner = Point::new(x - out, scaled.row(*value) - out);
                let ring = Rectangle::new(corner, Size::new_equal(2 * out as u32 + 1));
                frame.fill(ring.intersection(&self.plot), ink);
            }
        }
    }

    fn line(&self, past: &[f64], stroke: u32, scaled: &Scaled, frame: &mut Frame) {
        let newest = past.len().saturating_sub(1);
        let mut before: Option<Point> = None;
        for (index, value) in past.iter().enumerate() {
            let here = value.is_finite().then(|| Point::new(self.back((newest - index) as f64), scaled.row(*value)));
            if let Some(here) = here {
                self.brush(before.unwrap_or(here), here, stroke, frame);
            }
            before = here;
        }
    }

    /// A line drawn with a square brush, so that its weight is the same in every direction of a pixel raster.
    fn brush(&self, from: Point, to: Point, stroke: u32, frame: &mut Frame) {
        let out = (stroke / 2) as i32;
        for point in Line::new(from, to).points() {
            let dot = Rectangle::new(point - Point::new_equal(out), Size::new_equal(stroke));
            frame.fill(dot.intersection(&self.plot), true);
        }
    }

    /// The areas that firmware fills for the samples: bars, or a line's points in one row or column.
    pub fn areas(&self, past: &[f64], stroke: u32, scaled: &Scaled) -> Vec<Size> {
        if self.style == Style::Bars {
            return self.bar_areas(past, scaled).map(|bar| bar.intersection(&self.plot).size).collect();
        }
        let newest = past.len().saturating_sub(1);
        // What lies far outside is cut off before it is drawn.
        let (above, below) = (self.plot.top_left.y - 1, self.plot.top_left.y + self.plot.size.height as i32);
        let point = |(index, value): (usize, &f64)| {
            let row = scaled.row(*value).clamp(above, below);
            value.is_finite().then(|| Point::new(self.back((newest - index) as f64), row))
        };
        let points: Vec<Option<Point>> = past.iter().enumerate().map(point).collect();
        let mut areas = Vec::new();
        for (index, here) in points.iter().enumerate() {
            let Some(here) = here else { continue };
            let before = index.checked_sub(1).and_then(|before| points[before]).unwrap_or(*here);
            let (wide, tall) = (here.x.abs_diff(before.x), here.y.abs_diff(before.y));
            let runs = wide.min(tall) + 1;
            let long = (wide.max(tall) + 1).div_ceil(runs) + stroke - 1;
            let size = if tall >= wide { Size::new(stroke, long) } else { Size::new(long, stroke) };
            areas.extend((0..runs).map(|_| size));
        }
        areas
    }

    fn bars(&self, past: &[f64], scaled: &Scaled, frame: &mut Frame) {
        self.bar_areas(past, scaled).for_each(|bar| frame.fill(bar.intersection(&self.plot), true));
        if scaled.stands_on_zero {
            let base = scaled.row(0.0);
            let rule = Rectangle::new(Point::new(self.plot.top_left.x, base), Size::new(self.plot.size.width, 1));
            frame.fill(rule.intersection(&self.plot), true);
        }
    }

    fn bar_areas(&self, past: &[f64], scaled: &Scaled) -> impl Iterator<Item = Rectangle> {
        let bottom = self.plot.top_left.y + self.plot.size.height as i32;
        let base = if scaled.stands_on_zero { scaled.row(0.0) } else { bottom };
        let first = self.samples - past.len().min(self.samples);
        let known = (first..self.samples).zip(past).filter(|(_, value)| value.is_finite());
        known.map(move |(place, value)| {
            let (left, right) = (self.left(place), self.left(place + 1));
            let gap = if right - left > 2 { 1 } else { 0 };
            let row = scaled.row(*value);
            // A bar always has its last row, so that the value 0 differs from a missing one.
            let (top, end) =
                if row < base { (row, base) } else { (base.min(bottom - 1), row.max(base.min(bottom - 1)) + 1) };
            let corner = Point::new(self.plot.top_left.x + left, top);
            Rectangle::new(corner, Size::new((right - left - gap).max(1) as u32, (end - top).max(0) as u32))
        })
    }
}

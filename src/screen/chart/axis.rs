//! The value axis of a chart: its scale, the round numbers along it, its lines.

use super::count::Count;
use crate::frame::Frame;
use crate::frame::blit::Paint;
use crate::screen::face::Face;
use crate::screen::guard::nearest;
use crate::screen::shown::Marks;
use crate::screen::ticks::{self, TickStep};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use std::sync::Arc;

/// What a scale may be.
#[derive(Clone, Copy, Debug)]
pub struct Scale {
    /// Stated lower edge.
    pub low: Option<f64>,
    /// Stated upper edge.
    pub high: Option<f64>,
    /// Stated smallest difference.
    pub least: Option<f64>,
    /// The field's range.
    pub range: [f64; 2],
    /// Decimals that the field shows.
    pub decimals: usize,
}

impl Scale {
    /// Whether the stated edges leave room between them.
    pub fn is_sound(&self) -> bool {
        let (low, high) = (self.low.unwrap_or(self.range[0]), self.high.unwrap_or(self.range[1]));
        low < high && (high - low).is_finite()
    }

    /// The same as a chart counts it.
    pub fn counted(self, count: Option<Count>) -> Self {
        let counted = |number: f64| count.map_or(number, |count| count.counted(number));
        let least = self.least.map(counted);
        Self { low: self.low.map(counted), high: self.high.map(counted), least, range: self.range.map(counted), ..self }
    }

    /// The smallest difference between its edges.
    pub fn least(&self) -> f64 {
        self.least.unwrap_or_else(|| 10.0 * 10f64.powi(-(self.decimals as i32)))
    }

    /// Lower and upper edge around some values, before they are rounded.
    fn around(&self, values: impl Iterator<Item = f64>) -> [f64; 2] {
        let ends = |[low, high]: [f64; 2], value: f64| [low.min(value), high.max(value)];
        let [mut low, mut high] =
            values.filter(|value| value.is_finite()).fold([f64::INFINITY, f64::NEG_INFINITY], ends);
        if low > high {
            [low, high] = self.range;
        }
        let lacks = (self.least() - (high - low)) / 2.0;
        if lacks > 0.0 {
            [low, high] = [low - lacks, high + lacks];
        }
        let [low, high] = [self.low.unwrap_or(low), self.high.unwrap_or(high)];
        // One stated edge may lie beyond all values.
        match (self.low, self.high) {
            (Some(_), None) => [low, high.max(low + self.least())],
            (None, Some(_)) => [low.min(high - self.least()), high],
            _ => [low, high],
        }
    }
}

/// A value axis.
#[derive(Clone, Debug)]
pub struct Axis {
    /// What its scale may be.
    pub scale: Scale,
    /// How many ticks are wanted; `None` for what its height holds; 0 for no axis.
    pub wanted: Option<usize>,
    /// Face of its numbers.
    pub face: Arc<Face>,
    /// The unit above them; empty for none.
    pub unit: String,
    /// The marks in its numbers.
    pub marks: Marks,
}

/// The unit of an axis in its place.
#[derive(Clone, Debug, PartialEq)]
pub struct UnitMark {
    /// The unit.
    pub text: String,
    /// Its first origin on the baseline.
    pub origin: Point,
}

/// Length of a tick.
const TICK: i32 = 2;
/// Pixels between a number and its tick.
const GAP: i32 = 2;
/// Pixels between the unit and the topmost number.
const UNIT_GAP: i32 = 3;

impl Axis {
    /// Pixels that it takes left of the plot, its line included, and above it.
    pub fn margin(&self) -> (i32, i32) {
        let number = match self.widest() {
            Some(text) => self.face.width(&text),
            None => return (1, 0),
        };
        let half = self.face.cap_height / 2;
        if self.unit.is_empty() {
            return (number + GAP + TICK + 1, half);
        }
        // The unit's line, then the upper half of the topmost number.
        (number.max(self.face.width(&self.unit)) + GAP + TICK + 1, self.unit_rise() + UNIT_GAP + half)
    }

    /// Height of the unit's ink above its baseline: a degree sign may be taller than capitals.
    fn unit_rise(&self) -> i32 {
        self.unit.chars().map(|character| self.face.glyph(character).top).max().unwrap_or(0)
    }

    /// The widest number it can have: the ends of the field's range at every step that its scale can come to.
    pub fn widest(&self) -> Option<String> {
        if self.wanted == Some(0) {
            return None;
        }
        let fixed = self.scale.low.zip(self.scale.high);
        let [low, high] = fixed.map_or(self.scale.range, |(low, high)| [low, high]);
        let mut size = if fixed.is_some() { high - low } else { self.scale.least() };
        let mut steps = Vec::new();
        // From the finest scale to the coarsest: each doubling passes every step at least once.
        while steps.len() < 64 {
            let choose = if fixed.is_some() { ticks::step_within } else { ticks::step };
            steps.extend((2..=8).map(|usual| choose(0.0, size, self.wanted.unwrap_or(usual), self.scale.decimals)));
            if size >= high - low {
                break;
            }
            size *= 2.0;
        }
        let numbers = |step: &TickStep| {
            let counts =
                if fixed.is_some() { [step.above(low), step.below(high)] } else { [step.below(low), step.above(high)] };
            counts.map(|count| self.marks.put(&step.text(count)))
        };
        steps.iter().flat_map(numbers).max_by_key(|text| self.face.width(text))
    }

    /// The widest number and the unit.
    pub fn texts(&self) -> Vec<String> {
        let unit = Some(self.unit.clone()).filter(|unit| !unit.is_empty());
        [self.widest(), unit].into_iter().flatten().collect()
    }

    /// How many ticks are wanted on a plot.
    pub fn ticks(&self, plot: Rectangle) -> usize {
        let usual = (plot.size.height as i32 / (self.face.cap_height * 2 + 2).max(1)).clamp(2, 8) as usize;
        self.wanted.filter(|wanted| *wanted > 0).unwrap_or(usual)
    }

    /// Its own line and the base line.
    pub fn lines(&self, plot: Rectangle) -> [Rectangle; 2] {
        let (x, y) = (plot.top_left.x - 1, plot.top_left.y);
        let Size { width, height } = plot.size;
        let base = Rectangle::new(Point::new(x, y + height as i32), Size::new(width + 1, 1));
        [Rectangle::new(Point::new(x, y), Size::new(1, height + 1)), base]
    }

    /// The unit over the numbers, which end at the same column; `None` where there is none.
    pub fn unit_mark(&self, plot: Rectangle, area: Rectangle) -> Option<UnitMark> {
        let left = plot.top_left.x - 1 - TICK - GAP - self.face.width(&self.unit) + 1;
        let origin = Point::new(left, area.top_left.y + self.unit_rise());
        (self.wanted != Some(0) && !self.unit.is_empty()).then(|| UnitMark { text: self.unit.clone(), origin })
    }

    /// The scale of the moment. Edges that are not stated become multiples of the step.
    pub fn scaled(&self, past: &[f64], threshold: Option<f64>, plot: Rectangle) -> Scaled {
        let wanted = self.ticks(plot);
        let [low, high] = self.scale.around(past.iter().copied().chain(threshold));
        let step = match (self.scale.low, self.scale.high) {
            (Some(_), Some(_)) => ticks::step_within(low, high, wanted, self.scale.decimals),
            _ => ticks::step(low, high, wanted, self.scale.decimals),
        };
        let low = self.scale.low.unwrap_or_else(|| step.multiple(step.below(low)));
        let high = self.scale.high.unwrap_or_else(|| step.multiple(step.above(high)));
        let stands_on_zero = self.scale.range[1] > 0.0 && low < 0.0 && high >= 0.0;
        Scaled { low, high, step, plot, shown: self.wanted != Some(0), stands_on_zero }
    }
}

/// A value axis with the scale of the moment.
pub struct Scaled {
    low: f64,
    high: f64,
    step: TickStep,
    plot: Rectangle,
    shown: bool,
    /// Bars stand on the line of 0, up and down; else on the lower edge.
    pub stands_on_zero: bool,
}

impl Scaled {
    /// The row of a value, which may lie outside the plot. The lower edge is the base line, just below the plot.
    pub fn row(&self, value: f64) -> i32 {
        let height = f64::from(self.plot.size.height);
        let up = (value - self.low) / (self.high - self.low) * height;
        // Far outside is as good as just outside.
        self.plot.top_left.y + nearest(height - up).clamp(-8_192.0, 8_192.0) as i32
    }

    fn rows(&self) -> impl Iterator<Item = (i64, i32)> {
        ticks::inside(self.step, self.low, self.high).map(|count| (count, self.row(self.step.multiple(count))))
    }

    /// Dotted lines at the ticks.
    pub fn grid(&self, frame: &mut Frame) {
        for (_, y) in self.rows() {
            self.broken(y, 1, 3, frame);
        }
    }

    /// A dashed line at a value, if it lies inside the plot.
    pub fn dashes(&self, value: f64, frame: &mut Frame) {
        if (self.low..=self.high).contains(&value) {
            self.broken(self.row(value), 5, 3, frame);
        }
    }

    fn broken(&self, y: i32, ink: u32, gap: u32, frame: &mut Frame) {
        for x in (0..self.plot.size.width).step_by((ink + gap) as usize) {
            let dash = Rectangle::new(Point::new(self.plot.top_left.x + x as i32, y), Size::new(ink, 1));
            frame.fill(dash.intersection(&self.plot), true);
        }
    }

    /// The axis' lines, ticks and numbers.
    pub fn axis(&self, axis: &Axis, area: Rectangle, frame: &mut Frame) {
        axis.lines(self.plot).into_iter().for_each(|line| frame.fill(line.intersection(&area), true));
        if !self.shown {
            return;
        }
        if let Some(unit) = axis.unit_mark(self.plot, area) {
            axis.face.draw(&unit.text, unit.origin, area, Paint::Ink, frame);
        }
        let x = self.plot.top_left.x - 1;
        for (count, y) in self.rows() {
            frame.fill(Rectangle::new(Point::new(x - TICK, y), Size::new(TICK as u32, 1)).intersection(&area), true);
            let text = axis.marks.put(&self.step.text(count));
            let baseline = Point::new(
                x - TICK - GAP - axis.face.width(&text) + 1,
                y - axis.face.cap_height / 2 + axis.face.cap_height,
            );
            axis.face.draw(&text, baseline, area, Paint::Ink, frame);
        }
    }
}

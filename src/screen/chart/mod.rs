//! The history of a field over an axis of values and one of time: as data, and drawn.
//!
//! Gaps stay where samples are missing. What the axes carry is settled in [`axis`] and [`hours`]; here all is put together.

pub mod axis;
pub mod count;
pub mod hours;
pub mod series;

use super::shown::Scale as UnitScale;
use super::values::{FieldId, Limit, Values};
use crate::frame::Frame;
use axis::{Axis, Scaled};
use count::Count;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use hours::Hours;
use series::{Columns, Style};

/// What a chart shows at a moment.
pub(super) struct Seen {
    /// Samples, oldest first.
    pub past: Vec<f64>,
    /// The dashed line.
    pub threshold: Option<f64>,
    /// The value axis with its scale.
    pub scaled: Scaled,
}

/// A field's history with its axes.
#[derive(Clone, Debug)]
pub struct History {
    /// The field.
    pub field: FieldId,
    /// How many of its past values are shown, the present one among them.
    pub samples: usize,
    /// A line or bars.
    pub style: Style,
    /// Thickness of the line in pixels.
    pub stroke: u32,
    /// The value axis.
    pub axis: Axis,
    /// The time axis.
    pub hours: Option<Hours>,
    /// Drawn as a dashed line; the scale makes room for it.
    pub threshold: Option<Limit>,
    /// Dotted lines at the ticks.
    pub grid: bool,
    /// The unit that it is drawn in; the axis' scale counts in it.
    pub unit: UnitScale,
    /// How it counts; `None` where its scale is too long for its decimals, which only firmware cannot do.
    pub count: Option<Count>,
    /// Says how many samples back the cursor stands.
    pub cursor: Option<FieldId>,
    /// The area inside the axes.
    pub plot: Rectangle,
}

impl History {
    /// A value of the field in the unit that is shown.
    fn shown(&self, value: f64) -> f64 {
        self.count.map_or_else(|| self.unit.shown(value), |count| count.shown(value, self.unit))
    }

    /// Samples, threshold and scale of the moment, in the unit that is shown.
    pub(super) fn seen(&self, values: &Values) -> Seen {
        let past = values.past(self.field);
        let past: Vec<f64> =
            past[past.len().saturating_sub(self.samples)..].iter().map(|value| self.shown(*value)).collect();
        let threshold = self.threshold.map(|limit| match limit {
            Limit::Number(number) => self.counted(self.unit.shown(number)),
            Limit::Field(field) => self.shown(values.of(field)),
        });
        let scaled = self.axis.scaled(&past, threshold, self.plot);
        Seen { past, threshold, scaled }
    }

    fn counted(&self, shown: f64) -> f64 {
        self.count.map_or(shown, |count| count.counted(shown))
    }

    /// Draws it; nothing where its axes leave no room.
    pub(super) fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        let plot = self.plot;
        if plot.size.width < 2 || plot.size.height < 2 {
            return;
        }
        let Seen { past, threshold, scaled } = self.seen(values);
        let columns = Columns { plot, samples: self.samples, style: self.style };
        if self.grid {
            scaled.grid(frame);
        }
        scaled.axis(&self.axis, area, frame);
        if let Some(hours) = &self.hours {
            hours.draw(&columns, area, values, frame);
        }
        if let Some(threshold) = threshold {
            scaled.dashes(threshold, frame);
        }
        columns.draw(&past, self.stroke, &scaled, frame);
        if let Some(cursor) = self.cursor {
            // The cast makes 0 of a missing value and of a negative one.
            let back = (values.of(cursor).round() as usize).min(self.samples - 1);
            columns.cursor(back, &past, &scaled, frame);
        }
        if !past.iter().any(|value| value.is_finite()) {
            // A dash, as everywhere for a missing value.
            let dash = Rectangle::new(plot.center() - Point::new(3, 0), Size::new(7, 1));
            frame.fill(dash.intersection(&plot), true);
        }
    }
}

//! The time axis of a chart: how far back samples lie, or the time of day they are from.

use super::series::Columns;
use crate::frame::Frame;
use crate::frame::blit::Paint;
use crate::screen::face::Face;
use crate::screen::values::{FieldId, Values};
use crate::units::Seconds;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use std::sync::Arc;

/// A time axis.
#[derive(Clone, Debug)]
pub struct Hours {
    /// The field with the time of day; `None` labels by how far back it is.
    pub clock: Option<FieldId>,
    /// Time from one sample to the next.
    pub interval: Seconds,
    /// Face of the labels.
    pub face: Arc<Face>,
}

/// Steps between labels in seconds: round in the way that clocks and calendars are.
const STEPS: [f64; 20] = [
    1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1_800.0, 3_600.0, 7_200.0, 10_800.0, 21_600.0,
    43_200.0, 86_400.0, 172_800.0, 604_800.0,
];
/// Length of a tick.
const TICK: i32 = 2;
/// Pixels between a tick and its label.
const GAP: i32 = 2;
/// Pixels between labels at least.
const APART: i32 = 6;

/// A tick and its label in their places.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// The tick's pixels.
    pub tick: Rectangle,
    /// The label.
    pub text: String,
    /// The label's first origin on its baseline.
    pub origin: Point,
}

/// A label above its column.
struct Label {
    column: i32,
    text: String,
}

impl Hours {
    /// Pixels that it takes below the plot, its line included.
    pub fn margin(&self) -> i32 {
        1 + TICK + GAP + self.face.cap_height
    }

    /// Every character that its labels can need.
    pub fn characters(&self) -> std::str::Chars<'static> {
        if self.clock.is_some() { "0123456789:.".chars() } else { "0123456789−smhd ".chars() }
    }

    /// Draws ticks and labels, as many as stand apart.
    pub fn draw(&self, columns: &Columns, area: Rectangle, values: &Values, frame: &mut Frame) {
        for Mark { tick, text, origin } in self.marks(columns, area, values) {
            frame.fill(tick.intersection(&area), true);
            self.face.draw(&text, origin, area, Paint::Ink, frame);
        }
    }

    /// Ticks and labels, as many as stand apart.
    pub fn marks(&self, columns: &Columns, area: Rectangle, values: &Values) -> Vec<Mark> {
        let shown = self.interval.0 * (columns.samples - 1) as f64;
        for step in STEPS.into_iter().filter(|step| shown / step <= 64.0) {
            let labels = match self.clock {
                None => self.labels_back(step, shown, columns),
                Some(clock) => self.labels_clock(step, shown, values.of(clock), columns, values),
            };
            if self.stand_apart(&labels, area) {
                return labels.into_iter().map(|label| self.mark(label, columns, area)).collect();
            }
        }
        Vec::new()
    }

    /// Labels `−24 h  −18  ...  0`: the unit stands with the oldest only.
    fn labels_back(&self, step: f64, shown: f64, columns: &Columns) -> Vec<Label> {
        let (size, unit) = match step {
            step if step >= 86_400.0 => (86_400.0, "d"),
            step if step >= 3_600.0 => (3_600.0, "h"),
            step if step >= 60.0 => (60.0, "m"),
            _ => (1.0, "s"),
        };
        let count = (shown / step + 1e-9).floor() as i64;
        let label = |index: i64| {
            let number = (index as f64 * step / size).round();
            let text = match index {
                0 => "0".to_owned(),
                index if index == count => format!("−{number} {unit}"),
                _ => format!("−{number}"),
            };
            Label { column: columns.back(index as f64 * step / self.interval.0), text }
        };
        (0..=count).rev().map(label).collect()
    }

    /// Labels `06:00  12:00  ...` at round times of day.
    fn labels_clock(&self, step: f64, shown: f64, now: f64, columns: &Columns, values: &Values) -> Vec<Label> {
        if !now.is_finite() {
            return Vec::new();
        }
        // The newest sample is from the last renewal, and renewals count from the start.
        let newest = (now / self.interval.0 + 1e-9).floor() * self.interval.0;
        let pattern = if step < 86_400.0 { "%H:%M" } else { "%d.%m." };
        let (first, last) = (((newest - shown) / step).ceil() as i64, (newest / step).floor() as i64);
        let label = |index: i64| {
            let time = index as f64 * step;
            let text = values.moment(time).strftime(pattern).to_string();
            Label { column: columns.back((newest - time) / self.interval.0), text }
        };
        (first..=last.min(first.saturating_add(64))).map(label).collect()
    }

    /// Left edge of a label: centred at its tick, moved in from the area's edges.
    fn left(&self, label: &Label, area: Rectangle) -> i32 {
        let width = self.face.width(&label.text);
        let (start, end) = (area.top_left.x, area.top_left.x + area.size.width as i32);
        (label.column - (width - 1) / 2).min(end - width).max(start)
    }

    fn stand_apart(&self, labels: &[Label], area: Rectangle) -> bool {
        labels
            .windows(2)
            .all(|pair| self.left(&pair[0], area) + self.face.width(&pair[0].text) + APART <= self.left(&pair[1], area))
    }

    fn mark(&self, label: Label, columns: &Columns, area: Rectangle) -> Mark {
        let below = columns.plot.top_left.y + columns.plot.size.height as i32 + 1;
        let tick = Rectangle::new(Point::new(label.column, below), Size::new(1, TICK as u32));
        let origin = Point::new(self.left(&label, area), below + TICK + GAP + self.face.cap_height);
        Mark { tick, text: label.text, origin }
    }
}

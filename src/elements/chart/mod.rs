//! `chart`: the history of a field as a line or as bars, over an axis of values and one of time.
//!
//! Gaps stay where samples are missing. What the axes carry is settled in [`axis`] and [`hours`]; here all is put together.

mod axis;
mod hours;
mod series;

use super::{Element, SetText, Spec};
use crate::elements::scope::Scope;
use crate::frame::Frame;
use crate::screen::condition::LimitSpec;
use crate::screen::values::{FieldId, Limit, Values};
use crate::source::amount::At;
use crate::source::fault::Fault;
use axis::{Axis, Scale};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use hours::Hours;
use schemars::JsonSchema;
use serde::Deserialize;
use series::Style;

/// Keys of `chart`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Chart {
    /// The field.
    chart: At<String>,
    /// How many of its past values are shown, the present one among them.
    samples: At<usize>,
    /// Lines or bars.
    #[serde(default)]
    style: Style,
    /// Thickness of the line in pixels, 1 to 4.
    stroke: Option<At<u32>>,
    /// Value at the lower edge; absent: a round number below the smallest value shown.
    low: Option<f64>,
    /// Value at the upper edge; absent: a round number above the largest value shown.
    high: Option<f64>,
    /// Smallest difference between the edges where they follow the values, so that noise is not blown up; absent: ten
    /// steps of the field's last decimal.
    least: Option<At<f64>>,
    /// About how many numbers stand at the value axis; absent: as many as stand well in its height; 0 for no axis.
    ticks: Option<usize>,
    /// Whether the field's unit stands above the numbers of the value axis.
    #[serde(default)]
    unit: bool,
    /// Dotted lines at the ticks.
    #[serde(default)]
    grid: bool,
    /// A number or field drawn as a dashed line; the scale makes room for it.
    threshold: Option<At<LimitSpec>>,
    /// How the time axis is labelled; absent: by how far back it lies, in hours, minutes or days.
    #[serde(default)]
    time: TimeLabels,
    /// The clock field that `time = "clock"` reads.
    clock: Option<At<String>>,
    /// Face of the numbers; absent: `small`.
    face: Option<At<String>>,
}

/// How a time axis is labelled.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum TimeLabels {
    /// By how far back the sample lies.
    #[default]
    Back,
    /// By the time of day; needs `clock`.
    Clock,
    /// Not at all.
    None,
}

#[derive(Debug)]
struct Ready {
    field: FieldId,
    samples: usize,
    style: Style,
    stroke: i32,
    axis: Axis,
    hours: Option<Hours>,
    threshold: Option<Limit>,
    grid: bool,
}

/// Samples of one chart at most.
const MOST_SAMPLES: usize = 4_096;

impl Spec for Chart {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let face = scope.face(self.face.as_ref(), "small");
        let field = scope.field(&self.chart);
        let threshold = self.threshold.as_ref().map(|limit| scope.limit(limit));
        let clock = self.clock.as_ref().map(|name| scope.field(name));
        let (face, field) = (face?, field?);
        let threshold = threshold.map_or(Some(None), |limit| limit.map(Some))?;
        let clock = clock.map_or(Some(None), |clock| clock.map(Some))?;
        self.check(scope)?;
        let scale = Scale {
            low: self.low,
            high: self.high,
            least: self.least.as_ref().map(|least| least.value),
            range: scope.range(field),
            decimals: scope.decimals(field),
        };
        if !scale.is_sound() {
            scope.fault(Fault::at(self.chart.span.clone(), "this chart's lower edge is not below its upper edge"));
            return None;
        }
        let unit = if self.unit && self.ticks != Some(0) { scope.unit(field) } else { String::new() };
        scope.needs_glyphs(&face, &self.chart.span, unit.chars());
        let axis = Axis { scale, wanted: self.ticks, face: face.clone(), unit };
        let interval = scope.interval(field);
        let hours = Hours { clock: clock.filter(|_| self.time == TimeLabels::Clock), interval, face: face.clone() };
        scope.needs_glyphs(&face, &self.chart.span, "0123456789".chars());
        let hours = (self.time != TimeLabels::None).then_some(hours);
        if let Some(hours) = &hours {
            scope.needs_glyphs(&face, &self.chart.span, hours.characters());
        }
        Some(Box::new(Ready {
            field,
            samples: self.samples.value.clamp(2, MOST_SAMPLES),
            style: self.style,
            stroke: self.stroke.as_ref().map_or(2, |stroke| stroke.value.clamp(1, 4)) as i32,
            axis,
            hours,
            threshold,
            grid: self.grid,
        }))
    }
}

impl Chart {
    fn check(&self, scope: &mut Scope<'_>) -> Option<()> {
        let mut sound = true;
        let mut fault = |fault| {
            scope.fault(fault);
            sound = false;
        };
        if !(2..=MOST_SAMPLES).contains(&self.samples.value) {
            fault(Fault::at(self.samples.span.clone(), format!("a chart has 2 to {MOST_SAMPLES} samples")));
        }
        if let Some(stroke) = self.stroke.as_ref().filter(|stroke| !(1..=4).contains(&stroke.value)) {
            fault(Fault::at(stroke.span.clone(), "a chart's line is 1 to 4 pixels thick"));
        }
        if let Some(least) = self.least.as_ref().filter(|least| !(least.value > 0.0 && least.value.is_finite())) {
            fault(Fault::at(least.span.clone(), "the smallest difference between the edges must be above 0"));
        }
        if (self.time == TimeLabels::Clock) != self.clock.is_some() {
            let place = self.clock.as_ref().map_or(&self.chart.span, |clock| &clock.span);
            let message = Fault::at(place.clone(), "`time = \"clock\"` and `clock` go together");
            fault(message.help("name the field that holds the time: time = \"clock\", clock = \"now\""));
        }
        sound.then_some(())
    }
}

impl Ready {
    /// The area inside the axes.
    fn plot(&self, area: Rectangle) -> Rectangle {
        let (left, top) = self.axis.margin();
        let bottom = self.hours.as_ref().map_or(1, Hours::margin);
        let (left, top, bottom) = (left.max(0) as u32, top.max(0) as u32, bottom.max(0) as u32);
        let size = Size::new(area.size.width.saturating_sub(left), area.size.height.saturating_sub(top + bottom));
        Rectangle::new(area.top_left + Point::new(left as i32, top as i32), size)
    }
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        let (left, top) = self.axis.margin();
        let bottom = self.hours.as_ref().map_or(1, Hours::margin);
        Size::new(left.max(0) as u32 + self.samples as u32, (top + bottom).max(0) as u32 + 24)
    }

    fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        let plot = self.plot(area);
        if plot.size.width < 2 || plot.size.height < 2 {
            return;
        }
        let past = values.past(self.field);
        let past = &past[past.len().saturating_sub(self.samples)..];
        let threshold = self.threshold.map(|limit| limit.of(values));
        let scaled = self.axis.scaled(past, threshold, plot);
        let columns = series::Columns { plot, samples: self.samples, style: self.style };
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
        columns.draw(past, self.stroke, &scaled, frame);
        if !past.iter().any(|value| value.is_finite()) {
            // A dash, as everywhere for a missing value.
            let dash = Rectangle::new(plot.center() - Point::new(3, 0), Size::new(7, 1));
            frame.fill(dash.intersection(&plot), true);
        }
    }

    fn fields(&self) -> Vec<FieldId> {
        let clock = self.hours.as_ref().and_then(|hours| hours.clock);
        [Some(self.field), self.threshold.and_then(Limit::field), clock].into_iter().flatten().collect()
    }

    fn history(&self) -> Option<(FieldId, usize)> {
        Some((self.field, self.samples))
    }

    fn texts(&self, area: Rectangle) -> Vec<SetText> {
        let unit = Some(self.axis.unit.clone()).filter(|unit| !unit.is_empty());
        [self.axis.widest(), unit].into_iter().flatten().map(|text| self.axis.text(text, area)).collect()
    }
}

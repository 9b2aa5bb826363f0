//! `chart`: the history of a field as a line or as bars, over an axis of values and one of time.
//!
//! Its keys are settled here; it is one operation, [`History`].

use super::{Element, Spec};
use crate::elements::scope::Scope;
use crate::screen::chart::History;
use crate::screen::chart::axis::{Axis, Scale};
use crate::screen::chart::count::Count;
use crate::screen::chart::hours::Hours;
use crate::screen::chart::series::Style;
use crate::screen::condition::LimitSpec;
use crate::screen::guard::Guard;
use crate::screen::operation::{Operation, Shape};
use crate::screen::shown::Scale as UnitScale;
use crate::screen::values::{FieldId, Limit};
use crate::source::amount::At;
use crate::source::fault::Fault;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;

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
    min_span: Option<At<f64>>,
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
    /// The field that says how many samples back a cursor stands, 0 being the newest.
    cursor: Option<At<String>>,
    /// How the time axis is labelled; absent: by how far back it lies, in hours, minutes or days.
    #[serde(default)]
    time: TimeLabels,
    /// The clock field that `time = "clock"` reads.
    clock: Option<At<String>>,
    /// Font of the numbers; absent: `small`.
    font: Option<At<String>>,
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

/// A chart without its place, in each unit that it is drawn in.
#[derive(Debug)]
struct Ready(Vec<(Guard, History)>);

/// Samples of one chart at most.
const MOST_SAMPLES: usize = 4_096;

impl Spec for Chart {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let face = scope.face(self.font.as_ref(), "small");
        let field = scope.field(&self.chart);
        let threshold = self.threshold.as_ref().map(|limit| scope.limit(limit));
        let clock = self.clock.as_ref().map(|name| scope.field(name));
        let (face, field) = (face?, field?);
        let threshold = threshold.map_or(Some(None), |limit| limit.map(Some))?;
        let clock = clock.map_or(Some(None), |clock| clock.map(Some))?;
        let cursor = self.cursor.as_ref().map(|name| self.cursor(name, scope));
        let cursor = cursor.map_or(Some(None), |cursor| cursor.map(Some))?;
        self.check(scope)?;
        let interval = scope.interval(field);
        let hours = Hours { clock: clock.filter(|_| self.time == TimeLabels::Clock), interval, face: face.clone() };
        scope.needs_glyphs(&face, &self.chart.span, "0123456789".chars());
        let hours = (self.time != TimeLabels::None).then_some(hours);
        if let Some(hours) = &hours {
            scope.needs_glyphs(&face, &self.chart.span, hours.characters());
        }
        let history = |unit: UnitScale, axis, count| History {
            field,
            samples: self.samples.value.clamp(2, MOST_SAMPLES),
            style: self.style,
            stroke: self.stroke.as_ref().map_or(2, |stroke| stroke.value.clamp(1, 4)),
            axis,
            hours: hours.clone(),
            threshold,
            grid: self.grid,
            unit,
            count,
            cursor,
            plot: Rectangle::zero(),
        };
        let mut all = Vec::new();
        for (guard, unit, name, decimals) in scope.views(field) {
            let shown = |value: f64| unit.shown(value);
            let scale = Scale {
                low: self.low.map(shown),
                high: self.high.map(shown),
                least: self.min_span.as_ref().map(|least| least.value * unit.factor),
                range: scope.range(field).map(shown),
                decimals,
            };
            if !scale.is_sound() {
                scope.fault(Fault::at(self.chart.span.clone(), "this chart's lower edge is not below its upper edge"));
                return None;
            }
            let limit = threshold.and_then(Limit::number).map(shown);
            let finest = threshold.and_then(Limit::field).map_or(0, |other| scope.held(other));
            let held = scope.held(field).max(finest);
            let count = Count::of(&scale, limit, unit, scope.range(field), held);
            let scale = scale.counted(count);
            let name = if self.unit && self.ticks != Some(0) { name } else { String::new() };
            let axis = Axis { scale, wanted: self.ticks, face: face.clone(), unit: name, marks: scope.marks };
            scope.needs_glyphs(&face, &self.chart.span, axis.texts().concat().chars());
            all.push((guard, history(unit, axis, count)));
        }
        Some(Box::new(Ready(all)))
    }
}

impl Chart {
    /// The cursor's field, which counts this chart's samples.
    fn cursor(&self, name: &At<String>, scope: &mut Scope<'_>) -> Option<FieldId> {
        let field = scope.field(name)?;
        let [low, high] = scope.range(field);
        let last = self.samples.value.saturating_sub(1);
        if low != 0.0 || high != last as f64 {
            let fault =
                Fault::at(name.span.clone(), format!("`{}` does not count the samples of this chart", name.value));
            let fault = fault.label(format!("its range is {low} to {high}, the samples are 0 to {last}"));
            scope.fault(fault.help(format!("give the field range = [0, {last}]")));
            return None;
        }
        Some(field)
    }

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
        if let Some(least) = self.min_span.as_ref().filter(|least| !(least.value > 0.0 && least.value.is_finite())) {
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
    /// Pixels that the axes take at the left, at the top and at the bottom.
    fn margins(&self) -> [u32; 3] {
        // The plot keeps its place when the unit changes.
        let margins = self.0.iter().map(|(_, history)| {
            let (left, top) = history.axis.margin();
            [left, top, history.hours.as_ref().map_or(1, Hours::margin)]
        });
        let most = margins.fold([0; 3], |most, one| [0, 1, 2].map(|at| most[at].max(one[at])));
        most.map(|pixels| pixels.max(0) as u32)
    }
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        let [left, top, bottom] = self.margins();
        let samples = self.0.first().map_or(0, |(_, history)| history.samples as u32);
        Size::new(left + samples, top + bottom + 24)
    }

    fn operations(&self, area: Rectangle) -> Vec<Operation> {
        let [left, top, bottom] = self.margins();
        let size = Size::new(area.size.width.saturating_sub(left), area.size.height.saturating_sub(top + bottom));
        let plot = Rectangle::new(area.top_left + Point::new(left as i32, top as i32), size);
        let draw = |(guard, history): &(Guard, History)| {
            let history = History { plot, ..history.clone() };
            Operation::new(area, Shape::History(Box::new(history))).only(guard.clone())
        };
        self.0.iter().map(draw).collect()
    }
}

//! `gauge`: a bar or an arc whose filling follows a field, with ticks at round numbers and a mark at a limit.
//!
//! A missing value leaves it empty with a dash in its middle. What a gauge shows is settled here; [`bar`] and [`arc`] place it.

mod arc;
mod bar;

use super::{Element, Spec};
use crate::elements::scope::Scope;
use crate::screen::condition::LimitSpec;
use crate::screen::face::Face;
use crate::screen::guard::{Guard, Level, Threshold, share};
use crate::screen::operation::Operation;
use crate::screen::shown::{Marks, Scale};
use crate::screen::ticks::{self, TickStep};
use crate::screen::values::Limit;
use crate::source::amount::At;
use crate::source::fault::Fault;
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;
use std::sync::Arc;

/// Keys of `gauge`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Gauge {
    /// The field.
    gauge: At<String>,
    /// The way it fills.
    #[serde(default)]
    direction: Direction,
    /// Value at the empty end; absent: the smallest of the field's range.
    low: Option<f64>,
    /// Value at the full end; absent: the largest of the field's range.
    high: Option<f64>,
    /// Value from which it is filled; absent: the empty end.
    origin: Option<f64>,
    /// About how many ticks, at round numbers; 0 for none.
    #[serde(default)]
    ticks: usize,
    /// Font of the numbers: at the ticks of a bar, at the ends of an arc; absent: no numbers.
    font: Option<At<String>>,
    /// A number or field that is marked.
    limit: Option<At<LimitSpec>>,
    /// Thickness of the bar in pixels, outline included; absent: what ticks and mark leave, 9 for an arc.
    bar: Option<u32>,
    /// Arc only: how far it goes round in degrees, 90 to 330; absent: 240.
    sweep: Option<At<u32>>,
}

/// The way a gauge fills.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Direction {
    /// From left to right; ticks below, the mark above.
    #[default]
    Horizontal,
    /// From the bottom up; ticks at the left, the mark at the right.
    Vertical,
    /// Clockwise round a gap at the bottom; ticks outside, the mark inside.
    Arc,
}

/// Bars at least this thick have an outline; thinner ones fill along a line.
const OUTLINED: i32 = 5;
/// Length of a tick.
const TICK: i32 = 3;
/// Pixels between a tick and its number.
const TICK_GAP: i32 = 2;
/// Height of the limit's mark and the space under it.
const MARK: i32 = 4;
/// Thickness where nothing is stated.
const USUAL_BAR: i32 = 9;

/// The numbers along a gauge in one unit.
#[derive(Debug)]
struct View {
    guard: Guard,
    unit: Scale,
    step: Option<TickStep>,
    marks: Marks,
}

/// A tick: when it is there, its value and its number.
type Tick = (Guard, f64, String);

/// What a gauge shows, whatever its shape.
#[derive(Debug)]
struct Reading {
    level: Level,
    origin: f64,
    views: Vec<View>,
    face: Option<Arc<Face>>,
    limit: Option<Limit>,
    bar: Option<i32>,
}

impl Reading {
    /// The ticks' values with their numbers, in each unit.
    fn ticks(&self) -> Vec<Tick> {
        let one = |view: &View| -> Vec<Tick> {
            let Some(step) = view.step else { return Vec::new() };
            let [low, high] = self.scale().map(|end| view.unit.shown(end));
            let text = |count| view.marks.put(&step.text(count));
            let tick = |count| (view.guard.clone(), view.unit.held(step.multiple(count)), text(count));
            ticks::inside(step, low, high).map(tick).collect()
        };
        self.views.iter().flat_map(one).collect()
    }

    /// Whether it has ticks.
    fn has_ticks(&self) -> bool {
        self.views.iter().any(|view| view.step.is_some())
    }

    /// The scale's values at the empty and the full end.
    fn scale(&self) -> [f64; 2] {
        self.level.scale
    }

    /// A value's place from the empty end, 0, to the full end, 1.
    fn share(&self, value: f64) -> f64 {
        share(value, self.scale())
    }

    /// The limit on the scale.
    fn threshold(&self) -> Option<Threshold> {
        self.limit.map(|limit| Threshold { limit, scale: self.scale() })
    }

    /// A dash where the value is missing.
    fn dash(&self, place: Rectangle, ink: bool) -> Operation {
        Operation::fill(place, ink).only(Guard::Missing(self.level))
    }
}

impl Spec for Gauge {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let reading = self.reading(scope)?;
        if let Some(sweep) = &self.sweep
            && (self.direction != Direction::Arc || !arc::SWEEPS.contains(&sweep.value))
        {
            let fault = Fault::at(sweep.span.clone(), "`sweep` is for arcs, 90 to 330 degrees");
            scope.fault(fault.help("write direction = \"arc\", sweep = 240"));
        }
        let arc = arc::Arc { reading, sweep: self.sweep.as_ref().map_or(240, |sweep| sweep.value.clamp(90, 330)) };
        if self.direction == Direction::Arc {
            if let Some(face) = &self.font {
                let numbers: String = arc.ends().into_iter().flat_map(|(_, ends)| ends).collect();
                if let Some(set) = &arc.reading.face {
                    scope.needs_glyphs(set, &face.span, numbers.chars());
                }
            }
            return Some(Box::new(arc));
        }
        let reading = arc.reading;
        if let (Some(set), Some(face)) = (&reading.face, &self.font) {
            scope.needs_glyphs(set, &face.span, reading.ticks().iter().flat_map(|(.., text)| text.chars()));
        }
        Some(Box::new(bar::Bar { reading, vertical: self.direction == Direction::Vertical }))
    }
}

impl Gauge {
    fn reading(&self, scope: &mut Scope<'_>) -> Option<Reading> {
        let face = self.font.as_ref().map(|name| scope.face(Some(name), "small"));
        let limit = self.limit.as_ref().map(|limit| scope.limit(limit));
        let field = scope.field(&self.gauge)?;
        let [low, high] = scope.range(field);
        let scale = [self.low.unwrap_or(low), self.high.unwrap_or(high)];
        if !(scale[0] < scale[1] && (scale[1] - scale[0]).is_finite()) {
            let fault = Fault::at(self.gauge.span.clone(), "this gauge's empty end is not below its full end");
            scope.fault(fault.label(format!("from {} to {}", scale[0], scale[1])));
            return None;
        }
        let view = |(guard, unit, _, decimals): (Guard, Scale, String, usize)| {
            let [low, high] = scale.map(|end| unit.shown(end));
            let step = (self.ticks > 0).then(|| ticks::step_within(low, high, self.ticks, decimals));
            View { guard, unit, step, marks: scope.marks }
        };
        let views = scope.views(field).into_iter().map(view).collect();
        Some(Reading {
            level: Level { field, scale },
            origin: self.origin.unwrap_or(scale[0]).clamp(scale[0], scale[1]),
            views,
            face: face.map_or(Some(None), |face| face.map(Some))?,
            limit: limit.map_or(Some(None), |limit| limit.map(Some))?,
            bar: self.bar.map(|bar| bar.clamp(1, 1 << 12) as i32),
        })
    }
}

//! `gauge`: a bar whose filling follows a field, with ticks at round numbers and a mark at a limit.
//!
//! A missing value leaves the bar empty with a dash in its middle.

use super::ticks::{self, Step};
use super::{Element, SetText, Spec};
use crate::design::amount::At;
use crate::design::fault::Fault;
use crate::design::project::LimitSpec;
use crate::frame::Frame;
use crate::frame::blit::Paint;
use crate::resolve::scope::Scope;
use crate::screen::face::Face;
use crate::screen::typeset::Overflow;
use crate::screen::values::{FieldId, Limit, Values};
use embedded_graphics::prelude::{Point, Size};
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
    /// Face of the ticks' numbers; absent: no numbers.
    face: Option<At<String>>,
    /// A number or field that is marked.
    limit: Option<At<LimitSpec>>,
    /// Thickness of the bar in pixels, outline included; absent: what ticks and mark leave.
    bar: Option<u32>,
}

/// The way a gauge fills.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Direction {
    /// From left to right; ticks below, the mark above.
    #[default]
    Horizontal,
    /// From the bottom up; ticks at the right, the mark at the left.
    Vertical,
}

#[derive(Debug)]
struct Ready {
    field: FieldId,
    vertical: bool,
    scale: [f64; 2],
    origin: f64,
    step: Option<Step>,
    face: Option<Arc<Face>>,
    limit: Option<Limit>,
    bar: Option<u32>,
}

/// Length of a tick.
const TICK: i32 = 3;
/// Pixels between a tick and its number.
const TICK_GAP: i32 = 2;
/// Height of the limit's mark and the space under it.
const MARK: i32 = 4;
/// Bars at least this thick have an outline; thinner ones fill along a line.
const OUTLINED: i32 = 5;
/// Thickness where nothing is stated.
const USUAL_BAR: i32 = 9;

impl Spec for Gauge {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let face = self.face.as_ref().map(|name| scope.face(Some(name), "small"));
        let limit = self.limit.as_ref().map(|limit| scope.limit(limit));
        let field = scope.field(&self.gauge)?;
        let [low, high] = scope.range(field);
        let scale = [self.low.unwrap_or(low), self.high.unwrap_or(high)];
        if !(scale[0] < scale[1] && (scale[1] - scale[0]).is_finite()) {
            let fault = Fault::at(self.gauge.span.clone(), "this gauge's empty end is not below its full end");
            scope.fault(fault.label(format!("from {} to {}", scale[0], scale[1])));
            return None;
        }
        let step = (self.ticks > 0).then(|| ticks::step_within(scale[0], scale[1], self.ticks, scope.decimals(field)));
        let (face, limit) =
            (face.map_or(Some(None), |face| face.map(Some))?, limit.map_or(Some(None), |l| l.map(Some))?);
        let ready = Ready {
            field,
            vertical: self.direction == Direction::Vertical,
            scale,
            origin: self.origin.unwrap_or(scale[0]).clamp(scale[0], scale[1]),
            step,
            face,
            limit,
            bar: self.bar,
        };
        if let (Some(face), Some(span)) = (&ready.face, self.face.as_ref().map(|face| &face.span)) {
            scope.needs_glyphs(face, span, ready.labels().iter().flat_map(|(_, text)| text.chars()));
        }
        Some(Box::new(ready))
    }
}

/// A gauge laid out in an area. Positions run along the bar from its empty end; across it, from the mark's side.
struct Lay {
    area: Rectangle,
    vertical: bool,
    /// Along: first pixel and length of the bar.
    start: i32,
    length: i32,
    /// Across: first pixel and thickness of the bar.
    edge: i32,
    bar: i32,
}

impl Lay {
    /// The rectangle of a run of pixels along and across the bar.
    fn part(&self, along: i32, run: i32, across: i32, breadth: i32) -> Rectangle {
        let size = |w: i32, h: i32| Size::new(w.max(0) as u32, h.max(0) as u32);
        let part = match self.vertical {
            false => Rectangle::new(Point::new(along, across), size(run, breadth)),
            true => Rectangle::new(Point::new(across, self.area.size.height as i32 - along - run), size(breadth, run)),
        };
        Rectangle::new(self.area.top_left + part.top_left, part.size).intersection(&self.area)
    }

    /// The pixel along the bar's inside of a share from 0 to 1.
    fn at(&self, share: f64) -> i32 {
        self.start + 2 + (share.clamp(0.0, 1.0) * f64::from((self.length - 5).max(0))).round() as i32
    }
}

impl Ready {
    /// Counts of the ticks and their numbers.
    fn labels(&self) -> Vec<(i64, String)> {
        let Some(step) = self.step else { return Vec::new() };
        ticks::inside(step, self.scale[0], self.scale[1]).map(|count| (count, step.text(count))).collect()
    }

    fn share(&self, value: f64) -> f64 {
        (value - self.scale[0]) / (self.scale[1] - self.scale[0])
    }

    /// Pixels that numbers take along and across the bar.
    fn numbers(&self) -> (i32, i32) {
        let Some(face) = &self.face else { return (0, 0) };
        let widest = self.labels().iter().map(|(_, text)| face.width(text)).max().unwrap_or(0);
        if self.vertical { (face.cap_height, widest) } else { (widest, face.cap_height) }
    }

    /// Pixels across that mark and ticks take.
    fn beside(&self) -> (i32, i32) {
        let ticks = match (self.step, &self.face) {
            (None, _) => 0,
            (Some(_), None) => 1 + TICK,
            (Some(_), Some(_)) => 1 + TICK + TICK_GAP + self.numbers().1,
        };
        (if self.limit.is_some() { MARK } else { 0 }, ticks)
    }

    fn lay(&self, area: Rectangle) -> Lay {
        let (along, across) = match self.vertical {
            false => (area.size.width as i32, area.size.height as i32),
            true => (area.size.height as i32, area.size.width as i32),
        };
        let (mark, ticks) = self.beside();
        let room = across - mark - ticks;
        let bar = self.bar.map_or(room, |bar| (bar.min(1 << 12) as i32).min(room)).max(0);
        // Numbers at the ends stand over the ends: half of them reaches out.
        let out = (self.numbers().0 / 2 - 2).max(0);
        Lay {
            area,
            vertical: self.vertical,
            start: out,
            length: along - 2 * out,
            edge: mark + (room - bar).max(0) / 2,
            bar,
        }
    }

    fn draw_ticks(&self, lay: &Lay, frame: &mut Frame) {
        let Some(step) = self.step else { return };
        let across = lay.edge + lay.bar + 1;
        for (count, text) in self.labels() {
            let along = lay.at(self.share(step.multiple(count)));
            frame.fill(lay.part(along, 1, across, TICK), true);
            let Some(face) = &self.face else { continue };
            let number = across + TICK + TICK_GAP;
            let tick = lay.part(along, 1, number, 1).top_left;
            let baseline = match self.vertical {
                false => tick + Point::new(-(face.width(&text) - 1) / 2, face.cap_height),
                true => tick + Point::new(0, face.cap_height / 2),
            };
            face.draw(&text, baseline, lay.area, Paint::Ink, frame);
        }
    }

    /// A triangle that points at the bar from the side without ticks.
    fn draw_mark(&self, lay: &Lay, value: f64, frame: &mut Frame) {
        if value.is_nan() {
            return;
        }
        let along = lay.at(self.share(value));
        for row in 0..3 {
            frame.fill(lay.part(along - 2 + row, 5 - 2 * row, lay.edge - MARK + row, 1), true);
        }
    }
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        let (mark, ticks) = self.beside();
        let across = self.bar.map_or(USUAL_BAR, |bar| bar.min(1 << 12) as i32) + mark + ticks;
        let along = 24 + self.numbers().0;
        let (w, h) = if self.vertical { (across, along) } else { (along, across) };
        Size::new(w.max(0) as u32, h.max(0) as u32)
    }

    fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        let lay = self.lay(area);
        let value = values.of(self.field);
        let outlined = lay.bar >= OUTLINED;
        let (inside, thick) = if outlined { (lay.edge + 2, lay.bar - 4) } else { (lay.edge, lay.bar) };
        if outlined {
            frame.fill(lay.part(lay.start, lay.length, lay.edge, lay.bar), true);
            frame.fill(lay.part(lay.start + 1, lay.length - 2, lay.edge + 1, lay.bar - 2), false);
        } else {
            frame.fill(lay.part(lay.start, lay.length, lay.edge + lay.bar / 2, 1), true);
        }
        if value.is_nan() {
            let middle = lay.start + lay.length / 2;
            frame.fill(lay.part(middle - 3, 7, lay.edge + lay.bar / 2, 1), outlined);
        } else {
            let (a, b) = (lay.at(self.share(self.origin)), lay.at(self.share(value)));
            // At the very end nothing is filled; every value above fills its pixel.
            let run = if self.share(value) <= 0.0 && a == b { 0 } else { (b - a).abs() + 1 };
            frame.fill(lay.part(a.min(b), run, inside, thick), true);
        }
        self.draw_ticks(&lay, frame);
        if let Some(limit) = self.limit {
            self.draw_mark(&lay, limit.of(values), frame);
        }
    }

    fn fields(&self) -> Vec<FieldId> {
        [Some(self.field), self.limit.and_then(Limit::field)].into_iter().flatten().collect()
    }

    fn texts(&self, area: Rectangle) -> Vec<SetText> {
        let Some(face) = &self.face else { return Vec::new() };
        let text = |(_, text): (i64, String)| SetText {
            needs: Size::new(face.width(&text).max(0) as u32, face.cap_height.max(0) as u32),
            text,
            face: face.clone(),
            room: area,
            overflow: Overflow::Clip,
            key: None,
        };
        self.labels().into_iter().map(text).collect()
    }
}

//! Charts of histories: what never changes as texts and areas, the rest as one operation in whole numbers.

use super::ink::Ink;
use super::op::{FILL, HISTORY, KIND, Op, OpPart};
use super::words::{self, Marking};
use crate::behaviour::units::Ratio;
use crate::firmware::tables::condition::decimals;
use crate::screen::chart::History;
use crate::screen::chart::hours::Mark;
use crate::screen::chart::series::{Columns, Style};
use crate::screen::shown::Scale as UnitScale;
use crate::screen::typeset::{Setting, Stand};
use crate::screen::values::Limit;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

pub(super) const BARS: u8 = 1;
pub(super) const GRID: u8 = 2;
pub(super) const LOW: u8 = 4;
pub(super) const HIGH: u8 = 8;
const AXIS: u8 = 16;
pub(super) const CLOCK: u8 = 32;
pub(super) const NUMBER: u8 = 64;
pub(super) const FIELD: u8 = 128;
const CURSOR: u8 = 1;

/// Greatest number of units on a scale; see `MOST` in `ink_draw_charts.h`.
const MOST: f64 = 5e7;

/// How far from its place a sample may be, as a share of the scale: a row differs once in some 100,000 samples.
const NEAR: f64 = 1e-7;

/// How a chart counts: its smallest unit is so small that samples, limits and the edges of its scale are whole numbers.
struct Counted {
    /// What a sample is multiplied by, what is then added, and the units of one step of the last decimal shown.
    ratio: [i32; 3],
    /// Decimals of what is multiplied.
    held: u32,
    numbers: Vec<i32>,
}

impl Ink<'_> {
    pub(super) fn history(&mut self, history: &History, area: Rectangle, seen: Rectangle) -> Option<Vec<Op>> {
        let plot = history.plot;
        if plot.size.width < 2 || plot.size.height < 2 {
            return Some(Vec::new());
        }
        let axis = &history.axis;
        let mut ops = Vec::new();
        for line in axis.lines(plot) {
            ops.extend(self.seen(line.intersection(&area)).map(|line| Op::new(FILL, line)));
        }
        if let Some(unit) = axis.unit_mark(plot, area) {
            ops.extend(self.mark(&axis.face, &unit.text, unit.origin, area)?);
        }
        let clock = history.hours.as_ref().and_then(|hours| hours.clock);
        if let Some(hours) = history.hours.as_ref().filter(|hours| hours.clock.is_none()) {
            let columns = Columns { plot, samples: history.samples, style: history.style };
            for Mark { tick, text, origin } in hours.marks(&columns, area, self.values) {
                ops.extend(self.seen(tick.intersection(&area)).map(|tick| Op::new(FILL, tick)));
                ops.extend(self.mark(&hours.face, &text, origin, area)?);
            }
        }
        let own = decimals(self.device, history.field.0);
        let scale = &axis.scale;
        let limit = history.threshold;
        let counted = self.counted(history)?;
        let [multiply, offset, divide] = counted.ratio;
        let power = |decimals: u32| 10i64.pow(counted.held - decimals.min(counted.held)) * i64::from(multiply);
        let factor = |decimals: u32| u32::try_from(power(decimals)).ok().filter(|factor| *factor < 1 << 30);
        let flag = |set: bool, bit: u8| if set { bit } else { 0 };
        let flags = flag(history.style == Style::Bars, BARS)
            | flag(history.grid, GRID)
            | flag(scale.low.is_some(), LOW)
            | flag(scale.high.is_some(), HIGH)
            | flag(axis.wanted != Some(0), AXIS)
            | flag(clock.is_some(), CLOCK)
            | flag(matches!(limit, Some(Limit::Number(_))), NUMBER)
            | flag(matches!(limit, Some(Limit::Field(_))), FIELD);
        let more = flag(history.cursor.is_some(), CURSOR);
        let op = Op::new(HISTORY, seen).byte(flags).byte(more).number(history.field.0 as u32);
        let op = op.number(history.samples as u32).number(history.stroke).byte(scale.decimals as u8);
        let op = op.number(axis.ticks(plot) as u32).number(factor(own)?).number(divide as u32).signed(offset);
        // The range, the least difference, the plot, then the stated edges and the threshold.
        let (always, stated) = counted.numbers.split_at(3);
        let op = always.iter().fold(op, |op, number| op.signed(*number)).rectangle(plot);
        let mut op = stated.iter().fold(op, |op, number| op.signed(*number));
        if let Some(Limit::Field(field)) = limit {
            op = op.number(field.0 as u32).number(factor(decimals(self.device, field.0))?);
        }
        let digits = words::fixed("0123456789−.");
        op = op.number(self.set_in(&axis.face, &digits)?);
        if axis.wanted != Some(0) {
            let marking = Marking::of(&axis.marks);
            self.set_in(&axis.face, &marking.fixed())?;
            op = op.then(OpPart::Marks(marking));
        } else {
            op = op.number(0);
        }
        if let Some(cursor) = history.cursor {
            op = op.number(cursor.0 as u32).byte(decimals(self.device, cursor.0) as u8);
        }
        if let (Some(hours), Some(clock)) = (&history.hours, clock) {
            let interval = hours.interval.0;
            if interval.fract() != 0.0 || !(1.0..=1e6).contains(&interval) {
                return None;
            }
            // Labels stand where their widths leave room, below the plot.
            let longest = interval * history.samples as f64;
            if longest > 1e9 {
                return None;
            }
            let digits = words::fixed("0123456789:.");
            op = op.number(clock.0 as u32).number(interval as u32).number(self.set_in(&hours.face, &digits)?);
            let from = area.top_left - seen.top_left;
            op = op.signed(from.x).number(area.size.width);
        }
        ops.push(op);
        Some(ops)
    }

    /// In which units a chart counts; `None` where they would be too many.
    fn counted(&self, history: &History) -> Option<Counted> {
        let scale = &history.axis.scale;
        let limit = match history.threshold {
            Some(Limit::Number(number)) => Some(history.unit.shown(number)),
            _ => None,
        };
        let edges = [Some(scale.range[0]), Some(scale.range[1]), Some(scale.least()), scale.low, scale.high, limit];
        let own = decimals(self.device, history.field.0);
        let finest = match history.threshold {
            Some(Limit::Field(field)) => own.max(decimals(self.device, field.0)),
            _ => own,
        };
        let shown = scale.decimals as u32;
        let exact = (finest.max(if history.unit == UnitScale::OWN { shown } else { 0 })..=8).find_map(|held| {
            // In the field's own unit the last decimal held is the unit; the fraction must not be made smaller.
            let ratio = match history.unit {
                UnitScale::OWN => [1, 0, 10i32.pow(held - shown)],
                unit => Ratio::of(unit, held, shown).for_firmware()?,
            };
            let one = 10f64.powi(shown as i32) * f64::from(ratio[2]);
            let whole = |number: f64| {
                let whole = (number * one).round();
                ((number * one - whole).abs() <= 1e-4 && whole.abs() <= MOST).then_some(whole as i32)
            };
            let numbers: Option<Vec<i32>> = edges.iter().flatten().map(|number| whole(*number)).collect();
            Some(Counted { ratio, held, numbers: numbers? })
        });
        exact.or_else(|| {
            // A factor of many digits: as near as the units can be counted, some ten millionths of the scale at most.
            let longest =
                edges.iter().flatten().fold(1.0f64, |most, edge| most.max(edge.abs())) * 10f64.powi(shown as i32);
            let exact = Ratio::of(history.unit, finest, shown);
            let ratio = exact.near((MOST / longest) as i128)?;
            let away = f64::from(ratio[0]) / f64::from(ratio[2]) - exact.multiply as f64 / exact.divide as f64;
            let range = self.device.fields[history.field.0].range;
            let most = range[0].abs().max(range[1].abs()) * 10f64.powi(finest as i32);
            if most * away.abs() > NEAR * longest {
                return None;
            }
            let one = 10f64.powi(shown as i32) * f64::from(ratio[2]);
            let numbers = edges.iter().flatten().map(|number| (number * one).round() as i32).collect();
            Some(Counted { ratio, held: finest, numbers })
        })
    }

    fn mark(
        &mut self,
        face: &std::sync::Arc<crate::screen::face::Face>,
        text: &str,
        origin: Point,
        area: Rectangle,
    ) -> Option<Vec<Op>> {
        let Some(seen) = self.seen(area) else { return Some(Vec::new()) };
        let setting = Setting { align: Stand::Start, ..Setting::plain(face.clone()) };
        let room = Rectangle::new(origin, Size::zero());
        self.line(words::fixed(text), &setting, room, origin.y, seen)
    }
}

/// Whether an operation is a chart with a cursor.
pub(super) fn has_cursor(op: &Op) -> bool {
    op.head & KIND == HISTORY && op.number_at(1) & u32::from(CURSOR) != 0
}

/// Whether an operation is a chart with some of these flags.
pub(super) fn has(op: &Op, flags: u8) -> bool {
    op.head & KIND == HISTORY && op.number_at(0) & u32::from(flags) != 0
}

/// Whether an operation is a chart with numbers in a locale's writing.
pub(super) fn has_marks(op: &Op) -> bool {
    op.parts.iter().any(|part| matches!(part, OpPart::Marks(Marking::Locale | Marking::Own(_))))
}

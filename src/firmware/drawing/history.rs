//! Charts of histories: what never changes as texts and areas, the rest as one operation in whole numbers.

use super::ink::Ink;
use super::op::{FILL, HISTORY, KIND, Op, OpPart};
use super::why::{Drawn, Why};
use super::words::{self, Marking};
use crate::firmware::tables::condition::decimals;
use crate::screen::chart::History;
use crate::screen::chart::hours::Mark;
use crate::screen::chart::series::{Columns, Style};
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
const PARTS: u8 = 2;

impl Ink<'_> {
    pub(super) fn history(&mut self, history: &History, area: Rectangle, seen: Rectangle) -> Drawn<Vec<Op>> {
        let plot = history.plot;
        if plot.size.width < 2 || plot.size.height < 2 {
            return Ok(Vec::new());
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
        let count = history.count.ok_or(Why::Chart)?;
        let multiply = if count.divide.is_some() { 1 } else { i64::from(count.multiply) };
        let factor = |decimals: u32| {
            let power =
                10i64.checked_pow(count.held - decimals.min(count.held)).and_then(|power| power.checked_mul(multiply));
            power.and_then(|power| u32::try_from(power).ok()).filter(|factor| *factor < 1 << 30).ok_or(Why::Chart)
        };
        let flag = |set: bool, bit: u8| if set { bit } else { 0 };
        let flags = flag(history.style == Style::Bars, BARS)
            | flag(history.grid, GRID)
            | flag(scale.low.is_some(), LOW)
            | flag(scale.high.is_some(), HIGH)
            | flag(axis.wanted != Some(0), AXIS)
            | flag(clock.is_some(), CLOCK)
            | flag(matches!(limit, Some(Limit::Number(_))), NUMBER)
            | flag(matches!(limit, Some(Limit::Field(_))), FIELD);
        let more = flag(history.cursor.is_some(), CURSOR) | flag(count.divide.is_some(), PARTS);
        let op = Op::new(HISTORY, seen).byte(flags).byte(more).number(history.field.0 as u32);
        let op = op.number(history.samples as u32).number(history.stroke).byte(scale.decimals as u8);
        let op = op.number(axis.ticks(plot) as u32).number(factor(own)?).number(count.one as u32).signed(count.offset);
        let op = match count.divide {
            Some(divide) => op.number(count.multiply as u32).number(divide as u32),
            None => op,
        };
        // The range, the least difference, the plot, then the stated edges and the threshold.
        let units = |number: f64| count.units(number) as i32;
        let op =
            [scale.range[0], scale.range[1], scale.least()].into_iter().fold(op, |op, number| op.signed(units(number)));
        let fixed = match limit {
            Some(Limit::Number(number)) => Some(history.unit.shown(number)),
            _ => None,
        };
        let stated = [scale.low, scale.high, fixed].into_iter().flatten();
        let mut op = stated.fold(op.rectangle(plot), |op, number| op.signed(units(number)));
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
                return Err(Why::Hours);
            }
            // Labels stand where their widths leave room, below the plot.
            let longest = interval * history.samples as f64;
            if longest > 1e9 {
                return Err(Why::Hours);
            }
            let digits = words::fixed("0123456789:.");
            op = op.number(clock.0 as u32).number(interval as u32).number(self.set_in(&hours.face, &digits)?);
            let from = area.top_left - seen.top_left;
            op = op.signed(from.x).number(area.size.width);
        }
        ops.push(op);
        Ok(ops)
    }

    fn mark(
        &mut self,
        face: &std::sync::Arc<crate::screen::face::Face>,
        text: &str,
        origin: Point,
        area: Rectangle,
    ) -> Drawn<Vec<Op>> {
        let Some(seen) = self.seen(area) else { return Ok(Vec::new()) };
        let setting = Setting { align: Stand::Start, ..Setting::plain(face.clone()) };
        let room = Rectangle::new(origin, Size::zero());
        self.line(words::fixed(text), &setting, room, origin.y, seen)
    }
}

/// Whether an operation is a chart with a cursor.
pub(super) fn has_cursor(op: &Op) -> bool {
    op.head & KIND == HISTORY && op.number_at(1) & u32::from(CURSOR) != 0
}

/// Whether an operation is a chart that counts in parts.
pub(super) fn counts_in_parts(op: &Op) -> bool {
    op.head & KIND == HISTORY && op.number_at(1) & u32::from(PARTS) != 0
}

/// Whether an operation is a chart with some of these flags.
pub(super) fn has(op: &Op, flags: u8) -> bool {
    op.head & KIND == HISTORY && op.number_at(0) & u32::from(flags) != 0
}

/// Whether an operation is a chart with numbers in a locale's writing.
pub(super) fn has_marks(op: &Op) -> bool {
    op.parts.iter().any(|part| matches!(part, OpPart::Marks(Marking::Locale | Marking::Own(_))))
}

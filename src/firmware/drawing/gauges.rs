//! Bars, rings and the marks beside them, in whole numbers.

use super::ink::Ink;
use super::op::{ARC, BAR, MARKER, Op, RING_MARKER};
use super::why::Drawn;
use crate::frame::Frame;
use crate::screen::draw::level::LevelPlace;
use crate::screen::guard::{Level, nearest};
use crate::screen::operation::{Arced, Bar, Ends, Marker, Ring, RingMarker};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

const RISING: u8 = 1;
const COUNT: u8 = 2;
const EMPTY: u8 = 4;

fn rising(rising: bool) -> u8 {
    if rising { RISING } else { 0 }
}

impl Ink<'_> {
    pub(super) fn bar(&mut self, bar: &Bar, area: Rectangle) -> Drawn<Vec<Op>> {
        let length = if bar.rising { bar.full.size.height } else { bar.full.size.width };
        let (flags, from) = match bar.ends {
            Ends::Count => (COUNT, 0),
            Ends::From(origin) => {
                let pixel = nearest(origin.clamp(0.0, 1.0) * f64::from(length.saturating_sub(1)));
                // Where filling begins at the empty end, a value there fills nothing.
                (if origin <= 0.0 { EMPTY } else { 0 }, pixel as u32)
            }
        };
        let op = Op::new(BAR, area).byte(flags | rising(bar.rising)).rectangle(bar.full).number(from);
        Ok(vec![self.level(op, &bar.level)?])
    }

    pub(super) fn marker(&mut self, marker: &Marker, area: Rectangle) -> Drawn<Vec<Op>> {
        let Some(field) = marker.threshold.limit.field() else { return Ok(Vec::new()) };
        let level = Level { field, scale: marker.threshold.scale };
        let corner = if marker.rising { area.top_left.x } else { area.top_left.y };
        let op = Op::new(MARKER, area).byte(rising(marker.rising)).rectangle(marker.full);
        Ok(vec![self.level(op.signed(marker.base - corner), &level)?])
    }

    /// What is inked whatever the value, and a mask of what the value can ink.
    pub(super) fn arc(&mut self, arc: &Arced, area: Rectangle, seen: Rectangle) -> Drawn<Vec<Op>> {
        let [mut always, mut filling] = [0; 2].map(|_| Frame::new(seen.size.width, seen.size.height));
        let shift = seen.top_left - area.top_left;
        for y in 0..seen.size.height {
            for x in 0..seen.size.width {
                match arc.place(x as i32 + shift.x, y as i32 + shift.y) {
                    LevelPlace::Outside => {}
                    LevelPlace::Always => always.set(x, y, true),
                    LevelPlace::Filling => filling.set(x, y, true),
                }
            }
        }
        let mut ops = self.pixels(&always, seen.top_left, false);
        for (at, mask) in super::shapes::bitmaps(&filling, seen.top_left) {
            let area_of_mask = Rectangle::new(at, mask.size());
            let position = self.keep(&mask);
            let op = ring(Op::new(ARC, area_of_mask), &arc.ring, area);
            let op = op.byte(u8::from(arc.from > 0.0)).signed(arc.ring.bearing(arc.from));
            ops.push(self.level(op, &arc.level)?.bitmap(position));
        }
        Ok(ops)
    }

    pub(super) fn ring_marker(&mut self, marker: &RingMarker, area: Rectangle, seen: Rectangle) -> Drawn<Vec<Op>> {
        let Some(field) = marker.threshold.limit.field() else { return Ok(Vec::new()) };
        let level = Level { field, scale: marker.threshold.scale };
        let halves = |pixels: f64| (2.0 * pixels).round() as u32;
        // No pixel farther out than the ring's inner edge.
        let reach = marker.ring.inner.ceil() as i32 + 1;
        let middle = Point::new(marker.ring.centre.0 as i32, marker.ring.centre.1 as i32) + area.top_left;
        let around = Rectangle::new(middle - Point::new_equal(reach), Size::new_equal(2 * reach as u32 + 1));
        let Some(seen) = self.seen(around.intersection(&seen)) else { return Ok(Vec::new()) };
        let op = ring(Op::new(RING_MARKER, seen), &marker.ring, area);
        let op = op.number(halves(marker.ring.inner)).number(halves(1.5 + marker.length));
        Ok(vec![self.level(op, &level)?])
    }
}

/// The full end's direction, and the middle in half pixels from the operation's corner.
fn ring(op: Op, ring: &Ring, area: Rectangle) -> Op {
    let from = area.top_left - op.area.top_left;
    let twice = |middle: f64| (2.0 * middle).round() as i32;
    let (x, y) = (2 * from.x + twice(ring.centre.0), 2 * from.y + twice(ring.centre.1));
    op.signed(ring.end_bearing()).signed(x).signed(y)
}

/// Whether a bar, or a mark beside one, rises.
pub(super) fn rises(op: &Op) -> bool {
    op.number_at(0) & u32::from(RISING) != 0
}

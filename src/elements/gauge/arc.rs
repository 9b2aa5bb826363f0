//! A gauge as an arc, open at the bottom; its middle is free for a value.

use super::{MARK, OUTLINED, Reading, TICK, TICK_GAP, USUAL_BAR, View};
use crate::elements::Element;
use crate::screen::guard::Guard;
use crate::screen::operation::{Arced, Label, Operation, Ring, RingMarker, Shape};
use crate::screen::template::number;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use std::ops::RangeInclusive;

/// How far round an arc may go, in degrees.
pub const SWEEPS: RangeInclusive<u32> = 90..=330;

/// An arc ready to be placed.
#[derive(Debug)]
pub struct Arc {
    /// What it shows.
    pub reading: Reading,
    /// How far it goes round in degrees.
    pub sweep: u32,
}

impl Arc {
    /// The scale's ends as numbers, in each unit.
    pub fn ends(&self) -> Vec<(Guard, [String; 2])> {
        let ends = |view: &View| {
            let decimals = view.step.map_or(0, |step| step.decimals());
            let texts = self.reading.scale().map(|end| {
                let mut text = String::new();
                number(view.unit.shown(end), decimals, &mut text);
                view.marks.put(&text)
            });
            (view.guard.clone(), texts)
        };
        self.reading.views.iter().map(ends).collect()
    }

    fn bar(&self) -> f64 {
        f64::from(self.reading.bar.unwrap_or(USUAL_BAR))
    }

    /// Pixels outside the ring, and below its ends.
    fn beside(&self) -> (f64, f64) {
        let ticks = if self.reading.has_ticks() { 1 + TICK } else { 0 };
        let numbers = self.reading.face.as_ref().map_or(0, |face| TICK_GAP + face.cap_height);
        (f64::from(ticks), f64::from(numbers))
    }

    /// Height of the ring over its outer radius.
    fn tall(&self) -> f64 {
        let end = f64::from(self.sweep).to_radians() / 2.0;
        1.0 + (-end.cos()).max(0.0)
    }

    fn ring(&self, area: Rectangle) -> Ring {
        let (width, height) = (f64::from(area.size.width), f64::from(area.size.height));
        let (beside, below) = self.beside();
        let end = f64::from(self.sweep).to_radians() / 2.0;
        let outer = (width / 2.0 - beside).min((height - beside - below) / self.tall()).floor().max(0.0);
        // On a grid line where the width is even, in a pixel's middle where it is odd: the ring is symmetric.
        Ring { centre: (width / 2.0, beside + outer), outer, inner: (outer - self.bar()).max(0.0), end }
    }

    /// Ticks outside the ring along their rays.
    fn ticks(&self, ring: &Ring, area: Rectangle) -> Vec<Operation> {
        let pixel = |(x, y): (f64, f64)| area.top_left + Point::new(x.floor() as i32, y.floor() as i32);
        // The ring's own ends mark the scale's.
        let shares = self.reading.ticks().into_iter().map(|(guard, value, _)| (guard, self.reading.share(value)));
        let tick = |(guard, share): (Guard, f64)| {
            let angle = ring.angle(share);
            let ends = [1.5, 0.5 + f64::from(TICK)].map(|out| pixel(ring.point(ring.outer + out, angle)));
            Operation::new(area, Shape::Line { ends }).only(guard)
        };
        shares.filter(|(_, share)| (0.001..0.999).contains(share)).map(tick).collect()
    }

    /// The scale's ends as numbers, each under its end of the ring.
    fn numbers(&self, ring: &Ring, area: Rectangle) -> Vec<Operation> {
        let Some(face) = &self.reading.face else { return Vec::new() };
        let label = |guard: &Guard, text: String, angle: f64| {
            let (x, _) = ring.point((ring.outer + ring.inner) / 2.0, angle);
            let (_, y) = ring.point(if ring.end.cos() < 0.0 { ring.outer } else { ring.inner }, angle);
            let width = face.width(&text);
            let left = ((x - f64::from(width) / 2.0).round() as i32).clamp(0, (area.size.width as i32 - width).max(0));
            let baseline = y.ceil() as i32 + TICK_GAP + face.cap_height;
            let origin = area.top_left + Point::new(left, baseline);
            Operation::new(area, Shape::Label(Label { text, face: face.clone(), origin })).only(guard.clone())
        };
        let both =
            |(guard, [low, high]): (Guard, [String; 2])| [label(&guard, low, -ring.end), label(&guard, high, ring.end)];
        self.ends().into_iter().flat_map(both).collect()
    }
}

impl Element for Arc {
    fn measure(&self, width: Option<u32>) -> Size {
        let (beside, below) = self.beside();
        let least = 2.0 * (self.bar() * 2.5 + beside);
        let width = width.map_or(least, |width| f64::from(width).max(least));
        let height = (width / 2.0 - beside) * self.tall() + beside + below;
        Size::new(width as u32, height.ceil() as u32)
    }

    fn operations(&self, area: Rectangle) -> Vec<Operation> {
        let ring = self.ring(area);
        let outlined = self.bar() >= f64::from(OUTLINED);
        let from = self.reading.share(self.reading.origin);
        let mut operations =
            vec![Operation::new(area, Shape::Arc(Arced { level: self.reading.level, from, ring, outlined }))];
        operations.extend(self.ticks(&ring, area));
        operations.extend(self.reading.threshold().map(|threshold| {
            Operation::new(area, Shape::RingMarker(RingMarker { threshold, ring, length: f64::from(MARK) }))
        }));
        operations.extend(self.numbers(&ring, area));
        let (x, y) = ring.point((ring.outer + ring.inner) / 2.0, 0.0);
        let dash = Rectangle::new(area.top_left + Point::new(x as i32 - 3, y as i32), Size::new(7, 1));
        operations.push(self.reading.dash(dash.intersection(&area), true));
        operations
    }
}

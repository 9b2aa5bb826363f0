//! A gauge as a bar, lying or standing.

use super::{MARK, OUTLINED, Reading, TICK, TICK_GAP, USUAL_BAR};
use crate::elements::Element;
use crate::screen::operation::{self, Ends, Label, Marker, Operation, Shape};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// A bar ready to be placed.
#[derive(Debug)]
pub struct Bar {
    /// What it shows.
    pub reading: Reading,
    /// From the bottom up rather than from left to right.
    pub vertical: bool,
}

/// A bar laid out in an area. Positions run along it from its empty end; across it, from the mark's side.
struct Lay {
    area: Rectangle,
    vertical: bool,
    /// Along: first pixel and length.
    start: i32,
    length: i32,
    /// Across: first pixel and thickness.
    edge: i32,
    bar: i32,
}

impl Lay {
    /// The rectangle of a run of pixels along and across the bar.
    fn whole(&self, along: i32, run: i32, across: i32, breadth: i32) -> Rectangle {
        let size = |w: i32, h: i32| Size::new(w.max(0) as u32, h.max(0) as u32);
        let part = match self.vertical {
            false => Rectangle::new(Point::new(along, across), size(run, breadth)),
            true => {
                let top = self.area.size.height as i32 - along - run;
                let left = self.area.size.width as i32 - across - breadth;
                Rectangle::new(Point::new(left, top), size(breadth, run))
            }
        };
        Rectangle::new(self.area.top_left + part.top_left, part.size)
    }

    /// The same, as far as it lies inside the area.
    fn part(&self, along: i32, run: i32, across: i32, breadth: i32) -> Rectangle {
        self.whole(along, run, across, breadth).intersection(&self.area)
    }

    /// The full bar between the ends of the scale.
    fn full(&self, across: i32, breadth: i32) -> Rectangle {
        self.whole(self.start + 2, (self.length - 5).max(0) + 1, across, breadth)
    }

    /// The pixel along the bar's inside of a share from 0 to 1.
    fn at(&self, share: f64) -> i32 {
        self.start + 2 + (share.clamp(0.0, 1.0) * f64::from((self.length - 5).max(0))).round() as i32
    }
}

impl Bar {
    /// Pixels that numbers take along and across the bar.
    fn numbers(&self) -> (i32, i32) {
        let Some(face) = &self.reading.face else { return (0, 0) };
        let widest = self.reading.ticks().iter().map(|(.., text)| face.width(text)).max().unwrap_or(0);
        if self.vertical { (face.cap_height, widest) } else { (widest, face.cap_height) }
    }

    /// Pixels across that mark and ticks take.
    fn beside(&self) -> (i32, i32) {
        let ticks = match (self.reading.has_ticks(), &self.reading.face) {
            (false, _) => 0,
            (true, None) => 1 + TICK,
            (true, Some(_)) => 1 + TICK + TICK_GAP + self.numbers().1,
        };
        (if self.reading.limit.is_some() { MARK } else { 0 }, ticks)
    }

    fn lay(&self, area: Rectangle) -> Lay {
        let (along, across) = match self.vertical {
            false => (area.size.width as i32, area.size.height as i32),
            true => (area.size.height as i32, area.size.width as i32),
        };
        let (mark, ticks) = self.beside();
        let room = across - mark - ticks;
        let bar = self.reading.bar.map_or(room, |bar| bar.min(room)).max(0);
        // Numbers at the ends stand over the ends: half of them reaches out.
        let out = (self.numbers().0 / 2 - 2).max(0);
        let edge = mark + (room - bar).max(0) / 2;
        Lay { area, vertical: self.vertical, start: out, length: along - 2 * out, edge, bar }
    }

    fn ticks(&self, lay: &Lay) -> Vec<Operation> {
        // Standing bars have their numbers at the left, right-aligned, so that they read like an axis.
        let across = lay.edge + lay.bar + 1;
        let mut operations = Vec::new();
        for (guard, value, text) in self.reading.ticks() {
            let along = lay.at(self.reading.share(value));
            operations.push(Operation::fill(lay.part(along, 1, across, TICK), true).only(guard.clone()));
            let Some(face) = self.reading.face.clone() else { continue };
            let tick = lay.part(along, 1, across + TICK - 1, 1).top_left;
            let origin = match self.vertical {
                false => tick + Point::new(-(face.width(&text) - 1) / 2, 1 + TICK_GAP + face.cap_height),
                true => tick + Point::new(-TICK_GAP - face.width(&text) + 1, face.cap_height - face.cap_height / 2),
            };
            operations.push(Operation::new(lay.area, Shape::Label(Label { text, face, origin })).only(guard));
        }
        operations
    }

    /// A triangle that points at the bar from the side without ticks.
    fn mark(&self, lay: &Lay) -> Option<Operation> {
        let threshold = self.reading.threshold()?;
        let at = lay.edge - MARK;
        let base = match self.vertical {
            false => lay.area.top_left.y + at,
            true => lay.area.top_left.x + lay.area.size.width as i32 - at - 1,
        };
        let marker = Marker { threshold, full: lay.full(lay.edge, lay.bar), rising: self.vertical, base };
        Some(Operation::new(lay.area, Shape::Marker(marker)))
    }

    fn level(&self, lay: &Lay) -> Vec<Operation> {
        let outlined = lay.bar >= OUTLINED;
        let (inside, thick) = if outlined { (lay.edge + 2, lay.bar - 4) } else { (lay.edge, lay.bar) };
        let mut operations = if outlined {
            vec![
                Operation::fill(lay.part(lay.start, lay.length, lay.edge, lay.bar), true),
                Operation::fill(lay.part(lay.start + 1, lay.length - 2, lay.edge + 1, lay.bar - 2), false),
            ]
        } else {
            vec![Operation::fill(lay.part(lay.start, lay.length, lay.edge + lay.bar / 2, 1), true)]
        };
        let middle = lay.start + lay.length / 2;
        operations.push(self.reading.dash(lay.part(middle - 3, 7, lay.edge + lay.bar / 2, 1), outlined));
        let ends = Ends::From(self.reading.share(self.reading.origin));
        let full = lay.full(inside, thick);
        let bar = operation::Bar { level: self.reading.level, full, rising: self.vertical, ends };
        operations.push(Operation::new(full.intersection(&lay.area), Shape::Bar(bar)));
        operations
    }
}

impl Element for Bar {
    fn measure(&self, _: Option<u32>) -> Size {
        let (mark, ticks) = self.beside();
        let across = (self.reading.bar.unwrap_or(USUAL_BAR) + mark + ticks).max(0) as u32;
        let along = (24 + self.numbers().0).max(0) as u32;
        if self.vertical { Size::new(across, along) } else { Size::new(along, across) }
    }

    fn operations(&self, area: Rectangle) -> Vec<Operation> {
        let lay = self.lay(area);
        let mut operations = self.level(&lay);
        operations.extend(self.ticks(&lay));
        operations.extend(self.mark(&lay));
        operations
    }
}

//! A gauge as a bar, lying or standing.

use super::{MARK, OUTLINED, Reading, TICK, TICK_GAP, USUAL_BAR};
use crate::elements::{Element, SetText};
use crate::frame::Frame;
use crate::frame::blit::Paint;
use crate::screen::values::{FieldId, Values};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// A bar ready to draw.
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
    fn part(&self, along: i32, run: i32, across: i32, breadth: i32) -> Rectangle {
        let size = |w: i32, h: i32| Size::new(w.max(0) as u32, h.max(0) as u32);
        let part = match self.vertical {
            false => Rectangle::new(Point::new(along, across), size(run, breadth)),
            true => {
                let top = self.area.size.height as i32 - along - run;
                let left = self.area.size.width as i32 - across - breadth;
                Rectangle::new(Point::new(left, top), size(breadth, run))
            }
        };
        Rectangle::new(self.area.top_left + part.top_left, part.size).intersection(&self.area)
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
        let widest = self.reading.ticks().iter().map(|(_, text)| face.width(text)).max().unwrap_or(0);
        if self.vertical { (face.cap_height, widest) } else { (widest, face.cap_height) }
    }

    /// Pixels across that mark and ticks take.
    fn beside(&self) -> (i32, i32) {
        let ticks = match (self.reading.step, &self.reading.face) {
            (None, _) => 0,
            (Some(_), None) => 1 + TICK,
            (Some(_), Some(_)) => 1 + TICK + TICK_GAP + self.numbers().1,
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

    fn draw_ticks(&self, lay: &Lay, frame: &mut Frame) {
        // Standing bars have their numbers at the left, right-aligned, so that they read like an axis.
        let across = lay.edge + lay.bar + 1;
        for (value, text) in self.reading.ticks() {
            let along = lay.at(self.reading.share(value));
            frame.fill(lay.part(along, 1, across, TICK), true);
            let Some(face) = &self.reading.face else { continue };
            let tick = lay.part(along, 1, across + TICK - 1, 1).top_left;
            let baseline = match self.vertical {
                false => tick + Point::new(-(face.width(&text) - 1) / 2, 1 + TICK_GAP + face.cap_height),
                true => tick + Point::new(-TICK_GAP - face.width(&text) + 1, face.cap_height - face.cap_height / 2),
            };
            face.draw(&text, baseline, lay.area, Paint::Ink, frame);
        }
    }

    /// A triangle that points at the bar from the side without ticks.
    fn draw_mark(&self, lay: &Lay, share: f64, frame: &mut Frame) {
        let along = lay.at(share);
        for row in 0..3 {
            frame.fill(lay.part(along - 2 + row, 5 - 2 * row, lay.edge - MARK + row, 1), true);
        }
    }

    fn draw_level(&self, lay: &Lay, values: &Values, frame: &mut Frame) {
        let outlined = lay.bar >= OUTLINED;
        let (inside, thick) = if outlined { (lay.edge + 2, lay.bar - 4) } else { (lay.edge, lay.bar) };
        if outlined {
            frame.fill(lay.part(lay.start, lay.length, lay.edge, lay.bar), true);
            frame.fill(lay.part(lay.start + 1, lay.length - 2, lay.edge + 1, lay.bar - 2), false);
        } else {
            frame.fill(lay.part(lay.start, lay.length, lay.edge + lay.bar / 2, 1), true);
        }
        match self.reading.filled(values) {
            None => {
                let middle = lay.start + lay.length / 2;
                frame.fill(lay.part(middle - 3, 7, lay.edge + lay.bar / 2, 1), outlined);
            }
            // At the empty end nothing is filled; every value above fills its pixel.
            Some([_, to]) if to <= 0.0 => {}
            Some([from, to]) => {
                let (from, to) = (lay.at(from), lay.at(to));
                frame.fill(lay.part(from, to - from + 1, inside, thick), true);
            }
        }
    }
}

impl Element for Bar {
    fn measure(&self, _: Option<u32>) -> Size {
        let (mark, ticks) = self.beside();
        let across = (self.reading.bar.unwrap_or(USUAL_BAR) + mark + ticks).max(0) as u32;
        let along = (24 + self.numbers().0).max(0) as u32;
        if self.vertical { Size::new(across, along) } else { Size::new(along, across) }
    }

    fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        let lay = self.lay(area);
        self.draw_level(&lay, values, frame);
        self.draw_ticks(&lay, frame);
        if let Some(share) = self.reading.mark(values) {
            self.draw_mark(&lay, share, frame);
        }
    }

    fn fields(&self) -> Vec<FieldId> {
        self.reading.fields()
    }

    fn texts(&self, area: Rectangle) -> Vec<SetText> {
        self.reading.texts(self.reading.ticks().into_iter().map(|(_, text)| text), area)
    }
}

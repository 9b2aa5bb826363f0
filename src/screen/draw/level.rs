//! Bars and rings that follow a field, and the marks beside them.
//!
//! Every pixel of a ring is decided from its distance to the ring's edges, so that outline, gap and filling keep their
//! widths all round.

use crate::frame::Frame;
use crate::screen::operation::{Arced, Bar, Ends, Marker, Ring, RingMarker};
use crate::screen::values::Values;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// Runs of pixels along a full bar.
struct Along {
    full: Rectangle,
    rising: bool,
}

impl Along {
    fn length(&self) -> u32 {
        if self.rising { self.full.size.height } else { self.full.size.width }
    }

    /// The pixel of a share, counted from the empty end.
    fn pixel(&self, share: f64) -> i32 {
        (share.clamp(0.0, 1.0) * f64::from(self.length().saturating_sub(1))).round() as i32
    }

    /// A run of pixels from one on, across rows or columns of the screen from `across` on.
    fn run(&self, from: i32, run: i32, across: i32, breadth: u32) -> Rectangle {
        let length = run.max(0) as u32;
        match self.rising {
            false => Rectangle::new(Point::new(self.full.top_left.x + from, across), Size::new(length, breadth)),
            true => {
                let below = self.full.top_left.y + self.full.size.height as i32;
                Rectangle::new(Point::new(across, below - from - run), Size::new(breadth, length))
            }
        }
    }
}

impl Bar {
    pub(super) fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        let share = self.level.share(values).clamp(0.0, 1.0);
        if share.is_nan() {
            return;
        }
        let along = Along { full: self.full, rising: self.rising };
        let (from, run) = match self.ends {
            Ends::Count => (0, (share * f64::from(along.length())).round() as i32),
            // At the empty end nothing is filled; every value above fills its pixel.
            Ends::From(origin) if origin.max(share) <= 0.0 => return,
            Ends::From(origin) => {
                let (from, to) = (along.pixel(origin.min(share)), along.pixel(origin.max(share)));
                (from, to - from + 1)
            }
        };
        let (across, breadth) = match self.rising {
            false => (self.full.top_left.y, self.full.size.height),
            true => (self.full.top_left.x, self.full.size.width),
        };
        frame.fill(along.run(from, run, across, breadth).intersection(&area), true);
    }
}

impl Marker {
    /// Rows of a triangle, each two pixels shorter than the one before.
    pub(super) fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        let Some(share) = self.threshold.share(values) else { return };
        let along = Along { full: self.full, rising: self.rising };
        let middle = along.pixel(share);
        for row in 0..3 {
            let across = if self.rising { self.base - row } else { self.base + row };
            frame.fill(along.run(middle - 2 + row, 5 - 2 * row, across, 1).intersection(&area), true);
        }
    }
}

impl Ring {
    /// Distance from the middle, and angle, of a pixel.
    fn polar(&self, x: i32, y: i32) -> (f64, f64) {
        let (dx, dy) = (f64::from(x) + 0.5 - self.centre.0, f64::from(y) + 0.5 - self.centre.1);
        (dx.hypot(dy), dx.atan2(-dy))
    }

    /// How deep inside the ring a point lies; negative outside.
    fn depth(&self, radius: f64, angle: f64) -> f64 {
        let cap = (self.end - angle.abs()) * radius;
        (self.outer - radius).min(radius - self.inner).min(cap)
    }

    /// Inks the pixels of an area whose radius and angle pass a test.
    fn each(&self, area: Rectangle, test: impl Fn(f64, f64) -> bool, frame: &mut Frame) {
        // Only what can be seen costs time, however large the area is stated.
        let seen = area.intersection(&Rectangle::new(Point::zero(), frame.size()));
        for y in seen.rows() {
            for x in seen.columns() {
                let (radius, angle) = self.polar(x - area.top_left.x, y - area.top_left.y);
                if test(radius, angle) {
                    frame.set(x as u32, y as u32, true);
                }
            }
        }
    }
}

impl Arced {
    pub(super) fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        let ring = self.ring;
        let to = self.level.share(values).clamp(0.0, 1.0);
        let filled = (!to.is_nan()).then_some([self.from.min(to), self.from.max(to)]).filter(|[_, to]| *to > 0.0);
        let angles = filled.map(|shares| shares.map(|share| ring.angle(share)));
        let inked = |radius: f64, angle: f64| {
            let depth = ring.depth(radius, angle);
            let inside = angles.is_some_and(|[from, to]| (from..=to).contains(&angle));
            match self.outlined {
                true => (0.0..1.0).contains(&depth) || (depth >= 2.0 && inside),
                false => depth >= 0.0 && (inside || ring.outer - radius < 1.0),
            }
        };
        ring.each(area, inked, frame);
    }
}

impl RingMarker {
    pub(super) fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        let Some(share) = self.threshold.share(values) else { return };
        let (ring, angle) = (self.ring, self.ring.angle(share));
        let inked = |radius: f64, here: f64| {
            let (aside, under) = ((radius * (here - angle).sin()).abs(), ring.inner - radius * (here - angle).cos());
            (1.0..1.5 + self.length).contains(&under) && aside <= 1.0
        };
        ring.each(area, inked, frame);
    }
}

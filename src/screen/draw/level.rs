//! Bars and rings that follow a field, and the marks beside them.
//!
//! Every pixel of a ring is decided from its distance to the ring's edges, so that outline, gap and filling keep their
//! widths all round.

use super::bearing::{Bearing, SLACK};
use crate::frame::Frame;
use crate::screen::guard::nearest;
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
        nearest(share.clamp(0.0, 1.0) * f64::from(self.length().saturating_sub(1))) as i32
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
            Ends::Count => (0, nearest(share * f64::from(along.length())) as i32),
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

    /// A pixel's place from the middle, in half pixels.
    fn halves(&self, x: i32, y: i32) -> (i32, i32) {
        let twice = |middle: f64| (2.0 * middle).round() as i32;
        (2 * x + 1 - twice(self.centre.0), 2 * y + 1 - twice(self.centre.1))
    }

    /// Inks the pixels of an area that pass a test of their place in it.
    fn each(&self, area: Rectangle, test: impl Fn(i32, i32) -> bool, frame: &mut Frame) {
        // Only what can be seen costs time, however large the area is stated.
        let seen = area.intersection(&Rectangle::new(Point::zero(), frame.size()));
        for y in seen.rows() {
            for x in seen.columns() {
                if test(x - area.top_left.x, y - area.top_left.y) {
                    frame.set(x as u32, y as u32, true);
                }
            }
        }
    }
}

/// Where a pixel lies in a ring.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LevelPlace {
    /// Not in what the value can ink.
    Outside,
    /// Inked whatever the value.
    Always,
    /// Inked where the value's filling reaches.
    Filling,
}

impl Arced {
    /// Where a pixel lies, whatever the value; counted from the operation's corner.
    pub fn place(&self, x: i32, y: i32) -> LevelPlace {
        let (radius, angle) = self.ring.polar(x, y);
        let depth = self.ring.depth(radius, angle);
        let (always, filling) = match self.outlined {
            true => ((0.0..1.0).contains(&depth), depth >= 2.0),
            false => (depth >= 0.0 && self.ring.outer - radius < 1.0, depth >= 0.0),
        };
        match () {
            () if always => LevelPlace::Always,
            () if filling => LevelPlace::Filling,
            () => LevelPlace::Outside,
        }
    }

    pub(super) fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        let to = self.level.share(values).clamp(0.0, 1.0);
        let filled = (!to.is_nan()).then_some([self.from.min(to), self.from.max(to)]).filter(|[_, to]| *to > 0.0);
        let ends = filled.map(|shares| shares.map(|share| Bearing::of(self.ring.bearing(share))));
        let inked = |x: i32, y: i32| match self.place(x, y) {
            LevelPlace::Outside => false,
            LevelPlace::Always => true,
            LevelPlace::Filling => ends.is_some_and(|[from, to]| {
                let (x, y) = self.ring.halves(x, y);
                from.side(x, y) >= 0 && to.side(x, y) <= 0
            }),
        };
        self.ring.each(area, inked, frame);
    }
}

impl RingMarker {
    pub(super) fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        let Some(share) = self.threshold.share(values) else { return };
        let towards = Bearing::of(self.ring.bearing(share));
        let halves = |pixels: f64| (2.0 * pixels * f64::from(1 << 29)).round() as i64;
        let (inner, longest) = (halves(self.ring.inner), halves(1.5 + self.length));
        let inked = |x: i32, y: i32| {
            let (x, y) = self.ring.halves(x, y);
            let under = inner - towards.along(x, y) + SLACK;
            towards.aside(x, y).abs() <= halves(1.0) + SLACK && (halves(1.0)..longest).contains(&under)
        };
        self.ring.each(area, inked, frame);
    }
}

//! A gauge as an arc, open at the bottom; its middle is free for a value.
//!
//! Every pixel is decided from its distance to the ring's edges, so that outline, gap and filling keep their widths all round.

use super::{MARK, OUTLINED, Reading, TICK, TICK_GAP, USUAL_BAR};
use crate::elements::{Element, SetText};
use crate::frame::Frame;
use crate::frame::blit::Paint;
use crate::screen::template::number;
use crate::screen::values::{FieldId, Values};
use embedded_graphics::prelude::{Point, PointsIter, Size};
use embedded_graphics::primitives::{Line, Rectangle};
use std::ops::RangeInclusive;

/// How far round an arc may go, in degrees.
pub const SWEEPS: RangeInclusive<u32> = 90..=330;

/// An arc ready to draw.
#[derive(Debug)]
pub struct Arc {
    /// What it shows.
    pub reading: Reading,
    /// How far it goes round in degrees.
    pub sweep: u32,
}

/// An arc laid out in an area; lengths in pixels from the area's corner, angles in radians clockwise from the top.
struct Lay {
    /// The middle of the ring.
    centre: (f64, f64),
    outer: f64,
    inner: f64,
    /// The full end; the empty end is as far the other way.
    end: f64,
}

impl Lay {
    fn angle(&self, share: f64) -> f64 {
        self.end * (2.0 * share.clamp(0.0, 1.0) - 1.0)
    }

    /// Distance from the middle, and angle.
    fn polar(&self, x: u32, y: u32) -> (f64, f64) {
        let (dx, dy) = (f64::from(x) + 0.5 - self.centre.0, f64::from(y) + 0.5 - self.centre.1);
        (dx.hypot(dy), dx.atan2(-dy))
    }

    /// How deep inside the ring a point lies; negative outside.
    fn depth(&self, radius: f64, angle: f64) -> f64 {
        let cap = (self.end - angle.abs()) * radius;
        (self.outer - radius).min(radius - self.inner).min(cap)
    }

    fn point(&self, radius: f64, angle: f64) -> (f64, f64) {
        (self.centre.0 + radius * angle.sin(), self.centre.1 - radius * angle.cos())
    }
}

impl Arc {
    /// The scale's ends as numbers.
    pub fn ends(&self) -> [String; 2] {
        let decimals = self.reading.step.map_or(0, |step| step.decimals());
        self.reading.scale.map(|end| {
            let mut text = String::new();
            number(end, decimals, &mut text);
            text
        })
    }

    fn bar(&self) -> f64 {
        f64::from(self.reading.bar.unwrap_or(USUAL_BAR))
    }

    /// Pixels outside the ring, and below its ends.
    fn beside(&self) -> (f64, f64) {
        let ticks = if self.reading.step.is_some() { 1 + TICK } else { 0 };
        let numbers = self.reading.face.as_ref().map_or(0, |face| TICK_GAP + face.cap_height);
        (f64::from(ticks), f64::from(numbers))
    }

    /// Height of the ring over its outer radius.
    fn tall(&self) -> f64 {
        let end = f64::from(self.sweep).to_radians() / 2.0;
        1.0 + (-end.cos()).max(0.0)
    }

    fn lay(&self, area: Rectangle) -> Lay {
        let (width, height) = (f64::from(area.size.width), f64::from(area.size.height));
        let (beside, below) = self.beside();
        let end = f64::from(self.sweep).to_radians() / 2.0;
        let outer = (width / 2.0 - beside).min((height - beside - below) / self.tall()).floor().max(0.0);
        // On a grid line where the width is even, in a pixel's middle where it is odd: the ring is symmetric.
        Lay { centre: (width / 2.0, beside + outer), outer, inner: (outer - self.bar()).max(0.0), end }
    }

    fn ring(&self, lay: &Lay, area: Rectangle, values: &Values, frame: &mut Frame) {
        let filled = self.reading.filled(values).filter(|[_, to]| *to > 0.0);
        let angles = filled.map(|shares| shares.map(|share| lay.angle(share)));
        let outlined = self.bar() >= f64::from(OUTLINED);
        each(
            area,
            |x, y| {
                let (radius, angle) = lay.polar(x, y);
                let depth = lay.depth(radius, angle);
                let inside = angles.is_some_and(|[from, to]| (from..=to).contains(&angle));
                match outlined {
                    true => (0.0..1.0).contains(&depth) || (depth >= 2.0 && inside),
                    false => depth >= 0.0 && (inside || lay.outer - radius < 1.0),
                }
            },
            frame,
        );
    }

    /// Ticks outside the ring along their rays.
    fn ticks(&self, lay: &Lay, area: Rectangle, frame: &mut Frame) {
        let pixel = |(x, y): (f64, f64)| area.top_left + Point::new(x.floor() as i32, y.floor() as i32);
        // The ring's own ends mark the scale's.
        let shares = self.reading.ticks().into_iter().map(|(value, _)| self.reading.share(value));
        for share in shares.filter(|share| (0.001..0.999).contains(share)) {
            let angle = lay.angle(share);
            let ends = [1.5, 0.5 + f64::from(TICK)].map(|out| pixel(lay.point(lay.outer + out, angle)));
            for point in Line::new(ends[0], ends[1]).points() {
                frame.fill(Rectangle::new(point, Size::new_equal(1)).intersection(&area), true);
            }
        }
    }

    /// A short thick line inside the ring along the limit's ray.
    fn mark(&self, lay: &Lay, share: f64, area: Rectangle, frame: &mut Frame) {
        let angle = lay.angle(share);
        each(
            area,
            |x, y| {
                let (radius, here) = lay.polar(x, y);
                let (aside, under) = ((radius * (here - angle).sin()).abs(), lay.inner - radius * (here - angle).cos());
                (1.0..1.5 + f64::from(MARK)).contains(&under) && aside <= 1.0
            },
            frame,
        );
    }

    /// The scale's ends as numbers, each under its end of the ring.
    fn numbers(&self, lay: &Lay, area: Rectangle, frame: &mut Frame) {
        let Some(face) = &self.reading.face else { return };
        for (text, angle) in self.ends().iter().zip([-lay.end, lay.end]) {
            let (x, _) = lay.point((lay.outer + lay.inner) / 2.0, angle);
            let (_, y) = lay.point(if lay.end.cos() < 0.0 { lay.outer } else { lay.inner }, angle);
            let width = face.width(text);
            let left = ((x - f64::from(width) / 2.0).round() as i32).clamp(0, (area.size.width as i32 - width).max(0));
            let baseline = y.ceil() as i32 + TICK_GAP + face.cap_height;
            face.draw(text, area.top_left + Point::new(left, baseline), area, Paint::Ink, frame);
        }
    }
}

/// Inks the pixels of an area that pass a test of their place.
fn each(area: Rectangle, test: impl Fn(u32, u32) -> bool, frame: &mut Frame) {
    for y in 0..area.size.height {
        for x in 0..area.size.width {
            if test(x, y) {
                frame.fill(Rectangle::new(area.top_left + Point::new(x as i32, y as i32), Size::new_equal(1)), true);
            }
        }
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

    fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        // Only what can be seen costs time, however large the area is stated.
        let Some(area) = visible(area, frame) else { return };
        let lay = self.lay(area);
        self.ring(&lay, area, values, frame);
        self.ticks(&lay, area, frame);
        if let Some(share) = self.reading.mark(values) {
            self.mark(&lay, share, area, frame);
        }
        self.numbers(&lay, area, frame);
        if self.reading.filled(values).is_none() {
            let (x, y) = lay.point((lay.outer + lay.inner) / 2.0, 0.0);
            let dash = Rectangle::new(area.top_left + Point::new(x as i32 - 3, y as i32), Size::new(7, 1));
            frame.fill(dash.intersection(&area), true);
        }
    }

    fn fields(&self) -> Vec<FieldId> {
        self.reading.fields()
    }

    fn texts(&self, area: Rectangle) -> Vec<SetText> {
        self.reading.texts(self.ends().into_iter(), area)
    }
}

/// The area, unless it is larger than anything that could be shown.
fn visible(area: Rectangle, frame: &Frame) -> Option<Rectangle> {
    let most = frame.width().max(frame.height()).saturating_mul(2);
    (area.size.width <= most && area.size.height <= most).then_some(area)
}

//! Outlines taken down as contours of whole units. Not for the bounds that they must keep: see [`super::outlines`].

use std::panic::resume_unwind;
use ttf_parser::OutlineBuilder;

/// Pieces of second degree for a curve of third degree: half an em's curve of a thousand units differs by less than one.
const PIECES: u8 = 4;

/// The glyph of a character, in units of the font.
pub struct Drawn {
    /// From its origin to that of the next.
    pub advance: u16,
    /// Closed contours.
    pub contours: Vec<Vec<Corner>>,
}

/// A point of a contour, on the outline or pulling at it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    /// Right and up from the origin, in units.
    pub at: [i16; 2],
    /// Whether it lies on the outline.
    pub on: bool,
}

/// Takes outlines down as contours of whole units, and measures them.
#[derive(Default)]
pub struct Pen {
    /// Segments that are still allowed.
    left: usize,
    /// Whether a point lay beyond what can be written.
    pub far: bool,
    /// Length of all control polygons so far, in units.
    pub length: f32,
    at: [f32; 2],
    /// Closed contours so far.
    pub contours: Vec<Vec<Corner>>,
}

impl Pen {
    /// A pen for so many segments; from one more it unwinds, without a word on the terminal, since the parser that calls
    /// it cannot be stopped otherwise.
    pub fn new(segments: usize) -> Self {
        Self { left: segments, ..Self::default() }
    }

    fn corner(&mut self, at: [f32; 2], on: bool) -> Corner {
        self.length += (at[0] - self.at[0]).abs() + (at[1] - self.at[1]).abs();
        self.at = at;
        // Also where it is not a number.
        self.far |= !at.iter().all(|place| place.abs() <= f32::from(i16::MAX));
        Corner { at: at.map(|place| place.round() as i16), on }
    }

    fn count(&mut self) {
        match self.left.checked_sub(1) {
            Some(left) => self.left = left,
            None => resume_unwind(Box::new("too many segments")),
        }
    }

    fn put(&mut self, corner: Corner) {
        if let Some(contour) = self.contours.last_mut() {
            contour.push(corner);
        }
    }

    /// A curve of second degree; as a line where it is one, which the rasteriser would cut a hair off its course.
    fn curve(&mut self, load_current: [f32; 2], end: [f32; 2]) {
        let start = self.contours.last().and_then(|contour| contour.last()).map(|corner| corner.at);
        let (load_current, end) = (self.corner(load_current, false), self.corner(end, true));
        let along = |axis: usize| {
            start.is_some_and(|at| at[axis] == load_current.at[axis]) && load_current.at[axis] == end.at[axis]
        };
        if !along(0) && !along(1) {
            self.put(load_current);
        }
        self.put(end);
    }
}

impl OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.count();
        self.at = [x, y];
        let corner = self.corner([x, y], true);
        self.contours.push(vec![corner]);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.count();
        let corner = self.corner([x, y], true);
        self.put(corner);
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.count();
        self.curve([x1, y1], [x, y]);
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.count();
        let points = [self.at, [x1, y1], [x2, y2], [x, y]];
        let share = |piece: u8| f32::from(piece) / f32::from(PIECES);
        for piece in 0..PIECES {
            let [a, b, c, d] = part(points, share(piece), share(piece + 1));
            let load_current = [0, 1].map(|axis| (3.0 * (b[axis] + c[axis]) - a[axis] - d[axis]) / 4.0);
            self.curve(load_current, if piece + 1 == PIECES { [x, y] } else { d });
        }
    }

    fn close(&mut self) {}
}

/// The part of a curve of third degree between two shares of its way, by its polar form.
fn part(points: [[f32; 2]; 4], from: f32, to: f32) -> [[f32; 2]; 4] {
    let polar = |s: f32, t: f32, u: f32| {
        [0, 1].map(|axis| {
            let mix = |a: f32, b: f32, share: f32| a + (b - a) * share;
            let [a, b, c, d] = points.map(|point| point[axis]);
            let (ab, bc, cd) = (mix(a, b, s), mix(b, c, s), mix(c, d, s));
            mix(mix(ab, bc, t), mix(bc, cd, t), u)
        })
    };
    [polar(from, from, from), polar(from, from, to), polar(from, to, to), polar(to, to, to)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_of_a_curve_is_the_curve() {
        let whole = [[0.0, 0.0], [0.0, 100.0], [100.0, 100.0], [100.0, 0.0]];
        // By hand, at half its way: (50, 75), where it goes to the right.
        let [first, _, third, last] = part(whole, 0.0, 0.5);
        assert_eq!((first, last), ([0.0, 0.0], [50.0, 75.0]));
        assert_eq!(third, [25.0, 75.0]);
        assert_eq!(part(whole, 0.0, 1.0), whole);
    }

    #[test]
    fn straight_curves_become_lines_and_far_points_are_noticed() {
        let mut pen = Pen::new(10);
        pen.move_to(5.0, 0.0);
        pen.quad_to(5.0, 10.0, 5.0, 20.0);
        pen.quad_to(10.0, 30.0, 15.2, 20.0);
        let on = |x: i16, y: i16| Corner { at: [x, y], on: true };
        assert_eq!(pen.contours, [vec![on(5, 0), on(5, 20), Corner { at: [10, 30], on: false }, on(15, 20)]]);
        assert!(!pen.far);
        pen.line_to(f32::NAN, 0.0);
        assert!(pen.far);
        let mut short = Pen::new(1);
        let stopped = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
            short.move_to(0.0, 0.0);
            short.line_to(1.0, 1.0);
        }));
        assert!(stopped.is_err(), "two segments where one is allowed");
    }
}

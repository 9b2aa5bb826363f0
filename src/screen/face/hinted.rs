//! Makes 1-bit faces from outlines hinted for their size: stems and bars come to lie on whole pixels before anything is
//! filled. Not for outlines as drawn, with a threshold of coverage: see [`super::truetype`].
//!
//! A font's own instructions are obeyed where it has any (TrueType instructions, PostScript hints); for others stems are
//! found automatically. Then a pixel is ink if its centre lies inside the outline, and parts too thin to hold a centre
//! get the pixel that they pass through, as the OpenType specification's "TrueType fundamentals: instructing TrueType
//! glyphs" describes scan conversion with dropout control.

use super::outlines::Outlines;
use super::truetype::{FARTHEST, LARGEST_GLYPH, kerning, sound};
use super::{Face, FontFault, Glyph};
use crate::frame::Frame;
use skrifa::instance::{LocationRef, Size};
use skrifa::outline::{DrawSettings, Engine, HintingInstance, HintingOptions, OutlinePen, Target};
use skrifa::{FontRef, GlyphId, MetadataProvider};
use std::collections::{BTreeSet, HashMap};

/// Straight pieces of a curve.
const PIECES: u16 = 16;

/// Hints and fills the wanted characters of a font. `size` is in pixels per em.
///
/// # Errors
/// When the bytes are not a font that can be read, it has none of the characters, or they cannot be hinted.
pub fn read(name: &str, bytes: &[u8], size: f32, wanted: &BTreeSet<char>) -> Result<Face, FontFault> {
    sound(|| {
        let outlines = Outlines::of(bytes, wanted)?;
        let glyphs = glyphs(bytes, &outlines, size)?;
        let characters: Vec<char> = outlines.characters().collect();
        let kerning = kerning(&outlines, &characters, size);
        let [ascent, descent] = outlines.line().map(|ems| ((ems * size).ceil() as i32).clamp(0, 1000));
        Ok(Face::new(name, ascent, descent, glyphs).with_kerning(kerning))
    })
}

fn glyphs(bytes: &[u8], outlines: &Outlines<'_>, size: f32) -> Result<HashMap<char, Glyph>, FontFault> {
    let broken =
        |why: String| format!("this is not a font that can be hinted: {why}; `hinting = false` takes it as drawn");
    let font = FontRef::from_index(bytes, 0).map_err(|why| broken(why.to_string()))?;
    let drawings = font.outline_glyphs();
    let options = HintingOptions { engine: Engine::AutoFallback, target: Target::Mono };
    let hints = HintingInstance::new(&drawings, Size::new(size), LocationRef::default(), options)
        .map_err(|why| broken(why.to_string()))?;
    let mut glyphs = HashMap::new();
    for (character, id, advance) in outlines.ids() {
        let code = u32::from(character);
        let mut shape = Shape::default();
        let drawing = drawings.get(GlyphId::new(u32::from(id)));
        let metrics = drawing.map(|drawing| drawing.draw(DrawSettings::hinted(&hints, false), &mut shape)).transpose();
        let metrics = metrics.map_err(|why| broken(format!("U+{code:04X}: {why}")))?;
        let advance = metrics.and_then(|metrics| metrics.advance_width).unwrap_or(advance * size);
        let filled = shape
            .fill()
            .ok_or_else(|| format!("its U+{code:04X} is larger than {LARGEST_GLYPH} pixels at this size"))?;
        glyphs.insert(character, filled.glyph((advance.round() as i32).clamp(-FARTHEST, FARTHEST)));
    }
    Ok(glyphs)
}

/// Contours in pixels as straight pieces.
#[derive(Default)]
struct Shape {
    contours: Vec<Vec<[f64; 2]>>,
}

/// The pixels of a glyph: rows and columns from its origin, upwards.
struct Filled {
    /// The lowest and leftmost that can have ink.
    from: [i32; 2],
    /// Columns and rows.
    size: [usize; 2],
    ink: Vec<bool>,
}

impl Shape {
    fn put(&mut self, point: [f64; 2]) {
        if let Some(contour) = self.contours.last_mut() {
            contour.push(point);
        }
    }

    fn curve(&mut self, at: impl Fn([f64; 2], f64) -> [f64; 2]) {
        let Some(start) = self.contours.last().and_then(|contour| contour.last()).copied() else { return };
        for piece in 1..=PIECES {
            self.put(at(start, f64::from(piece) / f64::from(PIECES)));
        }
    }

    /// Fills the contours; `None` where they are too large, or not numbers.
    fn fill(&self) -> Option<Filled> {
        let points = || self.contours.iter().flatten();
        // Also where one is not a number.
        if !points().flatten().all(|place| place.abs() <= f64::from(FARTHEST)) {
            return None;
        }
        let edge = |axis: usize, least: f64, pick: fn(f64, f64) -> f64| points().map(|at| at[axis]).fold(least, pick);
        let low = [0, 1].map(|axis| edge(axis, f64::INFINITY, f64::min));
        let high = [0, 1].map(|axis| edge(axis, f64::NEG_INFINITY, f64::max));
        if !low[0].is_finite() {
            return Some(Filled { from: [0, 0], size: [0, 0], ink: Vec::new() });
        }
        let from = low.map(|place| place.floor() as i32);
        let size = [0, 1].map(|axis| (high[axis].ceil() as i32 - from[axis]).max(1) as usize);
        if size.iter().any(|side| *side > LARGEST_GLYPH) {
            return None;
        }
        let mut filled = Filled { from, size, ink: vec![false; size[0] * size[1]] };
        let across = self.spans(1, from[1], size[1]);
        for (row, spans) in across.iter().enumerate() {
            for [left, right] in spans {
                let first = (left - 0.5).ceil() as i32;
                for column in first..=(right - 0.5).floor() as i32 {
                    filled.set([column - from[0], row as i32]);
                }
            }
        }
        filled.mend(&across, 0);
        filled.mend(&self.spans(0, from[0], size[0]), 1);
        Some(filled)
    }

    /// For each row (axis 1) or column (axis 0) of pixels, the parts of the line through the pixels' centres that lie
    /// inside the contours: those around which the winding number is not 0.
    fn spans(&self, axis: usize, from: i32, lines: usize) -> Vec<Vec<[f64; 2]>> {
        let mut crossings: Vec<Vec<(f64, i32)>> = vec![Vec::new(); lines];
        for contour in &self.contours {
            let ends = contour.iter().skip(1).chain(contour.first());
            for (a, b) in contour.iter().zip(ends) {
                let (low, high) = (a[axis].min(b[axis]), a[axis].max(b[axis]));
                // Lines whose centre lies above `low` and not above `high`.
                let place = |at: f64| ((at - 0.5).ceil() as i32 - from).clamp(0, lines as i32) as usize;
                for (line, found) in crossings.iter_mut().enumerate().take(place(high)).skip(place(low)) {
                    let centre = f64::from(from) + line as f64 + 0.5;
                    let along = (centre - a[axis]) / (b[axis] - a[axis]);
                    let other = 1 - axis;
                    found.push((a[other] + along * (b[other] - a[other]), if a[axis] < b[axis] { 1 } else { -1 }));
                }
            }
        }
        let inside = |mut row: Vec<(f64, i32)>| {
            row.sort_by(|a, b| a.0.total_cmp(&b.0));
            let (mut winding, mut start, mut spans) = (0, 0.0, Vec::new());
            for (place, turn) in row {
                if winding == 0 {
                    start = place;
                }
                winding += turn;
                if winding == 0 {
                    spans.push([start, place]);
                }
            }
            spans
        };
        crossings.into_iter().map(inside).collect()
    }
}

impl OutlinePen for Shape {
    fn move_to(&mut self, x: f32, y: f32) {
        self.contours.push(vec![[x.into(), y.into()]]);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.put([x.into(), y.into()]);
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let (load_current, end): ([f64; 2], [f64; 2]) = ([x1.into(), y1.into()], [x.into(), y.into()]);
        self.curve(|start, t| {
            let u = 1.0 - t;
            [0, 1].map(|axis| u * u * start[axis] + 2.0 * u * t * load_current[axis] + t * t * end[axis])
        });
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let [first, second, end]: [[f64; 2]; 3] =
            [[x1.into(), y1.into()], [x2.into(), y2.into()], [x.into(), y.into()]];
        self.curve(|start, t| {
            let u = 1.0 - t;
            let weights = [u * u * u, 3.0 * u * u * t, 3.0 * u * t * t, t * t * t];
            [0, 1].map(|axis| {
                weights[0] * start[axis] + weights[1] * first[axis] + weights[2] * second[axis] + weights[3] * end[axis]
            })
        });
    }

    fn close(&mut self) {}
}

impl Filled {
    fn place(&self, [column, row]: [i32; 2]) -> Option<usize> {
        let [columns, rows] = self.size;
        let (column, row) = (usize::try_from(column).ok()?, usize::try_from(row).ok()?);
        (column < columns && row < rows).then_some(row * columns + column)
    }

    fn has(&self, at: [i32; 2]) -> bool {
        self.place(at).is_some_and(|place| self.ink[place])
    }

    fn set(&mut self, at: [i32; 2]) {
        if let Some(place) = self.place(at) {
            self.ink[place] = true;
        }
    }

    /// Gives each part that passes between two centres of its line the pixel that holds its middle, unless one of the
    /// two is ink. `along` is the axis on which the spans lie.
    fn mend(&mut self, lines: &[Vec<[f64; 2]>], along: usize) {
        for (line, spans) in lines.iter().enumerate() {
            for span in spans {
                let first = (span[0] - 0.5).ceil() as i32;
                let last = (span[1] - 0.5).floor() as i32;
                if first != last + 1 {
                    continue;
                }
                let at = |pixel: i32| {
                    let pixel = pixel - self.from[along];
                    if along == 0 { [pixel, line as i32] } else { [line as i32, pixel] }
                };
                if !self.has(at(first)) && !self.has(at(last)) {
                    let middle = at(((span[0] + span[1]) / 2.0).floor() as i32);
                    self.set(middle);
                }
            }
        }
    }

    /// The glyph, cut to its ink.
    fn glyph(&self, advance: i32) -> Glyph {
        let [columns, _] = self.size;
        let inked = self.ink.iter().enumerate().filter(|(_, ink)| **ink);
        let inked: Vec<[usize; 2]> = inked.map(|(place, _)| [place % columns, place / columns]).collect();
        let side = |axis: usize| {
            let places = || inked.iter().map(|at| at[axis]);
            places().min().zip(places().max())
        };
        let (Some((left, right)), Some((bottom, top))) = (side(0), side(1)) else {
            return Glyph { advance, left: 0, top: 0, ink: Frame::new(0, 0) };
        };
        let mut ink = Frame::new((right - left + 1) as u32, (top - bottom + 1) as u32);
        for [x, y] in inked {
            ink.set((x - left) as u32, (top - y) as u32, true);
        }
        Glyph { advance, left: self.from[0] + left as i32, top: self.from[1] + top as i32 + 1, ink }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::assert::assert_picture;

    fn shape(contours: &[&[[f64; 2]]]) -> Glyph {
        let shape = Shape { contours: contours.iter().map(|contour| contour.to_vec()).collect() };
        shape.fill().unwrap().glyph(9)
    }

    #[test]
    fn a_pixel_is_ink_where_its_centre_is_inside() {
        let outer: &[[f64; 2]] = &[[0.4, -0.6], [0.4, 3.6], [4.6, 3.6], [4.6, -0.6]];
        let hole: &[[f64; 2]] = &[[1.4, 0.6], [3.4, 0.6], [3.4, 2.4], [1.4, 2.4]];
        let glyph = shape(&[outer, hole]);
        assert_picture(&glyph.ink, &["#####", "#####", "#..##", "#####", "#####"]);
        assert_eq!((glyph.left, glyph.top, glyph.advance), (0, 4, 9));
    }

    #[test]
    fn thin_parts_are_kept_and_specks_are_not() {
        // A stem a tenth of a pixel wide, between two centres: a column.
        let stem: &[[f64; 2]] = &[[1.7, 0.0], [1.7, 5.0], [1.8, 5.0], [1.8, 0.0]];
        let glyph = shape(&[stem]);
        assert_picture(&glyph.ink, &["#", "#", "#", "#", "#"]);
        assert_eq!((glyph.left, glyph.top), (1, 5));
        let none = shape(&[&[[0.1, 0.1], [0.1, 0.2], [0.2, 0.2]]]);
        assert_eq!((none.ink.width(), none.ink.height()), (0, 0));
    }

    #[test]
    fn outlines_out_of_bounds_are_refused() {
        for far in [f64::NAN, f64::INFINITY, 1e9, 3000.0] {
            let shape = Shape { contours: vec![vec![[0.0, 0.0], [0.0, far], [5.0, 5.0]]] };
            assert!(shape.fill().is_none(), "{far}");
        }
    }
}

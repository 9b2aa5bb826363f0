//! The part of a font that the rasteriser is given: a file of our own with the wanted characters alone, their outlines
//! within bounds.
//!
//! A broken or hostile font can map every number to a glyph, nest outlines in one another, draw them far away or a hair
//! apart; a rasteriser that takes it at its word reads for minutes, fills the memory or writes beside its picture. The
//! parser used here is sound on any bytes; what it finds is measured and written again as simple glyphs of whole units.
//! Not for rasterising: see [`super::truetype`].

use std::collections::{BTreeMap, BTreeSet};
use std::panic::resume_unwind;
use ttf_parser::cmap::Format;
use ttf_parser::{Face, GlyphId, OutlineBuilder, Tag};

/// Lines and curves of all wanted glyphs together: so many, and as many for each glyph.
const SEGMENTS: [usize; 2] = [4_000, 600];
/// Their length in ems: so many, and as many for each glyph. Curves are cut into lines by their length.
const EMS: [f32; 2] = [1_000.0, 120.0];
/// Character maps of a font beyond these are not looked at.
const MAPS: usize = 16;
/// Kerning tables of a font beyond these are not looked at.
const KERNS: usize = 16;

/// Pieces of second degree for a curve of third degree: the difference is far below a unit of the font.
const PIECES: u8 = 4;

/// A font file, parsed, with the glyphs of the wanted characters.
pub struct Outlines<'a> {
    face: Face<'a>,
    glyphs: BTreeMap<char, Drawn>,
}

/// The glyph of a character.
struct Drawn {
    id: GlyphId,
    /// Closed contours.
    contours: Vec<Vec<Corner>>,
}

/// A point of a contour in units of the font, on the outline or pulling at it.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Corner {
    at: [i16; 2],
    on: bool,
}

impl<'a> Outlines<'a> {
    /// Finds the glyphs of characters and measures them.
    ///
    /// # Errors
    /// A sentence when the bytes are not a font, it has none of the characters, or its outlines are out of bounds.
    ///
    /// # Panics
    /// Unwinds, without a word on the terminal, from an outline of more segments than all glyphs may have; meant to be
    /// caught where the font is read.
    pub fn of(bytes: &'a [u8], wanted: &BTreeSet<char>) -> Result<Self, String> {
        let face =
            Face::parse(bytes, 0).map_err(|why| format!("this is not a TrueType font that can be read: {why}"))?;
        // OpenType 1.9, head table: unitsPerEm is from 16 to 16384.
        let em = face.units_per_em();
        if !(16..=16_384).contains(&em) {
            return Err(format!("this is not a TrueType font that can be read: it has {em} units per em"));
        }
        if ![b"glyf", b"CFF ", b"CFF2"].into_iter().any(|tag| face.raw_face().table(Tag::from_bytes(tag)).is_some()) {
            return Err("the font has no outlines, only pictures of its characters".into());
        }
        let ids: Vec<(char, GlyphId)> = wanted.iter().filter_map(|c| Some((*c, glyph(&face, *c)?))).collect();
        if ids.is_empty() {
            return Err("the font has none of the characters that the project uses".into());
        }
        if ids.len() >= usize::from(u16::MAX) {
            return Err(format!("{} characters are wanted of it, more than a font can have", ids.len()));
        }
        let mut pen = Pen { left: SEGMENTS[0] + SEGMENTS[1] * ids.len(), ..Pen::default() };
        let mut glyphs = BTreeMap::new();
        for (character, id) in &ids {
            face.outline_glyph(*id, &mut pen);
            if pen.far {
                return Err(format!(
                    "its U+{:04X} reaches more than {} units from its origin",
                    u32::from(*character),
                    i16::MAX
                ));
            }
            let contours = std::mem::take(&mut pen.contours);
            let points: usize = contours.iter().map(Vec::len).sum();
            if points > usize::from(u16::MAX) || contours.len() > i16::MAX as usize {
                return Err(format!("its U+{:04X} has more points than a glyph can have", u32::from(*character)));
            }
            glyphs.insert(*character, Drawn { id: *id, contours });
        }
        let most = EMS[0] + EMS[1] * ids.len() as f32;
        if pen.length > f32::from(em) * most {
            return Err(format!("its outlines are longer than {most} ems together"));
        }
        Ok(Self { face, glyphs })
    }

    /// The characters that the font has, in order.
    pub fn characters(&self) -> impl Iterator<Item = char> + '_ {
        self.glyphs.keys().copied()
    }

    /// What is added to the advance between two characters, in ems.
    pub fn kerning(&self, left: char, right: char) -> f32 {
        let pair = self.glyphs.get(&left).zip(self.glyphs.get(&right));
        let tables = self.face.tables().kern.into_iter().flat_map(|kern| kern.subtables).take(KERNS);
        let mut plain = tables.filter(|table| table.horizontal && !table.has_cross_stream && !table.has_state_machine);
        let units = pair.and_then(|(left, right)| plain.find_map(|table| table.glyphs_kerning(left.id, right.id)));
        f32::from(units.unwrap_or(0)) / f32::from(self.face.units_per_em())
    }

    /// A font file with these glyphs in the order of their characters, after an empty one for those that are missing
    /// (OpenType 1.9: tables cmap, glyf, head, hhea, hmtx, loca, maxp).
    pub fn file(&self) -> Vec<u8> {
        let count = self.glyphs.len() as u16 + 1;
        let (mut outlines, mut places, mut metrics) = (Vec::new(), vec![0, 0, 0, 0], vec![0, 0, 0, 0]);
        places.extend([0, 0, 0, 0]);
        for drawn in self.glyphs.values() {
            outlines.extend(simple(&drawn.contours));
            places.extend((outlines.len() as u32).to_be_bytes());
            metrics.extend(self.face.glyph_hor_advance(drawn.id).unwrap_or(0).to_be_bytes());
            metrics.extend([0, 0]);
        }
        let em = self.face.units_per_em().to_be_bytes();
        // Version 1.0, up to the units per em; then dates, bounds and hints that are not read; long places.
        let mut head =
            [&[0, 1, 0, 0][..], &[0; 8], &[0x5f, 0x0f, 0x3c, 0xf5, 0, 0], &em, &[0; 30], &[0, 1, 0, 0]].concat();
        head.truncate(54);
        let line = [self.face.ascender(), self.face.descender(), self.face.line_gap()];
        let line: Vec<u8> = line.iter().flat_map(|distance| distance.to_be_bytes()).collect();
        let hhea = [&[0, 1, 0, 0][..], &line, &[0; 24], &count.to_be_bytes()].concat();
        let maxp = [&[0, 0, 0x50, 0][..], &count.to_be_bytes()].concat();
        let map = self.map();
        let tables: [(&[u8; 4], &[u8]); 7] = [
            (b"cmap", &map),
            (b"glyf", &outlines),
            (b"head", &head),
            (b"hhea", &hhea),
            (b"hmtx", &metrics),
            (b"loca", &places),
            (b"maxp", &maxp),
        ];
        let mut file = vec![0, 1, 0, 0, 0, tables.len() as u8];
        // What a reader may search the directory with; and below, checksums: neither is read.
        file.extend([0; 6]);
        let mut offset = 12 + 16 * tables.len();
        for (tag, bytes) in tables {
            file.extend(tag);
            file.extend([0; 4]);
            file.extend((offset as u32).to_be_bytes());
            file.extend((bytes.len() as u32).to_be_bytes());
            offset += bytes.len();
        }
        tables.iter().for_each(|(_, bytes)| file.extend_from_slice(bytes));
        file
    }

    /// A character map of format 12: a group for each character.
    fn map(&self) -> Vec<u8> {
        let count = self.glyphs.len() as u32;
        let mut map = Vec::with_capacity(28 + 12 * self.glyphs.len());
        // Version 0, one table, of Unicode's full repertoire, after these 12 bytes.
        for half in [0, 1, 0, 4, 0, 12, 12, 0_u16] {
            map.extend(half.to_be_bytes());
        }
        for word in [16 + 12 * count, 0, count] {
            map.extend(word.to_be_bytes());
        }
        for (character, id) in self.glyphs.keys().zip(1_u32..) {
            for word in [u32::from(*character), u32::from(*character), id] {
                map.extend(word.to_be_bytes());
            }
        }
        map
    }
}

/// A glyph without components; empty without contours.
fn simple(contours: &[Vec<Corner>]) -> Vec<u8> {
    let corners = || contours.iter().flatten();
    let mut glyph = Vec::new();
    if contours.is_empty() {
        return glyph;
    }
    glyph.extend((contours.len() as u16).to_be_bytes());
    let bound = |axis: usize, largest: bool| {
        let places = corners().map(|corner| corner.at[axis]);
        if largest { places.max() } else { places.min() }.unwrap_or(0).to_be_bytes()
    };
    glyph.extend([bound(0, false), bound(1, false), bound(0, true), bound(1, true)].as_flattened());
    let mut last = 0;
    for contour in contours {
        last += contour.len();
        glyph.extend((last as u16 - 1).to_be_bytes());
    }
    // No instructions; flags that say on the outline or not, and steps of two bytes.
    glyph.extend([0, 0]);
    glyph.extend(corners().map(|corner| u8::from(corner.on)));
    for axis in [0, 1] {
        let mut before = 0_i16;
        for corner in corners() {
            glyph.extend(corner.at[axis].wrapping_sub(before).to_be_bytes());
            before = corner.at[axis];
        }
    }
    if glyph.len() % 2 == 1 {
        glyph.push(0);
    }
    glyph
}

/// The glyph of a character; maps that give many characters one glyph, for last resort, are left out.
fn glyph(face: &Face<'_>, character: char) -> Option<GlyphId> {
    let maps = face.tables().cmap?.subtables.into_iter().take(MAPS);
    let mut maps = maps.filter(|map| map.is_unicode() && !matches!(map.format, Format::ManyToOneRangeMappings(_)));
    let found = maps.find_map(|map| map.glyph_index(u32::from(character)))?;
    (found.0 != 0 && found.0 < face.number_of_glyphs()).then_some(found)
}

/// Takes outlines down as contours of whole units, and measures them.
#[derive(Default)]
struct Pen {
    /// Segments that are still allowed.
    left: usize,
    /// Whether a point lay beyond what can be written.
    far: bool,
    /// Of all control polygons.
    length: f32,
    at: [f32; 2],
    contours: Vec<Vec<Corner>>,
}

impl Pen {
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
    fn curve(&mut self, pull: [f32; 2], end: [f32; 2]) {
        let start = self.contours.last().and_then(|contour| contour.last()).map(|corner| corner.at);
        let (pull, end) = (self.corner(pull, false), self.corner(end, true));
        let along = |axis: usize| start.is_some_and(|at| at[axis] == pull.at[axis]) && pull.at[axis] == end.at[axis];
        if !along(0) && !along(1) {
            self.put(pull);
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
            let pull = [0, 1].map(|axis| (3.0 * (b[axis] + c[axis]) - a[axis] - d[axis]) / 4.0);
            self.curve(pull, if piece + 1 == PIECES { [x, y] } else { d });
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
        let mut pen = Pen { left: 10, ..Pen::default() };
        pen.move_to(5.0, 0.0);
        pen.quad_to(5.0, 10.0, 5.0, 20.0);
        pen.quad_to(10.0, 30.0, 15.2, 20.0);
        let on = |x: i16, y: i16| Corner { at: [x, y], on: true };
        assert_eq!(pen.contours, [vec![on(5, 0), on(5, 20), Corner { at: [10, 30], on: false }, on(15, 20)]]);
        assert!(!pen.far);
        pen.line_to(f32::NAN, 0.0);
        assert!(pen.far);
    }
}

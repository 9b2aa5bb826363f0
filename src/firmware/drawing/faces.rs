//! Faces as firmware reads them: only glyphs and pairs in use, metrics in as few bits as they take, pixels in the mode that
//! suits the face.

use super::bits::{Bits, PLAIN, lengths, modes, needs, picture};
use super::words::{Codes, FIRST};
use crate::firmware::packed::packed;
use crate::frame::{Frame, Packing};
use crate::screen::face::{Face, Glyph};
use std::collections::BTreeSet;

/// Numbers from a least one on, in so many bits.
struct Column {
    least: i32,
    bits: u32,
}

impl Column {
    fn of(numbers: impl Iterator<Item = i32> + Clone) -> Self {
        let (least, most) = (numbers.clone().min().unwrap_or(0), numbers.max().unwrap_or(0));
        Self { least, bits: needs((i64::from(most) - i64::from(least)) as u32) }
    }

    fn write(&self, number: i32, bits: &mut Bits) {
        bits.number(number.wrapping_sub(self.least) as u32, self.bits);
    }
}

/// A face cut down to some characters.
pub(super) fn face(face: &Face, used: &BTreeSet<char>, codes: &Codes, packing: &Packing) -> Vec<u8> {
    let mut own: Vec<(u16, char)> =
        used.iter().filter(|one| face.has(**one)).map(|one| (codes.code(*one), *one)).collect();
    own.sort_unstable();
    let missing = face.glyph('\u{fffd}');
    let glyphs: Vec<(u16, &Glyph)> =
        std::iter::once((0, missing)).chain(own.iter().map(|(code, one)| (*code, face.glyph(*one)))).collect();
    let every = |part: fn(&Glyph) -> i32| glyphs.iter().map(move |(_, glyph)| part(glyph));
    let parts: [fn(&Glyph) -> i32; 5] = [
        |glyph| glyph.advance,
        |glyph| glyph.left,
        |glyph| glyph.top,
        |glyph| glyph.ink.width() as i32,
        |glyph| glyph.ink.height() as i32,
    ];
    let columns = parts.map(|part| Column::of(every(part)));
    // Many glyphs have the same metrics: a shape.
    let metrics = |glyph: &Glyph| parts.map(|part| part(glyph));
    let shapes: BTreeSet<[i32; 5]> = glyphs.iter().map(|(_, glyph)| metrics(glyph)).collect();
    let shapes: Vec<[i32; 5]> = shapes.into_iter().collect();
    let (mode, offsets, pixels) = pixels(&glyphs, packing);
    // Pairs by their left glyph, and for each glyph where its own begin.
    let (mut kerns, mut firsts) = (Vec::new(), vec![0]);
    for (_, left) in &own {
        firsts.push(kerns.len());
        for (right_code, right) in &own {
            match face.kern(*left, *right) {
                0 => {}
                distance => kerns.push((*right_code, distance)),
            }
        }
    }
    let up_to = |most: usize| Column { least: 0, bits: needs(most as u32) };
    let rights = up_to(glyphs.last().map_or(0, |(code, _)| usize::from(*code)));
    let places = up_to(offsets.last().copied().unwrap_or(0));
    let numbers = up_to(shapes.len().saturating_sub(1));
    let distances = Column::of(kerns.iter().map(|(_, distance)| *distance));
    let pairs = up_to(kerns.len());
    let mut records = Bits::default();
    for (((_, glyph), offset), first) in glyphs.iter().zip(&offsets).zip(&firsts) {
        let shape = shapes.binary_search(&metrics(glyph)).unwrap_or_default();
        for (column, one) in [(&numbers, shape), (&pairs, *first), (&places, *offset)] {
            column.write(one as i32, &mut records);
        }
    }
    let shapes_at = records.count;
    for shape in &shapes {
        columns.iter().zip(shape).for_each(|(column, one)| column.write(*one, &mut records));
    }
    let kerns_at = records.count;
    for (right, distance) in &kerns {
        rights.write(i32::from(*right), &mut records);
        distances.write(*distance, &mut records);
    }
    let pixels_at = records.count;
    records.append(&pixels);
    let width = if glyphs.len() <= usize::from(u8::MAX) { 1 } else { 2 };
    let map = map(own.iter().map(|(code, _)| *code), width);
    let bits = |columns: &[&Column]| columns.iter().map(|column| column.bits as usize).sum::<usize>();
    let all: Vec<&Column> = columns.iter().collect();
    let widths = [&[&numbers][..], &[&pairs], &[&places], &[&rights], &[&numbers, &pairs, &places], &all].map(bits);
    let small = columns.iter().chain([&distances]).map(|column| column.bits as usize).chain(widths);
    let mut bytes: Vec<u8> = small.chain([width, usize::from(mode)]).map(|one| one as u8).collect();
    let leasts = columns.iter().chain([&distances]).map(|column| column.least);
    let heights: Vec<i32> = [face.line_height(), face.ascent, face.cap_height].into_iter().chain(leasts).collect();
    let tall = heights.iter().any(|height| i8::try_from(*height).is_err());
    bytes.push(tall.into());
    for height in heights {
        match tall {
            true => bytes.extend(((height + 0x8000) as u16).to_le_bytes()),
            false => bytes.push((height + 0x80) as u8),
        }
    }
    let counts = [(map.len() / (1 + width), 2), (shapes_at, 3), (pixels_at, 3), (kerns.len(), 3), (kerns_at, 3)];
    for (count, size) in counts.into_iter().take(if kerns.is_empty() { 3 } else { 5 }) {
        bytes.extend(&(count as u32).to_le_bytes()[..size]);
    }
    bytes.extend(map);
    bytes.extend(records.bytes);
    bytes
}

/// The largest face in bytes: its parts are found by bits of three bytes.
pub(super) const LARGEST: usize = 1 << 21;

/// Where a face says whether its heights take two bytes.
const IS_TALL: usize = 14;

/// Whether the heights of a face, as it was written, take two bytes.
pub(super) fn is_tall(face: &[u8]) -> bool {
    face[IS_TALL] != 0
}

/// Which codes there are, eight a step from the first on: a bit for each, the lowest first, then the codes before the step
/// in one or two bytes, the lowest first.
fn map(codes: impl Iterator<Item = u16>, width: usize) -> Vec<u8> {
    let mut map = Vec::new();
    for (before, code) in codes.enumerate() {
        let at = usize::from(code.saturating_sub(FIRST));
        while map.len() <= at / 8 * (1 + width) {
            map.push(0);
            map.extend_from_slice(&(before as u16).to_le_bytes()[..width]);
        }
        map[at / 8 * (1 + width)] |= 1 << (at % 8);
    }
    map
}

/// All glyphs' pixels in the mode that takes fewest bits, and where each begins.
fn pixels(glyphs: &[(u16, &Glyph)], packing: &Packing) -> (u8, Vec<usize>, Bits) {
    let turned: Vec<Frame> = glyphs.iter().map(|(_, glyph)| packed(&glyph.ink, packing)).collect();
    let taken: Vec<Vec<(u8, usize)>> = turned.iter().map(|glyph| lengths(glyph).collect()).collect();
    let sum = |(at, _): &(usize, u8)| taken.iter().map(|taken| taken[*at].1).sum::<usize>();
    let mode = modes().enumerate().min_by_key(sum).map_or(PLAIN, |(_, mode)| mode);
    let (mut all, mut offsets) = (Bits::default(), Vec::new());
    for glyph in &turned {
        offsets.push(all.count);
        all.append(&picture(glyph, mode));
    }
    (mode, offsets, all)
}

/// How wide each glyph is as it is packed, that for missing ones included.
pub(super) fn widths(face: &Face, used: &BTreeSet<char>, packing: &Packing) -> impl Iterator<Item = u32> {
    let own = used.iter().filter(|one| face.has(**one)).copied().chain(['\u{fffd}']);
    own.map(|one| packed(&face.glyph(one).ink, packing).width())
}

/// Whether pairs of characters move.
pub(super) fn has_kerns(face: &Face, used: &BTreeSet<char>) -> bool {
    used.iter()
        .any(|left| used.iter().any(|right| face.has(*left) && face.has(*right) && face.kern(*left, *right) != 0))
}

//! Faces as firmware reads them: only glyphs and pairs in use, metrics in as few bits as they take, pixels in the mode that
//! suits the face.

use super::bits::{Bits, modes, needs, number, picture, signed};
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

    fn head(&self, bytes: &mut Vec<u8>) {
        bytes.push(self.bits as u8);
        signed(self.least, bytes);
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
    let rights = Column { least: 0, bits: needs(glyphs.last().map_or(0, |(code, _)| u32::from(*code))) };
    let places = Column { least: 0, bits: needs(offsets.last().map_or(0, |offset| *offset as u32)) };
    let distances = Column::of(kerns.iter().map(|(_, distance)| *distance));
    let pairs = Column { least: 0, bits: needs(firsts.last().map_or(0, |first| *first as u32)) };
    let mut bytes = Vec::new();
    for height in [face.line_height(), face.ascent, face.cap_height] {
        signed(height, &mut bytes);
    }
    number(glyphs.len() as u32, &mut bytes);
    number(kerns.len() as u32, &mut bytes);
    bytes.extend([mode, rights.bits as u8, pairs.bits as u8, places.bits as u8]);
    let map = map(own.iter().map(|(code, _)| *code));
    number((map.len() / 3) as u32, &mut bytes);
    columns.iter().chain([&distances]).for_each(|column| column.head(&mut bytes));
    bytes.extend(map);
    let mut bits = Bits::default();
    let [advances, others @ ..] = &columns;
    for (((_, glyph), offset), first) in glyphs.iter().zip(&offsets).zip(&firsts) {
        advances.write(glyph.advance, &mut bits);
        pairs.write(*first as i32, &mut bits);
        places.write(*offset as i32, &mut bits);
        others.iter().zip(&parts[1..]).for_each(|(column, part)| column.write(part(glyph), &mut bits));
    }
    for (right, distance) in kerns {
        rights.write(i32::from(right), &mut bits);
        distances.write(distance, &mut bits);
    }
    bits.append(&pixels);
    bytes.extend(bits.bytes);
    bytes
}

/// Which codes there are, eight a step from the first on: a bit for each, the lowest first, then the codes before the step
/// in two bytes, the lowest first.
fn map(codes: impl Iterator<Item = u16>) -> Vec<u8> {
    let mut map = Vec::new();
    for (before, code) in codes.enumerate() {
        let at = usize::from(code.saturating_sub(FIRST));
        while map.len() <= at / 8 * 3 {
            map.extend([0, before as u8, (before >> 8) as u8]);
        }
        map[at / 8 * 3] |= 1 << (at % 8);
    }
    map
}

/// All glyphs' pixels in the mode that takes fewest bits, and where each begins.
fn pixels(glyphs: &[(u16, &Glyph)], packing: &Packing) -> (u8, Vec<usize>, Bits) {
    let turned: Vec<Frame> = glyphs.iter().map(|(_, glyph)| packed(&glyph.ink, packing)).collect();
    let in_mode = |mode: u8| {
        let (mut all, mut offsets) = (Bits::default(), Vec::new());
        for glyph in &turned {
            offsets.push(all.count);
            all.append(&picture(glyph, mode));
        }
        (mode, offsets, all)
    };
    modes().map(in_mode).min_by_key(|(.., bits)| bits.count).unwrap_or_default()
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

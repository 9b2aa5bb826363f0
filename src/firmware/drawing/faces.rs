//! Faces as firmware reads them: only glyphs and pairs in use, metrics in as few bits as they take, pixels in the mode that
//! suits the face.

use super::bits::{Bits, modes, needs, number, picture, signed};
use super::words::Pool;
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
pub(super) fn face(face: &Face, used: &BTreeSet<char>, pool: &Pool) -> Vec<u8> {
    let mut own: Vec<(u16, char)> =
        used.iter().filter(|one| face.has(**one)).map(|one| (pool.code(*one), *one)).collect();
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
    let (mode, offsets, pixels) = pixels(&glyphs);
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
    let codes = Column { least: 0, bits: needs(glyphs.last().map_or(0, |(code, _)| u32::from(*code))) };
    let places = Column { least: 0, bits: needs(offsets.last().map_or(0, |offset| *offset as u32)) };
    let distances = Column::of(kerns.iter().map(|(_, distance)| *distance));
    let pairs = Column { least: 0, bits: needs(firsts.last().map_or(0, |first| *first as u32)) };
    let mut bytes = Vec::new();
    for height in [face.line_height(), face.ascent, face.cap_height] {
        signed(height, &mut bytes);
    }
    number(glyphs.len() as u32, &mut bytes);
    number(kerns.len() as u32, &mut bytes);
    bytes.extend([mode, codes.bits as u8, pairs.bits as u8, places.bits as u8]);
    columns.iter().chain([&distances]).for_each(|column| column.head(&mut bytes));
    let mut bits = Bits::default();
    let [advances, others @ ..] = &columns;
    for (((code, glyph), offset), first) in glyphs.iter().zip(&offsets).zip(&firsts) {
        codes.write(i32::from(*code), &mut bits);
        advances.write(glyph.advance, &mut bits);
        pairs.write(*first as i32, &mut bits);
        places.write(*offset as i32, &mut bits);
        others.iter().zip(&parts[1..]).for_each(|(column, part)| column.write(part(glyph), &mut bits));
    }
    for (right, distance) in kerns {
        codes.write(i32::from(right), &mut bits);
        distances.write(distance, &mut bits);
    }
    bits.append(&pixels);
    bytes.extend(bits.bytes);
    bytes
}

/// All glyphs' pixels in the mode that takes fewest bits, and where each begins.
fn pixels(glyphs: &[(u16, &Glyph)]) -> (u8, Vec<usize>, Bits) {
    let in_mode = |mode: u8| {
        let (mut all, mut offsets) = (Bits::default(), Vec::new());
        for (_, glyph) in glyphs {
            offsets.push(all.count);
            all.append(&picture(&glyph.ink, mode));
        }
        (mode, offsets, all)
    };
    modes().map(in_mode).min_by_key(|(.., bits)| bits.count).unwrap_or_default()
}

//! Writes a font file of simple glyphs, with the tables that outlines and advances need: cmap, glyf, head, hhea, hmtx, loca
//! and maxp of OpenType 1.9. Not for reading one: see [`super::outlines`].

use super::pen::{Corner, Drawn};
use std::collections::BTreeMap;

/// A font of these glyphs in the order of their characters, after an empty one for those that are missing. `em` is the
/// number of units per em; `line` the ascent, the descent (negative) and the gap between lines, in units. At most 65,534
/// glyphs, each of at most 65,535 points in 32,767 contours.
pub fn write(em: u16, line: [i16; 3], glyphs: &BTreeMap<char, Drawn>) -> Vec<u8> {
    let count = glyphs.len() as u16 + 1;
    let (mut outlines, mut places, mut metrics) = (Vec::new(), vec![0, 0, 0, 0], vec![0, 0, 0, 0]);
    places.extend([0, 0, 0, 0]);
    for drawn in glyphs.values() {
        outlines.extend(simple(&drawn.contours));
        places.extend((outlines.len() as u32).to_be_bytes());
        metrics.extend(drawn.advance.to_be_bytes());
        metrics.extend([0, 0]);
    }
    let em = em.to_be_bytes();
    // Version 1.0, up to the units per em; then dates, bounds and hints that are not read; long places.
    let head = [&[0, 1, 0, 0][..], &[0; 8], &[0x5f, 0x0f, 0x3c, 0xf5, 0, 0], &em, &[0; 30], &[0, 1, 0, 0]].concat();
    let line: Vec<u8> = line.iter().flat_map(|distance| distance.to_be_bytes()).collect();
    let hhea = [&[0, 1, 0, 0][..], &line, &[0; 24], &count.to_be_bytes()].concat();
    let maxp = [&[0, 0, 0x50, 0][..], &count.to_be_bytes()].concat();
    let map = map(glyphs);
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
fn map(glyphs: &BTreeMap<char, Drawn>) -> Vec<u8> {
    let count = glyphs.len() as u32;
    let mut map = Vec::with_capacity(28 + 12 * glyphs.len());
    // Version 0, one table, of Unicode's full repertoire, after these 12 bytes.
    for half in [0, 1, 0, 4, 0, 12, 12, 0_u16] {
        map.extend(half.to_be_bytes());
    }
    for word in [16 + 12 * count, 0, count] {
        map.extend(word.to_be_bytes());
    }
    for (character, id) in glyphs.keys().zip(1_u32..) {
        for word in [u32::from(*character), u32::from(*character), id] {
            map.extend(word.to_be_bytes());
        }
    }
    map
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

#[cfg(test)]
mod tests {
    use super::*;

    /// The parser finds what was written: characters, advances, the line and, corner for corner, the outlines.
    #[test]
    fn what_is_written_is_read_again() {
        use super::super::pen::Pen;
        let corner = |x: i16, y: i16, on: bool| Corner { at: [x, y], on };
        let leaf = vec![vec![corner(-30_000, 0, true), corner(30_000, 500, false), corner(0, 900, true)]];
        let glyphs: BTreeMap<char, Drawn> = [
            (' ', Drawn { advance: 250, contours: Vec::new() }),
            ('é', Drawn { advance: 600, contours: leaf.clone() }),
            ('\u{1F321}', Drawn { advance: 999, contours: vec![vec![corner(1, 2, true), corner(3, 2, true)]] }),
        ]
        .into();
        let bytes = write(1_000, [800, -200, 50], &glyphs);
        let face = ttf_parser::Face::parse(&bytes, 0).expect("a font");
        assert_eq!((face.units_per_em(), face.number_of_glyphs()), (1_000, 4));
        assert_eq!((face.ascender(), face.descender(), face.line_gap()), (800, -200, 50));
        for (character, drawn) in &glyphs {
            let id = face.glyph_index(*character).expect("it is mapped");
            assert_eq!(face.glyph_hor_advance(id), Some(drawn.advance), "{character}");
        }
        assert_eq!(face.glyph_index('a'), None);
        let mut pen = Pen::new(100);
        face.outline_glyph(face.glyph_index('é').expect("it is mapped"), &mut pen).expect("an outline");
        let closed = [leaf[0].as_slice(), &[corner(-30_000, 0, true)]].concat();
        assert!(pen.contours == leaf || pen.contours == [closed], "{:?}", pen.contours);
    }
}

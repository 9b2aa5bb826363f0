//! Glyphs that could be taken for one another: in every built-in face they differ by at least a stated number of pixels.
//!
//! The distance of two glyphs is the number of pixels that are ink in one and paper in the other, with both on one
//! baseline, and the second up to a pixel to the left or right of the first, whichever is least: a reader does not see
//! where a cell begins. A single pixel is noise; on a worn panel two or three are. At 5 x 7 pixels, the least matrix for
//! numerals (ISO 9241-3, as quoted in published guides), 6 pixels are a sixth of the cell.

use inkjoule::screen::face::{Face, Glyph, builtin};
use std::collections::HashSet;

/// Pixels of ink from the origin on the baseline.
fn ink(glyph: &Glyph) -> HashSet<(i32, i32)> {
    let cells = (0..glyph.ink.height()).flat_map(|y| (0..glyph.ink.width()).map(move |x| (x, y)));
    let inked = cells.filter(|(x, y)| glyph.ink.ink(*x, *y));
    inked.map(|(x, y)| (glyph.left + x as i32, glyph.top - y as i32)).collect()
}

/// Pixels by which two characters differ in a face.
fn distance(face: &Face, [a, b]: [char; 2]) -> usize {
    assert!(face.has(a) && face.has(b), "{} has no {a} or no {b}", face.name);
    let (a, b) = (ink(face.glyph(a)), ink(face.glyph(b)));
    let moved = |by: i32| b.iter().map(|(x, y)| (x + by, *y)).collect::<HashSet<_>>();
    [-1, 0, 1].map(|by| a.symmetric_difference(&moved(by)).count()).into_iter().min().unwrap()
}

/// Pairs that are closer than they may be.
fn too_close(face: &Face, pairs: impl IntoIterator<Item = [char; 2]>, least: usize) -> Vec<String> {
    let apart = pairs.into_iter().map(|pair| (pair, distance(face, pair)));
    let close = apart.filter(|(_, pixels)| *pixels < least);
    close.map(|([a, b], pixels)| format!("{}: {a} and {b} differ by {pixels}, not {least}", face.name)).collect()
}

/// The least distances: of two digits, of a digit and a letter, of the letters that are a stem alone.
struct Least {
    digits: usize,
    letters: usize,
    stems: usize,
}

/// For each text face. The condensed one has 4 x 7 pixels for a digit.
const TEXT: [(&str, Least); 5] = [
    ("small", Least { digits: 6, letters: 6, stems: 4 }),
    ("condensed", Least { digits: 4, letters: 5, stems: 4 }),
    ("small-bold", Least { digits: 6, letters: 6, stems: 4 }),
    ("text", Least { digits: 10, letters: 8, stems: 4 }),
    ("bold", Least { digits: 10, letters: 8, stems: 6 }),
];

/// Pixels of a slash that a zero needs at least.
const SLASH: usize = 5;

/// For each face of numerals: about a tenth of the cell of a digit.
const NUMERALS: [(&str, usize); 4] = [("numerals-14", 15), ("numerals-20", 30), ("numerals-28", 55), ("numerals", 120)];

fn digits() -> impl Iterator<Item = [char; 2]> {
    ('0'..='9').flat_map(|a| ('0'..a).map(move |b| [a, b]))
}

const LETTERS: [[char; 2]; 13] = [
    ['0', 'O'],
    ['0', 'D'],
    ['0', 'Q'],
    ['0', 'C'],
    ['1', 'I'],
    ['1', 'l'],
    ['2', 'Z'],
    ['3', 'B'],
    ['3', 'S'],
    ['5', 'S'],
    ['6', 'G'],
    ['8', 'B'],
    ['8', 'S'],
];
const STEMS: [[char; 2]; 3] = [['l', 'I'], ['ã', 'ä'], ['õ', 'ö']];

#[test]
fn digits_and_letters_of_the_text_faces_are_apart() {
    let mut close = Vec::new();
    for (name, least) in TEXT {
        // The slash alone may set a slashed zero apart from O.
        for (name, letters) in [(name.to_owned(), least.letters), (format!("{name}-slashed"), SLASH)] {
            let face = builtin::face(&name).unwrap();
            close.extend(too_close(&face, digits(), least.digits));
            close.extend(too_close(&face, LETTERS, letters));
            close.extend(too_close(&face, STEMS, least.stems));
        }
    }
    assert!(close.is_empty(), "{close:#?}");
}

#[test]
fn digits_of_the_numerals_are_apart() {
    let face = |name| builtin::face(name).unwrap();
    let close: Vec<String> =
        NUMERALS.iter().flat_map(|(name, least)| too_close(&face(name), digits(), *least)).collect();
    assert!(close.is_empty(), "{close:#?}");
}

#[test]
fn every_built_in_face_is_held_to_a_distance() {
    let held = TEXT.iter().map(|(name, _)| *name).chain(NUMERALS.iter().map(|(name, _)| *name));
    let held: HashSet<&str> = held.collect();
    for (name, _) in builtin::BUILTIN {
        assert!(held.contains(name), "{name} is not in this test");
    }
}

#[test]
fn digits_keep_one_advance_and_a_slashed_zero_changes_nothing_else() {
    for (name, _) in builtin::BUILTIN {
        let face = builtin::face(name).unwrap();
        let advance = face.glyph('0').advance;
        for character in ('0'..='9').chain(['+', '−', '\u{2007}']) {
            assert_eq!(face.glyph(character).advance, advance, "{name} {character:?}");
        }
    }
    for (name, plain) in builtin::SLASHED {
        let (slashed, plain) = (builtin::face(name).unwrap(), builtin::face(plain).unwrap());
        for (character, glyph) in plain.glyphs() {
            let same = ink(glyph) == ink(slashed.glyph(*character));
            assert_eq!(same, *character != '0', "{name} {character:?}");
            assert_eq!(glyph.advance, slashed.glyph(*character).advance, "{name} {character:?}");
        }
        assert!(slashed.glyph('0').ink.ink_count() > plain.glyph('0').ink.ink_count(), "{name}");
    }
}

#[test]
fn the_text_faces_have_one_repertoire() {
    let characters = |name| builtin::face(name).unwrap().glyphs().iter().map(|(c, _)| *c).collect::<Vec<char>>();
    for (name, _) in TEXT {
        assert_eq!(characters(name), characters("text"), "{name}");
    }
}

/// Signs of the bold fonts once came from the regular ones. Only spaces, filled triangles and a dot are the same in both.
#[test]
fn no_sign_of_a_bold_font_is_thin() {
    for (plain, bold, same) in [("small", "small-bold", "▲▶▼◀"), ("text", "bold", "·▲▶▼◀")] {
        let [plain, bold] = [plain, bold].map(|name| builtin::face(name).unwrap());
        let alike = bold.glyphs().iter().filter(|(character, glyph)| ink(glyph) == ink(plain.glyph(*character)));
        let inked = alike.filter(|(_, glyph)| !ink(glyph).is_empty()).map(|(character, _)| *character);
        let mut inked: Vec<char> = inked.collect();
        inked.sort_unstable();
        assert_eq!(inked, same.chars().collect::<Vec<_>>(), "{}", bold.name);
    }
}

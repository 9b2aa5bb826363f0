//! Hinted outlines against FreeType's own monochrome rendering: three free fonts, 10 to 24 px, the share of equal pixels.
//! `tests/references/hinting/make.py` took the pictures.

use inkjoule::screen::face::{Face, hinted, truetype};
use std::collections::BTreeSet;

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/references/hinting");

/// One character as FreeType renders it at a size.
struct Reference {
    size: u32,
    character: char,
    advance: i32,
    /// Its pixels, from the origin on the baseline.
    ink: BTreeSet<(i32, i32)>,
}

fn references(font: &str) -> Vec<Reference> {
    let text = std::fs::read_to_string(format!("{FOLDER}/{font}.txt")).unwrap();
    let reference = |line: &str| {
        let words: Vec<&str> = line.split(' ').collect();
        let number = |at: usize| words[at].parse::<i32>().unwrap();
        let (left, top, columns) = (number(3), number(4), number(5));
        let digits: Vec<u32> = words[6].chars().map(|digit| digit.to_digit(16).unwrap()).collect();
        let mut ink = BTreeSet::new();
        for (y, row) in (0..).zip(digits.chunks((columns as usize).div_ceil(4))) {
            let inked = (0..columns).filter(|x| row[*x as usize / 4] & (8 >> (x % 4)) != 0);
            ink.extend(inked.map(|x| (left + x, top - y)));
        }
        let character = words[1].chars().next().unwrap();
        Reference { size: number(0) as u32, character, advance: number(2), ink }
    };
    text.lines().filter(|line| !line.starts_with('#')).map(reference).collect()
}

fn ink(face: &Face, character: char) -> BTreeSet<(i32, i32)> {
    let glyph = face.glyph(character);
    let cells = (0..glyph.ink.height()).flat_map(|y| (0..glyph.ink.width()).map(move |x| (x, y)));
    let inked = cells.filter(|(x, y)| glyph.ink.ink(*x, *y));
    inked.map(|(x, y)| (glyph.left + x as i32, glyph.top - y as i32)).collect()
}

/// Pixels of the smallest box around both, and those of them that differ.
fn compared(one: &BTreeSet<(i32, i32)>, other: &BTreeSet<(i32, i32)>) -> (usize, usize) {
    let side = |pick: fn(&(i32, i32)) -> i32| {
        let places = || one.union(other).map(pick);
        places().max().zip(places().min()).map_or(0, |(most, least)| (most - least + 1) as usize)
    };
    (side(|at| at.0) * side(|at| at.1), one.symmetric_difference(other).count())
}

/// Share of equal pixels of a font at each size, in percent, and characters whose advance differs.
fn shares(font: &str, read: impl Fn(&[u8], f32, &BTreeSet<char>) -> Face) -> (Vec<(u32, f64)>, Vec<String>) {
    let bytes = std::fs::read(format!("{FOLDER}/{font}.ttf")).unwrap();
    let references = references(font);
    let wanted: BTreeSet<char> = references.iter().map(|reference| reference.character).collect();
    let sizes: BTreeSet<u32> = references.iter().map(|reference| reference.size).collect();
    assert!(wanted.len() == 94 && sizes.len() == 12, "{} characters, {sizes:?}", wanted.len());
    let mut off = Vec::new();
    let mut shares = Vec::new();
    for size in sizes {
        let face = read(&bytes, size as f32, &wanted);
        let (mut pixels, mut differ) = (0, 0);
        for reference in references.iter().filter(|reference| reference.size == size) {
            let (area, different) = compared(&ink(&face, reference.character), &reference.ink);
            pixels += area;
            differ += different;
            let advance = face.glyph(reference.character).advance;
            if advance != reference.advance {
                off.push(format!("{font} {size} {}: {advance}, not {}", reference.character, reference.advance));
            }
        }
        shares.push((size, 100.0 * (1.0 - differ as f64 / pixels as f64)));
    }
    (shares, off)
}

#[test]
fn hinted_pixels_are_those_of_freetype() {
    for font in ["sans", "serif", "plain"] {
        let (shares, off) = shares(font, |bytes, size, wanted| hinted::read(font, bytes, size, wanted).unwrap());
        println!("{font}: {shares:.2?}");
        assert!(shares.iter().all(|(_, share)| *share >= 97.0), "{font}: {shares:?}");
        assert!(off.is_empty(), "{off:#?}");
    }
}

#[test]
fn without_hinting_they_are_not() {
    let unhinted =
        |bytes: &[u8], size: f32, wanted: &BTreeSet<char>| truetype::read("x", bytes, size, None, wanted).unwrap();
    let (shares, _) = shares("sans", unhinted);
    println!("sans as drawn: {shares:.2?}");
    assert!(shares.iter().all(|(_, share)| *share < 97.0), "{shares:?}");
}

//! The widest line that a text with live values can come to in a face, exactly: no list of samples, but every piece at
//! every option, with the distances between the characters that meet.
//!
//! A line's width is a sum over characters and over neighbours, so of all beginnings that end in the same character only
//! the widest matters. Digits may be any digit: a true bound, which every value within the field's range keeps.

use super::template::Template;
use super::typeset::Setting;
use std::collections::BTreeMap;

/// Stands for any digit in the shapes of a template's piece; a character of private use that no text has.
pub const ANY_DIGIT: char = '\u{10FFFD}';

/// The digits, the usual widest first: among equals it is taken.
const DIGITS: [char; 10] = ['8', '0', '1', '2', '3', '4', '5', '6', '7', '9'];

/// For each last character the widest beginning: its width in pixels and its text.
type Beginnings = BTreeMap<Option<char>, (i32, String)>;

/// The widest line of a template.
pub fn widest(template: &Template, setting: &Setting) -> String {
    let mut all: Beginnings = [(None, (0, String::new()))].into();
    for piece in template.pieces.iter().flat_map(|piece| piece.parts()) {
        let mut longer = Beginnings::new();
        for shape in piece.shapes() {
            let ends = shape.chars().fold(all.clone(), |all, character| append(&all, character, setting));
            ends.into_iter().for_each(|(last, (width, text))| keep(&mut longer, last, width, text));
        }
        if !longer.is_empty() {
            all = longer;
        }
    }
    all.into_values().max_by_key(|(width, _)| *width).map(|(_, text)| text).unwrap_or_default()
}

/// All beginnings with one more character.
fn append(all: &Beginnings, character: char, setting: &Setting) -> Beginnings {
    let one = [character];
    let options = if character == ANY_DIGIT { &DIGITS[..] } else { &one[..] };
    let mut longer = Beginnings::new();
    for (last, (width, text)) in all {
        for option in options {
            let between = last.map_or(0, |last| setting.face.kern(last, *option).saturating_add(setting.spacing));
            let width = width.saturating_add(between).saturating_add(setting.face.glyph(*option).advance);
            if longer.get(&Some(*option)).is_none_or(|(known, _)| width > *known) {
                longer.insert(Some(*option), (width, format!("{text}{option}")));
            }
        }
    }
    longer
}

fn keep(all: &mut Beginnings, last: Option<char>, width: i32, text: String) {
    if all.get(&last).is_none_or(|(known, _)| width > *known) {
        all.insert(last, (width, text));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screen::face::{Face, bdf, builtin, truetype};
    use crate::screen::template::Piece;
    use crate::screen::values::{FieldId, Values};
    use rand::{RngExt, SeedableRng};
    use std::collections::HashMap;
    use std::sync::Arc;

    fn faces() -> Vec<Arc<Face>> {
        let plain = bdf::read("bold", builtin::text("bold").unwrap()).unwrap();
        // Distances that make the longest text not the widest: pairs far apart and pairs that overlap.
        let pairs = [(('a', 'b'), 9), (('8', '1'), -3), (('1', '1'), 7), ((' ', '4'), 5), (('i', 'i'), 11)];
        let uneven = plain.clone().with_kerning(HashMap::from(pairs));
        let wanted = (' '..='~').chain("°–−äöü".chars()).collect();
        let outline = include_bytes!("../../fonts/ink-outline.ttf");
        vec![
            Arc::new(plain),
            Arc::new(uneven),
            Arc::new(truetype::read("outline", outline, 17.0, None, &wanted).unwrap()),
        ]
    }

    fn choice(field: usize, texts: &[&str]) -> Piece {
        Piece::Choice { field: FieldId(field), texts: texts.iter().map(|text| (*text).to_owned()).collect() }
    }

    #[test]
    fn more_combinations_than_can_be_listed_come_to_the_widest() {
        let options = ["iiiiii", "WW", "ab", "", "a", "bbbb", "mm1"];
        let template = Template { pieces: (0..5).map(|field| choice(field, &options)).collect() };
        assert!(options.len().pow(5) > 256);
        for face in faces() {
            for spacing in [0, 3] {
                let setting = Setting { spacing, ..Setting::plain(face.clone()) };
                let mut most = 0;
                for number in 0..options.len().pow(5) {
                    let text: String =
                        (0..5).map(|place| options[number / options.len().pow(place) % options.len()]).collect();
                    most = most.max(setting.width(&text));
                }
                assert_eq!(setting.width(&widest(&template, &setting)), most);
            }
        }
    }

    #[test]
    fn no_value_is_wider_than_the_bound() {
        let template = Template {
            pieces: vec![
                Piece::Fixed("Dew ".into()),
                Piece::Number { field: FieldId(0), decimals: 1, range: [-20.0, 111.1] },
                Piece::Fixed(" °C, ".into()),
                Piece::Clock { field: FieldId(1), pattern: "%a %d %b %H:%M".into() },
                choice(2, &["", "iiii", "WW", "low 11"]),
                Piece::Number { field: FieldId(3), decimals: 0, range: [0.0, 1200.0] },
                Piece::Number { field: FieldId(4), decimals: 0, range: [0.0, 9.0] },
            ],
        };
        let start = jiff::civil::date(2031, 4, 12).at(0, 0, 0, 0);
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(4);
        for face in faces() {
            let setting = Setting { spacing: 1, ..Setting::plain(face) };
            let bound = setting.width(&widest(&template, &setting));
            for _ in 0..3_000 {
                let number = |random: &mut rand_chacha::ChaCha8Rng, low: f64, high: f64| {
                    if random.random_bool(0.05) { f64::NAN } else { low + random.random::<f64>() * (high - low) }
                };
                let now = vec![
                    number(&mut random, -20.0, 111.1),
                    random.random::<f64>() * 4e7,
                    f64::from(random.random_range(0..4u8)),
                    number(&mut random, 0.0, 1200.0),
                    number(&mut random, 0.0, 9.0),
                ];
                let values = Values { start, past: vec![Vec::new(); 5].into(), version: vec![0; 5], now };
                let text = template.text(&values);
                assert!(setting.width(&text) <= bound, "{text}");
            }
        }
    }
}

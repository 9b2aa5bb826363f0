//! Faces against independent readers: BDF glyphs against another BDF parser, outline coverage against another rasteriser,
//! text width against the face's own metrics.

use inkjoule::screen::face::{bdf, builtin, truetype};
use std::collections::BTreeSet;

/// The face as the independent parser reads it. It knows version 2.1 only, which has no METRICSSET.
fn independent(text: &str) -> bdf_parser::BdfFont {
    let text = text.replacen("STARTFONT 2.2", "STARTFONT 2.1", 1).replacen("METRICSSET 0\n", "", 1);
    bdf_parser::BdfFont::parse(text.as_bytes()).unwrap_or_else(|_| panic!("the independent parser reads the font"))
}

#[test]
fn bdf_glyphs_equal_those_of_an_independent_parser() {
    for (name, text) in builtin::BUILTIN {
        let ours = bdf::read(name, text).unwrap();
        let theirs = independent(text);
        let mut compared = 0;
        for glyph in theirs.glyphs.iter() {
            let Some(character) = glyph.encoding else { continue };
            let own = ours.glyph(character);
            let size = glyph.bounding_box.size;
            assert_eq!((own.ink.width() as i32, own.ink.height() as i32), (size.x, size.y), "{name} {character:?}");
            assert_eq!(own.left, glyph.bounding_box.offset.x, "{name} {character:?}");
            assert_eq!(own.top, glyph.bounding_box.offset.y + size.y, "{name} {character:?}");
            assert_eq!(own.advance, glyph.device_width.x, "{name} {character:?}");
            for y in 0..size.y {
                for x in 0..size.x {
                    let ink = own.ink.ink(x as u32, y as u32);
                    assert_eq!(ink, glyph.pixel(x as usize, y as usize), "{name} {character:?} at {x}, {y}");
                }
            }
            compared += 1;
        }
        assert!(compared > 20, "{name}: {compared} glyphs");
        assert_eq!(compared, ours.glyphs().len(), "{name}");
    }
}

#[test]
fn text_width_is_the_sum_of_the_advances() {
    for (name, text) in builtin::BUILTIN.iter().take(5) {
        let ours = bdf::read(name, text).unwrap();
        let theirs = independent(text);
        for words in ["Frost tonight", "−12.4 °C", "Żółć, Größe, piqué", "0123456789"] {
            let advance =
                |c| theirs.glyphs.iter().find(|glyph| glyph.encoding == Some(c)).map_or(0, |g| g.device_width.x);
            assert_eq!(ours.width(words), words.chars().map(advance).sum::<i32>(), "{name} {words}");
        }
    }
}

#[test]
fn outline_ink_covers_as_much_as_an_independent_rasteriser_says() {
    use ab_glyph::{Font, FontRef, PxScale, ScaleFont};
    let bytes = std::fs::read("fonts/ink-outline.ttf").unwrap();
    let theirs = FontRef::try_from_slice(&bytes).unwrap();
    let wanted: BTreeSet<char> = ('A'..='Z').chain('a'..='z').chain('0'..='9').collect();
    for size in [20.0f32, 31.0, 48.0] {
        let ours = truetype::read("outline", &bytes, size, None, &wanted).unwrap();
        let em = theirs.units_per_em().unwrap();
        let height = theirs.height_unscaled();
        let scaled = theirs.as_scaled(PxScale::from(size * height / em));
        let (mut ink, mut area) = (0.0, 0.0);
        for character in &wanted {
            let glyph = scaled.scaled_glyph(*character);
            let mut coverage = 0.0;
            if let Some(outline) = scaled.outline_glyph(glyph) {
                outline.draw(|_, _, value| coverage += f64::from(value));
            }
            let own = ours.glyph(*character).ink.ink_count() as f64;
            // One glyph at one threshold: within a seventh of the outline's area.
            assert!((own - coverage).abs() < 0.15 * coverage + 6.0, "{character} at {size}: {own} and {coverage}");
            ink += own;
            area += coverage;
        }
        // All glyphs together: the threshold was chosen for this.
        assert!((ink - area).abs() < 0.03 * area, "at {size}: {ink} pixels of ink, {area} of outline");
    }
}

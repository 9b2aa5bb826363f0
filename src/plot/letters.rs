//! The face that plots are set in: widths for the layout, coverage for the PNG.

use fontdue::{Font, FontSettings};
use std::sync::OnceLock;

/// The outline face compiled into the program.
pub fn face() -> Option<&'static Font> {
    static FACE: OnceLock<Option<Font>> = OnceLock::new();
    let read = || {
        let bytes: &[u8] = include_bytes!("../../fonts/ink-outline.ttf");
        Font::from_bytes(bytes, FontSettings::default()).ok()
    };
    FACE.get_or_init(read).as_ref()
}

/// Width of a text at a size of the em.
pub fn width(text: &str, size: f32) -> f32 {
    match face() {
        Some(face) => text.chars().map(|letter| face.metrics(letter, size).advance_width).sum(),
        None => text.chars().count() as f32 * size * 0.55,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_built_in_face_can_be_read_and_has_what_plots_write() {
        let face = face().unwrap();
        for letter in "0123456789 µ°%ΩAVJWhdms(),.-=–…".chars() {
            assert!(letter == ' ' || face.lookup_glyph_index(letter) != 0, "{letter:?} is missing");
        }
        assert!(width("wide text", 12.0) > width("wide", 12.0));
    }
}

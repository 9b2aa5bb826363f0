//! Which writing is supported: left to right, one glyph a character, no shaping. Not for missing glyphs: those depend
//! on the face.

use std::ops::RangeInclusive;

/// Why a text cannot be shown as it should be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Objection {
    /// The lint.
    pub id: &'static str,
    /// The first character concerned.
    pub character: char,
    /// What is the matter with it.
    pub why: &'static str,
    /// What to do.
    pub help: &'static str,
}

/// Blocks written from right to left. Unicode, Bidirectional Algorithm (UAX #9), classes R and AL by block.
const RIGHT_TO_LEFT: &[RangeInclusive<u32>] =
    &[0x0590..=0x08ff, 0xfb1d..=0xfdff, 0xfe70..=0xfefe, 0x1_0800..=0x1_0fff, 0x1_e800..=0x1_efff];

/// Blocks whose letters join, stack or move: they need shaping. The Unicode Standard, chapters on South and Southeast
/// Asian scripts; Mongolian; conjoining Hangul letters; combining marks.
const SHAPED: &[RangeInclusive<u32>] = &[
    0x0300..=0x036f,
    0x0900..=0x109f,
    0x1100..=0x11ff,
    0x1700..=0x18af,
    0x1900..=0x1aaf,
    0x1ab0..=0x1bff,
    0x1c00..=0x1c4f,
    0x1dc0..=0x1dff,
    0x20d0..=0x20ff,
    0xa980..=0xa9df,
    0xaa00..=0xaadf,
    0xfe20..=0xfe2f,
];

/// Format characters that steer direction or joining, and are no ink. UAX #9, explicit formatting characters.
const STEERING: &[RangeInclusive<u32>] = &[0x200b..=0x200f, 0x202a..=0x202e, 0x2060..=0x206f, 0xfeff..=0xfeff];

/// The first objection to a text, if there is one.
pub fn objection(text: &str) -> Option<Objection> {
    text.chars().find_map(|character| {
        let within = |blocks: &[RangeInclusive<u32>]| blocks.iter().any(|block| block.contains(&u32::from(character)));
        let objection = |id, why, help| Some(Objection { id, character, why, help });
        if (character.is_control() && character != '\n') || within(STEERING) {
            objection("text-control", "is a control character", "delete it; only a line feed (\\n) is understood")
        } else if within(RIGHT_TO_LEFT) {
            objection(
                "text-direction",
                "is written from right to left",
                "text is set from left to right only: draw these words as an icon",
            )
        } else if within(SHAPED) {
            objection(
                "text-shaping",
                "needs shaping",
                "each character is drawn by itself: use composed characters (NFC), or draw the words as an icon",
            )
        } else {
            None
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn european_and_east_asian_text_is_supported() {
        assert_eq!(objection("Łąka 21 °C\n−4 ▲ Ελ Жд 日本 한"), None);
    }

    #[test]
    fn other_writing_is_refused_by_name() {
        let id = |text| objection(text).map(|objection| objection.id);
        assert_eq!(id("bell\u{7}"), Some("text-control"));
        assert_eq!(id("a\u{202e}b"), Some("text-control"));
        assert_eq!(id("שלום"), Some("text-direction"));
        assert_eq!(id("سلام"), Some("text-direction"));
        assert_eq!(id("e\u{301}"), Some("text-shaping"));
        assert_eq!(id("नमस्ते"), Some("text-shaping"));
    }
}

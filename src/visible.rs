//! Makes visible what would steer a terminal, a browser or an editor: control characters and those that turn the direction
//! of text. Every text that leaves the program goes through here, since names, notes and file names come from others. Not
//! for what stands on the panel: fonts and lints decide that.

use std::borrow::Cow;
use std::fmt::Write;

/// Whether a character steers instead of showing: controls other than line feed and tab (Unicode, general category Cc),
/// the explicit and implicit formatting characters of direction (UAX #9, section 2), what takes no room (zero-width
/// space and joiners, word joiner, byte order mark), line and paragraph separators, and tags.
pub fn steers(character: char) -> bool {
    match character {
        '\n' | '\t' => false,
        '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' => true,
        '\u{fff9}'..='\u{fffb}' | '\u{fffe}' | '\u{ffff}' | '\u{e0000}'..='\u{e007f}' => true,
        character => character.is_control(),
    }
}

/// The text with each steering character as its number, such as `[U+001B]`; line feeds and tabs stay.
///
/// ```
/// assert_eq!(inkjoule::visible::visible("a\u{1b}[31mb"), "a[U+001B][31mb");
/// ```
pub fn visible(text: &str) -> Cow<'_, str> {
    written(text, |character, out| {
        // Writing to a string cannot fail.
        let _ = write!(out, "[U+{:04X}]", u32::from(character));
    })
}

/// As [`visible`], on one line: line feeds and tabs become spaces.
pub fn one_line(text: &str) -> String {
    visible(text).replace(['\n', '\t'], " ")
}

/// JSON text with each steering character escaped as JSON does it (RFC 8259, section 7); what it says stays the same.
/// Such characters stand only inside its strings.
pub fn in_json(text: &str) -> Cow<'_, str> {
    written(text, |character, out| {
        for unit in character.encode_utf16(&mut [0; 2]) {
            let _ = write!(out, "\\u{unit:04x}");
        }
    })
}

fn written(text: &str, write: impl Fn(char, &mut String)) -> Cow<'_, str> {
    if !text.contains(steers) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 64);
    for character in text.chars() {
        if steers(character) { write(character, &mut out) } else { out.push(character) }
    }
    Cow::Owned(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_steers_is_shown_and_the_rest_stays() {
        assert_eq!(
            visible("a\x1b[2J\r\u{9b}\u{7f}\u{202e}b\u{2066}"),
            "a[U+001B][2J[U+000D][U+009B][U+007F][U+202E]b[U+2066]"
        );
        assert!(matches!(visible("Łąka 21 °C\n\t−4 ▲ 日本 שלום e\u{301}"), Cow::Borrowed(_)));
        assert_eq!(one_line("a\nb\tc\u{7}"), "a b c[U+0007]");
    }

    #[test]
    fn json_says_the_same() {
        let value = serde_json::json!({ "a\u{9b}": "x\u{202e}\u{1b}\u{7f}\u{e0001}\ny" });
        let text = format!("{value:#}");
        let shown = in_json(&text);
        assert!(!shown.contains(steers));
        assert_eq!(serde_json::from_str::<serde_json::Value>(&shown).unwrap(), value);
    }
}

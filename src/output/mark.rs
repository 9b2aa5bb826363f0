//! The mark in pictures and pages that inkjoule wrote, by which it knows them again and may replace them. Not for sets of
//! files in a folder: those have a record.

use super::CRC;

/// How a PNG begins (W3C PNG, third edition, section 5.2).
const PNG: &[u8] = b"\x89PNG\r\n\x1a\n";
/// Signature and header chunk of a PNG: length, name, 13 bytes, checksum.
const PNG_HEAD: usize = 8 + 4 + 4 + 13 + 4;
/// A `tEXt` chunk's keyword for the program that made a picture, and its text (section 11.3.3).
const SOFTWARE: &[u8] = b"tEXtSoftware\0inkjoule";
/// The last line of an SVG of ours.
const COMMENT: &str = "<!-- written by inkjoule -->\n";
/// In the head of a page of ours.
const GENERATOR: &[u8] = b"name=\"generator\" content=\"inkjoule ";

/// The bytes of a picture with the mark; others stay as they are.
pub(super) fn marked(bytes: &[u8]) -> Vec<u8> {
    let mut out = bytes.to_vec();
    if out.starts_with(PNG) && out.len() > PNG_HEAD && !ours(&out) {
        let length = (SOFTWARE.len() - 4) as u32;
        let sum = CRC.checksum(SOFTWARE);
        let chunk = [&length.to_be_bytes(), SOFTWARE, &sum.to_be_bytes()].concat();
        out.splice(PNG_HEAD..PNG_HEAD, chunk);
    } else if out.starts_with(b"<svg") && !ours(&out) {
        out.extend(COMMENT.as_bytes());
    }
    out
}

/// Whether a kind of file carries marks at all.
pub(super) fn has_marks(bytes: &[u8]) -> bool {
    bytes.starts_with(PNG) || bytes.starts_with(b"<svg") || bytes.starts_with(b"<!DOCTYPE html>")
}

/// Whether a file has the mark where inkjoule puts it.
pub(super) fn ours(bytes: &[u8]) -> bool {
    let png = bytes.starts_with(PNG) && bytes.get(PNG_HEAD + 4..).is_some_and(|rest| rest.starts_with(SOFTWARE));
    let svg = bytes.starts_with(b"<svg") && bytes.ends_with(COMMENT.as_bytes());
    let head = &bytes[..bytes.len().min(4096)];
    let page = bytes.starts_with(b"<!DOCTYPE html>") && head.windows(GENERATOR.len()).any(|text| text == GENERATOR);
    png || svg || page
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_marked_picture_is_known_and_still_a_picture() {
        let mut plain = Vec::new();
        image::GrayImage::from_pixel(3, 2, image::Luma([7]))
            .write_to(&mut std::io::Cursor::new(&mut plain), image::ImageFormat::Png)
            .unwrap();
        let mut reader = png::Decoder::new(std::io::Cursor::new(marked(&plain))).read_info().unwrap();
        let mut pixels = [0; 6];
        reader.next_frame(&mut pixels).unwrap();
        let text = &reader.info().uncompressed_latin1_text[0];
        assert_eq!((text.keyword.as_str(), text.text.as_str(), pixels), ("Software", "inkjoule", [7; 6]));
        assert!(!ours(&plain) && ours(&marked(&plain)));
        assert_eq!(marked(&marked(&plain)), marked(&plain));
        assert!(!ours(b"<svg></svg>\n") && ours(&marked(b"<svg></svg>\n")));
        assert_eq!(marked(b"\x89PNG\r\n\x1a\n"), b"\x89PNG\r\n\x1a\n");
        assert_eq!(marked(b"t,x\n"), b"t,x\n");
    }
}

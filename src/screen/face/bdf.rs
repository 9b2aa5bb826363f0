//! Reads faces in the Glyph Bitmap Distribution Format 2.2 (Adobe Technical Note 5005).

use super::{Face, FontFault, Glyph};
use crate::frame::Frame;
use crate::limits::GLYPHS;
use std::collections::HashMap;

/// Glyphs wider or taller than this are refused.
const LARGEST_GLYPH: u32 = 512;

/// One glyph while it is being read.
#[derive(Default)]
struct Draft {
    character: Option<char>,
    advance: Option<i32>,
    bounds: Option<[i32; 4]>,
    rows: Vec<String>,
}

/// Reads a face from the text of a BDF file.
///
/// # Errors
/// Names the first line that is not as the format wants it. Glyphs without a Unicode encoding are left out.
pub fn read(name: &str, text: &str) -> Result<Face, FontFault> {
    let mut glyphs = HashMap::new();
    let (mut ascent, mut descent) = (None, None);
    let mut font_bounds = [0; 4];
    let mut draft: Option<Draft> = None;
    let mut in_bitmap = false;
    let mut started = 0;
    if !text.starts_with("STARTFONT") {
        return Err(FontFault::at(1, "expected STARTFONT at the beginning of a BDF font"));
    }
    for (index, raw) in text.lines().enumerate() {
        let fail = |message: &str| FontFault::at(index + 1, message);
        let line = raw.trim();
        let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        match (word, &mut draft) {
            ("STARTCHAR", None) => {
                started += 1;
                if started > GLYPHS {
                    return Err(fail(&format!("a font may have at most {GLYPHS} characters")));
                }
                draft = Some(Draft::default());
            }
            ("ENDCHAR", Some(_)) => {
                if let Some((character, glyph)) = draft.take().map(|done| finish(done, &fail)).transpose()?.flatten() {
                    glyphs.insert(character, glyph);
                }
                in_bitmap = false;
            }
            (_, Some(open)) if in_bitmap => open.rows.push(line.to_owned()),
            ("ENCODING", Some(open)) => {
                let code: i64 = rest
                    .split_whitespace()
                    .next()
                    .and_then(|n| n.parse().ok())
                    .ok_or_else(|| fail("expected ENCODING and a number"))?;
                open.character = u32::try_from(code).ok().and_then(char::from_u32);
            }
            ("DWIDTH", Some(open)) => {
                open.advance = Some(numbers::<2>(rest).ok_or_else(|| fail("expected DWIDTH and two numbers"))?[0])
            }
            ("BBX", Some(open)) => {
                open.bounds = Some(numbers::<4>(rest).ok_or_else(|| fail("expected BBX and four numbers"))?)
            }
            ("BITMAP", Some(_)) => in_bitmap = true,
            ("FONTBOUNDINGBOX", None) => {
                font_bounds = numbers::<4>(rest).ok_or_else(|| fail("expected FONTBOUNDINGBOX and four numbers"))?;
            }
            ("FONT_ASCENT", None) => {
                ascent = Some(numbers::<1>(rest).ok_or_else(|| fail("expected FONT_ASCENT and a number"))?[0])
            }
            ("FONT_DESCENT", None) => {
                descent = Some(numbers::<1>(rest).ok_or_else(|| fail("expected FONT_DESCENT and a number"))?[0])
            }
            _ => {}
        }
    }
    if draft.is_some() {
        return Err(FontFault::at(text.lines().count(), "the file ends inside a character"));
    }
    if glyphs.is_empty() {
        return Err(FontFault::at(1, "the font has no character with a Unicode encoding"));
    }
    let limit = LARGEST_GLYPH as i32;
    let ascent = ascent.unwrap_or(font_bounds[1].saturating_add(font_bounds[3])).clamp(0, limit);
    let descent = descent.unwrap_or(font_bounds[3].saturating_neg()).clamp(0, limit);
    Ok(Face::new(name, ascent, descent, glyphs))
}

fn numbers<const N: usize>(text: &str) -> Option<[i32; N]> {
    let mut words = text.split_whitespace();
    let mut found = [0; N];
    for slot in &mut found {
        *slot = words.next()?.parse().ok()?;
    }
    Some(found)
}

fn finish(draft: Draft, fail: &impl Fn(&str) -> FontFault) -> Result<Option<(char, Glyph)>, FontFault> {
    let Some(character) = draft.character else { return Ok(None) };
    let [width, height, left, below] = draft.bounds.ok_or_else(|| fail("this character has no BBX"))?;
    let (w, h) = match (u32::try_from(width), u32::try_from(height)) {
        (Ok(w), Ok(h)) if w <= LARGEST_GLYPH && h <= LARGEST_GLYPH => (w, h),
        _ => return Err(fail(&format!("a character may be at most {LARGEST_GLYPH} pixels wide and tall"))),
    };
    let limit = LARGEST_GLYPH * 4;
    let advance = draft.advance.ok_or_else(|| fail("this character has no DWIDTH"))?;
    if [advance, left, below].iter().any(|distance| distance.unsigned_abs() > limit) {
        return Err(fail("a distance of this character is out of all proportion"));
    }
    if draft.rows.len() != h as usize {
        return Err(fail(&format!("BBX says {h} rows, the bitmap has {}", draft.rows.len())));
    }
    let mut ink = Frame::new(w, h);
    for (y, row) in draft.rows.iter().enumerate() {
        let digits: Option<Vec<u32>> = row.chars().map(|digit| digit.to_digit(16)).collect();
        let digits = digits.ok_or_else(|| fail("a bitmap row is not hexadecimal"))?;
        if digits.len() * 4 < w as usize {
            return Err(fail("a bitmap row is shorter than BBX says"));
        }
        for x in 0..w {
            ink.set(x, y as u32, digits[x as usize / 4] & (8 >> (x % 4)) != 0);
        }
    }
    Ok(Some((character, Glyph { advance, left, top: below + height, ink })))
}

#[cfg(test)]
mod tests {
    use super::*;

    const SMALL: &str = "STARTFONT 2.1\nFONTBOUNDINGBOX 4 5 0 -1\nSTARTPROPERTIES 2\nFONT_ASCENT 4\nFONT_DESCENT 1\n\
        ENDPROPERTIES\nCHARS 1\nSTARTCHAR j\nENCODING 106\nSWIDTH 500 0\nDWIDTH 4 0\nBBX 3 5 0 -1\nBITMAP\n20\n00\n20\n20\nC0\n\
        ENDCHAR\nENDFONT\n";

    #[test]
    fn a_character_keeps_its_pixels_and_metrics() {
        let face = read("small", SMALL).unwrap();
        let glyph = face.glyph('j');
        crate::frame::assert::assert_picture(&glyph.ink, &["..#", "...", "..#", "..#", "##."]);
        assert_eq!((glyph.advance, glyph.left, glyph.top, face.line_height()), (4, 0, 4, 5));
    }

    #[test]
    fn faults_name_their_line() {
        assert_eq!(read("x", "").unwrap_err().line, Some(1));
        let short = SMALL.replace("\nC0", "");
        assert_eq!(read("x", &short).unwrap_err().message, "BBX says 5 rows, the bitmap has 4");
        let least = SMALL.replace("DWIDTH 4", "DWIDTH -2147483648");
        assert!(read("x", &least).unwrap_err().message.contains("out of all proportion"));
        assert!(read("x", &SMALL.replace("BBX 3 5", "BBX 3 99999")).unwrap_err().message.contains("at most 512"));
        assert!(read("x", &SMALL.replace("C0", "G0")).unwrap_err().message.contains("hexadecimal"));
        assert!(read("x", &SMALL.replace("ENDCHAR\n", "")).unwrap_err().message.contains("ends inside"));
    }
}

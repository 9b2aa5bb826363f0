//! Specimen of a face: its name and sizes, a line of words, and every glyph it has; and one of the built-in icons. Not for
//! screens.

use crate::frame::blit::Paint;
use crate::frame::{Frame, files};
use crate::screen::face::{Face, builtin};
use crate::screen::icons;
use crate::source::fault::Fault;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// Words with most shapes that an instrument's screen needs; characters that a face lacks are left out.
const WORDS: [&str; 3] =
    ["Reading 06:45, gauge 1: 238.7 mm", "Half-hourly frost quiz jumps 95 % −12.4 °C", "0123456789 −+.,:/%°"];

/// Empty pixels around and between.
const MARGIN: u32 = 8;
/// Width of a page.
const WIDTH: u32 = 400;
/// Glyphs beyond this many are counted only.
const MOST: usize = 600;

/// Draws a specimen with a caption in the built-in text face.
pub fn specimen(face: &Face, caption: &str) -> Frame {
    let glyphs = face.glyphs();
    let widest =
        glyphs.iter().map(|(_, glyph)| glyph.advance.max(glyph.ink.width() as i32)).max().unwrap_or(1).max(1) as u32;
    let line = face.line_height().clamp(1, 1024) as u32;
    let cell = Size::new(widest.min(512) + 6, line + 4);
    let columns = ((WIDTH.max(cell.width + 2 * MARGIN) - 2 * MARGIN) / cell.width).max(1);
    let rows = (glyphs.len().min(MOST) as u32).div_ceil(columns);
    let words: Vec<String> =
        WORDS.iter().map(|words| known(face, words)).filter(|words| !words.trim().is_empty()).collect();
    let longest = words.iter().map(|words| face.width(words)).max().unwrap_or(0).max(0) as u32;
    let width = WIDTH.max(columns * cell.width + 2 * MARGIN).max(longest + 2 * MARGIN);
    let height = MARGIN + 20 + words.len() as u32 * (line + 4) + MARGIN + rows * cell.height + MARGIN;
    let mut page = Frame::new(width, height);
    let everywhere = Rectangle::new(Point::zero(), page.size());
    head(caption, &mut page);
    let mut y = (MARGIN + 20) as i32;
    for words in &words {
        face.draw(words, Point::new(MARGIN as i32, y + face.ascent), everywhere, Paint::Ink, &mut page);
        y += line as i32 + 4;
    }
    y += MARGIN as i32;
    for (index, (character, glyph)) in glyphs.iter().take(MOST).enumerate() {
        let (column, row) = (index as u32 % columns, index as u32 / columns);
        let left = (MARGIN + column * cell.width) as i32 + (cell.width as i32 - glyph.advance) / 2;
        let origin = Point::new(left, y + (row * cell.height) as i32 + face.ascent);
        face.draw(character.encode_utf8(&mut [0; 4]), origin, everywhere, Paint::Ink, &mut page);
    }
    page
}

/// The caption and a line under it.
fn head(caption: &str, page: &mut Frame) {
    let everywhere = Rectangle::new(Point::zero(), page.size());
    if let Some(plain) = builtin::face("text") {
        plain.draw(caption, Point::new(MARGIN as i32, 16), everywhere, Paint::Ink, page);
    }
    page.fill(Rectangle::new(Point::new(MARGIN as i32, 21), Size::new(page.width() - 2 * MARGIN, 1)), true);
}

/// Icons beside one another on the icons' page.
const ICONS_IN_A_ROW: u32 = 3;
/// Width and height for one icon in all sizes with its name.
const ICON_CELL: [u32; 2] = [128, 44];

/// Draws every built-in icon in its sizes, its name below.
pub fn all_icons() -> Frame {
    let names: Vec<&str> = icons::names().collect();
    let rows = (names.len() as u32).div_ceil(ICONS_IN_A_ROW);
    let mut page = Frame::new(WIDTH, MARGIN + 24 + rows * ICON_CELL[1] + MARGIN);
    head(&format!("{} icons, each in 12, 16 and 24 px", names.len()), &mut page);
    let everywhere = Rectangle::new(Point::zero(), page.size());
    let small = builtin::face("small");
    for (index, name) in names.iter().enumerate() {
        let (column, row) = (index as u32 % ICONS_IN_A_ROW, index as u32 / ICONS_IN_A_ROW);
        let corner = Point::new((MARGIN + column * ICON_CELL[0]) as i32, (MARGIN + 24 + row * ICON_CELL[1]) as i32);
        let mut x = 0;
        for picture in icons::SIZES.iter().filter_map(|size| icons::icon(name, *size)) {
            // All stand on one line.
            let lowered = (24 - picture.height()) as i32;
            page.blit(&picture, corner + Point::new(x, lowered), everywhere, Paint::Ink);
            x += picture.width() as i32 + 8;
        }
        if let Some(small) = &small {
            small.draw(name, corner + Point::new(0, 35), everywhere, Paint::Ink, &mut page);
        }
    }
    page
}

/// A specimen as PNG.
///
/// # Errors
/// When the picture would be too large.
pub fn png(page: &Frame, scale: u32) -> Result<Vec<u8>, Fault> {
    files::png(page, scale).map_err(|why| Fault::plain(format!("cannot make the specimen: {why}")))
}

/// The words without the characters that a face lacks.
fn known(face: &Face, words: &str) -> String {
    let kept: String = words.chars().filter(|character| face.has(*character)).collect();
    if kept.chars().filter(|character| character.is_alphanumeric()).count() < 3 { String::new() } else { kept }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_glyph_is_on_the_page_in_ink() {
        let face = builtin::face("small").unwrap();
        let page = specimen(&face, "small");
        let ink: u64 = face.glyphs().iter().map(|(_, glyph)| glyph.ink.ink_count()).sum();
        assert!(page.ink_count() > ink, "{} pixels on the page, {ink} in the glyphs", page.ink_count());
    }

    #[test]
    fn every_icon_is_on_its_page_in_every_size() {
        let drawn = |name| icons::SIZES.iter().map(move |size| icons::icon(name, *size).unwrap().ink_count());
        let ink: u64 = icons::names().flat_map(drawn).sum();
        let page = all_icons();
        assert!(page.ink_count() > ink, "{} pixels on the page, {ink} in the icons", page.ink_count());
    }
}

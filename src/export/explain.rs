//! Which pixel lands in which bit, in words and as a picture. Not for the packing itself; see [`crate::frame::pack`].

use super::c::describe;
use crate::design::fault::Fault;
use crate::frame::blit::Paint;
use crate::frame::{Frame, Packing, files};
use crate::screen::face::{Face, bdf, builtin};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use std::fmt::Write;

/// Where each pixel lies: byte and bit number.
struct Map<'p> {
    packing: &'p Packing,
    width: u32,
    height: u32,
}

impl Map<'_> {
    fn place(&self, x: u32, y: u32) -> Option<(usize, u32)> {
        let (byte, mask) = self.packing.place(x, y, self.width, self.height)?;
        Some((byte, mask.trailing_zeros()))
    }

    /// The pixels of a byte, bit 7 first.
    fn pixels(&self, byte: usize) -> [Option<(u32, u32)>; 8] {
        let mut found = [None; 8];
        for (x, y) in (0..self.height).flat_map(|y| (0..self.width).map(move |x| (x, y))) {
            if let Some((_, bit)) = self.place(x, y).filter(|place| place.0 == byte) {
                found[7 - bit as usize] = Some((x, y));
            }
        }
        found
    }
}

fn unsuitable(why: impl std::fmt::Display) -> Fault {
    Fault::plain(format!("cannot pack a picture of this size: {why}"))
}

/// The packing in words, the pixels of the first and last bytes, and the places of the corners.
///
/// # Errors
/// When the packing does not suit the size.
pub fn text(packing: &Packing, width: u32, height: u32) -> Result<String, Fault> {
    let total = packing.size(width, height).map_err(unsuitable)?;
    let stride = packing.stride_of(width, height).map_err(unsuitable)? as usize;
    let map = Map { packing, width, height };
    let mut text = format!("{width} x {height} pixels: {}\n{total} bytes in lines of {stride}\n\n", describe(packing));
    text += "byte   bits 7 to 0 hold pixels (column,row) as seen; - belongs to no pixel\n";
    let mut bytes = vec![0, 1, stride, total.saturating_sub(1)];
    bytes.retain(|byte| *byte < total);
    bytes.dedup();
    for byte in bytes {
        let pixel = |pixel: &Option<(u32, u32)>| pixel.map_or("-".to_owned(), |(x, y)| format!("({x},{y})"));
        let pixels: Vec<String> = map.pixels(byte).iter().map(pixel).collect();
        // Writing to a string cannot fail.
        let _ = writeln!(text, "{byte:<6} {}", pixels.join(" "));
    }
    text += "\npixel as seen     byte   bit\n";
    for (name, x, y) in corners(width, height) {
        if let Some((byte, bit)) = map.place(x, y) {
            let _ = writeln!(text, "{name:<17} {byte:<6} {bit}");
        }
    }
    Ok(text)
}

fn corners(width: u32, height: u32) -> [(&'static str, u32, u32); 4] {
    let (right, bottom) = (width.saturating_sub(1), height.saturating_sub(1));
    [("top left", 0, 0), ("top right", right, 0), ("bottom left", 0, bottom), ("bottom right", right, bottom)]
}

/// Pixels of the top left corner that the picture shows.
const SHOWN: Size = Size::new(18, 12);
/// Sides of one such pixel in the picture.
const CELL: Size = Size::new(46, 30);

/// A picture of the top left corner, enlarged: in each pixel its byte and, below, its bit; thick lines between pixels of
/// different bytes.
///
/// # Errors
/// When the packing does not suit the size.
pub fn picture(packing: &Packing, width: u32, height: u32) -> Result<Vec<u8>, Fault> {
    packing.size(width, height).map_err(unsuitable)?;
    let map = Map { packing, width, height };
    let (columns, rows) = (SHOWN.width.min(width), SHOWN.height.min(height));
    const EDGE: u32 = 22;
    let mut frame = Frame::new(EDGE + columns * CELL.width + 4, EDGE + rows * CELL.height + 4);
    let read = |name: &str| builtin::text(name).and_then(|text| bdf::read(name, text).ok());
    let (Some(small), Some(face)) = (read("small"), read("text")) else {
        return Err(Fault::plain("the built-in faces cannot be read"));
    };
    for x in 0..columns {
        let left = (EDGE + x * CELL.width) as i32;
        centred(&mut frame, &small, &x.to_string(), Rectangle::new(Point::new(left, 4), Size::new(CELL.width, 14)));
    }
    for y in 0..rows {
        let top = (EDGE + y * CELL.height) as i32;
        centred(&mut frame, &small, &y.to_string(), Rectangle::new(Point::new(0, top + 8), Size::new(EDGE, 14)));
        for x in 0..columns {
            let corner = Point::new((EDGE + x * CELL.width) as i32, top);
            let Some((byte, bit)) = map.place(x, y) else { continue };
            let upper = Rectangle::new(corner + Point::new(0, 2), Size::new(CELL.width, 14));
            centred(&mut frame, &face, &byte.to_string(), upper);
            centred(
                &mut frame,
                &small,
                &format!("bit {bit}"),
                Rectangle::new(corner + Point::new(0, 16), Size::new(CELL.width, 12)),
            );
            let same = |x: Option<u32>, y: Option<u32>| {
                x.zip(y).and_then(|(x, y)| map.place(x, y)).is_some_and(|place| place.0 == byte)
            };
            let above = if same(Some(x), y.checked_sub(1)) { 1 } else { 3 };
            let before = if same(x.checked_sub(1), Some(y)) { 1 } else { 3 };
            frame.fill(Rectangle::new(corner, Size::new(CELL.width, above)), true);
            frame.fill(Rectangle::new(corner, Size::new(before, CELL.height)), true);
        }
    }
    let (right, bottom) = ((EDGE + columns * CELL.width) as i32, (EDGE + rows * CELL.height) as i32);
    frame.fill(Rectangle::new(Point::new(right, EDGE as i32), Size::new(1, rows * CELL.height)), true);
    frame.fill(Rectangle::new(Point::new(EDGE as i32, bottom), Size::new(columns * CELL.width + 1, 1)), true);
    files::png(&frame, 1).map_err(|why| Fault::plain(format!("cannot make the picture: {why}")))
}

fn centred(frame: &mut Frame, face: &Face, text: &str, area: Rectangle) {
    let x = (area.size.width as i32 - face.width(text)) / 2;
    let y = (area.size.height as i32 + face.cap_height) / 2;
    face.draw(text, area.top_left + Point::new(x, y), area, Paint::Ink, frame);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::{Axis, BitOrder};

    #[test]
    fn the_words_name_the_right_bits() {
        let packing = Packing { along: Axis::Y, bits: BitOrder::LsbFirst, ..Packing::default() };
        let text = text(&packing, 4, 12).unwrap();
        assert!(text.contains("0      (0,7) (0,6) (0,5) (0,4) (0,3) (0,2) (0,1) (0,0)\n"), "{text}");
        assert!(text.contains("4      - - - - (0,11) (0,10) (0,9) (0,8)\n"), "{text}");
        assert!(text.contains("bottom right      7      3\n"), "{text}");
    }
}

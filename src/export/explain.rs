//! Which pixel lands in which bit, in words and as a picture. Not for the packing itself; see [`crate::frame::pack`].

use crate::frame::blit::Paint;
use crate::frame::packing_words::describe;
use crate::frame::{Frame, Packing, Planes, files};
use crate::screen::face::{Face, builtin};
use crate::source::fault::Fault;
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
    Fault::plain(format!("cannot pack an image of this size: {why}"))
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
    if packing.planes != Planes::New {
        text += &format!("bytes of the image now; {}\n", beside(&map));
    }
    text += "byte   bits 7 to 0 hold pixels (column,row) as seen; - belongs to no pixel\n";
    // Bytes of the picture now: the first two of its first line, the first of its second line, the last.
    let plane = packing.plane().size(width, height).map_err(unsuitable)?;
    let mut bytes = vec![0, 1, stride, plane.saturating_sub(1)];
    bytes.retain(|byte| *byte < plane);
    bytes.dedup();
    let bytes = bytes.into_iter().filter_map(|byte| packing.byte_now(byte, width, height));
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
    let [column, line] = packing.origin_at;
    let _ = writeln!(
        text,
        "\nwindows count from the corner that is {} in memory, {} as seen: column {column}, line {line}",
        packing.origin.words(),
        packing.origin.as_seen(packing.turn()).words()
    );
    Ok(text)
}

/// Where the picture before lies.
fn beside(map: &Map<'_>) -> String {
    let way = |packing: &Packing| packing.place(0, 0, map.width, map.height).map_or(0, |place| place.0);
    let swapped = match map.packing.planes {
        Planes::OldNew => Planes::NewOld,
        _ => Planes::OldNew,
    };
    // With the two exchanged, the picture now lies where the picture before lay.
    let (now, before) = (way(map.packing), way(&Packing { planes: swapped, ..map.packing.clone() }));
    let side = if before < now { "before" } else { "behind" };
    format!("the same byte of the image before lies {} bytes {side} it", now.abs_diff(before))
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
    let (Some(small), Some(face)) = (builtin::face("small"), builtin::face("text")) else {
        return Err(Fault::plain("the built-in fonts cannot be read"));
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
    files::png(&frame, 1).map_err(|why| Fault::plain(format!("cannot make the image: {why}")))
}

fn centred(frame: &mut Frame, face: &Face, text: &str, area: Rectangle) {
    let x = (area.size.width as i32 - face.width(text)) / 2;
    let y = (area.size.height as i32 + face.cap_height) / 2;
    face.draw(text, area.top_left + Point::new(x, y), area, Paint::Ink, frame);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::{Axis, BitOrder, Corner, Interleave, Rotation};

    #[test]
    fn the_words_name_the_right_bits() {
        let packing = Packing { along: Axis::Y, bits: BitOrder::LsbFirst, ..Packing::default() };
        let text = text(&packing, 4, 12).unwrap();
        assert!(text.contains("0      (0,7) (0,6) (0,5) (0,4) (0,3) (0,2) (0,1) (0,0)\n"), "{text}");
        assert!(text.contains("4      - - - - (0,11) (0,10) (0,9) (0,8)\n"), "{text}");
        assert!(text.contains("bottom right      7      3\n"), "{text}");
        assert!(text.contains("count from the corner that is top left in memory, top left as seen: column 0, line 0"));
    }

    #[test]
    fn the_words_tell_two_planes_and_the_origin() {
        let packing = Packing {
            planes: Planes::OldNew,
            interleave: Interleave::Lines,
            origin: Corner::BottomRight,
            origin_at: [8, 2],
            rotation: Rotation::Half,
            ..Packing::default()
        };
        let text = text(&packing, 16, 3).unwrap();
        assert!(text.contains("12 bytes in lines of 2"), "{text}");
        assert!(text.contains("the same byte of the image before lies 2 bytes before it"), "{text}");
        // Turned by half, the bottom right pixel is the first of the picture now, behind a line of the picture before.
        assert!(text.contains("bottom right      2      7\n"), "{text}");
        assert!(text.contains("2      (15,2) (14,2) (13,2)"), "{text}");
        assert!(text.contains("bottom right in memory, top left as seen: column 8, line 2"), "{text}");
        let behind = super::text(&Packing { planes: Planes::NewOld, ..packing }, 16, 3).unwrap();
        assert!(behind.contains("lies 2 bytes behind it"), "{behind}");
    }
}

//! A finding as a picture: the screen in grey, what is concerned in black between four corner marks, and the lint's id
//! below. Not for export: it is what `check --images` writes.

use super::report::Evidence;
use crate::device::Device;
use crate::frame::Frame;
use crate::frame::blit::Paint;
use crate::screen::face::builtin;
use crate::source::fault::Fault;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder};

/// Pixels of the picture for each pixel of the screen.
pub const SCALE: u32 = 3;

/// Ink where nothing is wrong, ink where something is, marks and frame, paper.
const QUIET: u8 = 176;
const LOUD: u8 = 24;
const MARK: u8 = 96;
const PAPER: u8 = 255;

/// Width of the border around the screen, and height of the caption, in pixels of the picture.
const BORDER: u32 = 12;
const CAPTION: u32 = 24;
/// Distance of the marks from the area, their length and thickness, in pixels of the picture.
const AWAY: i32 = 4;
const ARM: u32 = 15;
const THICK: u32 = 3;

struct GrayCanvas {
    size: Size,
    pixels: Vec<u8>,
}

impl GrayCanvas {
    fn fill(&mut self, area: Rectangle, gray: u8) {
        let area = area.intersection(&Rectangle::new(Point::zero(), self.size));
        for y in area.rows() {
            let start = y as usize * self.size.width as usize + area.top_left.x as usize;
            self.pixels[start..start + area.size.width as usize].fill(gray);
        }
    }
}

/// The PNG of a finding.
///
/// # Errors
/// When the picture cannot be encoded.
pub fn picture(device: &Device, shown: &Evidence, caption: &str) -> Result<Vec<u8>, Fault> {
    let frame = device.draw(shown.screen, shown.locale, &shown.values);
    let size = Size::new(frame.width() * SCALE + 2 * BORDER, frame.height() * SCALE + 2 * BORDER + CAPTION);
    let mut canvas = GrayCanvas { size, pixels: vec![PAPER; size.width as usize * size.height as usize] };
    let inner = Rectangle::new(Point::new_equal(BORDER as i32), frame.size() * SCALE);
    canvas.fill(Rectangle::new(inner.top_left - Point::new(1, 1), inner.size + Size::new(2, 2)), MARK);
    canvas.fill(inner, PAPER);
    for y in 0..frame.height() {
        for x in (0..frame.width()).filter(|x| frame.ink(*x, y)) {
            let here = Point::new(x as i32, y as i32);
            let loud = shown.areas.is_empty() || shown.areas.iter().any(|area| area.contains(here));
            canvas.fill(scaled(Rectangle::new(here, Size::new_equal(1))), if loud { LOUD } else { QUIET });
        }
    }
    for area in &shown.areas {
        mark(&mut canvas, scaled(*area));
    }
    write_caption(&mut canvas, caption, inner);
    let mut file = Vec::new();
    PngEncoder::new(&mut file)
        .write_image(&canvas.pixels, size.width, size.height, ExtendedColorType::L8)
        .map_err(|why| Fault::plain(format!("cannot make the PNG: {why}")))?;
    Ok(file)
}

/// An area of the screen in the picture.
fn scaled(area: Rectangle) -> Rectangle {
    Rectangle::new(area.top_left * SCALE as i32 + Point::new_equal(BORDER as i32), area.size * SCALE)
}

/// Two short strokes at each corner, a little away from the area.
fn mark(canvas: &mut GrayCanvas, area: Rectangle) {
    let outer = area.offset(AWAY + THICK as i32);
    let arm = |length: u32| ARM.min(length / 2);
    let (across, down) = (arm(outer.size.width), arm(outer.size.height));
    let right = outer.top_left.x + outer.size.width as i32;
    let bottom = outer.top_left.y + outer.size.height as i32;
    for y in [outer.top_left.y, bottom - THICK as i32] {
        for x in [outer.top_left.x, right - across as i32] {
            canvas.fill(Rectangle::new(Point::new(x, y), Size::new(across, THICK)), MARK);
        }
    }
    for x in [outer.top_left.x, right - THICK as i32] {
        for y in [outer.top_left.y, bottom - down as i32] {
            canvas.fill(Rectangle::new(Point::new(x, y), Size::new(THICK, down)), MARK);
        }
    }
}

fn write_caption(canvas: &mut GrayCanvas, caption: &str, inner: Rectangle) {
    let Some(face) = builtin::face("text") else { return };
    let mut line = Frame::new(canvas.size.width, CAPTION);
    let everywhere = Rectangle::new(Point::zero(), line.size());
    face.draw(caption, Point::new(inner.top_left.x, face.ascent + 2), everywhere, Paint::Ink, &mut line);
    let top = inner.top_left.y + inner.size.height as i32 + 4;
    for y in 0..line.height() {
        for x in (0..line.width()).filter(|x| line.ink(*x, y)) {
            canvas.fill(Rectangle::new(Point::new(x as i32, y as i32 + top), Size::new_equal(1)), LOUD);
        }
    }
}

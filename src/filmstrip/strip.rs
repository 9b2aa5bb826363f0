//! Shots as one APNG: the display in its frame, the soft keys in their places, a line of words below.

use super::Shot;
use crate::device::Device;
use crate::frame::Frame;
use crate::frame::blit::Paint;
use crate::hardware::display::Side;
use crate::screen::face::{Face, builtin};
use crate::source::fault::Fault;
use crate::units::{Seconds, figures};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::{PointsIter, Rectangle};
use std::sync::Arc;

/// A strip is played so much faster that it is no longer than this.
const WATCHABLE: Seconds = Seconds(16.0);
/// Around the display, and the depth of a key, in pixels of the panel.
const MARGIN: i32 = 10;
const KEY: u32 = 10;
const GAP: i32 = 6;
/// Height of the line of words.
const CAPTION: u32 = 22;
/// Largest picture, in pixels.
const LARGEST: u64 = 1 << 24;
/// Most shots in one strip.
const SHOTS: usize = 2_000;

/// Colours of the palette: paper, settling, ink, pressed.
const PALETTE: [u8; 12] = [0xf7, 0xf6, 0xf2, 0x9a, 0x99, 0x95, 0x1c, 0x1c, 0x1e, 0xb3, 0x43, 0x0f];
const PAPER: u8 = 0;
const SETTLING: u8 = 1;
const INK: u8 = 2;
const PRESSED: u8 = 3;

/// The factor that makes shots watchable: a whole number, 1 where they are short enough.
pub fn pace(shots: &[Shot]) -> f64 {
    let total: Seconds = shots.iter().map(|shot| shot.time).sum();
    (total / WATCHABLE).ceil().max(1.0)
}

/// The animated picture, `scale` pixels for each of the panel's, played `pace` times as fast as the device.
///
/// # Errors
/// When there is nothing to show, or it would be too large.
pub fn apng(device: &Device, shots: &[Shot], scale: u32, pace: f64) -> Result<Vec<u8>, Fault> {
    let fail = |why: &dyn std::fmt::Display| Fault::plain(format!("cannot make the filmstrip: {why}"));
    if shots.is_empty() {
        return Err(fail(&"nothing happens in this journey"));
    }
    let plan = Plan::new(device, pace);
    let (width, height) = (plan.size.width * scale, plan.size.height * scale);
    if u64::from(width) * u64::from(height) > LARGEST || shots.len() > SHOTS {
        return Err(fail(&"it would be too large; choose a smaller scale or a shorter journey"));
    }
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, width, height);
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Two);
    encoder.set_palette(PALETTE.to_vec());
    encoder.set_compression(png::Compression::High);
    encoder.set_filter(png::Filter::NoFilter);
    encoder.set_animated(shots.len() as u32, 0).map_err(|why| fail(&why))?;
    let mut writer = encoder.write_header().map_err(|why| fail(&why))?;
    for shot in shots {
        let delay = (shot.time.0 / pace * 1000.0).round().clamp(1.0, f64::from(u16::MAX)) as u16;
        writer.set_frame_delay(delay, 1000).map_err(|why| fail(&why))?;
        writer.write_image_data(&plan.draw(shot).packed(scale)).map_err(|why| fail(&why))?;
    }
    writer.finish().map_err(|why| fail(&why))?;
    Ok(file)
}

/// Where things stand in the picture, in pixels of the panel.
struct Plan<'a> {
    device: &'a Device,
    size: Size,
    display: Point,
    face: Option<Arc<Face>>,
    pace: f64,
}

impl<'a> Plan<'a> {
    fn new(device: &'a Device, pace: f64) -> Self {
        let room = |side| if device.display.keys_at(side).next().is_some() { KEY + GAP as u32 } else { 0 };
        let (left, top) = (room(Side::Left), room(Side::Top));
        let (wide, high) = (left + room(Side::Right), top + room(Side::Bottom));
        let margin = MARGIN as u32;
        let panel = device.panel.size();
        Self {
            device,
            size: Size::new(panel.width + 2 * margin + wide, panel.height + 2 * margin + high + CAPTION),
            display: Point::new(MARGIN + left as i32, MARGIN + top as i32),
            face: builtin::face("text"),
            pace,
        }
    }

    fn draw(&self, shot: &Shot) -> FilmSheet {
        let panel = self.device.panel.size();
        let mut canvas =
            FilmSheet { size: self.size, pixels: vec![PAPER; (self.size.width * self.size.height) as usize] };
        let display = Rectangle::new(self.display, panel);
        canvas.fill(display.offset(1), INK);
        canvas.fill(display, PAPER);
        canvas.lay(&shot.frame, self.display, INK);
        if let Some(settling) = &shot.settling {
            canvas.lay(settling, self.display, SETTLING);
        }
        canvas.shade(&shot.shaded, display);
        let placed = Side::ALL
            .into_iter()
            .flat_map(|side| self.device.display.keys_at(side).map(move |(index, place)| (side, index, place)));
        for (side, index, place) in placed {
            let along = place.centre_px - place.width_px as i32 / 2;
            let (across, down) = (Size::new(place.width_px, KEY), Size::new(KEY, place.width_px));
            let (right, bottom) = (panel.width as i32 + GAP, panel.height as i32 + GAP);
            let (offset, size) = match side {
                Side::Bottom => (Point::new(along, bottom), across),
                Side::Top => (Point::new(along, -GAP - KEY as i32), across),
                Side::Left => (Point::new(-GAP - KEY as i32, along), down),
                Side::Right => (Point::new(right, along), down),
            };
            let key = Rectangle::new(self.display + offset, size);
            let down = shot.key == Some(index);
            canvas.fill(key, if down { PRESSED } else { INK });
            if !down {
                canvas.fill(key.offset(-1), PAPER);
            }
        }
        self.words(&shot.caption, &mut canvas);
        canvas
    }

    /// The caption at the left, the pace at the right where there is room for both.
    fn words(&self, caption: &str, canvas: &mut FilmSheet) {
        let Some(face) = &self.face else { return };
        let mut line = Frame::new(self.size.width, CAPTION);
        let everywhere = Rectangle::new(Point::zero(), line.size());
        let base = CAPTION as i32 - face.descent - 5;
        face.draw(caption, Point::new(MARGIN, base), everywhere, Paint::Ink, &mut line);
        let pace = format!("{} x", figures(self.pace));
        let (width, end) = (face.width(&pace), self.size.width as i32 - MARGIN);
        if self.pace != 1.0 && MARGIN + face.width(caption) + 3 * GAP < end - width {
            face.draw(&pace, Point::new(end - width, base), everywhere, Paint::Ink, &mut line);
        }
        canvas.lay(&line, Point::new(0, (self.size.height - CAPTION) as i32), INK);
    }
}

/// A picture of palette entries.
struct FilmSheet {
    size: Size,
    pixels: Vec<u8>,
}

impl FilmSheet {
    fn fill(&mut self, area: Rectangle, entry: u8) {
        let area = area.intersection(&Rectangle::new(Point::zero(), self.size));
        for y in area.rows() {
            let start = y as usize * self.size.width as usize + area.top_left.x as usize;
            self.pixels[start..start + area.size.width as usize].fill(entry);
        }
    }

    /// Shades regions of a display: every other pixel of every other line.
    fn shade(&mut self, regions: &[Rectangle], display: Rectangle) {
        for region in regions {
            let placed = Rectangle::new(display.top_left + region.top_left, region.size).intersection(&display);
            for at in placed.points().filter(|at| at.x % 2 == 0 && at.y % 2 == 0) {
                self.fill(Rectangle::new(at, Size::new_equal(1)), PRESSED);
            }
        }
    }

    /// Gives the ink of a frame a palette entry.
    fn lay(&mut self, frame: &Frame, at: Point, entry: u8) {
        for y in 0..frame.height() {
            for x in (0..frame.width()).filter(|x| frame.ink(*x, y)) {
                self.fill(Rectangle::new(at + Point::new(x as i32, y as i32), Size::new_equal(1)), entry);
            }
        }
    }

    /// Rows of two bits a pixel, each padded to whole bytes, every pixel `scale` by `scale` large.
    fn packed(&self, scale: u32) -> Vec<u8> {
        let mut rows = Vec::new();
        for row in self.pixels.chunks(self.size.width as usize) {
            let wide: Vec<u8> = row.iter().flat_map(|entry| std::iter::repeat_n(*entry, scale as usize)).collect();
            let packed = wide
                .chunks(4)
                .map(|four| four.iter().enumerate().fold(0, |byte, (index, entry)| byte | (entry << (6 - 2 * index))));
            let packed: Vec<u8> = packed.collect();
            (0..scale).for_each(|_| rows.extend_from_slice(&packed));
        }
        rows
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pixels_are_packed_two_bits_each_with_padded_rows() {
        let canvas = FilmSheet { size: Size::new(3, 1), pixels: vec![PAPER, INK, PRESSED] };
        assert_eq!(canvas.packed(1), [0b0010_1100]);
        assert_eq!(canvas.packed(2), [0b0000_1010, 0b1111_0000, 0b0000_1010, 0b1111_0000]);
    }
}

//! A picture in colours to draw the preview on: rectangles, rounded ones, text of the built-in faces.
//!
//! Not for screens, which are [`crate::frame::Frame`]s. Whatever lies outside the canvas is left out.

use super::theme::{Color, mix, parts};
use crate::frame::{Frame, rectangle};
use crate::screen::face::{Face, builtin};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use image::{ExtendedColorType, ImageEncoder};
use std::collections::HashMap;
use std::sync::{Arc, LazyLock};

/// A picture in colours.
#[derive(Clone, Debug, PartialEq)]
pub struct WindowCanvas {
    size: Size,
    pixels: Vec<Color>,
}

/// A built-in face of the preview's own text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Type {
    /// Reading.
    Text,
    /// Headings and figures.
    Bold,
    /// Notes.
    Small,
}

static FACES: LazyLock<[Arc<Face>; 3]> = LazyLock::new(|| {
    ["text", "bold", "small"]
        .map(|name| builtin::face(name).unwrap_or_else(|| Arc::new(Face::new(name, 10, 3, HashMap::new()))))
});

impl Type {
    /// Its glyphs.
    pub fn face(self) -> &'static Face {
        match self {
            Self::Text => &FACES[0],
            Self::Bold => &FACES[1],
            Self::Small => &FACES[2],
        }
    }
}

impl WindowCanvas {
    /// A canvas of one colour.
    pub fn new(size: Size, color: Color) -> Self {
        Self { size, pixels: vec![color; size.width as usize * size.height as usize] }
    }

    /// Width and height.
    pub fn size(&self) -> Size {
        self.size
    }

    /// The pixels row by row, each 0x00RRGGBB.
    pub fn pixels(&self) -> &[Color] {
        &self.pixels
    }

    /// The colour of a pixel; `None` outside.
    pub fn pixel(&self, at: Point) -> Option<Color> {
        self.index(at).map(|index| self.pixels[index])
    }

    fn index(&self, at: Point) -> Option<usize> {
        let (x, y) = (u32::try_from(at.x).ok()?, u32::try_from(at.y).ok()?);
        (x < self.size.width && y < self.size.height).then_some(y as usize * self.size.width as usize + x as usize)
    }

    /// Colours one pixel.
    pub fn set(&mut self, at: Point, color: Color) {
        if let Some(index) = self.index(at) {
            self.pixels[index] = color;
        }
    }

    fn blend(&mut self, at: Point, color: Color, share: f32) {
        if let Some(index) = self.index(at) {
            self.pixels[index] = mix(self.pixels[index], color, share);
        }
    }

    fn row(&mut self, x: i32, y: i32, width: u32) -> Option<&mut [Color]> {
        let row = usize::try_from(y).ok().filter(|y| *y < self.size.height as usize)?;
        let clip = |x: i64| x.clamp(0, i64::from(self.size.width)) as usize;
        let (from, to) = (clip(i64::from(x)), clip(i64::from(x) + i64::from(width)));
        let start = row * self.size.width as usize;
        self.pixels.get_mut(start + from..start + to)
    }

    /// Fills a rectangle.
    pub fn fill(&mut self, area: Rectangle, color: Color) {
        for y in 0..area.size.height as i32 {
            if let Some(row) = self.row(area.top_left.x, area.top_left.y + y, area.size.width) {
                row.fill(color);
            }
        }
    }

    /// Tints a rectangle.
    pub fn tint(&mut self, area: Rectangle, color: Color, share: f32) {
        for y in 0..area.size.height as i32 {
            if let Some(row) = self.row(area.top_left.x, area.top_left.y + y, area.size.width) {
                row.iter_mut().for_each(|pixel| *pixel = mix(*pixel, color, share));
            }
        }
    }

    /// Draws the outline of a rectangle, `thick` pixels wide, on its inside.
    pub fn outline(&mut self, area: Rectangle, thick: u32, color: Color) {
        let (w, h) = (area.size.width as i32, area.size.height as i32);
        let (x, y, t) = (area.top_left.x, area.top_left.y, thick as i32);
        if w <= 2 * t || h <= 2 * t {
            return self.fill(area, color);
        }
        let sides = [
            rectangle(x, y, w, t),
            rectangle(x, y + h - t, w, t),
            rectangle(x, y, t, h),
            rectangle(x + w - t, y, t, h),
        ];
        sides.into_iter().for_each(|side| self.fill(side, color));
    }

    /// Fills a rectangle with round corners; their edges are smooth.
    pub fn rounded(&mut self, area: Rectangle, radius: i32, color: Color) {
        let (w, h) = (area.size.width as i32, area.size.height as i32);
        let radius = radius.clamp(0, w.min(h) / 2);
        self.fill(rectangle(area.top_left.x, area.top_left.y + radius, w, h - 2 * radius), color);
        for y in 0..radius {
            let middle = rectangle(area.top_left.x + radius, area.top_left.y + y, w - 2 * radius, 1);
            self.fill(middle, color);
            self.fill(Rectangle::new(Point::new(middle.top_left.x, area.top_left.y + h - 1 - y), middle.size), color);
            for x in 0..radius {
                let (dx, dy) = ((radius - x) as f32 - 0.5, (radius - y) as f32 - 0.5);
                let share = (radius as f32 - dx.hypot(dy) + 0.5).clamp(0.0, 1.0);
                for (px, py) in [(x, y), (w - 1 - x, y), (x, h - 1 - y), (w - 1 - x, h - 1 - y)] {
                    self.blend(area.top_left + Point::new(px, py), color, share);
                }
            }
        }
    }

    /// Writes a line of text, each pixel of its face `scale` wide, with its upper left corner at `at`. Gives its width.
    pub fn text(&mut self, text: &str, at: Point, kind: Type, scale: u32, color: Color) -> i32 {
        let face = kind.face();
        let (width, scale) = (face.width(text).clamp(0, 4_000), scale.max(1));
        let mut line = Frame::new(width as u32 + 4, face.line_height().max(1) as u32);
        let everywhere = Rectangle::new(Point::zero(), line.size());
        face.draw(text, Point::new(0, face.ascent), everywhere, crate::frame::Paint::Ink, &mut line);
        for y in 0..line.height() {
            for x in (0..line.width()).filter(|x| line.ink(*x, y)) {
                let corner = at + Point::new((x * scale) as i32, (y * scale) as i32);
                self.fill(Rectangle::new(corner, Size::new(scale, scale)), color);
            }
        }
        width * scale as i32
    }

    /// Copies rows of 8-bit RGB pixels, `width` pixels each, to `at`.
    pub fn copy_rgb(&mut self, width: u32, rgb: &[u8], at: Point) {
        for (y, row) in (0..).zip(rgb.chunks_exact(width.max(1) as usize * 3)) {
            let skip = (-at.x).max(0) as usize;
            let Some(to) = self.row(at.x, at.y + y, width) else { continue };
            for (pixel, from) in to.iter_mut().zip(row.chunks_exact(3).skip(skip)) {
                *pixel = u32::from_be_bytes([0, from[0], from[1], from[2]]);
            }
        }
    }

    /// The picture as a PNG; `None` where it has no pixels.
    pub fn png(&self) -> Option<Vec<u8>> {
        let bytes: Vec<u8> = self.pixels.iter().flat_map(|pixel| parts(*pixel)).collect();
        let mut file = Vec::new();
        let encoder = image::codecs::png::PngEncoder::new(&mut file);
        encoder.write_image(&bytes, self.size.width, self.size.height, ExtendedColorType::Rgb8).ok()?;
        Some(file)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_outside_is_left_out() {
        let mut canvas = WindowCanvas::new(Size::new(4, 3), 1);
        canvas.fill(rectangle(-5, -5, 7, 7), 2);
        canvas.outline(rectangle(3, 2, 9, 9), 1, 3);
        canvas.copy_rgb(3, &[0, 0, 7, 0, 0, 8, 0, 0, 9], Point::new(-2, 2));
        assert_eq!(canvas.pixels(), [2, 2, 1, 1, 2, 2, 1, 1, 9, 1, 1, 3]);
        assert_eq!((canvas.pixel(Point::new(4, 0)), canvas.pixel(Point::new(0, -1))), (None, None));
    }

    #[test]
    fn text_is_as_wide_as_its_face_says() {
        let mut canvas = WindowCanvas::new(Size::new(60, 16), 0);
        let width = canvas.text("Ab1", Point::zero(), Type::Text, 1, 5);
        assert_eq!(width, Type::Text.face().width("Ab1"));
        assert!(canvas.pixels().contains(&5));
    }
}

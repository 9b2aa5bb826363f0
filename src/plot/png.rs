//! A scene as PNG, set in the program's own face.

use super::letters::{face, width};
use super::palette::{Colour, Rgb, Theme};
use super::scene::{Anchor, Scene, Shape};
use crate::frame::Frame;
use image::codecs::png::PngEncoder;
use image::error::{ImageError, LimitError, LimitErrorKind};
use image::{ExtendedColorType, ImageEncoder, ImageResult};
use tiny_skia::{Color, FillRule, LineJoin, Paint, Path, PathBuilder, Pixmap, Stroke, StrokeDash, Transform};

/// Longest side of a PNG in pixels.
pub const LARGEST_SIDE: u32 = 16_384;

/// The PNG of a scene at a scale in pixels for each point, in the colours of a theme.
///
/// # Errors
/// When the image is too large or cannot be encoded.
pub fn png(scene: &Scene, scale: f32, theme: Theme) -> ImageResult<Vec<u8>> {
    let side = |length: f32| (length * scale).round().clamp(1.0, LARGEST_SIDE as f32) as u32;
    let mut sheet = Pixmap::new(side(scene.size[0]), side(scene.size[1])).ok_or_else(too_large)?;
    let [red, green, blue] = Colour::Paper.rgb(theme);
    sheet.fill(Color::from_rgba8(red, green, blue, 255));
    for shape in &scene.shapes {
        draw(&mut sheet, shape, scale, theme);
    }
    // The sheet is opaque, so its premultiplied colours are the plain ones.
    let pixels: Vec<u8> = sheet.data().chunks_exact(4).flat_map(|pixel| [pixel[0], pixel[1], pixel[2]]).collect();
    let mut file = Vec::new();
    PngEncoder::new(&mut file).write_image(&pixels, sheet.width(), sheet.height(), ExtendedColorType::Rgb8)?;
    Ok(file)
}

fn too_large() -> ImageError {
    ImageError::Limits(LimitError::from_kind(LimitErrorKind::DimensionError))
}

fn paint(colour: Rgb, opacity: f32) -> Paint<'static> {
    let mut paint = Paint { anti_alias: true, ..Paint::default() };
    paint.set_color_rgba8(colour[0], colour[1], colour[2], (opacity * 255.0).round().clamp(0.0, 255.0) as u8);
    paint
}

fn path(points: &[[f32; 2]], closed: bool) -> Option<Path> {
    let mut builder = PathBuilder::new();
    let (first, rest) = points.split_first()?;
    builder.move_to(first[0], first[1]);
    rest.iter().for_each(|point| builder.line_to(point[0], point[1]));
    if closed {
        builder.close();
    }
    builder.finish()
}

fn draw(sheet: &mut Pixmap, shape: &Shape, scale: f32, theme: Theme) {
    let transform = Transform::from_scale(scale, scale);
    match shape {
        Shape::Line { points, width, colour, dash } => {
            let dash = dash.and_then(|[on, off]| StrokeDash::new(vec![on, off], 0.0));
            let stroke = Stroke { width: *width, line_join: LineJoin::Round, dash, ..Stroke::default() };
            if let Some(path) = path(points, false) {
                sheet.stroke_path(&path, &paint(colour.rgb(theme), 1.0), &stroke, transform, None);
            }
        }
        Shape::Area { points, colour, opacity } => {
            if let Some(path) = path(points, true) {
                sheet.fill_path(&path, &paint(colour.rgb(theme), *opacity), FillRule::Winding, transform, None);
            }
        }
        Shape::Disc { centre: [x, y], radius, fill, rim } => {
            if let Some(path) = PathBuilder::from_circle(*x, *y, *radius) {
                let stroke = Stroke { width: 2.0, ..Stroke::default() };
                sheet.fill_path(&path, &paint(fill.rgb(theme), 1.0), FillRule::Winding, transform, None);
                sheet.stroke_path(&path, &paint(rim.rgb(theme), 1.0), &stroke, transform, None);
            }
        }
        Shape::Picture { at, size, frame } => {
            let [left, top] = at.map(|start| (start * scale).round() as i32);
            let [wide, high] = size.map(|length| (length * scale).round().max(1.0) as u32);
            print(sheet, [left, top], [wide, high], frame);
        }
        Shape::Text { at: [x, y], anchor, size, colour, text } => {
            let length = width(text, *size);
            let start = match anchor {
                Anchor::Start => *x,
                Anchor::Middle => x - length / 2.0,
                Anchor::End => x - length,
            };
            write(sheet, [start * scale, y * scale], size * scale, colour.rgb(theme), text);
        }
    }
}

/// Lays a picture on the sheet: each pixel of the sheet is the mean of those that it covers.
fn print(sheet: &mut Pixmap, [left, top]: [i32; 2], [wide, high]: [u32; 2], frame: &Frame) {
    let span = |pixel: u32, of: u32, have: u32| {
        let from = (u64::from(pixel) * u64::from(have) / u64::from(of)) as u32;
        let to = (u64::from(pixel + 1) * u64::from(have)).div_ceil(u64::from(of)) as u32;
        from..to.max(from + 1).min(have)
    };
    for y in 0..high {
        let rows = span(y, high, frame.height());
        for x in 0..wide {
            let columns = span(x, wide, frame.width());
            let all = rows.len() * columns.len();
            let ink = rows.clone().flat_map(|row| columns.clone().map(move |column| (column, row)));
            let ink = ink.filter(|(column, row)| frame.ink(*column, *row)).count();
            let shade = 255 - (255 * ink / all.max(1)) as u8;
            blend(sheet, left + x as i32, top + y as i32, [shade; 3], 255);
        }
    }
}

fn write(sheet: &mut Pixmap, [x, y]: [f32; 2], size: f32, colour: Rgb, text: &str) {
    let Some(face) = face() else { return };
    let mut pen = x;
    for letter in text.chars() {
        let (metrics, coverage) = face.rasterize(letter, size);
        let left = pen.round() as i32 + metrics.xmin;
        let top = y.round() as i32 - metrics.ymin - metrics.height as i32;
        for (row, line) in coverage.chunks_exact(metrics.width.max(1)).enumerate() {
            for (column, share) in line.iter().enumerate() {
                blend(sheet, left + column as i32, top + row as i32, colour, *share);
            }
        }
        pen += metrics.advance_width;
    }
}

/// Lays a colour over an opaque pixel; outside the sheet nothing happens.
fn blend(sheet: &mut Pixmap, x: i32, y: i32, colour: Rgb, share: u8) {
    let (width, height) = (sheet.width() as i32, sheet.height() as i32);
    if share == 0 || x < 0 || y < 0 || x >= width || y >= height {
        return;
    }
    let at = (y as usize * width as usize + x as usize) * 4;
    for (old, new) in sheet.data_mut()[at..at + 3].iter_mut().zip(colour) {
        let (old_part, new_part) = (u32::from(*old) * (255 - u32::from(share)), u32::from(new) * u32::from(share));
        *old = ((old_part + new_part + 127) / 255) as u8;
    }
}

//! Frames: drawing, differences, packing in the order of their rows.

use super::devices::demo;
use super::pair::timed;
use super::plain::{self, Piece};
use super::table::{Table, Target};
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::*;
use embedded_graphics::primitives::{Line, PrimitiveStyle, Rectangle};
use embedded_graphics_simulator::SimulatorDisplay;
use inkjoule::frame::pack::pack;
use inkjoule::frame::{Frame, Packing, Paint};
use inkjoule::screen::face::Face;
use std::convert::Infallible;

/// Sizes of a small and of a large panel.
pub const SIZES: [(u32, u32); 2] = [(296, 128), (800, 480)];

/// All rows.
pub fn rows(table: &mut Table) {
    drawing(table);
    for (width, height) in SIZES {
        let (old, new) = two(width, height);
        let size = format!("{width} x {height}");
        let (from, mut to) = (old.words().to_vec(), old.words().to_vec());
        let ours = timed(|| old.changed(&new));
        let plain = timed(|| to.copy_from_slice(std::hint::black_box(&from)));
        table.pair(
            &format!("pixels that differ and their bounds, {size}"),
            Target::Within(4.0),
            "memcpy of one frame",
            ours,
            plain,
        );
        let (packing, rows) = (Packing::default(), old.to_rows_msb());
        let ours = timed(|| pack(&old, &packing));
        let plain = timed(|| std::hint::black_box(&rows).to_vec());
        let name = format!("pack, native order, {size}");
        table.pair(&name, Target::Within(4.0), "memcpy into new memory", ours, plain);
    }
}

/// Two frames of text that differ in a few places.
pub fn two(width: u32, height: u32) -> (Frame, Frame) {
    let old = tiled(width, height);
    let mut new = old.clone();
    for x in [7, width / 2, width - 30] {
        new.invert(Rectangle::new(Point::new(x as i32, height as i32 / 3), Size::new(21, 30)));
    }
    (old, new)
}

/// The demo's screens laid side by side until the frame is full.
pub fn tiled(width: u32, height: u32) -> Frame {
    let device = demo(&[]);
    let size = device.panel.size();
    let mut frame = Frame::new(width, height);
    let everything = Rectangle::new(Point::zero(), frame.size());
    let places = (0..height).step_by(size.height as usize).flat_map(|y| {
        let columns = (0..width).step_by(size.width as usize);
        columns.map(move |x| Point::new(x as i32, y as i32))
    });
    for (index, at) in places.enumerate() {
        let screen = inkjoule::screen::ScreenId(index % device.screens.len());
        frame.blit(&device.draw(screen, 0, &device.sample()), at, everything, Paint::Opaque);
    }
    frame
}

/// A screen full of text, boxes and lines.
fn drawing(table: &mut Table) {
    let name = "draw a screen: 10 lines of text, 3 boxes, 4 lines";
    if !table.wants(name) {
        return;
    }
    let device = demo(&[]);
    let face = &device.faces.iter().find(|used| used.face.name == "text").expect("the demo has the font `text`").face;
    let lines: Vec<(String, Point)> = (0..10)
        .map(|line| (format!("{line}: Dew point −3.2 °C, at 04:12, 88 %"), Point::new(3 + line, 12 + 12 * line)))
        .collect();
    let size = Size::new(296, 128);
    let (mut frame, mut display) = (Frame::new(size.width, size.height), SimulatorDisplay::new(size));
    let glyphs: Vec<Piece> = lines.iter().flat_map(|(text, at)| glyphs(face, text, *at)).collect();
    let mut ours = || {
        frame.clear(false);
        let Ok(()) = shapes(&mut frame);
        let everything = Rectangle::new(Point::zero(), size);
        lines.iter().for_each(|(text, at)| face.draw(text, *at, everything, Paint::Opaque, &mut frame));
        frame.ink(0, 0)
    };
    let mut plain = || {
        let Ok(()) = DrawTarget::clear(&mut display, BinaryColor::Off);
        let Ok(()) = shapes(&mut display);
        glyphs.iter().for_each(|glyph| glyph.draw(&mut display));
        display.get_pixel(Point::zero())
    };
    ours();
    plain();
    table.pair(name, Target::Faster(5.0), "the same onto a SimulatorDisplay", timed(&mut ours), timed(&mut plain));
    assert!(plain::same(&display, &frame), "both ways draw the same image");
}

fn shapes<D: DrawTarget<Color = BinaryColor, Error = Infallible>>(target: &mut D) -> Result<(), Infallible> {
    let fill = PrimitiveStyle::with_fill(BinaryColor::On);
    let stroke = PrimitiveStyle::with_stroke(BinaryColor::On, 1);
    for column in 0..3 {
        Rectangle::new(Point::new(200 + 32 * column, 8), Size::new(24, 100)).into_styled(fill).draw(target)?;
    }
    for row in 0..4 {
        Line::new(Point::new(0, 30 * row + 15), Point::new(295, 30 * row + 15)).into_styled(stroke).draw(target)?;
    }
    Ok(())
}

/// The glyphs of a line of text in their places.
fn glyphs(face: &Face, text: &str, origin: Point) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let (mut x, mut before) = (origin.x, None);
    for character in text.chars() {
        x += before.map_or(0, |left| face.kern(left, character));
        before = Some(character);
        let glyph = face.glyph(character);
        if glyph.ink.width() > 0 && glyph.ink.height() > 0 {
            pieces.push(Piece::new(&glyph.ink, Point::new(x + glyph.left, origin.y - glyph.top)));
        }
        x += glyph.advance;
    }
    pieces
}

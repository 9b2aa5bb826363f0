//! The straightforward way: whole screens drawn through the drawing library onto its simulator's display, and compared
//! pixel by pixel.

use embedded_graphics::image::{Image, ImageRaw};
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::*;
use embedded_graphics::primitives::Rectangle;
use embedded_graphics_simulator::SimulatorDisplay;
use inkjoule::frame::{Frame, Paint};
use inkjoule::screen::Screen;
use inkjoule::screen::values::Values;

/// A picture as the drawing library takes it, in its place.
#[derive(Debug)]
pub struct Piece {
    at: Point,
    width: u32,
    rows: Vec<u8>,
}

impl Piece {
    /// A frame to be drawn at a place.
    pub fn new(frame: &Frame, at: Point) -> Self {
        Self { at, width: frame.width(), rows: frame.to_rows_msb() }
    }

    /// Draws it.
    pub fn draw(&self, display: &mut SimulatorDisplay<BinaryColor>) {
        let raw = ImageRaw::<BinaryColor>::new(&self.rows, self.width);
        let Ok(()) = Image::new(&raw, self.at).draw(display);
    }
}

/// The elements of a screen, each as a picture of its own. What it takes to set texts and to find glyphs is left out, in
/// favour of the straightforward way.
pub fn pieces(screen: &Screen, values: &Values, size: Size) -> Vec<Piece> {
    let items = screen.pictures[0].iter().filter(|item| item.area.size.width > 0 && item.area.size.height > 0);
    let items = items.filter(|item| item.when.iter().all(|condition| condition.holds(values)));
    let piece = |item: &inkjoule::screen::Item| {
        let mut whole = Frame::new(size.width, size.height);
        item.draw(values, &mut whole);
        let mut own = Frame::new(item.area.size.width, item.area.size.height);
        let everything = Rectangle::new(Point::zero(), own.size());
        own.blit_part(&whole, item.area, Point::zero(), everything, Paint::Opaque);
        Piece::new(&own, item.area.top_left)
    };
    items.map(piece).collect()
}

/// Draws a whole screen anew.
pub fn draw(pieces: &[Piece], display: &mut SimulatorDisplay<BinaryColor>) {
    let Ok(()) = display.clear(BinaryColor::Off);
    pieces.iter().for_each(|piece| piece.draw(display));
}

/// Pixels that differ, and the rectangle around them.
pub fn changes(
    old: &SimulatorDisplay<BinaryColor>,
    new: &SimulatorDisplay<BinaryColor>,
) -> (u64, Option<(Point, Point)>) {
    let size = old.size();
    let (mut count, mut bounds) = (0, None);
    for y in 0..size.height as i32 {
        for x in 0..size.width as i32 {
            let at = Point::new(x, y);
            if old.get_pixel(at) != new.get_pixel(at) {
                count += 1;
                let (low, high) = bounds.unwrap_or((at, at));
                bounds = Some((at.component_min(low), at.component_max(high)));
            }
        }
    }
    (count, bounds)
}

/// Whether display and frame show the same.
pub fn same(display: &SimulatorDisplay<BinaryColor>, frame: &Frame) -> bool {
    let points = Rectangle::new(Point::zero(), frame.size()).points();
    points.into_iter().all(|at| display.get_pixel(at).is_on() == frame.ink(at.x as u32, at.y as u32))
}

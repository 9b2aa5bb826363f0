//! Frames as a drawing surface of embedded-graphics; `BinaryColor::On` is ink.
//!
//! Not for copying one frame onto another, which [`super::blit`] does by words.

use super::area::Area;
use super::bits::Frame;
use core::convert::Infallible;
use embedded_graphics::Pixel;
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::*;
use embedded_graphics::primitives::Rectangle;

impl OriginDimensions for Frame {
    fn size(&self) -> Size {
        Frame::size(self)
    }
}

impl DrawTarget for Frame {
    type Color = BinaryColor;
    type Error = Infallible;

    fn draw_iter<I>(&mut self, pixels: I) -> Result<(), Infallible>
    where
        I: IntoIterator<Item = Pixel<BinaryColor>>,
    {
        for Pixel(point, color) in pixels {
            if let (Ok(x), Ok(y)) = (u32::try_from(point.x), u32::try_from(point.y)) {
                self.set(x, y, color.is_on());
            }
        }
        Ok(())
    }

    fn fill_contiguous<I>(&mut self, area: &Rectangle, colors: I) -> Result<(), Infallible>
    where
        I: IntoIterator<Item = BinaryColor>,
    {
        if let Some(visible) = Area::within(area, self.width(), self.height()) {
            // What the iterator cannot supply stays as it was, so running out early is no error.
            let _ran_out = fill_visible(self, area, &visible, &mut colors.into_iter());
        }
        Ok(())
    }

    fn fill_solid(&mut self, area: &Rectangle, color: BinaryColor) -> Result<(), Infallible> {
        self.fill(*area, color.is_on());
        Ok(())
    }

    fn clear(&mut self, color: BinaryColor) -> Result<(), Infallible> {
        Frame::clear(self, color.is_on());
        Ok(())
    }
}

/// Takes the colors of `area` row by row, keeping those of `visible`; `None` once there are no more.
fn fill_visible(
    frame: &mut Frame,
    area: &Rectangle,
    visible: &Area,
    colors: &mut impl Iterator<Item = BinaryColor>,
) -> Option<()> {
    let row = u64::from(area.size.width);
    let left = i64::from(visible.x0).abs_diff(area.top_left.x.into());
    let above = i64::from(visible.y0).abs_diff(area.top_left.y.into());
    skip(colors, above * row + left)?;
    for y in visible.y0..visible.y1 {
        if y > visible.y0 {
            skip(colors, row - u64::from(visible.width()))?;
        }
        take_row(frame, y, visible, colors)?;
    }
    Some(())
}

fn skip(colors: &mut impl Iterator<Item = BinaryColor>, count: u64) -> Option<()> {
    let Some(before_last) = count.checked_sub(1) else { return Some(()) };
    colors.nth(usize::try_from(before_last).unwrap_or(usize::MAX)).map(|_| ())
}

/// Gathers one row's colors into words before storing them.
fn take_row(frame: &mut Frame, y: u32, area: &Area, colors: &mut impl Iterator<Item = BinaryColor>) -> Option<()> {
    let row = frame.row_mut(y);
    let mut x = area.x0;
    while x < area.x1 {
        let word = row.get_mut((x / 64) as usize)?;
        let end = area.x1.min(x - x % 64 + 64);
        let (mut ink, mut known) = (0u64, 0u64);
        let mut more = Some(());
        for bit in (x % 64..x % 64 + (end - x)).map(|place| 1u64 << (63 - place)) {
            let Some(color) = colors.next() else {
                more = None;
                break;
            };
            known |= bit;
            ink |= if color.is_on() { bit } else { 0 };
        }
        *word = (*word & !known) | ink;
        more?;
        x = end;
    }
    Some(())
}

//! Fixed pixels as operations: areas cut into rectangles, and bitmaps of what is left, so that straight edges cost a few
//! bytes and are quick to draw.

use crate::frame::{Frame, Paint};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// Pixels of a rectangle that is worth an operation of its own.
const WORTH: u64 = 72;

/// The longest side of a bitmap: the interpreter has room for a line of so many pixels.
pub(super) const WIDEST: u32 = 512;

/// A set of pixels.
#[derive(Clone, Debug, Default)]
pub(super) struct Pieces {
    pub rectangles: Vec<Rectangle>,
    /// Bitmaps with their corners.
    pub bitmaps: Vec<(Point, Frame)>,
}

/// Part of a frame as a frame of its own.
pub(super) fn part(frame: &Frame, area: Rectangle) -> Frame {
    let mut cut = Frame::new(area.size.width, area.size.height);
    let all = Rectangle::new(Point::zero(), cut.size());
    cut.blit_part(frame, area, Point::zero(), all, Paint::Opaque);
    cut
}

/// Cuts the ink of a frame into pieces; places count from `corner`.
pub(super) fn pieces(ink: &Frame, corner: Point) -> Pieces {
    let mut left = ink.clone();
    let mut rectangles = Vec::new();
    while let Some(found) =
        largest(&left).filter(|found| u64::from(found.size.width) * u64::from(found.size.height) >= WORTH)
    {
        left.fill(found, false);
        rectangles.push(Rectangle::new(found.top_left + corner, found.size));
    }
    let bitmaps = islands(&left).into_iter().map(|area| (area.top_left + corner, part(&left, area))).collect();
    Pieces { rectangles, bitmaps }
}

/// The ink as bitmaps only, none wider than the interpreter can hold.
pub(super) fn bitmaps(ink: &Frame, corner: Point) -> Vec<(Point, Frame)> {
    let Some(bounds) = ink.ink_bounds() else { return Vec::new() };
    let mut all = Vec::new();
    let Size { width, height } = bounds.size;
    for top in (0..height).step_by(WIDEST as usize) {
        for left in (0..width).step_by(WIDEST as usize) {
            let at = bounds.top_left + Point::new(left as i32, top as i32);
            let area = Rectangle::new(at, Size::new(WIDEST.min(width - left), WIDEST.min(height - top)));
            all.push((at + corner, part(ink, area)));
        }
    }
    all
}

/// The largest rectangle of ink: for each row the heights of the columns of ink above it, and the widest run under each
/// height (by a stack of rising heights).
fn largest(ink: &Frame) -> Option<Rectangle> {
    let width = ink.width() as usize;
    let mut heights = vec![0u32; width + 1];
    let mut best: Option<(u64, Rectangle)> = None;
    for y in 0..ink.height() {
        for (x, height) in heights.iter_mut().enumerate().take(width) {
            *height = if ink.ink(x as u32, y) { *height + 1 } else { 0 };
        }
        let mut rising: Vec<(usize, u32)> = Vec::new();
        for (x, height) in heights.iter().enumerate() {
            let mut from = x;
            while let Some((start, tall)) = rising.last().copied().filter(|(_, tall)| tall > height) {
                let size = Size::new((x - start) as u32, tall);
                let area = u64::from(size.width) * u64::from(size.height);
                if best.is_none_or(|(most, _)| area > most) {
                    best = Some((area, Rectangle::new(Point::new(start as i32, (y + 1 - tall) as i32), size)));
                }
                from = start;
                rising.pop();
            }
            if *height > 0 && rising.last().is_none_or(|(_, tall)| tall < height) {
                rising.push((from, *height));
            }
        }
    }
    best.map(|(_, area)| area)
}

/// Bounds of the parts of the ink that lie apart by more than a few pixels, none wider than the interpreter can hold.
fn islands(ink: &Frame) -> Vec<Rectangle> {
    let Some(bounds) = ink.ink_bounds() else { return Vec::new() };
    // An even cut through the longest stretch of paper, again and again.
    let gap = |along_x: bool| -> Option<(u32, u32)> {
        let count = if along_x { bounds.size.width } else { bounds.size.height };
        let (mut best, mut run) = ((0, 0), 0);
        for at in 0..count {
            let strip = match along_x {
                true => Rectangle::new(bounds.top_left + Point::new(at as i32, 0), Size::new(1, bounds.size.height)),
                false => Rectangle::new(bounds.top_left + Point::new(0, at as i32), Size::new(bounds.size.width, 1)),
            };
            run = if ink.ink_count_in(strip) == 0 { run + 1 } else { 0 };
            if run > best.1 {
                best = (at + 1 - run, run);
            }
        }
        Some(best).filter(|(_, run)| *run >= 8)
    };
    let cut = |area: Rectangle| {
        islands(&part(ink, area))
            .into_iter()
            .map(move |found| Rectangle::new(found.top_left + area.top_left, found.size))
    };
    let split = |at: u32, run: u32, along_x: bool| {
        let Size { width, height } = bounds.size;
        let (first, second, rest) = match along_x {
            true => (Size::new(at, height), Point::new((at + run) as i32, 0), Size::new(width - at - run, height)),
            false => (Size::new(width, at), Point::new(0, (at + run) as i32), Size::new(width, height - at - run)),
        };
        let parts = [Rectangle::new(bounds.top_left, first), Rectangle::new(bounds.top_left + second, rest)];
        parts.into_iter().flat_map(cut).collect()
    };
    match (gap(true), gap(false)) {
        (Some((at, run)), other) if other.is_none_or(|(_, down)| run >= down) => split(at, run, true),
        (_, Some((at, run))) => split(at, run, false),
        _ if bounds.size.width > WIDEST => split(WIDEST, 0, true),
        _ if bounds.size.height > WIDEST => split(WIDEST, 0, false),
        _ => vec![bounds],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_are_the_ink_and_nothing_else() {
        let mut ink = Frame::new(90, 60);
        ink.fill(Rectangle::new(Point::new(3, 2), Size::new(80, 50)), true);
        ink.fill(Rectangle::new(Point::new(5, 4), Size::new(76, 46)), false);
        for at in 0..7 {
            ink.set(3 + at, 2, false);
            ink.set(40 + at, 20 + at, true);
        }
        let found = pieces(&ink, Point::new(10, 20));
        let mut again = Frame::new(100, 80);
        let all = Rectangle::new(Point::zero(), again.size());
        found.rectangles.iter().for_each(|area| again.fill(*area, true));
        found.bitmaps.iter().for_each(|(at, bits)| again.blit(bits, *at, all, Paint::Ink));
        assert_eq!(part(&again, Rectangle::new(Point::new(10, 20), ink.size())), ink);
        assert!(found.rectangles.len() >= 4 && found.bitmaps.len() >= 2);
    }
}

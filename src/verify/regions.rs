//! Where two frames differ, as few rectangles, and which elements stand there.

use crate::frame::Frame;
use crate::screen::Item;
use crate::screen::values::Values;
use embedded_graphics::prelude::{Point, PointsIter, Size};
use embedded_graphics::primitives::Rectangle;

/// Changes nearer to each other than this, in pixels, belong together.
const NEAR: u32 = 8;

/// A place where frames differ.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Region {
    /// The smallest rectangle around its changes.
    pub area: Rectangle,
    /// Pixels that differ in it.
    pub changed: u64,
    /// Positions of the innermost elements at the changed pixels, the topmost first.
    pub items: Vec<usize>,
}

/// The places where two frames of one size differ, from the top, and the shown elements that they touch.
pub fn regions(items: &[Item], values: &Values, expected: &Frame, found: &Frame) -> Vec<Region> {
    let Some(difference) = expected.difference(found) else { return Vec::new() };
    let shown = |item: &Item| item.when.iter().all(|condition| condition.holds(values));
    let items: Vec<(usize, &Item)> = items.iter().enumerate().filter(|(_, item)| shown(item)).collect();
    let region = |area: Rectangle| {
        let mut inner: Vec<usize> = area
            .points()
            .filter(|point| difference.ink(point.x as u32, point.y as u32))
            .filter_map(|point| innermost(&items, point))
            .collect();
        inner.sort_unstable_by(|a, b| b.cmp(a));
        inner.dedup();
        Region { area, changed: difference.ink_count_in(area), items: inner }
    };
    clusters(&difference).into_iter().map(region).collect()
}

/// The smallest element at a point, the topmost of equal ones: a box, or a frame around others, is not meant where one of
/// its own elements stands.
fn innermost(items: &[(usize, &Item)], point: Point) -> Option<usize> {
    let room = |item: &Item| u64::from(item.area.size.width) * u64::from(item.area.size.height);
    let here = items.iter().rev().filter(|(_, item)| item.area.contains(point));
    here.min_by_key(|(_, item)| room(item)).map(|(index, _)| *index)
}

/// Groups of ink on a coarse grid: cells with ink that touch, diagonally too, belong together.
fn clusters(frame: &Frame) -> Vec<Rectangle> {
    let (columns, rows) = (frame.width().div_ceil(NEAR), frame.height().div_ceil(NEAR));
    let cell = |x: u32, y: u32| Rectangle::new(Point::new((x * NEAR) as i32, (y * NEAR) as i32), Size::new(NEAR, NEAR));
    let mut open: Vec<bool> = (0..rows)
        .flat_map(|y| (0..columns).map(move |x| (x, y)))
        .map(|(x, y)| frame.ink_count_in(cell(x, y)) > 0)
        .collect();
    let mut found = Vec::new();
    for start in 0..open.len() {
        if !open[start] {
            continue;
        }
        let mut waiting = vec![start];
        open[start] = false;
        let mut bounds = [u32::MAX, u32::MAX, 0, 0];
        while let Some(at) = waiting.pop() {
            let (x, y) = (at as u32 % columns, at as u32 / columns);
            bounds = [bounds[0].min(x), bounds[1].min(y), bounds[2].max(x), bounds[3].max(y)];
            for (x, y) in (x.saturating_sub(1)..=(x + 1).min(columns - 1))
                .flat_map(|x| (y.saturating_sub(1)..=(y + 1).min(rows - 1)).map(move |y| (x, y)))
            {
                let near = (y * columns + x) as usize;
                if std::mem::take(&mut open[near]) {
                    waiting.push(near);
                }
            }
        }
        let block = Rectangle::with_corners(
            cell(bounds[0], bounds[1]).top_left,
            cell(bounds[2] + 1, bounds[3] + 1).top_left - Point::new(1, 1),
        );
        found.push(tight(frame, block));
    }
    // Two groups whose rectangles overlap are one place.
    let mut merged: Vec<Rectangle> = Vec::new();
    for area in found {
        let mut area = area;
        while let Some(at) = merged.iter().position(|other| !other.intersection(&area).is_zero_sized()) {
            area = around(&merged.swap_remove(at), &area);
        }
        merged.push(area);
    }
    merged.sort_by_key(|area| (area.top_left.y, area.top_left.x));
    merged
}

/// The smallest rectangle around the ink of a block.
fn tight(frame: &Frame, block: Rectangle) -> Rectangle {
    let mut part = Frame::new(block.size.width, block.size.height);
    let everything = Rectangle::new(Point::zero(), part.size());
    part.blit_part(frame, block, Point::zero(), everything, crate::frame::Paint::Opaque);
    part.ink_bounds().map_or(block, |bounds| Rectangle::new(block.top_left + bounds.top_left, bounds.size))
}

/// The smallest rectangle around two.
fn around(a: &Rectangle, b: &Rectangle) -> Rectangle {
    let low = a.top_left.component_min(b.top_left);
    let high = (a.top_left + a.size).component_max(b.top_left + b.size);
    Rectangle::new(low, Size::new((high.x - low.x).max(0) as u32, (high.y - low.y).max(0) as u32))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_near_each_other_are_one_place() {
        let mut frame = Frame::new(100, 60);
        for (x, y) in [(3, 3), (9, 5), (60, 40), (99, 59)] {
            frame.set(x, y, true);
        }
        let rectangle = |x, y, w, h| Rectangle::new(Point::new(x, y), Size::new(w, h));
        assert_eq!(clusters(&frame), [rectangle(3, 3, 7, 3), rectangle(60, 40, 1, 1), rectangle(99, 59, 1, 1)]);
    }
}

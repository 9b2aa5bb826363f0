//! How often each region of the display is driven, as a picture: the home screen, its regions the more coloured the more
//! often, and a scale.

use crate::device::Device;
use crate::frame::Frame;
use crate::plot::scene::{Anchor, Colour, Scene, Shape};
use crate::refresh::activity::{CELL, RegionCounts};
use crate::simulate::counts::Counts;
use crate::units::figures;
use std::ops::Range;

/// Space around and between, in points.
const MARGIN: f32 = 18.0;
/// Height of a map's heading, in one line and in two.
const HEADING: f32 = 34.0;
const HEADING_NARROW: f32 = 54.0;
/// Height of a map's scale.
const SCALE: f32 = 32.0;
/// Steps of the scale beside none, and the width of one.
const STEPS: usize = 5;
const STEP: f32 = 54.0;
const STEP_NARROW: f32 = 48.0;
/// Width of a display, about, on a sheet of its own and on a narrow page.
const WIDE: f32 = 840.0;
const NARROW: f32 = 330.0;

/// How much of its colour a share of the most has: the least is still seen.
fn opacity(share: f32) -> f32 {
    0.1 + 0.5 * share
}

/// The two maps of a simulation: partial refreshes a day, and the most of them between two full refreshes.
pub fn scene(device: &Device, counts: &Counts) -> Scene {
    let frame = device.draw(device.usage.home, 0, &device.sample());
    let scale = (WIDE / frame.width().max(1) as f32).floor().clamp(1.0, 4.0);
    drawn(device, counts, &frame, scale, false)
}

/// As [`scene`] for a page as narrow as a telephone's, where the wide one made smaller could not be read.
pub fn narrow(device: &Device, counts: &Counts) -> Scene {
    let frame = device.draw(device.usage.home, 0, &device.sample());
    let scale = NARROW / frame.width().max(1) as f32;
    drawn(device, counts, &frame, if scale >= 1.0 { scale.floor().min(4.0) } else { scale }, true)
}

fn drawn(device: &Device, counts: &Counts, frame: &Frame, scale: f32, narrow: bool) -> Scene {
    let (wide, high) = (frame.width() as f32 * scale, frame.height() as f32 * scale);
    let (margin, heading_height) = if narrow { (1.0, HEADING_NARROW) } else { (MARGIN, HEADING) };
    let across = if narrow { wide.max(STEP_NARROW * (STEPS + 1) as f32) } else { wide };
    let size = [across + 2.0 * margin, 2.0 * (heading_height + high + SCALE) + 3.0 * MARGIN];
    let title = format!("{}: how often each region of the display is driven", device.name);
    let mut scene = Scene { size, title, shapes: Vec::new() };
    let often: fn(&RegionCounts) -> u64 = |region| region.partial;
    let longest: fn(&RegionCounts) -> u64 = |region| u64::from(region.longest);
    let maps = [
        ("Partial refreshes a day", often, counts.days, "a day"),
        ("Max. partial refreshes between two full ones", longest, 1.0, "in a row"),
    ];
    for (index, (heading, count, share, unit)) in maps.into_iter().enumerate() {
        let top = MARGIN + index as f32 * (heading_height + high + SCALE + MARGIN);
        let mut map = Map { shapes: &mut scene.shapes, left: margin, top: top + heading_height, scale, narrow };
        let most = counts.activity.most(count);
        let highest = most.map_or(0, |(_, region)| count(&region));
        map.display(frame);
        map.regions(frame, counts, highest, count);
        map.outline(frame);
        if highest > 0 {
            map.scale(high, highest as f64 / share, unit);
        }
        let note = most.map_or("none".to_owned(), |((column, row), region)| {
            let (x, y) = (column as u32 * CELL, row as u32 * CELL);
            format!("max: {} {unit}, at {x}, {y} px", figures(count(&region) as f64 / share))
        });
        let short = heading.replace("partial refreshes between", "partials between");
        map.words(if narrow { &short } else { heading }, &note, wide);
    }
    scene
}

struct Map<'a> {
    shapes: &'a mut Vec<Shape>,
    left: f32,
    top: f32,
    scale: f32,
    /// Whether it is for a narrow page: two lines of heading, a scale without its unit.
    narrow: bool,
}

/// Regions side by side that are driven as often, as one area: no seams in between, and fewer shapes.
#[derive(Debug, PartialEq)]
struct Joined {
    columns: Range<usize>,
    rows: Range<usize>,
    count: u64,
}

/// Joins regions, given row by row, along their rows, and then rows that are alike.
fn joined(regions: impl Iterator<Item = ((usize, usize), u64)>) -> Vec<Joined> {
    let mut runs: Vec<Joined> = Vec::new();
    for ((column, row), count) in regions {
        match runs.last_mut() {
            Some(last) if last.rows.start == row && last.columns.end == column && last.count == count => {
                last.columns.end += 1
            }
            _ => runs.push(Joined { columns: column..column + 1, rows: row..row + 1, count }),
        }
    }
    let mut areas: Vec<Joined> = Vec::new();
    for run in runs {
        let above = |area: &&mut Joined| {
            area.columns == run.columns && area.rows.end == run.rows.start && area.count == run.count
        };
        match areas.iter_mut().rev().find(above) {
            Some(area) => area.rows.end += 1,
            None => areas.push(run),
        }
    }
    areas
}

impl Map<'_> {
    /// A rectangle of the frame, in points.
    fn corners(&self, x: u32, y: u32, w: u32, h: u32) -> Vec<[f32; 2]> {
        let at = |x: u32, y: u32| [self.left + x as f32 * self.scale, self.top + y as f32 * self.scale];
        vec![at(x, y), at(x + w, y), at(x + w, y + h), at(x, y + h)]
    }

    /// The picture, and the outline of the display.
    fn display(&mut self, frame: &Frame) {
        let size = [frame.width() as f32 * self.scale, frame.height() as f32 * self.scale];
        self.shapes.push(Shape::Picture { at: [self.left, self.top], size, frame: frame.clone() });
    }

    fn outline(&mut self, frame: &Frame) {
        let mut outline = self.corners(0, 0, frame.width(), frame.height());
        outline.push(outline[0]);
        self.shapes.push(Shape::Line { points: outline, width: 1.0, colour: Colour::Grey, dash: None });
    }

    fn regions(&mut self, frame: &Frame, counts: &Counts, most: u64, count: impl Fn(&RegionCounts) -> u64) {
        let driven = counts.activity.regions().map(|(at, region)| (at, count(&region))).filter(|(_, count)| *count > 0);
        for area in joined(driven) {
            let (x, y) = (area.columns.start as u32 * CELL, area.rows.start as u32 * CELL);
            let size = |cells: &Range<usize>, whole: u32, from: u32| (cells.len() as u32 * CELL).min(whole - from);
            let (w, h) = (size(&area.columns, frame.width(), x), size(&area.rows, frame.height(), y));
            let opacity = opacity(area.count as f32 / most.max(1) as f32);
            self.shapes.push(Shape::Area { points: self.corners(x, y, w, h), colour: Colour::Heat, opacity });
        }
    }

    /// What the colours mean: from none to the most, on white as the display is.
    fn scale(&mut self, high: f32, most: f64, unit: &str) {
        let top = self.top + high + 8.0;
        let width = if self.narrow { STEP_NARROW } else { STEP };
        let step = |number: usize| self.left + number as f32 * width;
        for number in 0..=STEPS {
            let (left, right) = (step(number), step(number + 1));
            let corners = vec![[left, top], [right, top], [right, top + 10.0], [left, top + 10.0]];
            let share = number as f32 / STEPS as f32;
            self.shapes.push(Shape::Area { points: corners.clone(), colour: Colour::White, opacity: 1.0 });
            if number > 0 {
                self.shapes.push(Shape::Area { points: corners, colour: Colour::Heat, opacity: opacity(share) });
            }
            let count = figures(most * f64::from(share));
            let text = if number == STEPS && !self.narrow { format!("{count} {unit}") } else { count };
            let (at, anchor) = ([(left + right) / 2.0, top + 23.0], Anchor::Middle);
            self.shapes.push(Shape::Text {
                at,
                anchor,
                size: if self.narrow { 13.0 } else { 11.0 },
                colour: Colour::Grey,
                text,
            });
        }
        let (right, low) = (step(STEPS + 1), top + 10.0);
        let points = vec![[self.left, top], [right, top], [right, low], [self.left, low], [self.left, top]];
        self.shapes.push(Shape::Line { points, width: 0.8, colour: Colour::Axis, dash: None });
    }

    fn words(&mut self, heading: &str, note: &str, wide: f32) {
        let baseline = self.top - 10.0;
        let text = |at: [f32; 2], anchor, size, colour, text: &str| Shape::Text {
            at,
            anchor,
            size,
            colour,
            text: text.to_owned(),
        };
        if self.narrow {
            self.shapes.push(text([self.left, baseline - 20.0], Anchor::Start, 15.0, Colour::Ink, heading));
            self.shapes.push(text([self.left, baseline], Anchor::Start, 13.0, Colour::Grey, note));
        } else {
            self.shapes.push(text([self.left, baseline], Anchor::Start, 15.0, Colour::Ink, heading));
            self.shapes.push(text([self.left + wide, baseline], Anchor::End, 12.0, Colour::Grey, note));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Joined, joined};

    #[test]
    fn regions_that_are_driven_as_often_are_one_area() {
        // ..3 3
        // 1 3 3
        let regions = [((1, 0), 3), ((2, 0), 3), ((0, 1), 1), ((1, 1), 3), ((2, 1), 3)];
        let areas = joined(regions.into_iter());
        let area = |columns, rows, count| Joined { columns, rows, count };
        assert_eq!(areas, [area(1..3, 0..2, 3), area(0..1, 1..2, 1)]);
    }
}

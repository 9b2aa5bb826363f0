//! How often each region of the glass is driven, as a picture: darker regions under the home screen.

use crate::device::Device;
use crate::frame::Frame;
use crate::plot::scene::{Anchor, CURVE, GREY, INK, Scene, Shape};
use crate::refresh::activity::{CELL, Counts};
use crate::simulate::tally::Tally;
use crate::units::figures;

/// Space around and between, in points.
const MARGIN: f32 = 18.0;
/// Height of a map's heading.
const HEADING: f32 = 34.0;

/// The two maps of a simulation: partial refreshes a day, and the most of them between two full refreshes.
pub fn scene(device: &Device, tally: &Tally) -> Scene {
    let frame = device.draw(device.usage.home, 0, &device.sample());
    let scale = (840.0 / frame.width().max(1) as f32).floor().clamp(1.0, 4.0);
    let (wide, high) = (frame.width() as f32 * scale, frame.height() as f32 * scale);
    let size = [wide + 2.0 * MARGIN, 2.0 * (HEADING + high) + 3.0 * MARGIN];
    let title = format!("{}: how often each region of the display is driven", device.name);
    let mut scene = Scene { size, title, shapes: Vec::new() };
    let often: fn(&Counts) -> u64 = |counts| counts.partial;
    let longest: fn(&Counts) -> u64 = |counts| u64::from(counts.longest);
    let maps = [
        ("Partial refreshes a day", often, tally.days, "a day"),
        ("Max. partial refreshes between two full ones", longest, 1.0, "in a row"),
    ];
    for (index, (heading, count, share, unit)) in maps.into_iter().enumerate() {
        let top = MARGIN + index as f32 * (HEADING + high + MARGIN);
        let mut map = Map { shapes: &mut scene.shapes, left: MARGIN, top: top + HEADING, scale };
        map.regions(&frame, tally, count);
        map.display(&frame);
        let most = tally.activity.most(count);
        let note = most.map_or("none".to_owned(), |((column, row), counts)| {
            let (x, y) = (column as u32 * CELL, row as u32 * CELL);
            format!("darkest {} {unit}, at {x}, {y} px", figures(count(&counts) as f64 / share))
        });
        map.words(heading, &note, wide);
    }
    scene
}

struct Map<'a> {
    shapes: &'a mut Vec<Shape>,
    left: f32,
    top: f32,
    scale: f32,
}

impl Map<'_> {
    /// A rectangle of the frame, in points.
    fn corners(&self, x: u32, y: u32, w: u32, h: u32) -> Vec<[f32; 2]> {
        let at = |x: u32, y: u32| [self.left + x as f32 * self.scale, self.top + y as f32 * self.scale];
        vec![at(x, y), at(x + w, y), at(x + w, y + h), at(x, y + h)]
    }

    /// The outline of the glass and the picture on it, pale.
    fn display(&mut self, frame: &Frame) {
        let mut outline = self.corners(0, 0, frame.width(), frame.height());
        outline.push(outline[0]);
        self.shapes.push(Shape::Line { points: outline, width: 1.0, colour: GREY, dash: None });
        for y in 0..frame.height() {
            let mut x = 0;
            while x < frame.width() {
                let run = (x..frame.width()).take_while(|x| frame.ink(*x, y)).count() as u32;
                if run > 0 {
                    let points = self.corners(x, y, run, 1);
                    self.shapes.push(Shape::Area { points, colour: INK, opacity: 0.55 });
                }
                x += run.max(1);
            }
        }
    }

    fn regions(&mut self, frame: &Frame, tally: &Tally, count: impl Fn(&Counts) -> u64) {
        let most = tally.activity.most(&count).map_or(1, |(_, counts)| count(&counts));
        for ((column, row), counts) in tally.activity.regions().filter(|(_, counts)| count(counts) > 0) {
            let (x, y) = (column as u32 * CELL, row as u32 * CELL);
            let (w, h) = ((frame.width() - x).min(CELL), (frame.height() - y).min(CELL));
            let opacity = 0.08 + 0.62 * count(&counts) as f32 / most as f32;
            self.shapes.push(Shape::Area { points: self.corners(x, y, w, h), colour: CURVE, opacity });
        }
    }

    fn words(&mut self, heading: &str, note: &str, wide: f32) {
        let baseline = self.top - 10.0;
        let text = |x: f32, anchor, size, colour, text: &str| Shape::Text {
            at: [x, baseline],
            anchor,
            size,
            colour,
            text: text.to_owned(),
        };
        self.shapes.push(text(self.left, Anchor::Start, 15.0, INK, heading));
        self.shapes.push(text(self.left + wide, Anchor::End, 12.0, GREY, note));
    }
}

//! A plane with two axes on a sheet, one of them time, and the few shapes that all pictures over time are made of.

use crate::plot::scene::{Anchor, Colour, Scene, Shape};
use crate::plot::ticks::{Tick, linear};

/// Size of plain text.
pub const TEXT: f32 = 12.0;

/// A plane: its place on the sheet and what its edges mean.
#[derive(Clone, Copy, Debug)]
pub struct Plane {
    /// Left edge on the sheet.
    pub left: f32,
    /// Right edge.
    pub right: f32,
    /// Upper edge.
    pub top: f32,
    /// Lower edge.
    pub bottom: f32,
    /// What left and right edge stand for.
    pub x: [f64; 2],
    /// What lower and upper edge stand for.
    pub y: [f64; 2],
}

impl Plane {
    /// Where a value across lies; beyond the edges, on them.
    pub fn at_x(&self, x: f64) -> f32 {
        let share = ((x - self.x[0]) / (self.x[1] - self.x[0])).clamp(0.0, 1.0);
        self.left + share as f32 * (self.right - self.left)
    }

    /// Where a value upwards lies; beyond the edges, on them.
    pub fn at_y(&self, y: f64) -> f32 {
        let share = ((y - self.y[0]) / (self.y[1] - self.y[0])).clamp(0.0, 1.0);
        self.bottom - share as f32 * (self.bottom - self.top)
    }

    /// Lines across with their numbers, in a unit that is `factor` times the axis's own.
    pub fn grid(&self, scene: &mut Scene, pieces: f64, factor: f64) {
        for tick in linear(self.y[0] / factor, self.y[1] / factor, pieces) {
            self.level(scene, self.at_y(tick.at * factor), &tick.label);
        }
    }

    /// One line across with its number.
    pub fn level(&self, scene: &mut Scene, y: f32, label: &str) {
        scene.shapes.push(line(vec![[self.left, y], [self.right, y]], 1.0, Colour::Grid));
        scene.shapes.push(text([self.left - 8.0, y + 4.0], Anchor::End, TEXT, Colour::Grey, label));
    }

    /// The axis of time with its numbers.
    pub fn times(&self, scene: &mut Scene, ticks: &[Tick], factor: f64) {
        scene.shapes.push(line(vec![[self.left, self.bottom], [self.right, self.bottom]], 1.2, Colour::Axis));
        for tick in ticks {
            let x = self.at_x(tick.at * factor);
            scene.shapes.push(line(vec![[x, self.bottom], [x, self.bottom + 4.0]], 1.2, Colour::Axis));
            let at = [x, self.bottom + 18.0];
            scene.shapes.push(text(at, Anchor::Middle, TEXT, Colour::Grey, &tick.label));
        }
    }

    /// The axis of time in a unit that is `factor` seconds.
    pub fn time(&self, scene: &mut Scene, factor: f64) {
        self.times(scene, &linear(self.x[0] / factor, self.x[1] / factor, 8.0), factor);
    }
}

/// The unit prefix of a largest value: its factor and its sign.
pub fn prefix(most: f64) -> (f64, &'static str) {
    let all = [(1.0, ""), (1e-3, "m"), (1e-6, "\u{b5}"), (1e-9, "n")];
    all.into_iter().find(|(factor, _)| most >= *factor).unwrap_or((1e-9, "n"))
}

/// A line of text.
pub fn text(at: [f32; 2], anchor: Anchor, size: f32, colour: Colour, text: &str) -> Shape {
    Shape::Text { at, anchor, size, colour, text: text.to_owned() }
}

/// A line through points.
pub fn line(points: Vec<[f32; 2]>, width: f32, colour: Colour) -> Shape {
    Shape::Line { points, width, colour, dash: None }
}

/// A filled rectangle between two corners.
pub fn rectangle([left, top]: [f32; 2], [right, bottom]: [f32; 2], colour: Colour, opacity: f32) -> Shape {
    Shape::Area { points: vec![[left, top], [right, top], [right, bottom], [left, bottom]], colour, opacity }
}

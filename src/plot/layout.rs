//! From a chart to shapes: ranges, ticks, where each label stands.

use super::letters::width;
use super::scene::{Anchor, Colour, Scene, Shape};
use super::ticks::{Tick, linear, logarithmic};
use super::{Axis, Chart, Curve};

/// What a chart is drawn on, in points.
#[derive(Clone, Copy)]
struct Sheet {
    size: [f32; 2],
    /// Left of the texts.
    margin: f32,
    /// From the sheet's top to the plane's.
    head: f32,
    /// Whether the title stands on the sheet; else what shows it says it.
    titled: bool,
    /// Ticks along the axis, about.
    across: f64,
}

/// A sheet of its own.
const WIDE: Sheet = Sheet { size: [760.0, 470.0], margin: 22.0, head: 98.0, titled: true, across: 7.0 };
/// For a narrow page, where a wide sheet made smaller could not be read.
const NARROW: Sheet = Sheet { size: [360.0, 330.0], margin: 2.0, head: 58.0, titled: false, across: 4.0 };
const TEXT: f32 = 13.0;
const TITLE: f32 = 17.0;
/// Ticks on the upright axis, about.
const PIECES: f64 = 6.0;

/// Lays out a chart.
pub fn layout(chart: &Chart) -> Scene {
    laid_out(chart, WIDE)
}

/// As [`layout`] for a page as narrow as a telephone's, without the title.
pub fn narrow(chart: &Chart) -> Scene {
    laid_out(chart, NARROW)
}

fn laid_out(chart: &Chart, sheet: Sheet) -> Scene {
    let place = Place::of(chart, sheet);
    let mut shapes = Vec::new();
    place.frame(chart, &mut shapes);
    for (index, curve) in chart.curves.iter().enumerate() {
        place.curve(curve, Colour::curve(index, chart.curves.len()), &mut shapes);
    }
    place.limit(chart, &mut shapes);
    place.names(chart, &mut shapes);
    place.mark(chart, &mut shapes);
    Scene { size: sheet.size, title: format!("{}: {} over {}", chart.title, chart.y.title(), chart.x.title()), shapes }
}

/// The plane on the sheet.
struct Place {
    sheet: Sheet,
    left: f32,
    right: f32,
    top: f32,
    bottom: f32,
    x: [f64; 2],
    y: [f64; 2],
    log: bool,
    across: Vec<Tick>,
    up: Vec<Tick>,
}

/// Lowest and highest of some numbers; `None` where there are none.
fn ends(all: impl Iterator<Item = f64>) -> Option<[f64; 2]> {
    all.filter(|value| value.is_finite()).fold(None, |ends, value| match ends {
        None => Some([value, value]),
        Some([low, high]) => Some([value.min(low), value.max(high)]),
    })
}

/// The range of the upright axis: from 0 where the values are not all far from it, else with a little room.
fn upright(chart: &Chart) -> [f64; 2] {
    let curves = chart.curves.iter();
    let points = curves.clone().flat_map(|curve| curve.points.iter().filter_map(|(_, y)| *y));
    let bands = curves.flat_map(|curve| curve.band.iter().flat_map(|(_, low, high)| [*low, *high]));
    let others = chart.limit.iter().map(|limit| limit.at).chain(chart.mark.iter().map(|mark| mark.y));
    let [low, high] = ends(points.chain(bands).chain(others)).unwrap_or([0.0, 1.0]);
    let span = if high > low { high - low } else { high.abs().max(1.0) * 0.2 };
    let from = if low >= 0.0 && low < 2.0 * span { 0.0 } else { low - 0.1 * span };
    let step = super::ticks::step(high + 0.06 * span - from, PIECES);
    [(from / step + 1e-9).floor() * step, ((high + 0.06 * span) / step).ceil() * step]
}

impl Place {
    fn of(chart: &Chart, sheet: Sheet) -> Self {
        let xs = chart.curves.iter().flat_map(|curve| curve.points.iter().map(|(x, _)| *x));
        let mut x = ends(xs).unwrap_or([0.0, 1.0]);
        if x[0] == x[1] {
            x = [x[0] - 0.5, x[1] + 0.5];
        }
        let log = chart.x.log && x[0] > 0.0;
        let y = upright(chart);
        let up = linear(y[0], y[1], PIECES);
        let widest = up.iter().map(|tick| width(&tick.label, TEXT)).fold(0.0, f32::max);
        let names = chart.curves.iter().map(|curve| width(&curve.label, TEXT)).fold(0.0, f32::max);
        let spare = if sheet.titled { 30.0 } else { 12.0 };
        Self {
            sheet,
            left: sheet.margin + widest + 10.0,
            right: sheet.size[0] - if names > 0.0 { names.min(220.0) + 34.0 } else { spare },
            top: sheet.head,
            bottom: sheet.size[1] - 62.0,
            x,
            y,
            log,
            across: if log { logarithmic(x[0], x[1]) } else { linear(x[0], x[1], sheet.across) },
            up,
        }
    }

    fn at_x(&self, x: f64) -> f32 {
        let scale = |x: f64| if self.log { x.max(f64::MIN_POSITIVE).ln() } else { x };
        let share = (scale(x) - scale(self.x[0])) / (scale(self.x[1]) - scale(self.x[0]));
        self.left + share as f32 * (self.right - self.left)
    }

    fn at_y(&self, y: f64) -> f32 {
        self.bottom - ((y - self.y[0]) / (self.y[1] - self.y[0])) as f32 * (self.bottom - self.top)
    }

    fn frame(&self, chart: &Chart, shapes: &mut Vec<Shape>) {
        let left = self.sheet.margin;
        if self.sheet.titled {
            shapes.push(text([left, 32.0], Anchor::Start, TITLE, Colour::Ink, &chart.title));
        }
        shapes.push(text(
            [left, self.top - if self.sheet.titled { 46.0 } else { 38.0 }],
            Anchor::Start,
            TEXT,
            Colour::Grey,
            &chart.note,
        ));
        shapes.push(text([left, self.top - 18.0], Anchor::Start, TEXT, Colour::Ink, &sentence(&chart.y)));
        for tick in &self.up {
            let y = self.at_y(tick.at);
            shapes.push(line(vec![[self.left, y], [self.right, y]], 1.0, Colour::Grid));
            shapes.push(text([self.left - 10.0, y + 4.5], Anchor::End, TEXT, Colour::Grey, &tick.label));
        }
        shapes.push(line(vec![[self.left, self.bottom], [self.right, self.bottom]], 1.2, Colour::Axis));
        for tick in &self.across {
            let x = self.at_x(tick.at);
            shapes.push(line(vec![[x, self.bottom], [x, self.bottom + 5.0]], 1.2, Colour::Axis));
            shapes.push(text([x, self.bottom + 21.0], Anchor::Middle, TEXT, Colour::Grey, &tick.label));
        }
        shapes.push(text([self.right, self.bottom + 46.0], Anchor::End, TEXT, Colour::Ink, &chart.x.title()));
    }

    fn curve(&self, curve: &Curve, colour: Colour, shapes: &mut Vec<Shape>) {
        if curve.band.len() > 1 {
            let low = curve.band.iter().map(|(x, low, _)| [self.at_x(*x), self.at_y(*low)]);
            let high = curve.band.iter().rev().map(|(x, _, high)| [self.at_x(*x), self.at_y(*high)]);
            shapes.push(Shape::Area { points: low.chain(high).collect(), colour, opacity: 0.16 });
        }
        for run in curve.points.split(|(_, y)| y.is_none()) {
            let points: Vec<[f32; 2]> =
                run.iter().filter_map(|(x, y)| Some([self.at_x(*x), self.at_y((*y)?)])).collect();
            match points[..] {
                [] => {}
                [alone] => shapes.push(Shape::Disc { centre: alone, radius: 1.5, fill: colour, rim: colour }),
                _ => shapes.push(line(points, 2.2, colour)),
            }
        }
    }

    /// The limit's line, its label at the end and on the side with the most room.
    fn limit(&self, chart: &Chart, shapes: &mut Vec<Shape>) {
        let Some(limit) = &chart.limit else { return };
        let y = self.at_y(limit.at);
        let dash = Some([7.0, 5.0]);
        shapes.push(Shape::Line {
            points: vec![[self.left, y], [self.right, y]],
            width: 1.6,
            colour: Colour::Alert,
            dash,
        });
        let length = width(&limit.label, TEXT);
        let curves = Chart { limit: None, ..chart.clone() };
        let room = |place: [f32; 2]| self.room(&curves, place, length).min(10.0);
        let places = [y - 7.0, y + 18.0]
            .into_iter()
            .flat_map(|down| [[self.left + 6.0, down], [self.right - 4.0 - length, down]]);
        let best = places.reduce(|best, next| if room(next) > room(best) + 0.5 { next } else { best });
        let [left, baseline] = best.unwrap_or([self.left, y]);
        let at_left = left < self.left + 10.0;
        let (at, anchor) = if at_left { (left, Anchor::Start) } else { (left + length, Anchor::End) };
        shapes.push(text([at, baseline], anchor, TEXT, Colour::Alert, &limit.label));
    }

    /// Height of a curve on the sheet at a place across it. `None` beyond its ends and in a gap.
    fn height(&self, curve: &Curve, x: f32) -> Option<f32> {
        curve.points.windows(2).find_map(|pair| {
            let (from, to) = (self.at_x(pair[0].0), self.at_x(pair[1].0));
            let share = (x - from) / (to - from);
            let (a, b) = (self.at_y(pair[0].1?), self.at_y(pair[1].1?));
            (0.0..=1.0).contains(&share).then_some(a + (b - a) * share)
        })
    }

    /// How far the curves and the limit keep from a text that begins at a place; 0 where one runs through it.
    fn room(&self, chart: &Chart, [left, baseline]: [f32; 2], length: f32) -> f32 {
        let (top, bottom) = (baseline - TEXT + 2.0, baseline + 3.0);
        let inside = left >= self.left && left + length <= self.right && top >= self.top && bottom <= self.bottom;
        let apart = |height: f32| (top - height).max(height - bottom).max(0.0);
        let across = (0..=8).map(|step| left + length * step as f32 / 8.0);
        let curves = across.flat_map(|x| chart.curves.iter().filter_map(move |curve| self.height(curve, x)));
        let limit = chart.limit.iter().map(|limit| self.at_y(limit.at));
        let nearest = curves.chain(limit).map(apart).fold(f32::INFINITY, f32::min);
        if inside { nearest } else { -1.0 }
    }

    /// Names at the curves' right ends, pushed apart where they would touch, each with a thin line to its curve.
    fn names(&self, chart: &Chart, shapes: &mut Vec<Shape>) {
        let count = chart.curves.len();
        let mut places: Vec<(usize, [f32; 2])> = Vec::new();
        for (index, curve) in chart.curves.iter().enumerate().filter(|(_, curve)| !curve.label.is_empty()) {
            let last = curve.points.iter().filter_map(|(x, y)| Some([self.at_x(*x), self.at_y((*y)?)]));
            places.extend(last.max_by(|a, b| a[0].total_cmp(&b[0])).map(|end| (index, end)));
        }
        places.sort_by(|a, b| a.1[1].total_cmp(&b.1[1]));
        let mut heights: Vec<f32> = places.iter().map(|(_, end)| end[1]).collect();
        spread(&mut heights, TEXT + 4.0, self.top, self.bottom);
        for ((index, end), height) in places.iter().zip(heights) {
            let x = self.right + 18.0;
            shapes.push(line(vec![*end, [self.right + 6.0, height], [x - 4.0, height]], 0.8, Colour::Axis));
            let name = &chart.curves[*index].label;
            shapes.push(text([x, height + 4.5], Anchor::Start, TEXT, Colour::curve(*index, count), name));
        }
    }

    /// The marked point, its label on the side with the most room.
    fn mark(&self, chart: &Chart, shapes: &mut Vec<Shape>) {
        let Some(mark) = &chart.mark else { return };
        let [x, y] = [self.at_x(mark.x), self.at_y(mark.y)];
        let length = width(&mark.label, TEXT);
        let sides = [x + 12.0, x - 12.0 - length, x - length / 2.0];
        let places =
            sides.into_iter().flat_map(|left| [-14.0, 24.0, -24.0, 36.0, -40.0, 52.0].map(|down| [left, y + down]));
        // Ten points are room enough; the first such place is the nearest.
        let room = |place: [f32; 2]| self.room(chart, place, length).min(10.0);
        let best = places.reduce(|best, next| if room(next) > room(best) + 0.5 { next } else { best });
        let [left, baseline] = best.unwrap_or([x, y]);
        if room([left, baseline]) < 2.0 {
            // No place is free: paper behind the label keeps it legible over a curve.
            let (right, top, bottom) = (left + length + 3.0, baseline - TEXT + 1.0, baseline + 4.0);
            let points = vec![[left - 3.0, top], [right, top], [right, bottom], [left - 3.0, bottom]];
            shapes.push(Shape::Area { points, colour: Colour::Paper, opacity: 0.85 });
        }
        // The end towards the point is the anchor, since a reader's face may be wider than ours.
        let (at, anchor) = match left {
            _ if left > x => (left, Anchor::Start),
            _ if left + length < x => (left + length, Anchor::End),
            _ => (x, Anchor::Middle),
        };
        shapes.push(text([at, baseline], anchor, TEXT, Colour::Ink, &mark.label));
        shapes.push(Shape::Disc { centre: [x, y], radius: 5.0, fill: Colour::Paper, rim: Colour::Ink });
    }
}

/// The axis's title with a capital.
fn sentence(axis: &Axis) -> String {
    let title = axis.title();
    let mut letters = title.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

fn text(at: [f32; 2], anchor: Anchor, size: f32, colour: Colour, text: &str) -> Shape {
    Shape::Text { at, anchor, size, colour, text: text.to_owned() }
}

fn line(points: Vec<[f32; 2]>, width: f32, colour: Colour) -> Shape {
    Shape::Line { points, width, colour, dash: None }
}

/// Moves sorted heights apart to at least a distance, inside the plane as far as it has room.
fn spread(heights: &mut [f32], apart: f32, top: f32, bottom: f32) {
    let mut least = top;
    for height in heights.iter_mut() {
        *height = height.max(least);
        least = *height + apart;
    }
    let mut most = bottom;
    for height in heights.iter_mut().rev() {
        *height = height.min(most);
        most = *height - apart;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plot::{Limit, Mark};

    fn chart() -> Chart {
        let points = vec![(1.0, Some(9.0)), (2.0, Some(5.0)), (3.0, None), (4.0, Some(3.0)), (5.0, Some(2.0))];
        Chart {
            title: "t".into(),
            x: Axis { label: "a".into(), unit: "uA".into(), log: false },
            y: Axis { label: "life".into(), unit: "d".into(), log: false },
            curves: vec![Curve { points, ..Curve::default() }],
            limit: Some(Limit { at: 4.0, label: "limit".into() }),
            mark: Some(Mark { x: 2.0, y: 5.0, label: "now".into() }),
            ..Chart::default()
        }
    }

    #[test]
    fn a_gap_breaks_the_line() {
        let scene = layout(&chart());
        let thick = |shape: &&Shape| matches!(shape, Shape::Line { colour: Colour::Curve(255), .. });
        assert_eq!(scene.shapes.iter().filter(thick).count(), 2);
    }

    #[test]
    fn everything_stays_on_the_sheet() {
        for scene in [layout(&chart()), narrow(&chart())] {
            stays(&scene);
        }
    }

    fn stays(scene: &Scene) {
        for shape in &scene.shapes {
            let points = match shape {
                Shape::Line { points, .. } | Shape::Area { points, .. } => points.clone(),
                Shape::Disc { centre, .. } => vec![*centre],
                Shape::Text { at, .. } | Shape::Picture { at, .. } => vec![*at],
            };
            let inside = |[x, y]: &[f32; 2]| (0.0..=scene.size[0]).contains(x) && (0.0..=scene.size[1]).contains(y);
            assert!(points.iter().all(inside), "{shape:?}");
        }
    }

    #[test]
    fn names_are_pushed_apart() {
        let mut heights = [100.0, 101.0, 102.0, 300.0];
        spread(&mut heights, 17.0, 90.0, 310.0);
        assert_eq!(heights, [100.0, 117.0, 134.0, 300.0]);
        let mut low = [305.0, 306.0, 309.0];
        spread(&mut low, 17.0, 90.0, 310.0);
        assert_eq!(low, [276.0, 293.0, 310.0]);
    }

    #[test]
    fn empty_and_flat_charts_are_drawn() {
        assert!(!layout(&Chart::default()).shapes.is_empty());
        let points = vec![(1.0, Some(0.0)), (1.0, Some(0.0))];
        let flat = Chart { curves: vec![Curve { points, ..Curve::default() }], ..Chart::default() };
        assert!(!layout(&flat).shapes.is_empty());
    }
}

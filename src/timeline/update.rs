//! The current of an update over time: its phases filled and named, the worst device dashed over them, a measured curve
//! as a line, and a table of the phases. What is short beside the drive is shown once more, enlarged.

use super::axes::{Plane, TEXT, line, prefix, rectangle, text};
use crate::cost::curve::{Curve, Piece, worst};
use crate::cost::phases::Cause;
use crate::device::Device;
use crate::plot::letters::width;
use crate::plot::scene::{Anchor, Colour, Scene, Shape};
use crate::refresh::work::Work;
use crate::units::column::Scale;
use crate::units::{Amps, Joules, Quantity, Seconds};

/// Width of the sheet in points, and its margin.
const WIDE: f32 = 760.0;
const MARGIN: f32 = 22.0;
/// Place of the planes across.
const LEFT: f32 = 66.0;
const RIGHT: f32 = WIDE - MARGIN;
/// Heights: of a heading, of the whole update, of its enlarged beginning, of what an axis takes, of a row of the table.
const HEADING: f32 = 84.0;
const WHOLE: f32 = 190.0;
const PART: f32 = 120.0;
const AXIS: f32 = 30.0;
const ROW: f32 = 18.0;
/// What comes before the longest phase is enlarged where it takes less than this share of the update.
const SHORT: f64 = 0.2;

/// A measured current beyond its baseline, in columns of time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Measured {
    /// What it is called.
    pub label: String,
    /// From the update's beginning: time of the column's middle, and least, mean and largest current in it.
    pub columns: Vec<(Seconds, [Amps; 3])>,
}

/// One update to be drawn.
#[derive(Clone, Debug)]
pub struct UpdatePlot {
    /// Which update.
    pub title: String,
    /// What it takes, in a sentence.
    pub note: String,
    /// The phases of the typical device; none where only a measurement is known.
    pub typical: Option<Curve>,
    /// The same on the device that takes most.
    pub worst: Option<Curve>,
    /// The measurement.
    pub measured: Option<Measured>,
}

/// The colour of a phase.
pub fn colour(cause: Cause) -> Colour {
    match cause {
        Cause::Wake => Colour::Kind(6),
        Cause::Render => Colour::Kind(5),
        Cause::Supply => Colour::Kind(4),
        Cause::Start => Colour::Kind(3),
        Cause::Buffer => Colour::Kind(2),
        Cause::Transfer => Colour::Kind(0),
        Cause::Booster => Colour::Kind(1),
        Cause::Drive => Colour::Curve(255),
    }
}

/// The picture of one or more updates, one below the other.
pub fn scene(updates: &[UpdatePlot]) -> Scene {
    let titles: Vec<&str> = updates.iter().map(|shown| shown.title.as_str()).collect();
    let title = format!("Current over time: {}", titles.join("; "));
    let mut scene = Scene { size: [WIDE, MARGIN], title, shapes: Vec::new() };
    for shown in updates {
        draw(shown, &mut scene);
    }
    scene
}

fn draw(shown: &UpdatePlot, scene: &mut Scene) {
    let top = scene.size[1] - MARGIN;
    scene.shapes.push(text([MARGIN, top + 32.0], Anchor::Start, 17.0, Colour::Ink, &shown.title));
    scene.shapes.push(text([MARGIN, top + 52.0], Anchor::Start, TEXT, Colour::Grey, &shown.note));
    keys(shown, top + 32.0, scene);
    let whole = shown.duration();
    let mut below = plane(shown, [0.0, whole.0 * 1.02], top + HEADING, WHOLE, scene);
    if let Some(end) = shown.beginning() {
        let words = format!("The first {}, enlarged", Seconds(end));
        scene.shapes.push(text([LEFT, below + 22.0], Anchor::Start, TEXT, Colour::Ink, &words));
        below = plane(shown, [0.0, end], below + 32.0, PART, scene);
    }
    if let Some(typical) = &shown.typical {
        below = table(typical, shown.worst.as_ref(), below + 10.0, scene);
    }
    scene.size[1] = below + MARGIN;
}

impl UpdatePlot {
    /// An update of a device: typical, and on the device that takes most for it.
    pub fn of(device: &Device, title: &str, work: &Work) -> Self {
        let volts = device.battery.nominal();
        let typical = Curve::of(device, &device.inputs.typical(), work, volts);
        let worst = Curve::of(device, &worst(device, work, volts), work, volts);
        let note = format!(
            "{}, {} in {}; worst {}, {}. Current at the battery at {volts}, above sleep.",
            typical.energy(),
            typical.charge(),
            typical.duration(),
            worst.energy(),
            worst.duration(),
        );
        Self { title: title.to_owned(), note, typical: Some(typical), worst: Some(worst), measured: None }
    }

    fn curves(&self) -> impl Iterator<Item = &Curve> {
        self.typical.iter().chain(&self.worst)
    }

    fn duration(&self) -> Seconds {
        let measured = self.measured.iter().filter_map(|measured| measured.columns.last()).map(|column| column.0);
        let all = self.curves().map(Curve::duration).chain(measured);
        Seconds(all.map(|time| time.0).fold(1e-6, f64::max))
    }

    /// Where the enlarged beginning ends; `None` where the phases can be told apart as they are.
    fn beginning(&self) -> Option<f64> {
        let longest = |curve: &Curve| {
            let place = curve.pieces.iter().enumerate().max_by(|a, b| a.1.time.0.total_cmp(&b.1.time.0));
            place.map(|(index, piece)| (index, piece.begins.0))
        };
        let (before, _) = longest(self.typical.as_ref()?)?;
        let begins = self.curves().filter_map(longest).map(|(_, begins)| begins).fold(0.0, f64::max);
        (before > 1 && begins < SHORT * self.duration().0).then_some(begins * 1.15)
    }

    /// The largest current up to a time.
    fn most(&self, until: f64) -> f64 {
        let pieces = self.curves().flat_map(|curve| &curve.pieces).filter(|piece| piece.begins.0 < until);
        let columns = self.measured.iter().flat_map(|measured| &measured.columns);
        let measured = columns.filter(|(time, _)| time.0 <= until).map(|(_, [_, _, most])| most.0);
        pieces.map(|piece| piece.current.0).chain(measured).fold(1e-9, f64::max)
    }
}

/// What fill, dashes and line mean.
fn keys(shown: &UpdatePlot, y: f32, scene: &mut Scene) {
    let mut right = RIGHT;
    let mut key = |words: &str, mark: &dyn Fn(f32) -> Shape| {
        scene.shapes.push(text([right, y], Anchor::End, TEXT, Colour::Ink, words));
        let end = right - width(words, TEXT) - 8.0;
        scene.shapes.push(mark(end));
        right = end - 40.0;
    };
    if let Some(measured) = &shown.measured {
        let mark = |end: f32| line(vec![[end - 22.0, y - 4.0], [end, y - 4.0]], 1.6, Colour::Ink);
        key(&measured.label, &mark);
    }
    if shown.worst.is_some() {
        key("worst", &|end| dashed(vec![[end - 22.0, y - 4.0], [end, y - 4.0]]));
    }
    if shown.typical.is_some() && (shown.worst.is_some() || shown.measured.is_some()) {
        let mark = |end: f32| rectangle([end - 22.0, y - 9.0], [end, y + 1.0], Colour::Curve(255), 0.4);
        key(if shown.measured.is_some() { "predicted" } else { "typical" }, &mark);
    }
}

fn dashed(points: Vec<[f32; 2]>) -> Shape {
    Shape::Line { points, width: 1.3, colour: Colour::Grey, dash: Some([4.0, 3.0]) }
}

/// One plane with its axes; returns the lower edge of what it takes.
fn plane(shown: &UpdatePlot, x: [f64; 2], top: f32, height: f32, scene: &mut Scene) -> f32 {
    let most = shown.most(x[1]);
    let plane = Plane { left: LEFT, right: RIGHT, top, bottom: top + height, x, y: [0.0, most * 1.12] };
    let (amps, sign) = prefix(most);
    plane.grid(scene, f64::from(height) / 32.0, amps);
    let unit = format!("{sign}A");
    scene.shapes.push(text([LEFT - 8.0, top - 8.0], Anchor::End, TEXT, Colour::Ink, &unit));
    if let Some(typical) = &shown.typical {
        fill(typical, &plane, scene);
    }
    if let Some(worst) = &shown.worst {
        scene.shapes.push(dashed(steps(worst, &plane)));
    }
    if let Some(measured) = &shown.measured {
        trace(measured, &plane, scene);
    }
    let (seconds, sign) = prefix(x[1]);
    plane.time(scene, seconds);
    scene.shapes.push(text([RIGHT, plane.bottom + AXIS + 2.0], Anchor::End, TEXT, Colour::Ink, &format!("{sign}s")));
    plane.bottom + AXIS
}

/// The outline of a curve, from level to level.
fn steps(curve: &Curve, plane: &Plane) -> Vec<[f32; 2]> {
    let seen = curve.pieces.iter().filter(|piece| piece.begins.0 < plane.x[1]);
    let level = |piece: &Piece| {
        let y = plane.at_y(piece.current.0);
        [[plane.at_x(piece.begins.0), y], [plane.at_x(piece.ends().0), y]]
    };
    let mut points: Vec<[f32; 2]> = seen.flat_map(level).collect();
    if curve.duration().0 <= plane.x[1] {
        points.push([plane.at_x(curve.duration().0), plane.bottom]);
    }
    points
}

/// The phases, each in its colour, with its name where there is room.
fn fill(curve: &Curve, plane: &Plane, scene: &mut Scene) {
    for piece in curve.pieces.iter().filter(|piece| piece.begins.0 < plane.x[1]) {
        let (left, right) = (plane.at_x(piece.begins.0), plane.at_x(piece.ends().0));
        let (top, colour) = (plane.at_y(piece.current.0), colour(piece.cause));
        scene.shapes.push(rectangle([left, top], [right, plane.bottom], colour, 0.35));
        scene.shapes.push(line(vec![[left, top], [right, top]], 2.0, colour));
        if width(piece.name, TEXT) + 6.0 < right - left {
            // Under its level where it is high enough, else above.
            let y = if plane.bottom - top > 24.0 { plane.bottom - 7.0 } else { top - 5.0 };
            scene.shapes.push(text([(left + right) / 2.0, y], Anchor::Middle, TEXT, Colour::Ink, piece.name));
        }
    }
}

/// A measured curve: its mean as a line, its extent in each column behind it.
fn trace(measured: &Measured, plane: &Plane, scene: &mut Scene) {
    let seen: Vec<_> = measured.columns.iter().filter(|(time, _)| time.0 <= plane.x[1]).collect();
    let at = |time: Seconds, current: Amps| [plane.at_x(time.0), plane.at_y(current.0)];
    let low = seen.iter().map(|(time, [low, ..])| at(*time, *low));
    let high = seen.iter().rev().map(|(time, [.., high])| at(*time, *high));
    scene.shapes.push(Shape::Area { points: low.chain(high).collect(), colour: Colour::Ink, opacity: 0.18 });
    scene.shapes.push(line(seen.iter().map(|(time, [_, mean, _])| at(*time, *mean)).collect(), 1.4, Colour::Ink));
}

/// The phases with their times, currents and energies; returns the lower edge.
fn table(typical: &Curve, worst: Option<&Curve>, top: f32, scene: &mut Scene) -> f32 {
    // Right edges of begin, time, current, energy and the worst energy.
    const COLUMNS: [f32; 5] = [250.0, 350.0, 460.0, 580.0, WIDE - MARGIN];
    let mut y = top + ROW;
    let heads = ["begins", "lasts", "current", "energy", "energy, worst"];
    let shown = if worst.is_some() { 5 } else { 4 };
    let row = |y: f32, cells: [String; 5], name: &str, ink: Colour, scene: &mut Scene| {
        scene.shapes.push(text([LEFT, y], Anchor::Start, TEXT, ink, name));
        for (cell, right) in cells.iter().zip(COLUMNS).take(shown) {
            scene.shapes.push(text([right, y], Anchor::End, TEXT, ink, cell));
        }
    };
    row(y, heads.map(str::to_owned), "phase", Colour::Grey, scene);
    scene.shapes.push(line(vec![[MARGIN, y + 5.0], [RIGHT, y + 5.0]], 1.0, Colour::Axis));
    let joules = |curve: &Curve, piece: &Piece| curve.volts * (piece.current * piece.time);
    let all_of = |curve: &Curve| curve.pieces.iter().map(|piece| joules(curve, piece).0).collect::<Vec<_>>();
    let listed = all_of(typical).into_iter().chain(worst.map(all_of).unwrap_or_default());
    let totals = [typical.energy().0].into_iter().chain(worst.map(|worst| worst.energy().0));
    let energies = Scale::fine(listed.chain(totals), Joules::SI);
    let times = Scale::fine(typical.pieces.iter().map(|piece| piece.time.0).chain([typical.duration().0]), Seconds::SI);
    let currents = Scale::fine(typical.pieces.iter().map(|piece| piece.current.0), Amps::SI);
    let energy = |curve: &Curve, piece: &Piece| energies.show(joules(curve, piece).0);
    for (index, piece) in typical.pieces.iter().enumerate() {
        y += ROW;
        let same = worst.and_then(|worst| {
            let piece = worst.pieces.get(index).filter(|other| other.name == piece.name)?;
            Some(energy(worst, piece))
        });
        let cells = [
            times.show(piece.begins.0),
            times.show(piece.time.0),
            currents.show(piece.current.0),
            energy(typical, piece),
            same.unwrap_or_default(),
        ];
        row(y, cells, piece.name, Colour::Ink, scene);
        let corner = [LEFT - 18.0, y - 9.0];
        scene.shapes.push(rectangle(corner, [corner[0] + 10.0, y + 1.0], colour(piece.cause), 0.8));
    }
    y += ROW;
    scene.shapes.push(line(vec![[MARGIN, y - 13.0], [RIGHT, y - 13.0]], 1.0, Colour::Axis));
    let all = [
        String::new(),
        times.show(typical.duration().0),
        String::new(),
        energies.show(typical.energy().0),
        worst.map(|worst| energies.show(worst.energy().0)).unwrap_or_default(),
    ];
    row(y, all, "all", Colour::Ink, scene);
    y + 6.0
}

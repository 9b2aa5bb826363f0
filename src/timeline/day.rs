//! A day of use as a strip: screens, refreshes, power on a logarithmic scale, temperature, charge, over one axis of time.
//!
//! The day is one of the simulation's, recorded as it runs; every deed has the price that the budget gives it.

use super::axes::{Plane, TEXT, line, rectangle, text};
use crate::cost::always_on::{Occasions, Rates, always_on, events};
use crate::cost::consumer::Consumer;
use crate::device::Device;
use crate::parameters::ParameterSample;
use crate::plot::letters::width;
use crate::plot::scene::{Anchor, Colour, Scene, Shape};
use crate::plot::ticks::{Tick, linear};
use crate::refresh::update::Mode;
use crate::screen::{Screen, ScreenId};
use crate::simulate::counts::Counts;
use crate::simulate::diary::{Diary, What};
use crate::simulate::simulate_recorded;
use crate::units::{Celsius, Coulombs, DAY, Joules, Ratio, Seconds, Volts, Watts, count};

/// Columns of the day in which power is averaged: 5 minutes each.
const COLUMNS: usize = 288;

/// One day.
#[derive(Clone, Debug)]
pub struct Day {
    /// Its number among the simulated ones, the first being 1.
    pub number: u32,
    /// How many were simulated.
    pub of: u32,
    /// Stretches of time with their screen; times from the day's midnight.
    pub screens: Vec<(Seconds, Seconds, ScreenId)>,
    /// Refreshes in order.
    pub refreshes: Vec<(Seconds, Mode)>,
    /// Mean power at the battery in each column of the day.
    pub power: Vec<Watts>,
    /// The battery voltage at which power and charge are stated.
    pub volts: Volts,
    /// State of charge over time where the device is charged now and then; else empty.
    pub charge: Vec<(Seconds, Ratio)>,
    /// Temperature at the ends of the columns.
    pub temperature: Vec<Celsius>,
}

/// The day whose updates come nearest to the mean of all; of several the first. The first day of all, on which the device
/// starts up, only where there is no other.
pub fn usual_day(device: &Device, counts: &Counts) -> u32 {
    let days = device.usage.days.max(1);
    let mut updates = vec![0u32; days as usize];
    for step in &counts.steps {
        let day = (step.time / DAY).floor().max(0.0) as usize;
        updates.iter_mut().skip(day).take(1).for_each(|count| *count += 1);
    }
    let mean = f64::from(updates.iter().sum::<u32>()) / f64::from(days);
    let far = |day: &u32| (f64::from(updates[*day as usize]) - mean).abs();
    (u32::from(days > 1)..days).min_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(0)
}

/// A day of the simulation, the first being 0.
pub fn day(device: &Device, parameters: &ParameterSample, number: u32) -> Day {
    let from = DAY * f64::from(number);
    let (_, diary) = simulate_recorded(device, parameters, [from, from + DAY]);
    let mut day = Day {
        number: number + 1,
        of: device.usage.days,
        screens: Vec::new(),
        refreshes: Vec::new(),
        power: spent(device, parameters, &diary, from),
        volts: device.battery.nominal(),
        charge: diary.charge.iter().map(|(time, charge)| (*time - from, *charge)).collect(),
        temperature: (0..=COLUMNS).map(|column| device.usage.climate.at(from + end(column))).collect(),
    };
    for span in &diary.spans {
        let (begin, end) = (span.from - from, span.to - from);
        match day.screens.last_mut().filter(|last| last.2 == span.screen) {
            Some(last) => last.1 = end,
            None => day.screens.push((begin, end, span.screen)),
        }
    }
    let refreshes = diary.moments.iter().filter_map(|(time, what)| match what {
        What::Refresh(mode, _) => Some((*time - from, *mode)),
        _ => None,
    });
    day.refreshes = refreshes.collect();
    day
}

fn end(column: usize) -> Seconds {
    DAY * (column as f64 / COLUMNS as f64)
}

/// Mean power in each column: what is always on, loads while their conditions hold, and every deed at its time.
fn spent(device: &Device, parameters: &ParameterSample, diary: &Diary, from: Seconds) -> Vec<Watts> {
    let volts = device.battery.nominal();
    let one = Rates {
        events: vec![1.0; device.events.len()],
        keys: 1.0,
        samples: 1.0,
        held: vec![Ratio(1.0); device.board.loads.len()],
        begun: Vec::new(),
    };
    // The price of each deed a day, and the power of each load while it may draw.
    let unit_costs = events(device, parameters, &one, volts);
    let price = |what: Consumer| {
        let one = unit_costs.iter().find(|one| one.what == what);
        one.map_or(Watts(0.0), |one| volts * one.load_current.at(volts))
    };
    let begun = Occasions::of(device, parameters, volts).begun;
    let always: Watts =
        always_on(device, parameters, volts).iter().map(|load| volts * load.load_current.at(volts)).sum();
    let wide = DAY / COLUMNS as f64;
    let mut energy = vec![always * wide; COLUMNS];
    let place = |time: Seconds| (((time - from) / wide).floor().max(0.0) as usize).min(COLUMNS - 1);
    let (press, sample) = (price(Consumer::KeyWork) * DAY, price(Consumer::SampleWork) * DAY);
    for (time, what) in &diary.moments {
        energy[place(*time)] += match what {
            What::Refresh(_, draw) => draw.energy_at(volts),
            What::Event(event) => price(Consumer::Event(*event)) * DAY,
            What::Press => press,
            What::Sample => sample,
        };
    }
    for (load, _) in device.load_only.iter().enumerate().filter(|(_, only)| !only.is_empty()) {
        let power = price(Consumer::Load(load));
        for pair in diary.spans.windows(2).filter(|pair| !pair[0].held[load] && pair[1].held[load]) {
            energy[place(pair[1].from)] += begun[load].energy_at(volts);
        }
        for span in diary.spans.iter().filter(|span| span.held[load]) {
            for (column, energy) in energy.iter_mut().enumerate().skip(place(span.from)) {
                let (begin, end) = (from + end(column), from + end(column + 1));
                if begin >= span.to {
                    break;
                }
                *energy += power * Seconds((end.0.min(span.to.0) - begin.0.max(span.from.0)).max(0.0));
            }
        }
    }
    energy.into_iter().map(|energy| energy / wide).collect()
}

impl Day {
    /// Refreshes of a waveform.
    pub fn count(&self, mode: Mode) -> usize {
        self.refreshes.iter().filter(|(_, of)| *of == mode).count()
    }

    /// Energy of the day at the battery.
    pub fn energy(&self) -> Joules {
        self.power.iter().map(|power| *power * (DAY / COLUMNS as f64)).sum()
    }

    /// Charge taken up to the end of each column, from none at its beginning.
    fn taken(&self) -> Vec<Coulombs> {
        let mut sum = Coulombs(0.0);
        let next = |power: &Watts| {
            sum += *power * (DAY / COLUMNS as f64) / self.volts;
            sum
        };
        std::iter::once(Coulombs(0.0)).chain(self.power.iter().map(next)).collect()
    }

    /// What the strip shows, in a sentence.
    pub fn words(&self) -> String {
        let full = count(self.count(Mode::Full), "full refresh", "full refreshes");
        let partial = count(self.count(Mode::Partial), "partial refresh", "partial refreshes");
        let charge = self.taken().last().map_or(0.0, |all| all.0 / 3.6);
        format!("Day {} of {}: {full}, {partial}, {}, {charge:.3} mAh", self.number, self.of, self.energy())
    }
}

/// The strip of a usual day, its screens by their titles in a locale.
pub fn usual(device: &Device, counts: &Counts, locale: usize) -> Scene {
    let day = day(device, &device.inputs.typical(), usual_day(device, counts));
    let title = |screen: &Screen| screen.title(locale).to_owned();
    scene(&device.name, &day, &device.screens.iter().map(title).collect::<Vec<_>>())
}

/// Width of the sheet in points, the plane's sides, and heights of lanes.
const WIDE: f32 = 760.0;
const MARGIN: f32 = 22.0;
const LEFT: f32 = 134.0;
const RIGHT: f32 = WIDE - MARGIN;
const ROW: f32 = 15.0;
const REFRESHES: f32 = 30.0;
const POWER: f32 = 100.0;
const LINE: f32 = 56.0;
const GAP: f32 = 16.0;
/// Screens with a row of their own; the others share one.
const ROWS: usize = 9;

/// The strip of a day; `names` are those of the screens.
pub fn scene(name: &str, day: &Day, names: &[String]) -> Scene {
    let title = format!("A day of {name}: screens, refreshes, power, temperature, charge");
    let mut scene = Scene { size: [WIDE, 0.0], title, shapes: Vec::new() };
    scene.shapes.push(text([MARGIN, 32.0], Anchor::Start, 17.0, Colour::Ink, &format!("A day of {name}")));
    scene.shapes.push(text([MARGIN, 52.0], Anchor::Start, TEXT, Colour::Grey, &day.words()));
    let top = 68.0;
    let mut shapes = Scene { shapes: Vec::new(), ..scene.clone() };
    let mut below = screens(day, names, top, &mut shapes);
    below = refreshes(day, below + GAP, &mut shapes);
    below = power(day, below + GAP, &mut shapes);
    below = temperature(day, below + GAP, &mut shapes);
    let last = charge(day, below + GAP, &mut shapes);
    let hours: Vec<Tick> =
        (0..=8).map(|step| Tick { at: f64::from(step) * 3.0, label: format!("{}:00", step * 3) }).collect();
    for hour in &hours {
        let x = last.at_x(hour.at * 3600.0);
        scene.shapes.push(line(vec![[x, top], [x, last.bottom]], 1.0, Colour::Grid));
    }
    scene.shapes.append(&mut shapes.shapes);
    last.times(&mut scene, &hours, 3600.0);
    scene.size[1] = last.bottom + 18.0 + MARGIN;
    scene
}

fn lane(top: f32, height: f32, y: [f64; 2]) -> Plane {
    Plane { left: LEFT, right: RIGHT, top, bottom: top + height, x: [0.0, DAY.0], y }
}

/// The name of a lane, and what it counts in.
fn named(plane: &Plane, name: &str, unit: &str, scene: &mut Scene) {
    scene.shapes.push(text([MARGIN, plane.top + 10.0], Anchor::Start, TEXT, Colour::Ink, name));
    scene.shapes.push(text([MARGIN, plane.top + 25.0], Anchor::Start, TEXT, Colour::Grey, unit));
}

/// One row for each screen, those that are shown longest first.
fn screens(day: &Day, names: &[String], top: f32, scene: &mut Scene) -> f32 {
    let mut shown: Vec<(ScreenId, f64)> = Vec::new();
    for (from, to, screen) in &day.screens {
        match shown.iter_mut().find(|(known, _)| known == screen) {
            Some((_, time)) => *time += (*to - *from).0,
            None => shown.push((*screen, (*to - *from).0)),
        }
    }
    shown.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.0.cmp(&b.0.0)));
    let own = if shown.len() > ROWS { ROWS - 1 } else { shown.len() };
    let rows = if shown.len() > own { own + 1 } else { own };
    for row in 0..rows {
        let plane = lane(top + row as f32 * ROW, ROW - 4.0, [0.0, 1.0]);
        let label = match shown.get(row).filter(|_| row < own) {
            Some((screen, _)) => fitted(names.get(screen.0).map_or("", String::as_str)),
            None => format!("{} others", shown.len() - own),
        };
        scene.shapes.push(text([LEFT - 8.0, plane.bottom - 1.0], Anchor::End, 11.0, Colour::Grey, &label));
        let mine =
            |screen: &ScreenId| shown.iter().position(|(known, _)| known == screen).map(|at| at.min(own)) == Some(row);
        for (from, to, _) in day.screens.iter().filter(|(.., screen)| mine(screen)) {
            let left = plane.at_x(from.0);
            // Seconds would vanish beside hours.
            let right = plane.at_x(to.0).max(left + 1.4);
            scene.shapes.push(rectangle([left, plane.top], [right, plane.bottom], Colour::Curve(255), 0.85));
        }
    }
    top + rows as f32 * ROW - 4.0
}

/// A name cut where it is too long for its place.
fn fitted(name: &str) -> String {
    let room = LEFT - MARGIN - 8.0;
    let mut kept: Vec<char> = name.chars().collect();
    let joined = |kept: &[char]| kept.iter().collect::<String>();
    if width(name, 11.0) <= room {
        return name.to_owned();
    }
    while !kept.is_empty() && width(&(joined(&kept) + "\u{2026}"), 11.0) > room {
        kept.pop();
    }
    joined(&kept) + "\u{2026}"
}

/// Full refreshes as long marks, partial ones as short ones.
fn refreshes(day: &Day, top: f32, scene: &mut Scene) -> f32 {
    let plane = lane(top, REFRESHES, [0.0, 1.0]);
    let halves =
        [(Mode::Full, top, top + 14.0, Colour::Alert), (Mode::Partial, top + 18.0, top + 30.0, Colour::Kind(0))];
    for (mode, high, low, colour) in halves {
        let label = format!("{} {}", day.count(mode), mode.name());
        scene.shapes.push(text([LEFT - 8.0, low - 2.0], Anchor::End, 11.0, Colour::Grey, &label));
        for (time, _) in day.refreshes.iter().filter(|(_, of)| *of == mode) {
            let x = plane.at_x(time.0);
            scene.shapes.push(line(vec![[x, high], [x, low]], 1.1, colour));
        }
    }
    scene.shapes.push(text([MARGIN, top + 12.0], Anchor::Start, TEXT, Colour::Ink, "refreshes"));
    plane.bottom
}

/// Mean power of each column on a logarithmic scale.
fn power(day: &Day, top: f32, scene: &mut Scene) -> f32 {
    let logs: Vec<f64> = day.power.iter().map(|power| power.0.max(1e-9).log10()).collect();
    let ends = logs.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], log| [low.min(*log), high.max(*log)]);
    let [low, high] = [(ends[0] - 0.05).floor(), (ends[1] + 0.05).ceil()];
    let plane = lane(top, POWER, [low, high.max(low + 1.0)]);
    named(&plane, "power", "5 min means", scene);
    for decade in low as i32..=plane.y[1] as i32 {
        let label = Watts(10f64.powi(decade)).to_string();
        plane.level(scene, plane.at_y(f64::from(decade)), &label);
    }
    let mut points = vec![[plane.left, plane.bottom]];
    for (column, log) in logs.iter().enumerate() {
        let y = plane.at_y(*log);
        points.extend([[plane.at_x(end(column).0), y], [plane.at_x(end(column + 1).0), y]]);
    }
    points.push([plane.right, plane.bottom]);
    scene.shapes.push(Shape::Area { points: points.clone(), colour: Colour::Curve(255), opacity: 0.22 });
    scene.shapes.push(line(points[1..points.len() - 1].to_vec(), 1.3, Colour::Curve(255)));
    plane.bottom
}

fn temperature(day: &Day, top: f32, scene: &mut Scene) -> f32 {
    let values: Vec<f64> = day.temperature.iter().map(|at| at.0).collect();
    let plane = lane(top, LINE, around(&values));
    named(&plane, "temperature", "°C", scene);
    plane.grid(scene, 2.5, 1.0);
    let points = values.iter().enumerate().map(|(column, at)| [plane.at_x(end(column).0), plane.at_y(*at)]);
    scene.shapes.push(line(points.collect(), 1.8, Colour::Kind(1)));
    plane.bottom
}

/// State of charge where the device is charged now and then; else the charge that was taken.
fn charge(day: &Day, top: f32, scene: &mut Scene) -> Plane {
    let (name, unit, points): (_, _, Vec<(f64, f64)>) = match day.charge.as_slice() {
        [] => {
            let taken = day.taken().into_iter().enumerate();
            ("charge taken", "mAh", taken.map(|(column, all)| (end(column).0, all.0 / 3.6)).collect())
        }
        states => {
            let first = states.iter().take(1).map(|(_, charge)| (0.0, 100.0 * charge.0));
            let last = states.iter().rev().take(1).map(|(_, charge)| (DAY.0, 100.0 * charge.0));
            let all = states.iter().map(|(time, charge)| (time.0, 100.0 * charge.0));
            ("charge", "% of the battery", first.chain(all).chain(last).collect())
        }
    };
    let plane = lane(top, LINE, around(&points.iter().map(|(_, value)| *value).collect::<Vec<f64>>()));
    named(&plane, name, unit, scene);
    plane.grid(scene, 2.5, 1.0);
    let points = points.iter().map(|(time, value)| [plane.at_x(*time), plane.at_y(*value)]);
    scene.shapes.push(line(points.collect(), 1.8, Colour::Kind(2)));
    plane
}

/// A range of round ends around values.
fn around(values: &[f64]) -> [f64; 2] {
    let [low, high] =
        values.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], at| [low.min(*at), high.max(*at)]);
    let [low, high] = if low < high { [low, high] } else { [low.min(1e9) - 0.5, high.max(-1e9) + 0.5] };
    let ticks = linear(low, high, 2.5);
    let step = ticks.windows(2).map(|pair| pair[1].at - pair[0].at).fold(high - low, f64::min);
    [(low / step).floor() * step, (high / step).ceil() * step]
}

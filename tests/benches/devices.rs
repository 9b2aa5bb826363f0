//! The running device: one update, a device-year, many devices.

use super::pair::{Timed, timed};
use super::plain;
use super::table::{Table, Target};
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics_simulator::SimulatorDisplay;
use inkjoule::behaviour::EventId;
use inkjoule::budget::life::{Habits, life};
use inkjoule::cost::energy::window_cost;
use inkjoule::device::Device;
use inkjoule::machine::{Machine, World, micros};
use inkjoule::parameters::ParameterSample;
use inkjoule::project::load;
use inkjoule::refresh::update::Planner;
use inkjoule::screen::redraw::Redraw;
use inkjoule::screen::values::FieldId;
use inkjoule::screen::values::Values;
use inkjoule::simulate::counts::Counts;
use inkjoule::simulate::simulate;
use inkjoule::units::Seconds;
use inkjoule::usage::motions::Motions;
use rayon::prelude::*;
use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

/// Where the demo lies; benches run in the package's root.
pub const DEMO: &str = "screens-demo";

/// The demo with changes as for `--set`.
pub fn demo(changes: &[&str]) -> Device {
    let changes: Vec<String> = changes.iter().map(ToString::to_string).collect();
    load(Path::new(DEMO), &changes).map_err(|failed| failed.faults).expect("the demo can be loaded").device
}

/// The demo with a report every minute, each drawn.
fn busy(days: u32) -> Device {
    demo(&[&format!("usage.days={days}"), "events.report.every=1 min", "policy.min-interval=0 s"])
}

/// All rows.
pub fn rows(table: &mut Table) {
    update(table);
    redraw(table);
    year(table);
    fleet(table);
    columns(table);
}

/// The demo's life with a column of input voltages in the efficiencies of its switching rail, against the same without.
fn columns(table: &mut Table) {
    let name = "a life with efficiencies over the input voltage";
    if !table.wants(name) {
        return;
    }
    let rows = |input: &str, share: u32| {
        let row = |at: &str, share: u32| format!("{{ {input}at = \"{at}\", is = \"{share} %\" }}");
        [row("0.1 uA", share), row("1 mA", share + 39), row("10 mA", share + 45)].join(", ")
    };
    let set = |rows: String| demo(&[&format!("board.rails.display.efficiency=[ {rows} ]")]);
    let column = |(input, share): (&str, u32)| rows(&format!("input = \"{input}\", "), share);
    let over = set([("3.0 V", 45), ("3.6 V", 46), ("4.2 V", 47)].map(column).join(", "));
    let plain = set(rows("", 46));
    let [(over, a), (plain, b)] = [&over, &plain].map(|device| (device, device.inputs.typical()));
    let [first, second] = [(over, &a), (plain, &b)].map(|(device, parameters)| simulate(device, parameters));
    let ours = timed(|| life(over, &a, &first, Habits::USUAL).is_ok());
    let other = timed(|| life(plain, &b, &second, Habits::USUAL).is_ok());
    table.pair(name, Target::Within(1.3), "the same over the current alone", ours, other);
}

/// A world whose values move as the project says.
pub struct Moving {
    motions: Motions,
}

impl Moving {
    /// Nothing has moved yet.
    pub fn new(device: &Device) -> Self {
        Self { motions: Motions::new(device) }
    }
}

impl World for Moving {
    fn sample(&mut self, device: &Device, field: FieldId, time: Seconds, values: &Values) -> f64 {
        self.motions.sample(device, field, time, values)
    }
}

/// Values of the demo after each of some reports.
fn reports(device: &Device, count: usize) -> Vec<Values> {
    let report = device.events.iter().position(|event| event.name == "report").map(EventId).expect("the demo reports");
    let mut machine = Machine::shown(device, device.usage.home, 0);
    let mut world = Moving::new(device);
    let mut next = |minute: usize| {
        machine.pass(micros(Seconds(60.0 * minute as f64)));
        machine.happen(device, report, &mut world);
        machine.state.values.clone()
    };
    (0..count).map(|minute| next(minute + 1)).collect()
}

/// Draws the home screen through the drawing library for each report in turn, and finds what changed.
fn redraw_plainly(device: &Device) -> Timed<'static> {
    let (size, home) = (device.panel.size(), device.usage.home);
    let screen = &device.screens[home.0];
    let mut displays = [(); 2].map(|()| SimulatorDisplay::<BinaryColor>::new(size));
    let all = reports(device, 64);
    let pictures: Vec<_> = all.iter().map(|values| plain::pieces(screen, values, size)).collect();
    for (values, pieces) in all.iter().zip(&pictures) {
        plain::draw(pieces, &mut displays[0]);
        assert!(plain::same(&displays[0], &device.draw(home, 0, values)), "both ways draw the same image");
    }
    let mut at = 0;
    timed(move || {
        at += 1;
        let [old, new] = &mut displays;
        plain::draw(&pictures[at % pictures.len()], new);
        let found = plain::changes(old, new);
        displays.swap(0, 1);
        found
    })
}

/// Updates that a simulation made, those below a switch of the behaviour included.
fn updates(counts: &Counts) -> u64 {
    let runs = counts.below.iter().map(|(_, below)| below).chain([counts]);
    runs.map(|run| run.full + run.partial).sum()
}

fn update(table: &mut Table) {
    let name = "one update in simulation, all of it";
    if !table.wants(name) {
        return;
    }
    let device = busy(7);
    let typical = device.inputs.typical();
    let ours: Timed<'_> = Box::new(|times| {
        let start = Instant::now();
        let counts = simulate(&device, &typical);
        start.elapsed().mul_f64(times as f64 / updates(&counts) as f64)
    });
    table.pair(
        name,
        Target::Faster(50.0),
        "whole screen through embedded-graphics, get_pixel",
        ours,
        redraw_plainly(&device),
    );
}

fn redraw(table: &mut Table) {
    let name = "of it: redraw, difference, windows";
    if !table.wants(name) {
        return;
    }
    let device = busy(1);
    let screen = &device.screens[device.usage.home.0];
    let (redraw, all) = (Redraw::new(screen, 0), reports(&device, 64));
    let mut planner = Planner::new(window_cost(&device, &device.inputs.typical()));
    let mut next = device.draw(device.usage.home, 0, &all[0]);
    let mut glass = next.clone();
    let (mut at, mut versions) = (0, all[0].version.clone());
    let ours = timed(|| {
        at += 1;
        let values = &all[at % all.len()];
        let changed: Vec<bool> = values.version.iter().zip(&versions).map(|(new, old)| new != old).collect();
        let mut rows = next.height()..0;
        for island in redraw.stale(&changed) {
            island.draw(screen, 0, values, &mut next);
            rows = rows.start.min(island.rows.start)..rows.end.max(island.rows.end);
        }
        let change = planner.change(&device, &glass, &next, rows.clone());
        glass.adopt(&next, rows);
        versions.clone_from(&values.version);
        change
    });
    table.pair(name, Target::Faster(50.0), "the same", ours, redraw_plainly(&device));
}

fn year(table: &mut Table) {
    let name = "a device-year, 525,600 updates, real pixels, one core";
    if !table.wants(name) {
        return;
    }
    let device = busy(366);
    let typical = device.inputs.typical();
    let once = || {
        let start = Instant::now();
        let counts = black_box(simulate(&device, &typical));
        start.elapsed().as_secs_f64() * 525_600.0 / updates(&counts) as f64
    };
    let seconds = super::pair::median(vec![once(), once(), once()]);
    table.time(name, Target::Seconds(1.0), seconds);
}

/// Lives of a thousand devices drawn at random.
fn lives(device: &Device, points: &[ParameterSample], threads: &rayon::ThreadPool) -> f64 {
    let counts = simulate(device, &device.inputs.typical());
    let one =
        |parameters: &ParameterSample| life(device, parameters, &counts, Habits::USUAL).map_or(0.0, |life| life.time.0);
    threads.install(|| points.par_iter().map(one).sum())
}

fn fleet(table: &mut Table) {
    const DEVICES: usize = 1_000;
    let device = demo(&[]);
    let points: Vec<ParameterSample> = (0..DEVICES as u32).map(|number| device.inputs.draw(1, number)).collect();
    let threads = [1, 2].map(|count| rayon::ThreadPoolBuilder::new().num_threads(count).build().expect("threads"));
    let [one, two] = &threads;
    // Each device simulated for itself; ten of the thousand are enough to know.
    let plain: Timed<'_> = Box::new(|times| {
        let start = Instant::now();
        for parameters in points.iter().take(10) {
            let _ = black_box(life(&device, parameters, &simulate(&device, parameters), Habits::USUAL));
        }
        start.elapsed().mul_f64(times as f64 * DEVICES as f64 / 10.0)
    });
    let ours = timed(|| lives(&device, &points, one));
    table.pair("fleet of 1,000 devices, one thread", Target::None, "each device simulated", ours, plain);
    let (ours, plain) = (timed(|| lives(&device, &points, two)), timed(|| lives(&device, &points, one)));
    table.pair("fleet of 1,000 devices, two threads", Target::None, "one thread", ours, plain);
}

//! What keys, time and events do, what a life makes of it, and its way into C.

use super::devices::demo;
use super::pair::{Timed, timed};
use super::table::{Table, Target};
use inkjoule::budget::course::course;
use inkjoule::budget::life::{Habits, life, new_cell};
use inkjoule::cell::Point;
use inkjoule::cell::load::Drawn;
use inkjoule::device::Device;
use inkjoule::export::target;
use inkjoule::firmware::order::Order;
use inkjoule::machine::explore::{By, STATES, explore, fire, rules};
use inkjoule::machine::state::State;
use inkjoule::screen::ScreenId;
use inkjoule::simulate::counts::regimes;
use inkjoule::simulate::simulate;
use inkjoule::units::Coulombs;
use std::collections::VecDeque;

/// All rows.
pub fn rows(table: &mut Table) {
    exploration(table);
    switching(table);
    tree(table);
    export(table);
}

/// The states that the demo can be in, against a search that follows nothing but keys and looks for each state among all
/// that it knows.
fn exploration(table: &mut Table) {
    let name = "a state of the demo explored, values and conditions followed";
    if !table.wants(name) {
        return;
    }
    let device = demo(&[]);
    let found = explore(&device, STATES).states;
    // Each for one state: the plain way looks at fewer.
    fn each(mut all: Timed<'_>, states: usize) -> Timed<'_> {
        let states = states as u64;
        Box::new(move |times| {
            let runs = times.div_ceil(states);
            all(runs).mul_f64(times as f64 / (runs * states) as f64)
        })
    }
    let most = plainly(&device, found.min(2_000));
    let ours = each(timed(|| explore(&device, STATES).states), found);
    let plain = each(timed(|| plainly(&device, most)), most);
    table.pair(name, Target::Faster(1.0), "one of at most 2,000, listed and compared one by one", ours, plain);
}

fn plainly(device: &Device, most: usize) -> usize {
    let alike = |a: &State, b: &State| {
        a.screen == b.screen && a.back() == b.back() && a.values.now == b.values.now && layers(a) == layers(b)
    };
    let mut known = vec![State::new(device, device.usage.home)];
    let mut open = VecDeque::from([0]);
    while let Some(at) = open.pop_front() {
        let causes: Vec<By> = rules(&device.wirings[known[at].front().0]).map(|(by, _)| by).collect();
        for by in causes {
            let Some((next, _)) = fire(device, &known[at], by) else { continue };
            if known.len() < most && !known.iter().any(|other| alike(other, &next)) {
                open.push_back(known.len());
                known.push(next);
            }
        }
    }
    known.len()
}

fn layers(state: &State) -> Vec<ScreenId> {
    state.boxes.iter().map(|open| open.screen).collect()
}

/// A life of pulses and of another behaviour below a charge, against the same hour by hour.
fn switching(table: &mut Table) {
    let name = "a life with pulses and another behaviour when low";
    if !table.wants(name) {
        return;
    }
    let device = demo(&[]);
    let point = device.inputs.typical();
    let counts = simulate(&device, &point);
    assert!(!counts.below.is_empty(), "the demo does otherwise when its battery is low");
    let temperature = device.usage.climate.mean();
    let hourly = || {
        let case = new_cell(&device, &point).at(temperature).expect("a case");
        let all: Vec<_> = regimes(&counts)
            .map(|(until, counts)| (until, course(&device, &point, counts, 1.0).expect("a load")))
            .collect();
        let (mut charge, mut hours, fade) = (case.start(), 0_u32, case.self_discharge().0);
        while charge > case.floor() {
            let soc = case.state_of_charge(charge);
            let load = all.iter().find(|(until, _)| soc > *until).or(all.last()).map(|(_, load)| load).expect("one");
            let (ocv, ohms) = (case.ocv(soc).0, case.resistance(soc).0);
            let at = Point { charge: charge.0, ocv, ohms, worst_ohms: ohms };
            let Ok((amps, _)) = load.drawn.drawn(at) else { break };
            charge = Coulombs(charge.0 - 3600.0 * (amps.0 + fade * (charge.0 - case.floor().0)));
            hours += 1;
        }
        hours
    };
    let ours = timed(|| life(&device, &point, &counts, Habits::USUAL).map(|life| life.time).ok());
    table.pair(name, Target::Faster(5.0), "hour by hour, a cell that does not age", ours, timed(hourly));
}

/// A board whose display hangs on a tree of four rails, against the same on its battery.
fn tree(table: &mut Table) {
    let name = "a life on a tree of four rails";
    if !table.wants(name) {
        return;
    }
    let deep = [
        "board.rails.first={ regulator = \"load-switch\", resistance = \"100 mOhm\" }",
        "board.rails.second={ regulator = \"load-switch\", resistance = \"100 mOhm\", source = \"first\" }",
        "board.rails.display.source=second",
    ];
    let (tree, flat) = (demo(&deep), demo(&[]));
    let [(tree, a), (flat, b)] = [&tree, &flat].map(|device| (device, device.inputs.typical()));
    let [first, second] = [(tree, &a), (flat, &b)].map(|(device, point)| simulate(device, point));
    let ours = timed(|| life(tree, &a, &first, Habits::USUAL).is_ok());
    let plain = timed(|| life(flat, &b, &second, Habits::USUAL).is_ok());
    table.pair(name, Target::Within(2.0), "the display's rail on the battery", ours, plain);
}

/// The demo's firmware as operations, against images of its screens.
fn export(table: &mut Table) {
    let device = demo(&[]);
    let order = Order {
        device: &device,
        screens: (0..device.screens.len()).map(ScreenId).collect(),
        locales: (0..device.locales.len()).collect(),
        values: device.sample(),
        packing: device.panel.packing.clone(),
        prefix: "screens".to_owned(),
        section: None,
        design: 0,
    };
    let of = |name: &'static str| {
        let order = &order;
        timed(move || (target(name).expect("a format").write)(order).expect("files").len())
    };
    table.pair(
        "firmware in C: tables of operations",
        Target::Within(10.0),
        "an image of each screen and locale",
        of("c-live"),
        of("c"),
    );
}

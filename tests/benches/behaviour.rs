//! What keys, time and events do, what a life makes of it, and its way into C.

use super::devices::{Moving, demo};
use super::pair::timed;
use super::plain;
use super::table::{Table, Target};
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics_simulator::SimulatorDisplay;
use inkjoule::behaviour::Reaction;
use inkjoule::behaviour::field::{Motion, Renewal};
use inkjoule::budget::course::course;
use inkjoule::budget::life::{Habits, life, new_cell};
use inkjoule::cell::Point;
use inkjoule::cell::load::Drawn;
use inkjoule::cost::energy::window_cost;
use inkjoule::cost::supplies::Supplies;
use inkjoule::device::Device;
use inkjoule::export::target;
use inkjoule::firmware::order::Order;
use inkjoule::frame::Frame;
use inkjoule::machine::explore::{By, STATES, explore, rules};
use inkjoule::machine::state::{State, complete};
use inkjoule::machine::{Machine, Micros, PanelStep, micros};
use inkjoule::refresh::update::Planner;
use inkjoule::screen::ScreenId;
use inkjoule::screen::values::{Condition, FieldId};
use inkjoule::simulate::counts::regimes;
use inkjoule::simulate::simulate;
use inkjoule::units::{Celsius, Coulombs, DAY, Seconds};
use std::cell::RefCell;
use std::collections::VecDeque;

/// All rows.
pub fn rows(table: &mut Table) {
    steps(table);
    operations(table);
    exploration(table);
    switching(table);
    tree(table);
    export(table);
}

/// A day of the running demo with all that it draws, from wake-up to wake-up, against looking at it every second.
fn steps(table: &mut Table) {
    let name = "a day of the machine, from wake-up to wake-up";
    if !table.wants(name) {
        return;
    }
    let device = demo(&[]);
    let (day, room) = (micros(DAY), Celsius(20.0));
    let mut planner = Planner::new(window_cost(&device, &device.inputs.typical()));
    let mut run = |next: &dyn Fn(&Machine) -> Option<Micros>| {
        let (mut machine, mut world) = (Machine::shown(&device, device.usage.home, 0), Moving::new(&device));
        let mut sent = 0;
        while let Some(now) = next(&machine).filter(|now| *now <= day) {
            machine.run(&device, now, &mut world);
            if let PanelStep::Send(_) = machine.look(&device, room, &mut planner, &mut world) {
                machine.sent(now + micros(Seconds(1.0)));
                sent += 1;
            }
        }
        (sent, machine.state.values.now.clone())
    };
    let wakes = |machine: &Machine| machine.wake(&device);
    let seconds = |machine: &Machine| Some(machine.now() + micros(Seconds(1.0)));
    assert!(run(&wakes) == run(&seconds), "both ways come to the same");
    let run = RefCell::new(run);
    let [ours, plain] = [&wakes as &dyn Fn(&Machine) -> Option<Micros>, &seconds].map(|next| {
        let run = &run;
        timed(move || (*run.borrow_mut())(next))
    });
    table.pair(name, Target::Faster(5.0), "looked at every second", ours, plain);
}

/// Every screen of the demo drawn from its operations, against their pictures through the drawing library.
fn operations(table: &mut Table) {
    let name = "drawing operations of all screens";
    if !table.wants(name) {
        return;
    }
    let device = demo(&[]);
    let (size, values) = (device.panel.size(), device.sample());
    let mut frame = Frame::new(size.width, size.height);
    let mut display = SimulatorDisplay::<BinaryColor>::new(size);
    let pictures: Vec<_> = device.screens.iter().map(|screen| plain::pieces(screen, &values, size)).collect();
    let ours = timed(|| device.screens.iter().for_each(|screen| screen.draw(0, &values, &mut frame)));
    let drawn = timed(|| pictures.iter().for_each(|pieces| plain::draw(pieces, &mut display)));
    table.pair(name, Target::Faster(5.0), "pictures of the elements onto a `SimulatorDisplay`", ours, drawn);
}

/// The states that the demo can be in, and what passes between them, against as many found by a search that looks for each
/// among all that it knows. Both answer conditions on what the world decides both ways and let events follow from one
/// another.
fn exploration(table: &mut Table) {
    let name = "the states of the demo explored";
    if !table.wants(name) {
        return;
    }
    let device = demo(&[]);
    let found = explore(&device, STATES).states;
    assert_eq!(plainly(&device, found), found, "both come to as many");
    let (ours, plain) = (timed(|| explore(&device, STATES).states), timed(|| plainly(&device, found)));
    table.pair(name, Target::Faster(1.0), "as many, listed and compared one by one", ours, plain);
}

/// The first states by the same causes and answers, at most so many.
fn plainly(device: &Device, most: usize) -> usize {
    let worldly = |field: &FieldId| {
        let field = &device.fields[field.0];
        field.renewal != Renewal::Never || !matches!(field.motion, Motion::Still)
    };
    let alike = |a: &State, b: &State| {
        a.screen == b.screen && a.back() == b.back() && a.values.now == b.values.now && layers(a) == layers(b)
    };
    let mut known = vec![State::new(device, device.usage.home)];
    let mut passages: Vec<(By, State, State)> = Vec::new();
    let mut open = VecDeque::from([0]);
    while let Some(at) = open.pop_front() {
        let before = known[at].clone();
        for (by, reaction) in rules(&device.wirings[before.front().0]) {
            for one in &reaction.alternatives {
                let is_open = |condition: &&Condition| condition.fields().iter().any(worldly);
                let (either, fixed): (Vec<&Condition>, Vec<&Condition>) = one.when.iter().partition(is_open);
                if !fixed.iter().all(|condition| condition.holds(&before.values)) {
                    continue;
                }
                let mut next = before.clone();
                next.react(device, &Reaction::always(one.actions.clone()), 1.0);
                complete(
                    &mut next,
                    device,
                    |state| state,
                    |state, event| {
                        state.happen(device, event);
                    },
                );
                let passes = |(of, from, to): &(By, State, State)| {
                    (*of, from.front(), to.front()) == (by, before.front(), next.front())
                };
                if !passages.iter().any(passes) {
                    passages.push((by, before.clone(), next.clone()));
                }
                if known.len() < most && !known.iter().any(|other| alike(other, &next)) {
                    open.push_back(known.len());
                    known.push(next);
                }
                if either.is_empty() {
                    break;
                }
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
        let supplies = Supplies::new(&device, &point);
        let all: Vec<_> =
            regimes(&counts).map(|(until, counts)| (until, course(&supplies, counts, 1.0).expect("a load"))).collect();
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

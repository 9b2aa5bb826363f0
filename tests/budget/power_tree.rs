//! The power tree: conservation over random trees, figures of an independent solver, what is refused and where.

use crate::plain::{BASE, load};
use inkjoule::cell::peak::LoadCurrent;
use inkjoule::cost::always_on::always_on;
use inkjoule::cost::phases::{Cause, phases};
use inkjoule::cost::supply::Supply;
use inkjoule::device::drawing::Scenes;
use inkjoule::hardware::efficiency::{Efficiency, EfficiencyRow};
use inkjoule::hardware::rail::{Enabled, OutOfRange, Rail, RailId, Regulator, Source, Topology};
use inkjoule::hardware::tree::{On, Tree};
use inkjoule::parameters::{Inputs, ParameterSample};
use inkjoule::refresh::update::{Change, Mode, work};
use inkjoule::units::{Amps, Celsius, Ohms, Ratio, Volts, Watts};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::rc::Rc;

const SCREENS: &[(&str, &str)] = &[("a", "content = [ { text = \"A\" } ]")];
const USE: &str = "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\n\
                   temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";

/// Makes regulators of round numbers.
struct Maker {
    inputs: Inputs,
}

impl Maker {
    fn switching(&mut self, topology: Topology, output: f64, rows: &[(f64, f64)], own: f64, within: bool) -> Regulator {
        let rows = rows
            .iter()
            .map(|(at, is)| EfficiencyRow::new(Amps(*at), self.inputs.enter("e", [Ratio(*is); 3], None)))
            .collect();
        Regulator::Switching {
            topology,
            output: Volts(output),
            quiescent: self.inputs.enter("q", [Amps(own); 3], None),
            efficiency: Efficiency::OverCurrent(rows),
            includes_quiescent: within,
        }
    }

    fn over_input(&mut self, output: f64, columns: &[(f64, &[(f64, f64)])]) -> Regulator {
        let mut row =
            |(at, is): &(f64, f64)| EfficiencyRow::new(Amps(*at), self.inputs.enter("e", [Ratio(*is); 3], None));
        let columns = columns.iter().map(|(input, rows)| (Volts(*input), rows.iter().map(&mut row).collect()));
        let efficiency = Efficiency::OverInput(columns.collect());
        let quiescent = self.inputs.enter("q", [Amps(2e-6); 3], None);
        let topology = Topology::BuckBoost;
        Regulator::Switching { topology, output: Volts(output), quiescent, efficiency, includes_quiescent: false }
    }

    fn linear(&mut self, output: f64, own: f64) -> Regulator {
        let dropout = self.inputs.enter("d", [Volts(0.1); 3], None);
        Regulator::Linear { output: Volts(output), dropout, quiescent: self.inputs.enter("q", [Amps(own); 3], None) }
    }

    fn switch(&mut self, ohms: f64, own: f64) -> Regulator {
        let resistance = self.inputs.enter("r", [Ohms(ohms); 3], None);
        Regulator::Switch { resistance, quiescent: self.inputs.enter("q", [Amps(own); 3], None) }
    }
}

/// A tree of up to eight rails of all kinds, some of them off, and loads on them.
fn random_tree(seed: u64) -> (Vec<Rail>, Vec<LoadCurrent>, Inputs, Volts) {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut make = Maker { inputs: Inputs::default() };
    let (mut rails, mut loads) = (Vec::new(), Vec::new());
    let table = [(1e-5, 0.5), (1e-3, 0.8), (0.1, 0.93)];
    for index in 0..random.random_range(1..=8usize) {
        let own = random.random_range(0.0..2e-5);
        let output = random.random_range(1.2..5.0);
        let regulator = match random.random_range(0..6) {
            0 => Regulator::Direct,
            1 => make.switch(random.random_range(0.0..2.0), own),
            2 => make.linear(output, own),
            3 => make.switching(Topology::Buck, output, &table, own, random.random()),
            4 => make.switching(Topology::Boost, output, &table, own, random.random()),
            _ => make.switching(Topology::BuckBoost, output, &table[..1], own, false),
        };
        let mut rail = Rail::of_battery(&format!("r{index}"), regulator);
        if index > 0 && random.random_bool(0.7) {
            rail.source = Source::Rail(RailId(random.random_range(0..index)));
        }
        if random.random_bool(0.3) {
            rail.enabled = Enabled::WhileUsed;
            rail.off = Some(make.inputs.enter("off", [Amps(1e-7); 3], None));
        }
        if random.random_bool(0.5) {
            rail.out_of_range = OutOfRange::Follow;
        }
        rails.push(rail);
        loads.push(LoadCurrent {
            current: Amps(random.random_range(0.0..0.02)),
            power: Watts(random.random_range(0.0..0.02)),
        });
    }
    (rails, loads, make.inputs, Volts(random.random_range(2.0..4.2)))
}

/// What leaves the battery is what the loads get and what is lost at each rail; each rail's input gives what its output
/// and its losses take. More load never takes less.
#[test]
fn what_leaves_the_battery_is_loads_and_losses_in_any_tree() {
    for seed in 0..2_000 {
        let (rails, loads, inputs, battery) = random_tree(seed);
        let parameters = inputs.typical();
        let tree = Tree { rails: &rails, parameters: &parameters, battery };
        let on = if seed % 2 == 0 { On::ALL } else { On::NONE };
        let flow = tree.flow(&loads, on);
        let power = |load_current: LoadCurrent, volts: Volts| (volts * load_current.current + load_current.power).0;
        let given = power(flow.battery, battery);
        let mut used = 0.0;
        for (index, node) in flow.nodes.iter().enumerate() {
            let load = if node.on { power(loads[index], node.output) } else { 0.0 };
            used += load + node.loss().0;
            // Rails that the tree feeds from this one.
            let fed: f64 = (flow.nodes.iter().zip(&rails))
                .filter(|(_, rail)| rail.source == Source::Rail(RailId(index)))
                .map(|(child, _)| power(child.taken + child.own, child.input))
                .sum();
            let demand = power(node.demand, node.output);
            assert!((demand - load - fed).abs() <= 1e-9 * demand.max(1e-6), "{seed}: node {index}");
        }
        assert!((given - used).abs() <= 1e-9 * given.max(1e-6), "{seed}: {given} W given, {used} W used");
        let mut more = loads.clone();
        more[0].current += Amps(1e-3);
        let heavier = tree.flow(&more, on).battery.at(battery);
        // Behind an efficiency that rises with the current a little more load can take a little less; not here.
        assert!(heavier.0 >= flow.battery.at(battery).0 - 1e-12, "{seed}");
    }
}

/// The shortcut for boards whose rails stand alone gives what the whole tree gives.
#[test]
fn rails_that_stand_alone_agree_with_the_whole_tree() {
    let mut make = Maker { inputs: Inputs::default() };
    let table = [(1e-6, 0.4), (1e-2, 0.9)];
    let regulators = [make.linear(2.8, 1e-6), make.switching(Topology::BuckBoost, 3.0, &table, 2e-6, true)];
    let rails: Vec<Rail> = regulators.into_iter().map(|regulator| Rail::of_battery("r", regulator)).collect();
    let parameters = make.inputs.typical();
    let tree = Tree { rails: &rails, parameters: &parameters, battery: Volts(3.7) };
    let asleep = vec![LoadCurrent::current(Amps(3e-6)), LoadCurrent::current(Amps(1e-6))];
    let supply = Supply::of(tree, asleep.clone());
    let extra = [
        (RailId(1), LoadCurrent::current(Amps(2e-3))),
        (RailId(0), LoadCurrent::current(Amps(1e-3))),
        (RailId(1), LoadCurrent::current(Amps(1e-3))),
    ];
    let alone = supply.beyond(On::NONE, &extra);
    let whole = supply.flow(On::NONE, &extra).battery;
    let rest = tree.flow(&asleep, On::NONE).battery;
    assert!((alone.current.0 - (whole.current - rest.current).0).abs() < 1e-15);
    assert!((alone.power.0 - (whole.power - rest.power).0).abs() < 1e-15);
}

/// Several battery voltages at once give what each gives alone, and a rail that is called steady takes the same at all.
#[test]
fn several_voltages_at_once_are_each_alone() {
    let mut make = Maker { inputs: Inputs::default() };
    let table = [(1e-6, 0.4), (1e-2, 0.9)];
    let (better, last) = ([(1e-6, 0.45), (1e-2, 0.95)], [(1e-4, 0.8)]);
    let kinds = [
        Regulator::Direct,
        make.linear(2.8, 1e-6),
        make.switching(Topology::BuckBoost, 3.0, &table, 2e-6, false),
        make.switching(Topology::BuckBoost, 3.0, &table, 2e-6, true),
        make.over_input(3.0, &[(2.5, &table), (3.4, &better), (4.0, &last)]),
    ];
    let stops = kinds.into_iter().map(|regulator| Rail::of_battery("r", regulator));
    let follows = |rail: &Rail| Rail { out_of_range: OutOfRange::Follow, ..rail.clone() };
    let stops: Vec<Rail> = stops.collect();
    let rails: Vec<Rail> = stops.iter().cloned().chain(stops.iter().map(follows)).collect();
    let (parameters, volts) = (make.inputs.typical(), [2.2, 2.5, 2.9, 3.4, 3.7, 4.4].map(Volts));
    let asleep = vec![LoadCurrent::current(Amps(3e-6)); rails.len()];
    let of = |battery| Rc::new(Supply::of(Tree { rails: &rails, parameters: &parameters, battery }, asleep.clone()));
    let supplies = volts.map(of);
    let all: Vec<RailId> = (0..rails.len()).map(RailId).collect();
    for rail in &all {
        for drawn in [LoadCurrent::current(Amps(2e-3)), LoadCurrent::power(Watts(5e-3)), LoadCurrent::default()] {
            let loads = [(*rail, drawn), (all[0], LoadCurrent::current(Amps(1e-4))), (*rail, drawn)];
            let alone = supplies.each_ref().map(|supply| supply.beyond(On::NONE, &loads));
            let mut together = [LoadCurrent::default(); 6];
            Supply::beyond_each(&supplies, &loads, &mut together);
            assert_eq!(together, alone, "{rail:?} {drawn:?}");
            let same = alone.iter().all(|load| *load == alone[0]);
            assert!(same || !supplies[0].steady(*rail), "{rail:?} takes {alone:?}");
            let varies = drawn != LoadCurrent::default() && matches!(rail.0, 4 | 9);
            assert!(!varies || !same, "{rail:?} takes {alone:?}");
        }
    }
    let steady: Vec<usize> = all.iter().filter(|rail| supplies[0].steady(**rail)).map(|rail| rail.0).collect();
    assert_eq!(steady, [0, 1, 2, 5], "what is called steady");
}

/// A tree that was asked before answers as one that was not.
#[test]
fn what_a_tree_was_asked_before_changes_nothing() {
    let mut make = Maker { inputs: Inputs::default() };
    let (switch, ldo) = (make.switch(0.5, 1e-6), make.linear(2.8, 1e-6));
    let rails = [
        Rail::of_battery("r", switch),
        Rail { source: Source::Rail(RailId(0)), enabled: Enabled::WhileUsed, ..Rail::of_battery("s", ldo) },
    ];
    let parameters = make.inputs.typical();
    let tree = Tree { rails: &rails, parameters: &parameters, battery: Volts(3.7) };
    let asleep = vec![LoadCurrent::current(Amps(3e-6)), LoadCurrent::default()];
    let supply = Supply::of(tree, asleep.clone());
    let needed = supply.needs(RailId(1));
    for _ in 0..2 {
        // More than are kept.
        for step in 0..100 {
            let (extra, on) = (1e-4 * f64::from(step / 2), if step % 2 == 0 { On::NONE } else { needed });
            let loads = [(RailId(1), LoadCurrent::current(Amps(extra)))];
            let whole = tree.flow(&[asleep[0], LoadCurrent::current(Amps(extra))], on);
            assert_eq!(*supply.flow(on, &loads), whole, "{extra} A");
        }
    }
}

/// `tests/references/power.py` solves the nodes' equations together by SciPy.
#[test]
fn a_tree_agrees_with_the_nodes_equations_solved_together() {
    for row in crate::power_rows("tree") {
        let [volts, i_ldo, i_boost, i_buck, ohms, battery, behind_switch] = row[..] else { panic!("{row:?}") };
        let mut make = Maker { inputs: Inputs::default() };
        let table = [(1e-3, 0.8), (0.1, 0.92)];
        let boost = make.switching(Topology::Boost, 5.0, &table, 20e-6, false);
        let (ldo, switch) = (make.linear(3.3, 5e-6), make.switch(ohms, 1e-6));
        let buck = make.switching(Topology::Buck, 1.8, &[(0.0, 0.85)], 4e-6, false);
        let fed = |regulator, source| Rail { source, ..Rail::of_battery("r", regulator) };
        let rails = [
            fed(boost, Source::Battery),
            fed(ldo, Source::Rail(RailId(0))),
            fed(switch, Source::Battery),
            fed(buck, Source::Rail(RailId(2))),
        ];
        let parameters: ParameterSample = make.inputs.typical();
        let loads = [i_boost, i_ldo, 0.0, i_buck].map(|current| LoadCurrent::current(Amps(current)));
        let flow = Tree { rails: &rails, parameters: &parameters, battery: Volts(volts) }.flow(&loads, On::NONE);
        let close = |found: f64, expected: f64| assert!((found / expected - 1.0).abs() < 1e-9, "{row:?}: {found}");
        close(flow.battery.at(Volts(volts)).0, battery);
        close(flow.nodes[2].output.0, behind_switch);
    }
}

/// The panel behind a load switch that is off between updates: 47 uF to the battery's 3.82 V take C V^2 at each update,
/// half of which stays; a sleeping panel takes nothing. By hand.
#[test]
fn a_rail_that_is_switched_on_charges_its_capacitor_at_each_update() {
    let rail = "regulator = \"ldo\"\noutput = \"3 V\"\ndropout = \"100 mV\"\n";
    let switched = "[board.rails.display]\nsource = \"main\"\nregulator = \"load-switch\"\nresistance = \"0 Ohm\"\n\
                    enabled = \"while-used\"\nstart-up = \"2 ms\"\ncapacitor = \"47 uF\"\nquiescent = \"1 uA\"\n\
                    quiescent-off = \"0.1 uA\"\n";
    let root = BASE.replace(rail, &format!("{rail}{switched}"));
    let root = root.replace("[board.mcu]\n", "[board.mcu]\nrail = \"main\"\n");
    let root = root.replace("[panel]\n", "[panel]\nrail = \"display\"\n") + USE;
    let device = load(root, SCREENS).unwrap_or_else(|text| panic!("{text}"));
    let parameters = device.inputs.typical();
    // 2 uA of the sleeping mcu and 0.1 uA of the switch; nothing of the panel.
    let asleep: f64 =
        always_on(&device, &parameters, device.battery.nominal()).iter().map(|load| load.load_current.current.0).sum();
    assert!((asleep - 2.1e-6).abs() < 1e-15, "{asleep}");
    let work = work(&device, device.policy.buffer, &Change::NONE, &Scenes::default(), Mode::Full, Celsius(20.0))
        .expect("within the tables");
    let all = phases(&device, &parameters, &work, device.battery.nominal());
    let start: Vec<_> = all.iter().filter(|phase| phase.cause == Cause::Supply).collect();
    assert_eq!(start.len(), 1);
    // 47 uF x 3 V through the linear rail: 141 uC, 0.54 mJ at 3.82 V; beside it the switch's 0.9 uA and the panel's 1 uA.
    let expected = 47e-6 * 3.0 + (0.9e-6 + 1e-6) * 2e-3;
    assert!((start[0].draw.charge.0 - expected).abs() < 1e-15, "{}", start[0].draw.charge.0);
    assert!((start[0].draw.energy_at(Volts(3.82)).0 - 0.54e-3).abs() < 0.01e-3);
    // All through the update the switch and the sleeping panel are on: in the drive 4.999 mA are 5 mA and 0.9 uA.
    let drive = all.iter().find(|phase| phase.cause == Cause::Drive).expect("a drive");
    let mean = drive.draw.charge / drive.time;
    assert!((mean.0 - (drive.loads[0].expect("the panel").drawn.current.0 + 1e-6 + 0.9e-6)).abs() < 1e-12, "{mean}");
}

#[test]
fn trees_that_cannot_be_are_refused_at_their_place() {
    let rail = "[board.rails.main]\nregulator = \"ldo\"\noutput = \"3 V\"\ndropout = \"100 mV\"\n";
    let refused = |rails: &str, mcu: &str| {
        let root = BASE.replace(rail, rails).replace("[board.mcu]\n", &format!("[board.mcu]\nrail = \"{mcu}\"\n"));
        let root = root.replace("[panel]\n", "[panel]\nrail = \"main\"\n") + USE;
        load(root, SCREENS).expect_err("refused")
    };
    let ldo = |name: &str, more: &str| {
        format!("[board.rails.{name}]\nregulator = \"ldo\"\noutput = \"3 V\"\ndropout = \"100 mV\"\n{more}")
    };
    let circle = ldo("main", "source = \"b\"\n") + &ldo("b", "source = \"c\"\n") + &ldo("c", "source = \"b\"\n");
    let said = refused(&circle, "main");
    assert!(said.contains("these rails feed one another: `c` from `b` from `c`"), "{said}");
    assert!(said.contains("device.toml:50:10") && said.contains("let one of them be fed by the battery"), "{said}");
    let said = refused(&ldo("main", "source = \"mian\"\n"), "main");
    assert!(said.contains("has no source: there is no rail `mian`") && said.contains("did you mean `main`"), "{said}");
    let said = refused(&(ldo("main", "") + &ldo("port", "source = \"usb\"\n")), "port");
    assert!(said.contains("the microcontroller is fed by USB alone"), "{said}");
    let said = refused(&ldo("main", "enabled = \"while-used\"\n"), "main");
    assert!(said.contains("the microcontroller could never wake"), "{said}");
    let said = refused(&ldo("main", "capacitor = \"10 uF\"\n"), "main");
    assert!(said.contains("has a capacitor and no `start-up`"), "{said}");
    let said =
        refused(&(ldo("main", "") + "[board.rails.d]\nregulator = \"direct\"\nenabled = \"while-used\"\n"), "main");
    assert!(said.contains("is direct and cannot be switched off"), "{said}");
    // A rail that its source is too low for.
    let said = refused(&(ldo("main", "") + &ldo("second", "source = \"main\"\n")), "main");
    assert!(said.contains("the rail `second` can never be made from the rail `main`"), "{said}");
    assert!(said.contains("needs 3.1 V and has 3 V"), "{said}");
}

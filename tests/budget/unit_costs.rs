//! Unit costs are a shortcut to the phases: the same figures but for rounding.

use inkjoule::cost::phases::{self, phases as phases_of};
use inkjoule::cost::unit_costs::UnitCosts;
use inkjoule::device::drawing::Scenes;
use inkjoule::project::load;
use inkjoule::refresh::update::{Change, Mode, work};
use inkjoule::refresh::windows::Window;
use inkjoule::units::Celsius;
use std::path::Path;

#[test]
fn prices_are_those_of_the_phases() {
    prices_with(&[]);
    // The memory on a rail of its own, which is switched on for it: with its start-up, beside what it takes itself.
    let rail = "board.rails.store={ regulator = \"ldo\", output = \"2.8 V\", dropout = \"120 mV\", \
                quiescent = \"5 uA\", enabled = \"while-used\", start-up = \"2 ms\", capacitor = \"10 uF\" }";
    prices_with(&[rail, "board.memory.rail=store", "policy.buffer=external"]);
}

fn prices_with(changes: &[&str]) {
    let demo = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/screens-demo"));
    let changes: Vec<String> = changes.iter().map(ToString::to_string).collect();
    let loaded = match load(demo, &changes) {
        Ok(loaded) => loaded,
        Err(failed) => panic!("{:?}", failed.faults),
    };
    let (device, parameters) = (&loaded.device, loaded.device.inputs.typical());
    let unit_costs = UnitCosts::of(device, &parameters);
    let change = Change { windows: vec![Window { x: 8, y: 10, w: 16, h: 20 }], ..Change::NONE };
    for (mode, at) in [(Mode::Full, 2.5), (Mode::Full, 20.0), (Mode::Partial, 9.0), (Mode::Partial, 31.0)] {
        let work = work(device, device.policy.buffer, &change, &Scenes::default(), mode, Celsius(at))
            .expect("within the tables");
        let (cost, phases) = (unit_costs.cost(&work), phases_of(device, &parameters, &work, device.battery.nominal()));
        let close = |a: f64, b: f64| assert!((a - b).abs() <= 1e-12 * b.abs(), "{a} {b}");
        close(cost.draw.energy.0, phases::total(&phases).energy.0);
        close(cost.draw.charge.0, phases::total(&phases).charge.0);
        close(cost.latency.0, phases::latency(&phases).0);
        close(cost.duration.0, phases::duration(&phases).0);
    }
}

//! Rails against energy balances worked by hand, and which battery voltages they can be made from.

use crate::plain::device_on;
use inkjoule::cell::peak::LoadCurrent;
use inkjoule::device::drawing::Scenes;
use inkjoule::hardware::fit::Unfit;
use inkjoule::hardware::rail::Rail;
use inkjoule::parameters::ParameterSample;
use inkjoule::units::{Amps, Volts};

const USE: &str = "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\n\
                   temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";

/// The rail of a device that has it for everything, at its typical values.
fn rail(regulator: &str) -> (Rail, ParameterSample) {
    let device = device_on(regulator, USE, &[("a", "content = [ { text = \"A\" } ]")]);
    (device.board.rails[0].clone(), device.inputs.typical())
}

fn switching(kind: &str) -> (Rail, ParameterSample) {
    let output = if kind == "boost" { "5.0 V" } else { "3.0 V" };
    rail(&format!(
        "regulator = \"{kind}\"\noutput = \"{output}\"\nquiescent = \"1 uA\"\nefficiency = \"90 %\"\nmin-input = \"1.8 V\"\n"
    ))
}

fn close(got: f64, expected: f64) {
    assert!((got - expected).abs() <= 1e-12 * expected.abs().max(1e-9), "{got}, expected {expected}");
}

#[test]
fn a_linear_regulator_passes_its_current() {
    let (ldo, parameters) =
        rail("regulator = \"ldo\"\noutput = \"3.0 V\"\ndropout = \"150 mV\"\nquiescent = \"2 uA\"\n");
    close(ldo.taken(&parameters, LoadCurrent::current(Amps(0.01)), Volts(3.7), Volts(3.0)).at(Volts(3.7)).0, 0.01);
    close(ldo.own(&parameters).at(Volts(3.7)).0, 2e-6);
    assert_eq!(ldo.fits(&parameters, Volts(3.2)), Ok(()));
    let needed = ldo.least_input(&parameters);
    close(needed.0, 3.15);
    assert_eq!(ldo.fits(&parameters, Volts(3.12)), Err(Unfit::Dropout { input: Volts(3.12), needed }));
}

#[test]
fn a_switching_regulator_keeps_the_energy_but_for_its_efficiency() {
    // 3 V * 10 mA / 90 % is 33.3 mW: 8.33 mA at 4 V, whatever flows already.
    let (regulator, parameters) = switching("buck-boost");
    for beneath in [0.0, 2e-6, 0.005] {
        let taken =
            |current: f64| regulator.taken(&parameters, LoadCurrent::current(Amps(current)), Volts(4.0), Volts(3.0));
        let power = taken(beneath + 0.01).power - taken(beneath).power;
        close(power.0, 0.03 / 0.9);
        close((power / Volts(4.0)).0, 0.03 / 0.9 / 4.0);
    }
    close(regulator.own(&parameters).current.0, 1e-6);
}

#[test]
fn each_topology_refuses_the_wrong_side() {
    let at = |kind, volts| {
        let (rail, parameters) = switching(kind);
        rail.fits(&parameters, Volts(volts)).err()
    };
    assert_eq!(at("buck", 2.9), Some(Unfit::BuckBelowOutput { input: Volts(2.9), output: Volts(3.0) }));
    assert_eq!(at("boost", 5.1), Some(Unfit::BoostAboveOutput { input: Volts(5.1), output: Volts(5.0) }));
    assert_eq!((at("buck", 3.1), at("boost", 4.9), at("buck-boost", 2.9)), (None, None, None));
    assert_eq!(at("buck-boost", 1.7), Some(Unfit::BelowMinimum { input: Volts(1.7), minimum: Volts(1.8) }));
    let limits = |kind| {
        let (rail, parameters) = switching(kind);
        (rail.least_input(&parameters), rail.most_input())
    };
    // A stated minimum below what the kind needs does not let it run lower.
    assert_eq!(limits("buck"), (Volts(3.0), Volts(f64::INFINITY)));
    assert_eq!(limits("boost"), (Volts(1.8), Volts(5.0)));
}

/// Sleep currents share a rail: its efficiency is that at their sum, and an update's at what then flows in all.
#[test]
fn loads_on_one_rail_share_its_efficiency() {
    use inkjoule::cost::always_on::always_on;
    use inkjoule::cost::phases::{phases, total};
    use inkjoule::refresh::update::{Change, Mode, work};
    use inkjoule::units::Celsius;
    let table = "regulator = \"buck-boost\"\noutput = \"3 V\"\nmin-input = \"1.8 V\"\n\
                 efficiency = [ { at = \"1 uA\", is = \"40 %\" }, { at = \"20 mA\", is = \"90 %\" } ]\n";
    let device = device_on(table, USE, &[("a", "content = [ { text = \"A\" } ]")]);
    let parameters = device.inputs.typical();
    let asleep = device.asleep(&parameters, inkjoule::hardware::rail::RailId(0));
    assert!(asleep > Amps(1e-6), "{asleep}");
    // From 1 uA to 20 mA the logarithm runs over ln 20,000.
    let share = |current: f64| 0.4 + 0.5 * (current / 1e-6).ln() / 20_000f64.ln();
    let alone: f64 =
        always_on(&device, &parameters, device.battery.nominal()).iter().map(|load| load.load_current.power.0).sum();
    close(alone, 3.0 * asleep.0 / share(asleep.0));
    // By hand for every phase: everything on the rail at its efficiency, less what sleep takes of it.
    let work = work(&device, device.policy.buffer, &Change::NONE, &Scenes::default(), Mode::Full, Celsius(20.0))
        .expect("within the tables");
    let all = phases(&device, &parameters, &work, device.battery.nominal());
    let by_hand = |phase: &inkjoule::cost::phases::Phase| {
        let current = asleep.0 + phase.loads.iter().flatten().map(|load| load.drawn.current.0).sum::<f64>();
        (3.0 * current / share(current) - alone) * phase.time.0
    };
    close(total(&all).energy.0, all.iter().map(by_hand).sum());
}

/// At hot corners the peak load is the hot refresh's, and a light that blinks counts as on: by hand, from the currents.
#[test]
fn the_peak_load_is_that_of_the_corner_with_lights_on() {
    use inkjoule::budget::supply_corners::of;
    let ldo = "regulator = \"ldo\"\noutput = \"3 V\"\ndropout = \"100 mV\"\n";
    let light = "[board.loads.light]\ncurrent = \"30 mA\"\non = \"10 ms\"\nperiod = \"60 s\"\n";
    let wide = USE.replace("low = \"20 °C\", high = \"20 °C\"", "low = \"-20 °C\", high = \"60 °C\"");
    let load_currents = |more: &str| {
        let device = device_on(ldo, &format!("{more}{wide}"), &[("a", "content = [ { text = \"A\" } ]")]);
        let supply_corners = of(&device, &device.inputs.typical()).expect("within the tables");
        supply_corners.rows[0].peaks.clone().map(|peak| peak.load_current.current.0)
    };
    // Cold: the drive's 6.001 mA; hot: the pump's 5.001 mA, more than the drive's 4.001 mA; 2 uA of the sleeping mcu.
    let [cold, hot] = load_currents("");
    close(cold, 6.003e-3);
    close(hot, 5.003e-3);
    let [lit, lit_hot] = load_currents(light);
    // A hot refresh that pulls hardest is the worst corner, and is called so.
    let hot_drive = with_a_hot_drive();
    let worst = &hot_drive.worst;
    assert_eq!(inkjoule::budget::supply_corners::words(worst), "hot, empty, aged");
    close(lit - cold, 30e-3);
    close(lit_hot - hot, 30e-3);
}

/// The plain device with 160 mA in the hot full waveform, on a cell of some resistance.
fn with_a_hot_drive() -> inkjoule::budget::supply_corners::SupplyCorners {
    let ldo = "regulator = \"ldo\"\noutput = \"2 V\"\ndropout = \"100 mV\"\n";
    let base = crate::plain::BASE
        .replace(
            "{ at = \"60 °C\", time = \"2 s\", current = \"4.001 mA\" }",
            "{ at = \"60 °C\", time = \"2 s\", current = \"160 mA\" }",
        )
        .replace("regulator = \"ldo\"\noutput = \"3 V\"\ndropout = \"100 mV\"\n", ldo)
        .replace("resistance = \"0 Ohm\"", "resistance = \"1 Ohm\"")
        // Days that reach 60 °C age a cell fast: within months its resistance matters more when cold.
        .replace("shelf-life = \"50 year\"", "shelf-life = \"1 year\"");
    let wide = USE.replace("low = \"20 °C\", high = \"20 °C\"", "low = \"-20 °C\", high = \"60 °C\"");
    let device = crate::plain::load(base + &wide, &[("a", "content = [ { text = \"A\" } ]")]).expect("a device");
    inkjoule::budget::supply_corners::of(&device, &device.inputs.typical()).expect("within the tables")
}

/// The supply was judged on typical inputs. Now every input stands at its worse end: no combination of ends is weaker.
#[test]
fn the_weakest_device_is_the_weakest_of_all_combinations_of_ends() {
    let base = crate::plain::BASE
        .replace("resistance = \"0 Ohm\"", "resistance = { min = \"0.1 Ohm\", typ = \"0.2 Ohm\", max = \"0.4 Ohm\" }")
        .replace("capacity = \"100 mAh\"", "capacity = { min = \"90 mAh\", typ = \"100 mAh\", max = \"110 mAh\" }")
        .replace("sleep = \"2 uA\"", "sleep = { min = \"1 uA\", typ = \"2 uA\", max = \"3 mA\" }");
    let light = "[board.loads.light]\ncurrent = { min = \"10 mA\", typ = \"20 mA\", max = \"60 mA\" }\n";
    let device = crate::plain::load(base + light + USE, &[("a", "content = [ { text = \"A\" } ]")]).expect("a device");
    let (found, typical) = weakest_of_all(&device);
    assert!(found < typical - 0.1, "tolerances matter here");
}

/// At 20 °C, halfway between two rows of the drive's table, the typical drive takes 4.3 mA and the booster 5 mA. Either row
/// alone at its maximum leaves the drive below the booster, and both together put it above the booster at its own maximum.
#[test]
fn inputs_that_matter_only_together_are_at_their_worse_ends() {
    let base = crate::plain::BASE
        .replace("resistance = \"0 Ohm\"", "resistance = { min = \"0.1 Ohm\", typ = \"1 Ohm\", max = \"4 Ohm\" }")
        .replace("current = \"5.001 mA\"", "current = { typ = \"5.001 mA\", max = \"5.401 mA\" }")
        .replace("current = \"6.001 mA\"", "current = { typ = \"4.301 mA\", max = \"5.601 mA\" }")
        .replace("current = \"4.001 mA\"", "current = { typ = \"4.301 mA\", max = \"5.601 mA\" }");
    let device = crate::plain::load(base + USE, &[("a", "content = [ { text = \"A\" } ]")]).expect("a device");
    assert_eq!((device.usage.climate.low.0, device.usage.climate.high.0), (20.0, 20.0));
    weakest_of_all(&device);
}

/// The margin of the weakest device, held against every combination of ends, and that of the typical one.
fn weakest_of_all(device: &inkjoule::device::Device) -> (f64, f64) {
    use inkjoule::budget::{supply_corners, worst_case};
    let rows = device.inputs.rows();
    let spread: Vec<usize> = (0..rows.len()).filter(|index| rows[*index].min < rows[*index].max).collect();
    assert!(spread.len() >= 3, "{spread:?}");
    let margin = |parameters: &inkjoule::parameters::ParameterSample| {
        let supply_corners = supply_corners::of(device, parameters).expect("within the tables");
        supply_corners.worst.terminal.volts().expect("no brown-out").0 - supply_corners.needed.0
    };
    let least = (0..1_u32 << spread.len())
        .map(|ends| {
            let end = |(at, index): (usize, &usize)| {
                (*index, if ends >> at & 1 == 1 { rows[*index].max } else { rows[*index].min })
            };
            let parameters = spread
                .iter()
                .enumerate()
                .map(end)
                .fold(device.inputs.typical(), |parameters, (index, value)| parameters.with(index, value));
            margin(&parameters)
        })
        .fold(f64::INFINITY, f64::min);
    let weakest = worst_case::weakest(device).expect("a device");
    close(margin(&weakest), least);
    (margin(&weakest), margin(&device.inputs.typical()))
}

/// A partial waveform that takes more than the full one is the worst update where the policy uses it, and ends a life.
#[test]
fn a_partial_refresh_that_takes_more_than_a_full_one_counts_where_it_is_used() {
    use inkjoule::budget::life::{Ending, Habits, life};
    use inkjoule::refresh::update::Mode;
    use inkjoule::simulate::simulate;
    let base = crate::plain::BASE
        .replace("current = \"3.001 mA\"", "current = \"160 mA\"")
        .replace("resistance = \"0 Ohm\"", "resistance = \"3 Ohm\"");
    let found = |policy: &str| {
        let text = format!("{base}{policy}{USE}");
        let device = crate::plain::load(text, &[("a", "content = [ { text = \"A\" } ]")]).expect("loads");
        let parameters = device.inputs.typical();
        let supply_corners = inkjoule::budget::supply_corners::of(&device, &parameters).expect("within the tables");
        let life = life(&device, &parameters, &simulate(&device, &parameters), Habits::USUAL).expect("a life");
        (supply_corners.mode, supply_corners.worst.terminal.volts().map(|volts| volts.0), life)
    };
    let (mode, volts, used) = found("[policy]\nmax-partials = 5\n");
    let (full, rest, unused) = found("[policy]\nmax-partials = 0\n");
    assert_eq!((mode, full), (Mode::Partial, Mode::Full));
    assert!(volts < rest, "{volts:?} {rest:?}");
    assert_eq!(used.ending, Ending::Voltage);
    assert!(used.time < unused.time, "{used:?} {unused:?}");
}

//! Between updates: currents stated at a voltage, the booster kept on, the panel switched off. Numbers by hand, on a linear
//! rail of 3 V, where charge does not depend on the battery's voltage; and against simulated use.

use crate::plain::{BASE, close, device, device_on, load};
use inkjoule::budget::life::mean_load;
use inkjoule::cost::pauses::{held, switched_off};
use inkjoule::cost::phases::{Cause, duration, phases, total};
use inkjoule::cost::unit_costs::UnitCosts;
use inkjoule::device::Device;
use inkjoule::device::drawing::Scenes;
use inkjoule::refresh::update::{Change, Mode, work};
use inkjoule::refresh::work::Work;
use inkjoule::simulate::counts::Counts;
use inkjoule::simulate::simulate;
use inkjoule::units::{Celsius, DAY, Seconds};

const SCREEN: &[(&str, &str)] = &[("a", "content = [ { text = \"{n}\" } ]\n")];
const HOLD: &str = "[panel.hold]\ntime = \"10 s\"\ncurrent = \"0.101 mA\"\n";
const OFF: &str = "power-off = { leakage = \"0.1 uA\", start = { time = \"60 ms\", current = \"2.001 mA\" } }\n";

fn usage(every: &str) -> String {
    format!(
        "[fields.n]\nrange = [0, 9]\nevery = \"{every}\"\nsignal = {{ count = {{ step = 1 }} }}\n[usage]\nhome = \"a\"\n\
         start = \"2031-01-01\"\ndays = 1\ntemperature = {{ low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }}\n"
    )
}

fn full(device: &Device) -> Work {
    work(device, device.policy.buffer, &Change::NONE, &Scenes::default(), Mode::Full, Celsius(20.0))
        .expect("within the table")
}

fn charge(device: &Device, work: &Work) -> f64 {
    total(&phases(device, &device.inputs.typical(), work, device.battery.nominal())).charge.0
}

fn both(counts: &Counts) -> Work {
    let mut all = counts.by_people.clone();
    all += &counts.by_itself;
    all
}

/// By hand: start 10 ms at 1 mA, booster on 40 ms at 5 mA and off 20 ms at 2 mA are 250 uC beyond sleep. Kept on it takes
/// 0.1 mA, so that it pays for pauses below 2.5 s.
#[test]
fn a_booster_kept_on_saves_the_start_and_pays_for_the_time() {
    let plain = device(&usage("60 s"), SCREEN);
    let holds = device(&format!("{HOLD}{}", usage("60 s")), SCREEN);
    let cold = Work { held: Seconds(10.0), ..full(&holds) };
    close(charge(&holds, &cold) - charge(&plain, &full(&plain)), 10.0 * 0.1e-3, 1e-9);
    let warm = Work { warm: 1.0, held: Seconds(2.0), ..full(&holds) };
    close(charge(&plain, &full(&plain)) - charge(&holds, &warm), 250e-6 - 2.0 * 0.1e-3, 1e-9);
    // The panel is free once the image stands: a warm update spares 50 ms before it, any its 20 ms of booster off.
    let time = |device: &Device, work: &Work| {
        duration(&phases(device, &device.inputs.typical(), work, device.battery.nominal())).0
    };
    close(time(&plain, &full(&plain)) - time(&holds, &cold), 0.020, 1e-9);
    close(time(&holds, &cold) - time(&holds, &warm), 0.050, 1e-9);
    let even = held(&holds, &holds.inputs.typical()).expect("it is stated");
    close(even.pause().expect("a pause").0, 2.5, 1e-9);
    assert!(held(&plain, &plain.inputs.typical()).is_none());
    // The prices of the simulation are those of the phases.
    let parameters = holds.inputs.typical();
    let unit_costs = UnitCosts::of(&holds, &parameters);
    for work in [cold, warm] {
        close(unit_costs.cost(&work).draw.charge.0, charge(&holds, &work), 1e-12);
        close(unit_costs.cost(&work).duration.0, time(&holds, &work), 1e-12);
    }
}

#[test]
fn a_simulated_day_holds_the_booster_from_update_to_update() {
    let quick = device(&format!("{HOLD}{}", usage("8 s")), SCREEN);
    let parameters = quick.inputs.typical();
    let counts = simulate(&quick, &parameters);
    let work = both(&counts);
    // All but the first come within 10 s. The time of a day is that of updates and of the booster held between them, and
    // the last one's holding is paid beforehand.
    close(work.updates, 10_800.0, 1e-3);
    close(work.warm, work.updates - 1.0, 1e-12);
    let busy = duration(&phases(&quick, &parameters, &work, quick.battery.nominal())).0;
    assert!((busy + work.held.0 - DAY.0 - 10.0).abs() < 8.1, "{busy} and {}", work.held);
    // Rarer updates find it off, and each holds it for its whole time.
    let rare = device(&format!("{HOLD}{}", usage("60 s")), SCREEN);
    let work = both(&simulate(&rare, &rare.inputs.typical()));
    assert_eq!(work.warm, 0.0);
    close(work.held.0, 10.0 * work.updates, 1e-9);
}

/// What holding does to the mean current is what the break-even says: 2.5 s lie between updates every 2.4 s and every 4 s
/// (of partial refreshes of half a second).
#[test]
fn the_break_even_is_that_of_simulated_use() {
    let mean = |more: &str, every: &str| {
        let device = device(&format!("{more}{}[policy]\nmax-partials = 100000\n", usage(every)), SCREEN);
        let parameters = device.inputs.typical();
        let counts = simulate(&device, &parameters);
        mean_load(&device, &parameters, &counts, 1.0, device.battery.nominal()).at(device.battery.nominal()).0
    };
    assert!(mean(HOLD, "2.4 s") < mean("", "2.4 s"));
    assert!(mean(HOLD, "4 s") > mean("", "4 s"));
}

/// By hand: 60 ms at 2 mA in place of 10 ms at 1 mA are 110 uC more for each update, and 0.9 uA less in the pauses: 122 s.
#[test]
fn switching_the_panel_off_pays_for_long_pauses() {
    let base = BASE.replace("sleep = \"1 uA\"\nrated", &format!("{OFF}sleep = \"1 uA\"\nrated"));
    let with = |between: &str, every: &str| {
        let base = base.replace("rated-refreshes", &format!("between-updates = \"{between}\"\nrated-refreshes"));
        load(format!("{base}{}", usage(every)), SCREEN).unwrap_or_else(|text| panic!("{text}"))
    };
    let mean = |between: &str, every: &str| {
        let device = with(between, every);
        let parameters = device.inputs.typical();
        let counts = simulate(&device, &parameters);
        mean_load(&device, &parameters, &counts, 1.0, device.battery.nominal()).at(device.battery.nominal()).0
    };
    let asleep = with("deep-sleep", "60 s");
    let even = switched_off(&asleep, &asleep.inputs.typical()).expect("it is stated");
    close(even.pause().expect("a pause").0, 110.0 / 0.9, 1e-6);
    // Beyond what leaks 60 ms take a little more than beyond sleep.
    let off = with("power-off", "60 s");
    let even = switched_off(&off, &off.inputs.typical()).expect("it is stated");
    close(even.pause().expect("a pause").0, 110.0 / 0.9, 1e-3);
    assert!(mean("power-off", "60 s") > mean("deep-sleep", "60 s"));
    assert!(mean("power-off", "200 s") < mean("deep-sleep", "200 s"));
    let plain = device(&usage("60 s"), SCREEN);
    assert!(switched_off(&plain, &plain.inputs.typical()).is_none());
}

#[test]
fn what_is_not_stated_or_lost_is_said() {
    let refused = |from: &str, to: &str, says: &str| {
        assert!(BASE.contains(from), "{from}");
        let text = load(format!("{}{}", BASE.replace(from, to), usage("60 s")), SCREEN).map(|_| ()).expect_err(to);
        assert!(text.contains(says), "{says} in {text}");
    };
    let rated = "rated-refreshes = 1_000_000\n";
    let add = |key: &str| format!("{rated}{key}\n");
    refused(rated, &add("between-updates = \"power-off\""), "nothing is said of what switching the panel off costs");
    refused(rated, &add("hold = { time = \"0 s\", current = \"1 mA\" }"), "a booster that is kept on for no time");
    refused(rated, &add("currents-at = \"0 V\""), "no current is stated at no voltage");
    // A panel that is switched off forgets the old plane, whatever its controller keeps in sleep.
    let base = BASE.replace("partial = { planes = 2", "partial = { planes = 1");
    let base = base.replace(rated, &add(&format!("keeps-old = true\nbetween-updates = \"power-off\"\n{OFF}")));
    let base = format!("{base}[lints]\nstale-plane = \"error\"\n{}", usage("60 s"));
    let text = load(base.clone(), SCREEN).map(|_| ()).expect_err("stale");
    assert!(text.contains("forgets its old one"), "{text}");
    load(base.replace("between-updates = \"power-off\"\n", ""), SCREEN).unwrap_or_else(|text| panic!("{text}"));
}

/// By hand: stated at 3.6 V, the full drive's 5.001 mA at 20 °C are 18.0036 mW: on a linear rail of 3 V 6.0012 mA, from a
/// battery without a regulator a power that does not depend on its voltage.
#[test]
fn currents_at_a_voltage_are_powers() {
    let at = |rail: &str| {
        let base = BASE.replace("rated-refreshes", "currents-at = \"3.6 V\"\nrated-refreshes");
        let plain = "regulator = \"ldo\"\noutput = \"3 V\"\ndropout = \"100 mV\"\n";
        load(base.replace(plain, rail) + &usage("60 s"), SCREEN).unwrap_or_else(|text| panic!("{text}"))
    };
    let drive = |device: &Device| {
        let all = phases(device, &device.inputs.typical(), &full(device), device.battery.nominal());
        all.into_iter().find(|phase| phase.cause == Cause::Drive).expect("a drive")
    };
    let linear = at("regulator = \"ldo\"\noutput = \"3 V\"\ndropout = \"100 mV\"\n");
    // The segment from -20 to 60 °C in its middle: 3 s at 5.001 mA.
    let drive_of = drive(&linear);
    close(drive_of.time.0, 3.0, 1e-12);
    close(drive_of.draw.charge.0, 3.0 * (3.6 * 5.001e-3 / 3.0 - 1e-6), 1e-9);
    let direct = at("regulator = \"direct\"\n");
    let drive_of = drive(&direct);
    close(drive_of.draw.energy.0, 3.0 * 3.6 * 5.001e-3, 1e-9);
    close(drive_of.draw.charge.0, -3.0 * 1e-6, 1e-9);
    // As they are, they are currents.
    let plain = device_on("regulator = \"direct\"\n", &usage("60 s"), SCREEN);
    close(drive(&plain).draw.charge.0, 3.0 * 5e-3, 1e-9);
}

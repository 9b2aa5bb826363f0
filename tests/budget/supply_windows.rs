//! Supply windows of consumers: what never suits is refused by name, and a rail that follows its input lets the device
//! live on until a window is left.

use crate::plain::{BASE, load};
use inkjoule::budget::life::{Ending, Habits, least_input, life};
use inkjoule::cost::reserve::needed;
use inkjoule::device::Device;
use inkjoule::simulate::simulate;
use inkjoule::units::{DAY, Volts};

const SCREENS: &[(&str, &str)] = &[("a", "content = [ { text = \"A\" } ]")];
const USE: &str = "[policy]\nfull-every = \"300 d\"\n[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = 360\n\
                   temperature = { low = \"25 °C\", high = \"25 °C\", warmest = \"12:00\" }\n";
const RAIL: &str = "regulator = \"ldo\"\noutput = \"3 V\"\ndropout = \"100 mV\"\n";
const LITHIUM: &str = "chemistry = \"lithium-ion\"\ncapacity = \"100 mAh\"\nresistance = \"0 Ohm\"\n";
const COIN: &str = "chemistry = \"lithium-manganese-dioxide\"\ncapacity = \"100 mAh\"\nresistance = \"0 Ohm\"\n";

/// The plain device with another rail, a window of its panel, a battery, and more.
fn device(rail: &str, window: &str, battery: &str, more: &str) -> Result<Device, String> {
    let root = BASE.replace(RAIL, rail).replace(LITHIUM, battery);
    let root = root.replace("[panel]\n", &format!("[panel]\nsupply = {window}\n"));
    load(format!("{root}{more}{USE}"), SCREENS)
}

fn days(device: &Device) -> (f64, Ending) {
    let parameters = device.inputs.typical();
    let counts = simulate(device, &parameters);
    let life = life(device, &parameters, &counts, Habits::USUAL).expect("a life");
    (life.time / DAY, life.ending)
}

#[test]
fn a_lithium_cell_straight_onto_a_three_volt_panel_is_refused() {
    let said =
        device("regulator = \"direct\"\n", "{ min = \"2.3 V\", max = \"3.6 V\" }", LITHIUM, "").expect_err("refused");
    let message = "the panel is rated for at most 3.6 V and the rail `main` has 4.2 V when the battery is full (4.2 V)";
    assert!(said.contains(message) && said.contains("device.toml:4"), "{said}");
}

#[test]
fn windows_that_are_never_reached_or_hold_no_voltage_are_refused() {
    let said = device(RAIL, "{ min = \"3.1 V\" }", LITHIUM, "").expect_err("refused");
    assert!(said.contains("the panel needs 3.1 V and the rail `main` has at most 3 V: it never works"), "{said}");
    for window in ["{}", "{ min = \"3 V\", max = \"3 V\" }"] {
        let said = device(RAIL, window, LITHIUM, "").expect_err("refused");
        assert!(said.contains("no voltage lies in this supply window"), "{said}");
    }
}

/// A coin cell behind an LDO of 2.8 V: as the LDO is stopped at 2.9 V, the cell is given up where 45 % of its charge are
/// left; where it follows, the panel works to 2.3 V. Charges read off the chemistry's table by hand.
#[test]
fn a_rail_that_follows_lets_a_coin_cell_work_on() {
    let ldo = "regulator = \"ldo\"\noutput = \"2.8 V\"\ndropout = \"100 mV\"\n";
    let window = "{ min = \"2.3 V\", max = \"3.6 V\" }";
    let stops = device(ldo, window, COIN, "").expect("a device");
    let follows = device(&format!("{ldo}out-of-range = \"follow\"\n"), window, COIN, "").expect("a device");
    let parameters = stops.inputs.typical();
    assert!((least_input(&stops, &parameters).0 - 2.9).abs() < 1e-12);
    assert!((least_input(&follows, &parameters).0 - 2.4).abs() < 1e-12);
    assert_eq!(needed(&stops, &parameters).by, None);
    let by = needed(&follows, &parameters).by.expect("the panel");
    assert_eq!((by.0.as_str(), by.2), ("the panel", Volts(2.3)));
    let ((short, ending), (long, _)) = (days(&stops), days(&follows));
    assert_eq!(ending, Ending::Voltage);
    // The table: 2.88 V at 40 %, 2.94 V at 60 %, so 2.9 V at 46.7 %; 2 V at 0, 2.5 V at 5 %, so 2.4 V at 4 %.
    let (left_short, left_long) = (0.4 + 0.2 * 0.02 / 0.06, 0.05 * 0.4 / 0.5);
    let ratio = long / short;
    let expected = (1.0 - left_long) / (1.0 - left_short);
    assert!((ratio / expected - 1.0).abs() < 2e-3, "{ratio} against {expected}");
    // Where the microcontroller's window is narrower, it decides.
    let narrow = "[board.loads.sensor]\ncurrent = \"1 uA\"\nsupply = { min = \"2.6 V\" }\n";
    let sensor = device(&format!("{ldo}out-of-range = \"follow\"\n"), window, COIN, narrow).expect("a device");
    assert_eq!(needed(&sensor, &point_of(&sensor)).by.expect("the sensor").0, "the load `sensor`");
    let optional = narrow.replace("supply", "needed = false\nsupply");
    let optional = device(&format!("{ldo}out-of-range = \"follow\"\n"), window, COIN, &optional).expect("a device");
    assert_eq!(needed(&optional, &point_of(&optional)).by.expect("the panel").0, "the panel");
}

fn point_of(device: &Device) -> inkjoule::parameters::ParameterSample {
    device.inputs.typical()
}

/// A boost behind an LDO that follows takes more current as the cell falls: `tests/references/power.py` integrates it over
/// time by SciPy.
#[test]
fn the_life_behind_a_following_rail_agrees_with_an_integration_over_time() {
    for row in crate::power_rows("follow") {
        let [milliamperes, dropout, least, seconds] = row[..] else { panic!("{row:?}") };
        let rails = format!(
            "regulator = \"ldo\"\noutput = \"2.8 V\"\ndropout = \"{dropout} V\"\nout-of-range = \"follow\"\n\
             [board.rails.five]\nsource = \"main\"\nregulator = \"boost\"\noutput = \"5 V\"\nefficiency = \"80 %\"\n"
        );
        let lamp = format!("[board.loads.lamp]\nrail = \"five\"\ncurrent = \"{milliamperes} mA\"\n");
        let root = BASE.replace(RAIL, &rails).replace(LITHIUM, COIN);
        let root =
            root.replace("[panel]\n", &format!("[panel]\nrail = \"main\"\nsupply = {{ min = \"{least} V\" }}\n"));
        let root = root
            .replace("[board.mcu]\n", "[board.mcu]\nrail = \"main\"\n")
            .replace("sleep = \"1 uA\"", "sleep = \"0 uA\"");
        let device = load(format!("{root}{lamp}{USE}"), SCREENS).unwrap_or_else(|text| panic!("{text}"));
        let (found, ending) = days(&device);
        let expected = seconds / 86_400.0;
        assert_eq!(ending, Ending::Voltage);
        // The mean current is taken at 33 voltages with straight lines between.
        assert!((found / expected - 1.0).abs() < 1e-3, "{row:?}: {found} d, expected {expected} d");
    }
}

/// By hand on a lithium-ion cell, at rest 3 V empty and 3.45 V at 5 %: a load that needs 3.3 V behind a dropout of 100 mV
/// is without them below 3.4 V, at 40/45 of the 5 %. A reserve of 2 % is never used: the rest of what is below counts.
#[test]
fn the_share_of_the_charge_that_a_load_goes_without_leaves_the_reserve_out() {
    let at = 0.05 * 0.4 / 0.45;
    for (reserve, share) in [(0.0, at), (0.02, (at - 0.02) / 0.98)] {
        let base = crate::plain::BASE
            .replace("output = \"3 V\"", "output = \"3.3 V\"\nout-of-range = \"follow\"")
            .replace("reserve = \"0 %\"", &format!("reserve = \"{} %\"", 100.0 * reserve));
        let load = "[board.loads.sensor]\ncurrent = \"0 A\"\nsupply = { min = \"3.3 V\" }\nneeded = false\n";
        let usage = "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\n\
                     temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";
        let screens = [("a", "content = [ { text = \"A\" } ]")];
        let device =
            crate::plain::load(format!("{base}{load}{usage}"), &screens).unwrap_or_else(|text| panic!("{text}"));
        let all = inkjoule::cost::reserve::unsupplied(&device, &device.inputs.typical());
        let [one] = &all[..] else { panic!("{all:?}") };
        assert!((one.below.0 - 3.4).abs() < 1e-6 && one.needs.0 == 3.3, "{one:?}");
        assert!((one.charge.0 - share).abs() < 1e-4, "{one:?}, by hand {share}");
    }
}

/// A load switch drops a voltage with what flows: 20 Ohm with 5.003 mA, the booster with the sleeping microcontroller, are
/// 100.06 mV on top of the panel's 2.3 V. A pulse of 30 mA beside them drops more by itself.
#[test]
fn a_load_switch_needs_what_it_drops_on_top() {
    let rail = "regulator = \"load-switch\"\nresistance = \"20 Ohm\"\n";
    let window = "{ min = \"2.3 V\", max = \"3.6 V\" }";
    let least = |more: &str| {
        let device = device(rail, window, COIN, more).unwrap_or_else(|text| panic!("{text}"));
        least_input(&device, &device.inputs.typical()).0
    };
    assert!((least("") - (2.3 + 20.0 * 5.003e-3)).abs() < 1e-9, "{}", least(""));
    let pulse = "[board.loads.radio]\ncurrent = \"30 mA\"\non = \"4 ms\"\nperiod = \"30 s\"\n";
    assert!((least(pulse) - (2.3 + 20.0 * 30.003e-3)).abs() < 1e-9, "{}", least(pulse));
    // What is always there flows beside the update.
    let lamp = "[board.loads.lamp]\ncurrent = \"7 mA\"\n";
    assert!((least(lamp) - (2.3 + 20.0 * 12.003e-3)).abs() < 1e-9, "{}", least(lamp));
    let profile = "[events.send]\nevery = \"1 h\"\nprofile = [ { current = \"50 mA\", time = \"1 ms\" } ]\n";
    assert!((least(profile) - (2.3 + 20.0 * 50.003e-3)).abs() < 1e-9, "{}", least(profile));
}

//! Lives under loads in pulses, of a whole project: each pulse meets the voltage that it leaves itself.

use crate::plain::{BASE, load};
use inkjoule::budget::life::{Ending, Habits, life};
use inkjoule::device::Device;
use inkjoule::simulate::simulate;

const SCREENS: &[(&str, &str)] = &[("a", "content = [ { text = \"A\" } ]")];
const USE: &str = "[policy]\nfull-every = \"300 d\"\n[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = 360\n\
                   temperature = { low = \"25 °C\", high = \"25 °C\", warmest = \"12:00\" }\n";
const RAIL: &str = "regulator = \"ldo\"\noutput = \"3 V\"\ndropout = \"100 mV\"\n";
const BUCK_BOOST: &str = "regulator = \"buck-boost\"\noutput = \"3 V\"\nefficiency = \"80 %\"\nmin-input = \"1 V\"\n";
const LITHIUM: &str = "chemistry = \"lithium-ion\"\ncapacity = \"100 mAh\"\nresistance = \"0 Ohm\"\n";

fn device(ohms: f64, loads: &str) -> Device {
    let coin = format!(
        "chemistry = \"lithium-manganese-dioxide\"\ncapacity = \"100 mAh\"\nresistance = \"{ohms} Ohm\"\n\
         resistance-over-charge = [ {{ at = \"0 %\", is = \"100 %\" }}, {{ at = \"100 %\", is = \"100 %\" }} ]\n"
    );
    let root =
        BASE.replace(RAIL, BUCK_BOOST).replace(LITHIUM, &coin).replace("reserve = \"0 %\"", "reserve = \"20 %\"");
    let root = root.replace("sleep = \"1 uA\"", "sleep = \"0 uA\"");
    load(format!("{root}{loads}{USE}"), SCREENS).unwrap_or_else(|text| panic!("{text}"))
}

fn seconds(device: &Device) -> f64 {
    let parameters = device.inputs.typical();
    let life = life(device, &parameters, &simulate(device, &parameters), Habits::USUAL).expect("a life");
    let (load_current, least) = inkjoule::budget::life::peak(device, &parameters);
    assert_eq!(life.ending, Ending::Charge, "{load_current:?} at {least}");
    life.time.0
}

/// `tests/references/power.py` integrates over time by SciPy with all four states of two loads, and with their means.
#[test]
fn a_life_under_two_pulsed_loads_agrees_with_an_integration_over_time() {
    for row in crate::power_rows("pulsed") {
        let [ohms, radio, lamp, pulsed, of_means] = row[..] else { panic!("{row:?}") };
        let steady = "[board.loads.steady]\ncurrent = \"10 uA\"\n";
        let pulses = format!(
            "{steady}[board.loads.radio]\ncurrent = \"{radio} mA\"\non = \"5 ms\"\nperiod = \"1 s\"\n\
             [board.loads.lamp]\ncurrent = \"{lamp} mA\"\non = \"30 ms\"\nperiod = \"3 s\"\n"
        );
        let found = seconds(&device(ohms, &pulses));
        // One refresh in the life, and what both at once take beyond each alone: 5e-5 of the time.
        assert!((found / pulsed - 1.0).abs() < 2e-4, "{row:?}: {found} s");
        let mean = 0.005 * radio + 0.01 * lamp;
        let found = seconds(&device(ohms, &format!("{steady}[board.loads.mean]\ncurrent = \"{mean} mA\"\n")));
        assert!((found / of_means - 1.0).abs() < 2e-4, "{row:?}: {found} s at the mean");
    }
}

/// The microcontroller's work for a pulse is a pulse too, and so is an event's profile: the life is that of the same
/// currents as a load.
#[test]
fn work_and_events_cost_what_the_same_current_costs_as_a_pulsed_load() {
    let steady = "[board.loads.steady]\ncurrent = \"10 uA\"\n";
    // 24,000 occurrences in a day are one in every 3.6 s.
    let event = "[events.report]\nevery = \"3.6 s\"\nprofile = [ { current = \"20 mA\", time = \"10 ms\" } ]\n";
    let load = "[board.loads.report]\ncurrent = \"20 mA\"\non = \"10 ms\"\nperiod = \"3.6 s\"\n";
    let (event, load) =
        (seconds(&device(12.0, &format!("{steady}{event}"))), seconds(&device(12.0, &format!("{steady}{load}"))));
    assert!((event / load - 1.0).abs() < 1e-4, "{event} s for {load} s");
    // 1 ms to wake and 9 ms of work beside a load that takes nothing, for 2 mA beyond sleep.
    let work = "[board.loads.tick]\ncurrent = \"0 A\"\non = \"1 ms\"\nperiod = \"1 s\"\nmcu-awake = \"9 ms\"\n";
    let load = "[board.loads.tick]\ncurrent = \"2 mA\"\non = \"10 ms\"\nperiod = \"1 s\"\n";
    let (work, load) = (seconds(&device(20.0, work)), seconds(&device(20.0, load)));
    assert!((work / load - 1.0).abs() < 1e-9, "{work} s for {load} s");
}

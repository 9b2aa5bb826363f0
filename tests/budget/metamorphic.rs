//! Changes of a project that must not change a life, or must change it by a stated factor: names, the order of tables, one
//! load as two halves, one rail as two equal ones, all currents and the capacity together, journeys twice as often.
//!
//! No figure is expected here: each life is compared with that of the same device stated otherwise.

use crate::plain::{BASE, close, load};
use inkjoule::budget::life::{Habits, life, mean_load};
use inkjoule::device::Device;
use inkjoule::simulate::simulate;

const SCREENS: &[(&str, &str)] = &[
    ("a", "keys.1.go = \"b\"\ncontent = [ { text = \"A\" } ]"),
    ("b", "keys.1.go = \"a\"\ncontent = [ { text = \"B\" } ]"),
];

const MORE: &str = r#"
[board.loads.lamp]
rail = "main"
current = "20 uA"
[board.loads.probe]
rail = "main"
current = "2 mA"
on = "10 ms"
period = "5 s"
[usage]
home = "a"
start = "2031-01-01"
days = 20
temperature = { low = "20 °C", high = "20 °C", warmest = "12:00" }
[usage.journeys.look]
per-day = 6
steps = [ { press = 1, look = "5 s" }, { press = 1, look = "5 s" } ]
"#;

fn settled(root: &str) -> Device {
    load(root.to_owned(), SCREENS).unwrap_or_else(|text| panic!("{text}"))
}

fn base_project() -> String {
    format!("{BASE}{MORE}")
}

/// The life in seconds, and the mean current in amperes, of the typical device.
fn lived(device: &Device) -> [f64; 2] {
    let parameters = device.inputs.typical();
    let counts = simulate(device, &parameters);
    let volts = device.battery.nominal();
    let time = life(device, &parameters, &counts, Habits::USUAL).expect("a life").time.0;
    [time, mean_load(device, &parameters, &counts, 1.0, volts).at(volts).0]
}

fn same(found: &Device, expected: &Device) {
    let (found, expected) = (lived(found), lived(expected));
    close(found[0], expected[0], 1e-9);
    close(found[1], expected[1], 1e-9);
}

#[test]
fn names_of_rails_loads_and_journeys_change_nothing() {
    let renamed = base_project()
        .replace("rails.main", "rails.zulu")
        .replace("\"main\"", "\"zulu\"")
        .replace("loads.lamp", "loads.zz-lamp")
        .replace("loads.probe", "loads.aa-probe")
        .replace("journeys.look", "journeys.another");
    // Loads stand in the order of their names, so the last bits of their sum differ.
    same(&settled(&renamed), &settled(&base_project()));
}

#[test]
fn the_order_of_tables_changes_nothing() {
    let (lamp, probe) = (MORE.find("[board.loads.lamp]").unwrap(), MORE.find("[board.loads.probe]").unwrap());
    let usage = MORE.find("[usage]").unwrap();
    let turned = format!("{BASE}{}\n{}\n{}", &MORE[usage..], &MORE[probe..usage], &MORE[lamp..probe]);
    same(&settled(&turned), &settled(&base_project()));
}

#[test]
fn a_load_as_two_halves_is_the_load() {
    let halves = "current = \"10 uA\"\n[board.loads.lamp-two]\nrail = \"main\"\ncurrent = \"10 uA\"";
    same(&settled(&base_project().replace("current = \"20 uA\"", halves)), &settled(&base_project()));
}

#[test]
fn a_rail_as_two_equal_ones_is_the_rail() {
    let rail = "regulator = \"ldo\"\noutput = \"3 V\"\ndropout = \"100 mV\"\n";
    let two = base_project()
        .replace(rail, &format!("{rail}[board.rails.other]\n{rail}"))
        .replace("[panel]", "[panel]\nrail = \"main\"")
        .replace("[board.mcu]", "[board.mcu]\nrail = \"main\"")
        .replace("[board.loads.probe]\nrail = \"main\"", "[board.loads.probe]\nrail = \"other\"");
    same(&settled(&two), &settled(&base_project()));
}

#[test]
fn twice_the_capacity_lasts_twice_as_long_without_ageing_and_resistance() {
    let twice = base_project().replace("capacity = \"100 mAh\"", "capacity = \"200 mAh\"");
    let (once, twice) = (lived(&settled(&base_project())), lived(&settled(&twice)));
    close(twice[0], 2.0 * once[0], 1e-9);
    close(twice[1], once[1], 1e-12);
}

#[test]
fn journeys_twice_as_often_take_twice_what_journeys_take() {
    let per_day =
        |count: u32| lived(&settled(&base_project().replace("per-day = 6", &format!("per-day = {count}"))))[1];
    let (few, once, twice) = (per_day(20), per_day(40), per_day(80));
    assert!(once > few, "journeys cost something");
    // 400 to 1,600 journeys in 20 days, whose counts scatter by their square roots.
    close(twice - once, 2.0 * (once - few), 0.3);
}

/// The base on a switching rail, whose efficiency is a table over the current, or the same over the input voltage too.
fn switching(efficiency: &str) -> String {
    let rail = "regulator = \"ldo\"\noutput = \"3 V\"\ndropout = \"100 mV\"\n";
    let buck =
        format!("regulator = \"buck-boost\"\noutput = \"3 V\"\nmin-input = \"2 V\"\nefficiency = {efficiency}\n");
    assert!(BASE.contains(rail));
    base_project().replace(rail, &buck)
}

#[test]
fn columns_that_say_the_same_at_every_input_voltage_change_nothing() {
    let rows = |input: &str| {
        format!(
            "{{ {input}at = \"1 uA\", is = \"50 %\" }}, {{ {input}at = \"1 mA\", is = \"80 %\" }}, {{ {input}at = \"10 mA\", is = \"90 %\" }}"
        )
    };
    let columns = ["3.0 V", "3.6 V", "4.2 V"].map(|input| rows(&format!("input = \"{input}\", "))).join(", ");
    let (plain, over) =
        (settled(&switching(&format!("[ {} ]", rows("")))), settled(&switching(&format!("[ {columns} ]"))));
    let ([time, mean], [over_time, over_mean]) = (lived(&plain), lived(&over));
    // Here the efficiency is integrated over the voltage, there it is taken once.
    close(over_time, time, 1e-4);
    close(over_mean, mean, 1e-9);
}

/// What is drawn behind a linear regulator is drawn before it too, so that the rail between changes nothing.
#[test]
fn a_linear_rail_behind_a_switching_one_takes_what_is_drawn_on_the_first() {
    let rows =
        "[ { at = \"1 uA\", is = \"50 %\" }, { at = \"1 mA\", is = \"80 %\" }, { at = \"10 mA\", is = \"90 %\" } ]";
    let one = switching(rows);
    let behind = "[board.rails.quiet]\nsource = \"main\"\nregulator = \"ldo\"\noutput = \"2.5 V\"\ndropout = \"100 mV\"\n[battery]\n";
    let two = one.replacen("[battery]\n", behind, 1);
    let two = two
        .replace("[board.mcu]\n", "[board.mcu]\nrail = \"quiet\"\n")
        .replace("[panel]\n", "[panel]\nrail = \"quiet\"\n");
    let two = two.replace("[board.loads.lamp]\nrail = \"main\"", "[board.loads.lamp]\nrail = \"quiet\"");
    let two = two.replace("[board.loads.probe]\nrail = \"main\"", "[board.loads.probe]\nrail = \"quiet\"");
    assert!(two.matches("\"quiet\"").count() == 4, "{two}");
    same(&settled(&two), &settled(&one));
}

//! Batteries by table: a project's own curves in the place of the chemistry's, a protection circuit, new kinds of cell.

use crate::plain::{BASE, load};
use inkjoule::budget::life::{Ending, Habits, least_input, life};
use inkjoule::cost::always_on::always_on;
use inkjoule::cost::consumer::Consumer;
use inkjoule::device::Device;
use inkjoule::simulate::simulate;
use inkjoule::units::{Celsius, DAY, Ratio, Volts};

const SCREENS: &[(&str, &str)] = &[("a", "content = [ { text = \"A\" } ]")];
const USE: &str = "[policy]\nfull-every = \"300 d\"\n[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = 360\n\
                   temperature = { low = \"25 °C\", high = \"25 °C\", warmest = \"12:00\" }\n";
const LITHIUM: &str = "chemistry = \"lithium-ion\"\n";

fn device(battery: &str) -> Result<Device, String> {
    load(BASE.replace(LITHIUM, battery) + USE, SCREENS)
}

/// A linear curve of voltage from 3 V empty to 4 V full: the LDO of 3 V with 0.1 V of dropout stops at 3.1 V, 10 %.
#[test]
fn a_curve_of_its_own_ends_the_life_where_it_says() {
    let own = "chemistry = \"lithium-manganese-dioxide\"\nvoltage = [ { at = \"0 %\", is = \"3 V\" }, { at = \"100 %\", is = \"4 V\" } ]\n\
               capacity-over-temperature = [ { at = \"0 °C\", is = \"50 %\" }, { at = \"50 °C\", is = \"100 %\" } ]\n\
               resistance-over-temperature = [ { at = \"0 °C\", is = \"300 %\" }, { at = \"25 °C\", is = \"100 %\" }, { at = \"50 °C\", is = \"50 %\" } ]\n\
               resistance-over-charge = [ { at = \"0 %\", is = \"200 %\" }, { at = \"50 %\", is = \"100 %\" }, { at = \"100 %\", is = \"100 %\" } ]\n";
    let device = device(own).unwrap_or_else(|text| panic!("{text}"));
    let parameters = device.inputs.typical();
    assert_eq!(device.battery.ocv(Ratio(0.25)), Volts(3.25));
    let factors = device.battery.chemistry.resistance.at(Celsius(0.0), Ratio(0.0));
    assert!((factors.expect("within the table").0 - 6.0).abs() < 1e-12);
    let counts = simulate(&device, &parameters);
    let found = life(&device, &parameters, &counts, Habits::USUAL).expect("a life");
    assert_eq!(found.ending, Ending::Voltage);
    // 100 mAh, 75 % of them at 25 °C, 90 % of that down to 3.1 V, at 2 uA and 1 uA asleep.
    let expected = 360.0 * 0.75 * 0.9 / 3e-6 / 86_400.0;
    let days = found.time / DAY;
    assert!((days / expected - 1.0).abs() < 1e-3, "{days} d, by hand {expected} d");
}

#[test]
fn a_protection_circuit_takes_its_current_and_ends_the_life_at_its_voltage() {
    let protected = format!("{LITHIUM}cut-off = \"3.5 V\"\nprotection-current = \"2 uA\"\n");
    let device = device(&protected).unwrap_or_else(|text| panic!("{text}"));
    let parameters = device.inputs.typical();
    assert_eq!(least_input(&device, &parameters), Volts(3.5));
    let own: Vec<_> = always_on(&device, &parameters, device.battery.nominal())
        .into_iter()
        .filter(|load| load.what == Consumer::Protection)
        .collect();
    assert!((own[0].load_current.current.0 - 2e-6).abs() < 1e-18 && own.len() == 1);
}

#[test]
fn tables_that_cannot_be_are_refused_at_their_place() {
    for (battery, expected) in [
        ("voltage = [ { at = \"0 %\", is = \"3 V\" }, { at = \"90 %\", is = \"4 V\" } ]", "from 0 % to 100 %"),
        ("voltage = [ { at = \"0 %\", is = \"4 V\" }, { at = \"100 %\", is = \"3 V\" } ]", "never falls"),
        ("voltage = [ { at = \"50 %\", is = \"3 V\" }, { at = \"0 %\", is = \"4 V\" } ]", "rise in `at`"),
        ("capacity-over-temperature = [ { at = \"0 °C\", is = \"0 %\" } ]", "values above 0"),
        ("cut-off = \"5 V\"", "which the full battery does not reach"),
    ] {
        let said = device(&format!("{LITHIUM}{battery}\n")).expect_err("refused");
        assert!(said.contains(expected) && said.contains("help:"), "{battery}: {said}");
    }
}

/// No charger belongs on a primary cell, whatever its kind.
#[test]
fn a_charger_on_a_primary_is_refused() {
    let charger = "[board.charger]\ncurrent = \"50 mA\"\ntermination-current = \"5 mA\"\ntemperature = \"20 °C\"\n";
    for kind in ["lithium-thionyl-chloride", "lithium-iron-disulfide", "alkaline", "lithium-manganese-dioxide"] {
        let root = BASE.replace(LITHIUM, &format!("chemistry = \"{kind}\"\n")) + charger + USE;
        let said = load(root, SCREENS).expect_err("refused");
        assert!(said.contains("the battery must never be charged"), "{kind}: {said}");
    }
}

/// `profiles NAME` prints the tables as the keys that replace them: a project that states them all is the same device.
#[test]
fn printed_tables_replace_the_built_in_ones_exactly() {
    for name in ["lithium-ion-pouch", "lithium-thionyl-half-aa", "nickel-metal-hydride-2-aa", "coin-20mm"] {
        let whole = inkjoule::hardware::profiles::whole("batteries", name).expect("a profile");
        let (head, _) = BASE.split_once("[battery]").expect("the base has a battery");
        let head = head.replace("output = \"3 V\"", "output = \"1 V\"");
        let plain = load(format!("{head}[battery]\n{whole}\n{USE}"), SCREENS).unwrap_or_else(|text| panic!("{text}"));
        let capacity = plain.inputs.typical().of(plain.battery.capacity);
        let tables = inkjoule::hardware::tables::toml(&plain.battery.chemistry, capacity);
        let stated = load(format!("{head}[battery]\n{whole}\n{tables}\n{USE}"), SCREENS);
        let stated = stated.unwrap_or_else(|text| panic!("{name}: {text}\n{tables}"));
        let lives = [&plain, &stated].map(|device| {
            let parameters = device.inputs.typical();
            life(device, &parameters, &simulate(device, &parameters), Habits::USUAL).map(|life| life.time.0)
        });
        let [plain, stated] = lives.map(|life| life.expect("a life"));
        assert!((stated / plain - 1.0).abs() < 1e-9, "{name}: {stated} s, built in {plain} s");
    }
}

#[test]
fn cycle_lives_films_and_rates_that_cannot_be_are_refused() {
    let primary = "chemistry = \"alkaline\"\ncycle-life = { cycles = 500, left = \"80 %\" }\n";
    let said = device(primary).expect_err("refused");
    assert!(said.contains("no cycle life") && said.contains("help:"), "{said}");
    for (key, expected) in [
        ("cycle-life = { cycles = 0, left = \"80 %\" }", "share below 100 %"),
        ("cycle-life = { cycles = 500, left = \"100 %\" }", "share below 100 %"),
        ("film-over-rest = [ { at = \"1 d\", is = \"50 %\" }, { at = \"1 h\", is = \"0 %\" } ]", "rise in `at`"),
        (
            "capacity-over-rate = [ { at = \"2 mA\", is = [ { at = \"0 °C\", is = \"90 %\" } ] }, { at = \"1 mA\", is = [ { at = \"0 °C\", is = \"80 %\" } ] } ]",
            "the currents rise",
        ),
        ("capacity-over-rate = [ { at = \"0 mA\", is = [ { at = \"0 °C\", is = \"90 %\" } ] } ]", "the currents rise"),
        ("capacity-over-rate = [ ]", "the currents rise"),
    ] {
        let said = device(&format!("{LITHIUM}{key}\n")).expect_err("refused");
        assert!(said.contains(expected) && said.contains("help:"), "{key}: {said}");
    }
}

/// Over every kind of battery, warm and cold: more load never lengthens a life, more capacity never shortens it.
#[test]
fn more_load_never_lengthens_and_more_capacity_never_shortens_any_battery() {
    let profiles = inkjoule::hardware::profiles::names("batteries");
    let mut looked = 0;
    for (name, celsius) in profiles.flat_map(|name| [(name, 25.0), (name, 5.0)]) {
        let whole = inkjoule::hardware::profiles::whole("batteries", name).expect("a profile");
        let (head, _) = BASE.split_once("[battery]").expect("the base has a battery");
        let head = head.replace("output = \"3 V\"", "output = \"1 V\"");
        let climate = USE.replace("25 °C", &format!("{celsius} °C"));
        let lamp = "[board.loads.lamp]\nrail = \"main\"\ncurrent = \"20 uA\"\n";
        let root = format!("{head}{lamp}[battery]\n{whole}\n{climate}");
        let device = load(root, SCREENS).unwrap_or_else(|text| panic!("{name}: {text}"));
        let parameters = device.inputs.typical();
        let counts = simulate(&device, &parameters);
        let of = |path: &str, factor: f64| {
            let index = device.inputs.rows().iter().position(|row| row.path == path).expect("an input");
            life(&device, &parameters.scaled(index, factor), &counts, Habits::USUAL).expect("a life").time.0
        };
        let not_more = |more: f64, less: f64, what: &str| {
            assert!(more <= less * (1.0 + 1e-9), "{name} at {celsius} °C, {what}: {more} s, {less} s");
        };
        for factor in [1.05, 2.0, 10.0, 100.0] {
            not_more(of("board.loads.lamp.current", factor), of("board.loads.lamp.current", factor / 1.05), "load");
            not_more(of("battery.capacity", 1.0 / factor), of("battery.capacity", 1.05 / factor), "capacity");
        }
        looked += 1;
    }
    assert!(looked >= 38, "{looked} batteries");
}

/// A battery that comes to its charger full is charged with nothing: its cycles are none, not less than none.
#[test]
fn a_full_battery_at_the_charger_has_a_life() {
    let loaded = inkjoule::project::load(std::path::Path::new("tests/product"), &[]);
    let device = loaded.unwrap_or_else(|failed| panic!("{:?}", failed.faults)).device;
    let parameters = device.inputs.typical();
    let counts = simulate(&device, &parameters);
    let charges = counts.charges.expect("the product is charged");
    assert!(charges.cycles() >= 0.0, "{charges:?}");
    life(&device, &parameters, &counts, Habits::USUAL).expect("a life");
}

//! Cautions beside supply: shown where a figure could tempt, and nowhere else.

use crate::plain::{BASE, load};
use inkjoule::budget::cautions::beside_supply;
use inkjoule::budget::summary::budget;

const SCREENS: &[(&str, &str)] = &[("a", "content = [ { text = \"A\" } ]")];
const USE: &str = "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = 4\n\
                   temperature = { low = \"25 °C\", high = \"25 °C\", warmest = \"12:00\" }\n";
const LITHIUM: &str = "chemistry = \"lithium-ion\"\ncapacity = \"100 mAh\"\nresistance = \"0 Ohm\"\n";

fn cautions(battery: &str, more: &str) -> Vec<String> {
    of(BASE, battery, more)
}

fn of(base: &str, battery: &str, more: &str) -> Vec<String> {
    let rail = "regulator = \"ldo\"\noutput = \"2.2 V\"\ndropout = \"100 mV\"\nout-of-range = \"follow\"\n";
    let root = base.replace(LITHIUM, battery).replace("shelf-life = \"50 year\"", "shelf-life = \"5 year\"");
    let root = root.replace("regulator = \"ldo\"\noutput = \"3 V\"\ndropout = \"100 mV\"\n", rail);
    let root = root.replace("[panel]\n", "[panel]\nsupply = { min = \"2 V\" }\n");
    let device = load(format!("{root}{more}{USE}"), SCREENS).unwrap_or_else(|text| panic!("{text}"));
    beside_supply(&device, &budget(&device))
}

/// With a fifth of the charge in reserve, so that the supply holds.
fn kept(battery: &str) -> Vec<String> {
    let root = BASE.replace("reserve = \"0 %\"", "reserve = \"20 %\"");
    of(&root, battery, "")
}

fn coin(capacity: &str) -> String {
    format!(
        "chemistry = \"lithium-manganese-dioxide\"\ncapacity = \"{capacity}\"\nresistance = \"10 Ohm\"\n\
         resistance-over-charge = [ {{ at = \"0 %\", is = \"100 %\" }}, {{ at = \"100 %\", is = \"100 %\" }} ]\n"
    )
}

/// The drive takes more than a hundredth of 200 mAh an hour, and less than one of 20 Ah.
#[test]
fn a_primary_cell_that_seems_to_hold_a_pulse_is_not_taken_as_good_for_it() {
    let said = kept(&coin("200 mAh"));
    assert!(said.len() == 1 && said[0].contains("Check the maker's pulse data"), "{said:?}");
    assert!(kept(&coin("20 Ah")).is_empty());
    assert!(kept(&format!("{}max-current = \"15 mA\"\n", coin("200 mAh"))).is_empty());
    assert!(kept(LITHIUM).is_empty(), "rechargeable, and nothing says how it is charged");
}

#[test]
fn a_time_of_charge_is_no_permission_and_a_capacitor_has_an_inrush() {
    let charger = "[board.charger]\ncurrent = \"50 mA\"\ntermination-current = \"5 mA\"\ntemperature = \"20 °C\"\n";
    let said = cautions(LITHIUM, charger);
    assert!(said.len() == 1 && said[0].contains("no permission"), "{said:?}");
    let beside = "[battery.capacitor]\ncapacitance = \"2 mF\"\nresistance = \"0.5 Ohm\"\nleakage = \"1 uA\"\n";
    let said = cautions(LITHIUM, beside);
    // By hand: the full cell's 4.2 V over 0.5 Ohm.
    assert!(said.len() == 1 && said[0].contains("up to 8.4 A") && said[0].contains("polarity"), "{said:?}");
    // The smallest resistances are the worst here: 4.2 V over 0.1 and 0.3 Ohm.
    let spread = |typ: &str, min: &str, max: &str| {
        format!("resistance = {{ typ = \"{typ} Ohm\", min = \"{min} Ohm\", max = \"{max} Ohm\" }}\n")
    };
    let flat = "resistance-over-charge = [ { at = \"0 %\", is = \"100 %\" }, { at = \"100 %\", is = \"100 %\" } ]\n";
    let cell = LITHIUM.replace("resistance = \"0 Ohm\"\n", &spread("0.2", "0.1", "0.4")) + flat;
    let beside = beside.replace("resistance = \"0.5 Ohm\"\n", &spread("0.5", "0.3", "0.9"));
    let said = cautions(&cell, &beside);
    assert!(said.iter().any(|caution| caution.contains("up to 10.5 A")), "{said:?}");
}

/// A sensor from 2.1 V behind 100 mV of dropout is without its supply below 2.2 V, the device below 2.1 V. The chemistry's
/// table has 2 V at 0 and 2.5 V at 5 %: by hand 2.2 V at 2 %, of which the reserve of the last screen is next to nothing.
#[test]
fn a_load_that_is_not_needed_is_told_where_it_leaves_its_window() {
    let sensor =
        |needed: &str| format!("[board.loads.sensor]\ncurrent = \"1 uA\"\nsupply = {{ min = \"2.1 V\" }}\n{needed}");
    let battery = format!("{}max-current = \"50 mA\"\n", coin("200 mAh"));
    let said = cautions(&battery, &sensor("needed = false\n"));
    assert!(said.len() == 1, "{said:?}");
    let words = ["the load `sensor` needs 2.1 V", "below 2.2 V", "goes on without it, down to 2.1 V"];
    words.iter().for_each(|words| assert!(said[0].contains(words), "{said:?}"));
    assert!(cautions(&battery, &sensor("")).is_empty());
}

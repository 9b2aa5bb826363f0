//! Ghosting residue of a whole project, worked by hand, its limit, and the word assumption.

use crate::plain::{BASE, load};
use inkjoule::budget::figure::Figure;
use inkjoule::budget::residue::worst;
use inkjoule::budget::summary::budget;
use inkjoule::budget::usage::json;
use inkjoule::device::Device;
use inkjoule::simulate::simulate;
use inkjoule::units::Seconds;

const SHOWN: &[(&str, &str)] = &[("a", "content = [ { value = \"n\", left = 16, top = 16, name = \"count\" } ]")];
const USE: &str = "[fields.n]\nrange = [0, 999]\nevery = \"10 min\"\nsignal = { count = { step = 1 } }\n\
                   [usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = 1\n\
                   temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";

fn device(residue: &str, most: u32, limits: &str) -> Device {
    let root = BASE.replace("[panel]\n", &format!("[panel]\n{residue}"));
    let policy = format!("[policy]\nmax-partials = {most}\nfull-every = \"300 d\"\n");
    load(format!("{root}{policy}{limits}{USE}"), SHOWN).unwrap_or_else(|text| panic!("{text}"))
}

const ASSUMED: &str = "residue = \"2 %\"\n";
const MEASURED: &str = "residue = { typ = \"2 %\", source = \"measured on the first panel, 20 °C\" }\n";

/// The last digit changes every ten minutes: 11 partial refreshes drive its regions, and the twelfth update is a full one.
#[test]
fn a_policy_of_eleven_partials_leaves_eleven_times_the_share_for_one_interval() {
    let device = device(ASSUMED, 11, "");
    let counts = simulate(&device, &device.inputs.typical());
    let ghost = worst(&device, &counts).expect("stated");
    assert!((ghost.share.0 - 0.22).abs() < 1e-12, "{ghost:?}");
    assert_eq!((ghost.worst.partials, ghost.worst.lasted), (11, Seconds(600.0)));
    let words = ghost.words(&device);
    let expected =
        "Worst ghosting residue: 22 % of the contrast (an assumption: panel.residue has no source), at `count` of `a`";
    assert!(words.starts_with(expected), "{words}");
    assert!(words.ends_with("after 11 partial refreshes, for 10 min until the next full one."), "{words}");
    let found = &json(&device, &counts)["residue"];
    assert_eq!((found["contrast_share"].as_f64(), found["assumption"].as_bool()), (Some(0.22), Some(true)));
    assert_eq!((found["element"].as_str(), found["lasts_s"].as_f64()), (Some("`count`"), Some(600.0)));
}

#[test]
fn a_measured_share_is_no_assumption_and_one_that_is_not_stated_says_nothing() {
    let measured = device(MEASURED, 11, "");
    let counts = simulate(&measured, &measured.inputs.typical());
    assert!(!worst(&measured, &counts).expect("stated").words(&measured).contains("assumption"));
    let silent = device("", 11, "");
    let counts = simulate(&silent, &silent.inputs.typical());
    assert_eq!(worst(&silent, &counts), None);
    assert!(!json(&silent, &counts).contains_key("residue"));
}

#[test]
fn a_limit_is_passed_kept_or_unknown() {
    let limits = "[limits]\nresidue = \"20 %\"\n";
    let faults = |residue: &str, most: u32| {
        let device = device(residue, most, limits);
        let budget = budget(&device);
        let faults = inkjoule::check::limits(&device, &budget);
        let own = faults.into_iter().filter(|fault| fault.id == Some("limit-residue"));
        (own.map(|fault| fault.message).collect::<Vec<_>>(), Figure::Residue.value(&device, &budget))
    };
    let (passed, share) = faults(ASSUMED, 11);
    assert!(passed.len() == 1 && passed[0].contains("22 % of the contrast (an assumption"), "{passed:?}");
    assert!((share.expect("a figure") - 22.0).abs() < 1e-12);
    assert_eq!(faults(ASSUMED, 5).0, Vec::<String>::new());
    let (unknown, share) = faults("", 5);
    assert!(unknown.len() == 1 && unknown[0].contains("unknown"), "{unknown:?}");
    assert_eq!(share, None);
}

#[test]
fn a_panel_without_partials_leaves_nothing() {
    let root = BASE.replace("[panel]\n", "[panel]\nresidue = \"2 %\"\n");
    let start = root.find("partial = {").expect("a partial waveform");
    let end = root.find("[display]").expect("a display");
    let root = format!("{}{}", &root[..start], &root[end..]);
    let said = load(format!("{root}{USE}"), SHOWN).expect_err("refused");
    assert!(said.contains("a panel without a partial waveform leaves no residue"), "{said}");
}

/// The minimum-energy schedule makes no more partial refreshes in a row than the limit of residue allows: 10 of 2 % for 20 %.
#[test]
fn the_minimum_energy_schedule_keeps_to_the_limit() {
    let least = |limits: &str| budget(&device(ASSUMED, 11, limits)).policy[1];
    let (free, wide) = (least(""), least("[limits]\nresidue = \"22 %\"\n"));
    let held = least("[limits]\nresidue = \"20 %\"\n");
    let tight = least("[limits]\nresidue = \"4 %\"\n");
    assert_eq!(free, wide, "eleven of 2 % are within 22 %");
    assert!(held > free && tight > held, "{free} {held} {tight}");
}

//! Names that the program itself prints are names like any other: causes add up in every output, whatever things are
//! called.

use inkjoule::answer::{self, Content, Section};
use inkjoule::budget::json;
use inkjoule::budget::summary::budget;
use inkjoule::cost::consumer::Kind;
use inkjoule::look::Look;
use inkjoule::project::load_files;
use inkjoule::report::words::Parts;
use inkjoule::source::files::Files;
use proptest::prelude::*;
use proptest::sample::subsequence;

const DEVICE: &str = include_str!("../../src/cli/starter/device.toml");
const HOME: &str = include_str!("../../src/cli/starter/home.toml");
const EMPTY: &str = include_str!("../../src/cli/starter/empty.toml");

/// What tables, JSON and sentences print themselves.
const PRINTED: &[&str] = &[
    "refresh",
    "refresh-lamp",
    "refresh: drive",
    "refresh: regulator loss",
    "MCU sleep",
    "panel sleep",
    "SRAM standby",
    "regulator main",
    "event reading",
    "event ",
    "all",
    "key 1",
    "after 10 s",
    "regulator loss",
    "drive",
    "wake",
    "panel",
    "the display",
    "none",
    "0",
    "energy_j",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn causes_add_up_whatever_things_are_called(names in subsequence(PRINTED.to_vec(), 6)) {
        let mut device = DEVICE.to_owned();
        for (index, name) in names[..4].iter().enumerate() {
            device += &format!("\n[board.loads.{name:?}]\ncurrent = \"{} uA\"\n", index + 3);
        }
        for (index, name) in names[4..].iter().enumerate() {
            device += &format!("\n[events.{name:?}]\nper-day = 5\ncharge = \"{} mC\"\n", index + 2);
        }
        let files = [("device.toml", device.as_str()), ("screens/home.toml", HOME), ("screens/empty.toml", EMPTY)];
        let loaded = load_files(Files::from_memory(files)).unwrap_or_else(|failed| panic!("{:?}", failed.faults));
        let device = &loaded.device;
        let budget = budget(device);
        let all = budget.energy_per_day().0;
        // JSON: a list that adds up, with every load and event once.
        let json = json::json(device, &budget);
        let causes = json["per_day"]["energy_by_cause_j"].as_array().unwrap();
        let sum: f64 = causes.iter().map(|cause| cause["energy_j"].as_f64().unwrap()).sum();
        prop_assert!((sum - all).abs() <= 1e-9 * all && (json["per_day"]["energy_j"].as_f64().unwrap() - all).abs() <= 1e-9 * all);
        for name in &names[..4] {
            let found = causes.iter().filter(|cause| cause["kind"] == "load" && cause["name"] == *name).count();
            prop_assert_eq!(found, 1, "{}", name);
        }
        for name in &names[4..] {
            let found = causes.iter().filter(|cause| cause["kind"] == "event" && cause["name"] == *name).count();
            prop_assert_eq!(found, 1, "{}", name);
        }
        // The report's three parts, and the share of refreshes that budget and comparison state.
        let parts = Parts::of(&budget);
        prop_assert!(((parts.refreshes + parts.events + parts.always).0 - all).abs() <= 1e-9 * all);
        let refreshes: f64 = budget.causes.iter().filter(|(what, _)| what.kind() == Kind::Refresh).map(|(_, energy)| energy.0).sum();
        prop_assert!((parts.refreshes.0 - refreshes).abs() <= 1e-12 * all && (budget.refreshes_per_day().0 - refreshes).abs() <= 1e-12 * all);
        // The table has a row for each.
        let files = Files::default();
        let of = Content { files: &files, device, budget: &budget };
        let text = answer::sections(of, &[Section::Energy], Look { width: 100, color: false });
        for (what, _) in &budget.causes {
            prop_assert!(text.contains(&what.label(device)), "{} is missing", what.label(device));
        }
    }
}

//! Names that the program itself prints are names like any other: causes add up in every output, whatever things are
//! called.

use inkjoule::answer::{self, Content, Section};
use inkjoule::budget::figure::Figure;
use inkjoule::budget::json;
use inkjoule::budget::summary::{Budget, budget};
use inkjoule::compare;
use inkjoule::cost::consumer::ConsumerKind;
use inkjoule::device::Device;
use inkjoule::evaluation::Evaluation;
use inkjoule::figures::comparison::compare;
use inkjoule::figures::sweep::range::{Spacing, values};
use inkjoule::figures::sweep::{Swept, sweep};
use inkjoule::look::Look;
use inkjoule::project::load_files;
use inkjoule::report;
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

/// What refreshes come to, and everything.
fn energies(device: &Device, budget: &Budget) -> [f64; 2] {
    let of =
        |kind| budget.causes.iter().filter(|(what, _)| kind == what.kind()).map(|(_, energy)| energy.0).sum::<f64>();
    let all = budget.causes.iter().map(|(_, energy)| energy.0).sum();
    assert_eq!(Figure::Energy.value(device, budget), Some(budget.energy_per_day().0));
    [of(ConsumerKind::Refresh), all]
}

/// The numbers of the page whose place in the JSON begins so.
fn shown(html: &str, place: &str) -> Vec<f64> {
    let of = |part: &str| {
        let (value, rest) = part.split_once("\" data-figure=\"")?;
        rest.starts_with(place).then(|| value.parse().ok())?
    };
    html.split("<data value=\"").skip(1).filter_map(of).collect()
}

/// What stands in the first cells of the table of energy by cause.
fn heads(html: &str) -> Vec<String> {
    let table = html.split_once("<caption class=\"visually-hidden\">Energy of a day by cause</caption>").unwrap().1;
    let table = table.split_once("</table>").unwrap().0;
    let head = |part: &str| part.split_once("</th>").unwrap().0.replace("&quot;", "\"").replace("&amp;", "&");
    table.split("<th scope=\"row\">").skip(1).map(head).collect()
}

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
        let refreshes: f64 = budget.causes.iter().filter(|(what, _)| what.kind() == ConsumerKind::Refresh).map(|(_, energy)| energy.0).sum();
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

/// Every name that is printed is that of a load or an event once.
#[test]
fn comparison_sweep_and_report_add_up_whatever_things_are_called() {
    let around: Vec<&str> = PRINTED.iter().chain(PRINTED).copied().collect();
    around.chunks(6).take(PRINTED.len().div_ceil(6)).for_each(adds_up);
}

fn adds_up(names: &[&str]) {
    let project = |factor: u32| {
        let mut device = DEVICE.to_owned();
        for (index, name) in names[..4].iter().enumerate() {
            device += &format!("\n[board.loads.{name:?}]\ncurrent = \"{} uA\"\n", (index as u32 + 3) * factor);
        }
        for (index, name) in names[4..].iter().enumerate() {
            device += &format!("\n[events.{name:?}]\nper-day = 5\ncharge = \"{} mC\"\n", index + 2);
        }
        Files::from_memory([
            ("device.toml", device.as_str()),
            ("screens/home.toml", HOME),
            ("screens/empty.toml", EMPTY),
        ])
    };
    let side =
        |factor| Evaluation::of("a side", project(factor)).unwrap_or_else(|failed| panic!("{:?}", failed.faults));
    let sides = [side(1), side(2)];
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * b.abs();
    // A comparison states of each side what its causes come to.
    let compared = compare::json::json(&sides, &compare(&sides));
    for (index, side) in sides.iter().enumerate() {
        let [refreshes, all] = energies(&side.device, &side.budget);
        let stated = |figure: Figure| compared["projects"][index]["figures"][figure.key()].as_f64().unwrap();
        assert!(near(stated(Figure::RefreshEnergy), refreshes) && near(stated(Figure::Energy), all), "{names:?}");
    }
    // A sweep over one load moves the whole by that load and leaves the refreshes as they are.
    let [first, ..] = &sides;
    let path = format!("board.loads.{:?}.current", names[0]);
    let swept = Swept::new(
        &first.device,
        &first.files,
        &path,
        values("3uA..9uA", 3, Spacing::Linear).unwrap(),
        Spacing::Linear,
    );
    let asked = vec![Figure::RefreshEnergy, Figure::Energy];
    let swept = sweep(&first.device, &first.files, vec![swept], asked, None)
        .unwrap_or_else(|failed| panic!("{:?}", failed.faults));
    let of = |row: usize, figure: usize| swept.rows[row].readings[figure].unwrap().value;
    let [refreshes, all] = energies(&first.device, &first.budget);
    assert!(near(of(0, 0), refreshes) && near(of(0, 1), all), "{names:?}");
    assert!(near(of(2, 0), refreshes) && of(1, 1) > all && near(of(2, 1) - of(1, 1), of(1, 1) - all), "{names:?}");
    // The report has each cause once, by its name, and they add up to the figure that it states.
    let html = report::energy::section(first).into_string() + &report::inputs::section(first).into_string();
    let causes = shown(&html, "/per_day/energy_by_cause_j/");
    assert_eq!(causes.len(), first.budget.causes.len());
    assert!(near(causes.iter().sum(), all), "{names:?}");
    let stated = shown(&html, Figure::Energy.row().pointer);
    assert!(stated.iter().any(|value| near(*value, all)), "{names:?}");
    let mut expected: Vec<String> = first.budget.causes.iter().map(|(what, _)| what.label(&first.device)).collect();
    expected.push("all".to_owned());
    assert_eq!(heads(&html), expected);
    assert!(compared["projects"][0]["figures"].as_object().unwrap().len() >= Figure::ALL.len());
}

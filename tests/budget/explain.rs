//! Explanations: results that follow from the steps shown are calculated from them, and are the budget's figures.

use crate::starter::run;
use inkjoule::budget::explain::explain;
use inkjoule::budget::figure::{Figure, Topic};
use inkjoule::budget::fleet::fleet;
use inkjoule::budget::json::json;
use inkjoule::budget::life::{Habits, life};
use inkjoule::budget::summary::budget;
use inkjoule::project::load;
use inkjoule::simulate::simulate;
use std::path::Path;
use std::sync::atomic::{AtomicU32, Ordering};

fn demo(changes: &[&str]) -> inkjoule::device::Device {
    let changes: Vec<String> = changes.iter().map(ToString::to_string).collect();
    load(Path::new("screens-demo"), &changes).unwrap_or_else(|failed| panic!("{:?}", failed.faults)).device
}

#[test]
fn every_topic_and_figure_is_explained_and_comes_to_what_the_budget_says() {
    for changes in [
        &["panel.residue=0.5 %", "panel.rated-refreshes=1000000"][..],
        &["battery.ageing=0 %/year", "board.rails.display.regulator=buck-boost"],
        &["usage.temperature.low=0 °C"],
    ] {
        let device = demo(changes);
        let budget = budget(&device);
        let json = json(&device, &budget);
        let mut results = 0;
        let topics = Topic::ALL.iter().map(|topic| (topic.name(), Figure::of_topic(*topic).collect::<Vec<_>>()));
        for (name, figures) in topics.chain(Figure::ALL.iter().map(|figure| (figure.row().name, vec![*figure]))) {
            let known = figures.iter().any(|figure| figure.value(&device, &budget).is_some());
            let explained = match explain(&device, &budget, name) {
                Ok(explained) => explained,
                Err(fault) if known || figures.is_empty() => panic!("{name}: {}", fault.message),
                Err(fault) => {
                    assert!(fault.message.starts_with("this device has no such figure"), "{}", fault.message);
                    continue;
                }
            };
            assert!(explained.text.lines().count() > 5, "{name}:\n{}", explained.text);
            for figure in figures.into_iter().filter(|figure| figure.value(&device, &budget).is_some()) {
                let row = figure.row();
                assert!(
                    explained.results.iter().any(|(pointer, _)| *pointer == row.pointer),
                    "{name} tells {}",
                    row.name
                );
            }
            for (pointer, value) in explained.results {
                let expected = json.pointer(pointer).and_then(serde_json::Value::as_f64).unwrap_or(f64::NAN);
                assert!((value - expected).abs() <= 1e-9 * expected.abs(), "{name}: {value}, {pointer} is {expected}");
                results += 1;
            }
        }
        assert!(results >= 2 * Figure::ALL.len(), "{results}");
    }
}

#[test]
fn every_input_is_explained_with_its_source() {
    let device = demo(&[]);
    let budget = budget(&device);
    for row in device.inputs.rows() {
        let text = explain(&device, &budget, &row.path).expect("an input").text;
        assert!(text.contains(row.source.as_deref().unwrap_or("assumption")) && text.contains(&row.shown), "{text}");
        assert!(text.contains("typical life with twice"), "{text}");
    }
}

#[test]
fn the_program_explains_screens_figures_and_inputs_and_lists_them() {
    let says = |what: &str, parts: &[&str]| {
        let shown = run(&["budget", "screens-demo", "--explain", what]);
        assert_eq!(shown.status, 0, "{what}: {}", shown.stderr);
        parts.iter().for_each(|part| assert!(shown.stdout.contains(part), "{part} in\n{}", shown.stdout));
    };
    says("tonight", &["Full refresh of tonight", "drive, full"]);
    says("tonight:posts", &["tonight:posts by key 1"]);
    says("figure:supply", &["V = (E + sqrt(E^2 - 4 R P)) / 2", "cold, empty, aged"]);
    says("usable-charge", &["k_temperature", "reserved for the last screen"]);
    says("life-days", &["Battery life, median (P50): ", "(life-days)", "Life distribution of 1000 devices"]);
    says("figure:update-energy-j", &["Most expensive transition: ", "--explain "]);
    says("battery.capacity", &["The input battery.capacity", "typical life with half of it"]);
    // What leads to the lowest voltage: the factors of the resistance, each part of the moment with its way to the battery.
    let parts = ["x 3.37", "x 1.06", "the product", "on display at 3 V", "efficiency 84.7 %", "mcu, woken"];
    says("supply", &parts);
    says("always-on", &["mean; while its condition holds, "]);
    let shown = run(&["budget", "screens-demo", "--explain", "lief"]);
    assert_eq!(shown.status, 2);
    assert!(
        shown.stderr.contains("did you mean `life`?") && shown.stderr.contains("usable-charge"),
        "{}",
        shown.stderr
    );
    let shown = run(&["budget", "screens-demo", "--explain", "update-enery-j"]);
    assert!(shown.stderr.contains("did you mean `update-energy-j`?"), "{}", shown.stderr);
    let shown = run(&["sweep", "screens-demo", "board.mcu.sleep", "1uA..2uA", "--figure", "update-enery-j"]);
    assert!(shown.status == 2 && shown.stderr.contains("'update-energy-j'"), "{}", shown.stderr);
}

#[test]
fn a_fleet_is_the_same_for_any_number_of_threads_and_every_device_is_counted() {
    let device = demo(&[]);
    let counts = simulate(&device, &device.inputs.typical());
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
        let done = AtomicU32::new(0);
        let count = || {
            done.fetch_add(1, Ordering::Relaxed);
        };
        let fleet = pool.install(|| fleet(&device, &counts, 1_000, &count)).expect("lives");
        assert_eq!(done.into_inner(), 1_000);
        assert_eq!(fleet.endings.values().sum::<u32>(), 1_000);
        let ends = [fleet.p10, fleet.p50, fleet.p90].map(|life| (life.time.0.to_bits(), life.ending));
        (ends, fleet.endings)
    };
    let one = with(1);
    assert!(one == with(2) && one == with(5), "the number of threads must not matter");
    assert!(one.0[0].0 < one.0[1].0 && one.0[1].0 < one.0[2].0);
}

#[test]
fn temperature_and_usage_spread_the_lives() {
    let width = |changes: &[&str]| {
        let device = demo(changes);
        let counts = simulate(&device, &device.inputs.typical());
        let fleet = fleet(&device, &counts, 400, &|| ()).expect("lives");
        fleet.p90.time.0 / fleet.p10.time.0
    };
    let narrow = width(&["usage.spread=0 %", "usage.temperature.spread=0 °C"]);
    assert!(width(&["usage.spread=80 %", "usage.temperature.spread=0 °C"]) > 1.02 * narrow);
    assert!(width(&["usage.spread=0 %", "usage.temperature.spread=15 °C"]) > 1.02 * narrow);
}

#[test]
fn an_efficiency_that_falls_with_the_battery_is_followed_down() {
    // The efficiency at the input voltages of a full and an empty battery.
    let days = |efficiency: &str| {
        let rail = format!(
            "regulator = \"buck-boost\"\noutput = \"3 V\"\nmin-input = \"2 V\"\nmax-input = \"5.5 V\"\nefficiency = {efficiency}\n"
        );
        let more = "[board.loads.lamp]\ncurrent = \"1 mA\"\n[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = 1\n\
                    temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";
        let device = crate::plain::device_on(&rail, more, &[("a", "content = [ { text = \"A\" } ]")]);
        let parameters = device.inputs.typical();
        life(&device, &parameters, &simulate(&device, &parameters), Habits::USUAL).expect("a life").time.0
    };
    let table = |low: &str, high: &str| {
        days(&format!(
            "[ {{ input = \"3.0 V\", at = \"1 mA\", is = \"{low}\" }}, {{ input = \"4.2 V\", at = \"1 mA\", is = \"{high}\" }} ]"
        ))
    };
    let (best, worst) = (days("\"90 %\""), days("\"60 %\""));
    let (falling, rising) = (table("60 %", "90 %"), table("90 %", "60 %"));
    assert!(worst < falling && falling < best && worst < rising && rising < best, "{worst} {falling} {rising} {best}");
    // Equal efficiencies at both ends are one efficiency.
    crate::plain::close(table("90 %", "90 %"), best, 1e-4);
    // By hand: the power of the load is 3 V x 1.003 mA / 75 % in the mean of both ways.
    crate::plain::close((falling + rising) / 2.0, days("\"75 %\""), 0.03);
}

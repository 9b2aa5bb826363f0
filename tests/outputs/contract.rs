//! The JSON that other programs rely on, checked on the demo: its keys, and that its figures agree with one another.

use crate::starter::run;
use serde_json::Value;

fn demo(extra: &[&str]) -> Value {
    let arguments = [&["budget", "screens-demo", "--format", "json"], extra].concat();
    let shown = run(&arguments);
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    serde_json::from_str(&shown.stdout).expect("JSON alone on standard output")
}

fn number(value: &Value, path: &str) -> f64 {
    value.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("{path} is not a number in {value:#}"))
}

#[test]
fn every_key_of_the_contract_is_there() {
    let budget = demo(&[]);
    for path in [
        "/schema",
        "/panel/width_px",
        "/panel/height_px",
        "/panel/ppi",
        "/panel/frame_bytes",
        "/memory/schemes/0/ram_bytes",
        "/memory/schemes/0/external_bytes",
        "/memory/schemes/0/update_energy_j",
        "/memory/flash_bytes/images",
        "/memory/flash_bytes/fonts",
        "/memory/flash_bytes/strings",
        "/memory/flash_bytes/total",
        "/screens/0/black_fraction",
        "/screens/0/full/latency_s",
        "/screens/0/full/energy_j",
        "/screens/0/full/charge_c",
        "/screens/0/full/sent_bytes",
        "/transitions/0/changed_px",
        "/transitions/0/latency_s",
        "/transitions/0/energy_j",
        "/per_day/full",
        "/per_day/partial",
        "/per_day/energy_j",
        "/per_day/dropped_presses",
        "/policy/energy_j",
        "/policy/minimum_energy_j",
        "/battery/usable_c",
        "/battery/v_min_under_peak",
        "/battery/charge_time_s",
        "/life/days/p10",
        "/life/days/p50",
        "/life/days/p90",
        "/sensitivity/0/elasticity",
    ] {
        number(&budget, path);
    }
    for path in [
        "/project",
        "/memory/schemes/0/name",
        "/screens/0/id",
        "/transitions/0/from",
        "/transitions/0/to",
        "/transitions/0/trigger",
        "/transitions/0/mode",
        "/life/limited_by/0/cause",
        "/sensitivity/0/input",
        "/assumptions/0",
        "/cautions/0",
    ] {
        assert!(budget.pointer(path).is_some_and(Value::is_string), "{path}");
    }
    assert!(budget["memory"]["schemes"][0]["fits"].is_boolean());
    assert!(budget["transitions"].as_array().unwrap().iter().any(|way| !way["windows"].as_array().unwrap().is_empty()));
}

#[test]
fn the_demo_has_the_stated_panel() {
    // 2.9 in, 296 x 128, 112 dpi: model HTEW029C32 technical specification, rev. 1.1 (2017).
    let budget = demo(&[]);
    assert_eq!((number(&budget, "/panel/width_px"), number(&budget, "/panel/height_px")), (296.0, 128.0));
    assert!((number(&budget, "/panel/ppi") - 112.0).abs() < 0.6);
    // ceil(128 / 8) bytes a line, 296 lines.
    assert_eq!(number(&budget, "/panel/frame_bytes"), 4736.0);
}

#[test]
fn causes_add_up_to_the_energy_of_the_day() {
    let budget = demo(&[]);
    let causes = budget["per_day"]["energy_by_cause_j"].as_array().unwrap();
    let sum: f64 = causes.iter().filter_map(|cause| cause["energy_j"].as_f64()).sum();
    let all = number(&budget, "/per_day/energy_j");
    assert!((sum - all).abs() <= 1e-9 * all, "{sum} and {all}");
    assert!(causes.iter().all(|cause| cause["energy_j"].as_f64().unwrap() > 0.0), "no cause gives energy back");
}

#[test]
fn windows_are_aligned_and_cover_what_changes() {
    // The demo's panel is mounted at 90 degrees: its byte axis is the screen's y.
    let budget = demo(&[]);
    for way in budget["transitions"].as_array().unwrap() {
        let mut pixels = 0.0;
        for window in way["windows"].as_array().unwrap() {
            let side = |name: &str| window[name].as_f64().unwrap();
            assert_eq!((side("y") % 8.0, side("h") % 8.0), (0.0, 0.0), "{window}");
            assert!(side("x") + side("w") <= 296.0 && side("y") + side("h") <= 128.0, "{window}");
            pixels += side("w") * side("h");
        }
        if way["mode"] == "partial" {
            assert!(pixels >= way["changed_px"].as_f64().unwrap(), "{way}");
        }
    }
}

#[test]
fn the_cheapest_schedule_is_no_dearer_and_lives_are_in_order() {
    let budget = demo(&[]);
    let (yours, cheapest) = (number(&budget, "/policy/energy_j"), number(&budget, "/policy/minimum_energy_j"));
    assert!(cheapest <= yours * (1.0 + 1e-9), "{cheapest} and {yours}");
    let days = ["p10", "p50", "p90"].map(|p| number(&budget, &format!("/life/days/{p}")));
    assert!(days[0] < days[1] && days[1] < days[2], "{days:?}");
}

#[test]
fn what_ifs_move_the_figures_the_right_way() {
    let (base, hungry) = (demo(&[]), demo(&["--set", "board.loads.status-light.current=\"12 mA\""]));
    assert!(number(&hungry, "/life/days/p50") < number(&base, "/life/days/p50"));
    assert!(number(&hungry, "/per_day/energy_j") > number(&base, "/per_day/energy_j"));
    let calm = demo(&["--set", "usage.journeys.glance.per-day=0", "--set", "events.report.every=\"1 h\""]);
    assert!(number(&calm, "/per_day/partial") < number(&base, "/per_day/partial"));
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let once = || run(&["budget", "screens-demo", "--format", "json"]).stdout;
    assert_eq!(once(), once());
}

#[test]
fn an_update_is_the_sum_of_its_phases() {
    let shown = run(&["budget", "screens-demo", "--explain", "tonight"]);
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    for phase in
        ["wake", "render", "panel start", "buffer", "transfer", "booster on", "drive, full", "booster off", "total"]
    {
        assert!(shown.stdout.contains(phase), "{phase} in\n{}", shown.stdout);
    }
    let shown = run(&["budget", "screens-demo", "--explain", "tonight:posts"]);
    assert!(shown.stdout.contains("drive, partial"), "{}", shown.stdout);
    assert_eq!(run(&["budget", "screens-demo", "--explain", "tonigt"]).status, 2);
}

/// The typical device held its voltage while others of the thousand browned out, and only "enough" was said.
#[test]
fn devices_that_end_by_their_voltage_are_told_beside_the_verdict() {
    let spread = "battery.resistance={ min = \"0.1 Ohm\", typ = \"0.3 Ohm\", max = \"40 Ohm\" }".to_owned();
    let Ok(loaded) = inkjoule::project::load(std::path::Path::new("screens-demo"), &[spread]) else {
        panic!("it loads")
    };
    let budget = inkjoule::budget::summary::budget(&loaded.device);
    let (short, all) = budget.ended_by_voltage();
    assert!(short > 0 && all == 1000, "{short} of {all}");
    let of = inkjoule::answer::Content { files: &loaded.files, device: &loaded.device, budget: &budget };
    let text = inkjoule::answer::short(of, inkjoule::look::Look { width: 1_000, color: false });
    assert!(text.contains("3 V needed: NOT ENOUGH"), "the typical device holds, the weakest does not: {text}");
    let typical =
        inkjoule::budget::supply_corners::of(&loaded.device, &loaded.device.inputs.typical()).expect("supply corners");
    assert!(typical.worst.terminal.reaches(typical.needed));
    assert!(text.contains(&format!("{short} of 1000 random devices are limited by voltage")), "{text}");
}

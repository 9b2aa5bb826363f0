//! What a battery and a regulator cannot do together is said when the project is loaded, with place and remedy.

use crate::starter::{Project, run};

const RAIL: &str = "regulator = \"buck-boost\"\noutput = \"3.0 V\"";
const EFFICIENCY: &str = "efficiency = \"88 %\"\nmin-input = \"2.2 V\"\nmax-input = \"5.5 V\"";

/// Status and messages of a check of the starter with its only rail replaced.
fn rail(text: &str) -> (i32, String) {
    let project = Project::new();
    project.edit("device.toml", RAIL, text);
    project.edit("device.toml", EFFICIENCY, "");
    let shown = run(&["check", project.path()]);
    (shown.status, shown.stderr)
}

fn assert_says(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "expected {part:?} in:\n{text}");
    }
}

#[test]
fn a_linear_regulator_above_the_battery_can_never_work() {
    let (status, text) = rail("regulator = \"ldo\"\noutput = \"4.5 V\"\ndropout = \"100 mV\"");
    assert_eq!(status, 2);
    assert_says(
        &text,
        &[
            "device.toml:",
            "`main` can never be made from this battery",
            "it drops out",
            "to 4.1 V (full)",
            "buck-boost",
        ],
    );
}

#[test]
fn a_linear_regulator_that_drops_out_late_leaves_charge_unused() {
    let (status, text) = rail("regulator = \"ldo\"\noutput = \"3.6 V\"\ndropout = \"150 mV\"");
    assert_ne!(status, 2, "a warning only:\n{text}");
    // By hand: 3.75 V lies a quarter of the way from 30 % (3.74 V) to 40 % (3.78 V): 32.5 %. At 4.1 V the cell is 87.5 %
    // full, the reserve of 5 % of that is 4.375 %: (32.5 - 4.375) / (87.5 - 4.375) = 33.8 %.
    assert_says(
        &text,
        &["warning", "`main` stops working at 3.75 V and leaves 33.8 % of the usable charge", "the life ends there"],
    );
}

#[test]
fn a_step_down_below_its_output_and_a_step_up_above_it_are_told() {
    let switching = |rest: &str| rail(&format!("efficiency = \"90 %\"\n{rest}"));
    let (status, text) = switching("regulator = \"buck\"\noutput = \"4.5 V\"");
    assert_eq!(status, 2);
    assert_says(&text, &["can never be made", "a step-down regulator cannot make 4.5 V"]);
    let (status, text) = switching("regulator = \"buck\"\noutput = \"3.6 V\"");
    assert_ne!(status, 2);
    assert_says(&text, &["`main` stops working at 3.6 V", "of the usable charge"]);
    let (status, text) = switching("regulator = \"boost\"\noutput = \"3.3 V\"");
    assert_eq!(status, 2);
    assert_says(&text, &["cannot be made from the full battery", "its input must not exceed its output", "buck-boost"]);
    let (status, text) = switching("regulator = \"boost\"\noutput = \"5.0 V\"\nmin-input = \"4.3 V\"");
    assert_eq!(status, 2);
    assert_says(&text, &["can never be made", "needs at least 4.3 V"]);
}

#[test]
fn a_regulator_must_stand_the_full_battery_also_a_direct_rail() {
    let (status, text) =
        rail("regulator = \"buck-boost\"\noutput = \"3.0 V\"\nefficiency = \"90 %\"\nmax-input = \"3.7 V\"");
    assert_eq!(status, 2);
    assert_says(&text, &["is rated for at most", "use a regulator rated for 4.1 V"]);
    let (status, text) = rail("regulator = \"direct\"\nmax-input = \"3.7 V\"");
    assert_eq!(status, 2);
    assert_says(&text, &["is rated for at most"]);
    // Without limits of its own it gives the panel what the battery has.
    let (status, text) = rail("regulator = \"direct\"");
    assert_eq!(status, 2);
    assert_says(&text, &["the panel is rated for at most 3.6 V and the rail `main` has 4.1 V"]);
}

#[test]
fn a_float_voltage_outside_the_chemistrys_table_is_refused() {
    for volts in ["4.3 V", "3.5 V"] {
        let project = Project::new();
        project.edit(
            "device.toml",
            "from = \"lithium-ion-pouch\"",
            &format!("from = \"lithium-ion-pouch\"\ncharge-voltage = \"{volts}\""),
        );
        let shown = run(&["check", project.path()]);
        assert_eq!(shown.status, 2);
        assert_says(
            &shown.stderr,
            &["device.toml:", "cannot be charged to this voltage", volts, "from 3.9 V to 4.2 V"],
        );
    }
}

#[test]
fn partial_refreshes_counted_on_where_the_panel_has_none_are_refused() {
    let project = Project::new();
    project.edit("device.toml", "from = \"mono-296x128\"", "from = \"mono-296x128-full\"");
    let shown = run(&["check", project.path()]);
    assert_eq!(shown.status, 2, "{}", shown.stderr);
    let wanted = ["device.toml:70:", "no partial refresh", "max-partials = 10", "[panel.partial]", "max-partials = 0"];
    assert_says(&shown.stderr, &wanted);
    for instead in ["max-partials = 0", ""] {
        let project = Project::new();
        project.edit("device.toml", "from = \"mono-296x128\"", "from = \"mono-296x128-full\"");
        project.edit("device.toml", "max-partials = 10              # then one full refresh", instead);
        let shown = run(&["check", project.path()]);
        assert_ne!(shown.status, 2, "{}", shown.stderr);
        assert!(!shown.stderr.contains("no partial refresh"), "{}", shown.stderr);
    }
}

#[test]
fn efficiency_may_stand_over_current_and_input_voltage() {
    let table = |low: &str| {
        format!(
            "regulator = \"buck-boost\"\noutput = \"3.0 V\"\nmin-input = \"2.2 V\"\nefficiency = [\n\
             {{ at = \"10 uA\", input = \"3.0 V\", is = \"{low}\" }}, {{ at = \"10 mA\", input = \"3.0 V\", is = \"80 %\" }},\n\
             {{ at = \"10 uA\", input = \"4.2 V\", is = \"70 %\" }}, {{ at = \"10 mA\", input = \"4.2 V\", is = \"90 %\" }},\n]"
        )
    };
    let (status, text) = rail(&table("60 %"));
    assert_ne!(status, 2, "{text}");
    let (status, text) = rail(&table("160 %"));
    assert_eq!(status, 2);
    assert_says(&text, &["an efficiency lies above 0 % and at most at 100 %"]);
    let (status, text) = rail(&table("60 %").replace(", input = \"4.2 V\"", ""));
    assert_eq!(status, 2);
    assert_says(&text, &["either every row has its `input` voltage, or none"]);
    let (status, text) = rail(&table("60 %").replace("4.2 V", "2.5 V"));
    assert_eq!(status, 2);
    assert_says(&text, &["the rows must rise in `at`", "`input`"]);
}

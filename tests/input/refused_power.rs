//! What no power tree, battery or load can be is refused by `check`, at its place and with the remedy; nothing is printed
//! on standard output, and the exit status is 2.

use crate::starter::{Project, run};

/// What `check` says of the starter project with texts replaced, in one line; its exit status must be 2.
fn refused(changes: &[(&str, &str)]) -> String {
    let project = Project::new();
    changes.iter().for_each(|(from, to)| project.edit("device.toml", from, to));
    let shown = run(&["check", project.path()]);
    assert_eq!((shown.status, shown.stdout.as_str()), (2, ""), "{changes:?}: {}", shown.stderr);
    let lines = shown.stderr.lines().map(|line| line.trim().trim_start_matches("= "));
    lines.flat_map(|line| line.split_whitespace()).filter(|word| *word != "│").collect::<Vec<_>>().join(" ")
}

fn assert_refused(changes: &[(&str, &str)], says: &[&str]) {
    let said = refused(changes);
    says.iter().for_each(|says| assert!(said.contains(says), "{says:?} is not in: {said}"));
    assert!(said.contains("device.toml:"), "no place: {said}");
    assert!(said.contains("help:"), "no remedy: {said}");
}

/// More rails than one: each consumer names its own.
fn rails(rails: &str) -> Vec<(&str, &str)> {
    vec![
        ("[board.loads.gauge]", rails),
        ("[panel]", "[panel]\nrail = \"main\""),
        ("[board.mcu]", "[board.mcu]\nrail = \"main\""),
        ("[events.reading]", "[events.reading]\nrail = \"main\""),
    ]
}

#[test]
fn loops_in_the_tree() {
    let two = "[board.rails.a]\nsource = \"b\"\nregulator = \"load-switch\"\n[board.rails.b]\nsource = \"a\"\n\
               regulator = \"load-switch\"\n[board.loads.gauge]\nrail = \"main\"";
    let says = ["these rails feed one another: `a` from `b` from `a`", "let one of them be fed by the battery"];
    assert_refused(&rails(two), &says);
    let itself = "regulator = \"buck-boost\"\nsource = \"main\"";
    assert_refused(&[("regulator = \"buck-boost\"", itself)], &["these rails feed one another: `main` from `main`"]);
}

#[test]
fn a_rail_without_a_source() {
    let rail =
        "[board.rails.a]\nsource = \"nothing\"\nregulator = \"load-switch\"\n[board.loads.gauge]\nrail = \"main\"";
    let says = ["the rail `a` has no source: there is no rail `nothing`", "known here: a, main, battery, usb"];
    assert_refused(&rails(rail), &says);
}

#[test]
fn a_consumer_outside_its_window_at_every_charge() {
    let window = |window: &str| format!("[board.mcu]\nsupply = {window}");
    let low = window("{ min = \"3.2 V\", max = \"3.6 V\" }");
    let says =
        ["the microcontroller needs 3.2 V and the rail `main` has at most 3 V: it never works", "more cells in series"];
    assert_refused(&[("[board.mcu]", &low)], &says);
    let high = window("{ min = \"1.8 V\", max = \"2.9 V\" }");
    assert_refused(&[("[board.mcu]", &high)], &["is rated for at most 2.9 V", "a regulator of a lower output"]);
    let none = window("{ min = \"3 V\", max = \"2 V\" }");
    assert_refused(&[("[board.mcu]", &none)], &["no voltage lies in this supply window"]);
}

#[test]
fn a_charger_on_a_primary() {
    let charger =
        "[board.charger]\ncurrent = \"100 mA\"\ntermination-current = \"10 mA\"\ntemperature = \"20 °C\"\n[battery]";
    for primary in ["coin-20mm", "lithium-thionyl-half-aa", "lithium-iron-disulfide-2-aa", "alkaline-2-aaa"] {
        let battery = format!("from = \"{primary}\"");
        let says = ["the board has a charger, but the battery must never be charged", "leak, burn or burst"];
        assert_refused(&[("[battery]", charger), ("from = \"lithium-ion-pouch\"", &battery)], &says);
    }
}

#[test]
fn a_profile_without_end() {
    let step = "profile = [ { current = \"1 mA\", time = \"1 s\" } ]";
    assert_refused(&[("current = \"3 uA\"", step)], &["the profile of `gauge` has no end", "period = \"10 s\""]);
    let long = "period = \"1 s\"\nprofile = [ { current = \"1 mA\", time = \"2 s\" } ]";
    assert_refused(&[("current = \"3 uA\"", long)], &["takes 2 s and its period is 1 s", "write a longer period"]);
    let event = |profile: &str| format!("profile = {profile} #");
    let empty = event("[]");
    assert_refused(&[("charge = \"2 mC\"", &empty)], &["a profile has 1 to 64 steps"]);
    let still = event("[ { current = \"1 mA\", time = \"0 s\" } ]");
    assert_refused(&[("charge = \"2 mC\"", &still)], &["a step of a profile lasts longer than 0 s"]);
}

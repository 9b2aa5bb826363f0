//! `no-link-screen` fires where the device has a link, whether or not a screen shows its state; the unit of a value is
//! looked at in its own face.

use inkjoule::budget::summary::budget;
use inkjoule::check::check;
use inkjoule::project::load_files;
use inkjoule::source::files::Files;

fn found(root: &str, home: &str) -> Vec<(&'static str, String)> {
    let files = Files::from_memory([
        ("device.toml", root),
        ("screens/home.toml", home),
        (
            "screens/empty.toml",
            "role = \"battery-empty\"\ncontent = [ { text = \"Battery empty\", font = \"bold\" } ]\n",
        ),
    ]);
    let device = load_files(files).unwrap_or_else(|failed| panic!("{:#?}", failed.faults)).device;
    let findings = check(&inkjoule::lint::Subject::new(&device, vec![0]), &budget(&device));
    findings.into_iter().filter_map(|finding| Some((finding.fault.id?, finding.fault.message))).collect()
}

const ROOT: &str = include_str!("../../src/cli/starter/device.toml");
const HOME: &str = include_str!("../../src/cli/starter/home.toml");

#[test]
fn an_event_over_a_link_asks_for_a_screen() {
    let has = |found: &[(&str, String)]| found.iter().any(|(id, _)| *id == "no-link-screen");
    assert!(!has(&found(ROOT, HOME)));
    let linked = ROOT.replace("every = \"10 min\"", "every = \"10 min\"\nlink = true");
    assert_ne!(linked, ROOT);
    let findings = found(&linked, HOME);
    assert!(has(&findings) && findings.iter().any(|(_, message)| message.contains("`reading`")), "{findings:?}");
}

#[test]
fn a_unit_too_small_for_the_eye_is_found_beside_large_digits() {
    let home = |unit: bool| {
        format!("content = [ {{ value = \"level\", font = \"numerals\", unit-font = \"small\", unit = {unit} }} ]\n")
    };
    let far = ROOT.replace("viewing-distance = \"34 cm\"", "viewing-distance = \"60 cm\"");
    assert_ne!(far, ROOT);
    let small = |unit: bool| {
        found(&far, &home(unit)).iter().any(|(id, message)| *id == "small-text" && message.contains("font `small`"))
    };
    assert!(small(true) && !small(false));
}

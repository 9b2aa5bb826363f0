//! A deliberately faulty project: every lint finds something in it, and says it in the words of `faulty/findings.txt`.

use inkjoule::budget::summary::budget;
use inkjoule::check::check;
use inkjoule::lint::Finding;
use inkjoule::lint::picture::picture;
use inkjoule::project::{Loaded, load};
use inkjoule::source::fault::{self, Fault};
use inkjoule::source::levels::LINTS;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::OnceLock;

/// The project and what is found in it, looked for once.
fn faulty() -> &'static (Loaded, Vec<Finding>) {
    static FAULTY: OnceLock<(Loaded, Vec<Finding>)> = OnceLock::new();
    FAULTY.get_or_init(found)
}

fn found() -> (Loaded, Vec<Finding>) {
    let loaded = load(Path::new("tests/faulty"), &[]).unwrap_or_else(|failed| {
        panic!("{}", fault::render(&failed.faults, &failed.sources, false));
    });
    let locales = (0..loaded.device.locales.len()).collect();
    let mut findings: Vec<Finding> =
        loaded.warnings.iter().map(|fault| Finding { fault: fault.clone(), shown: None }).collect();
    findings.extend(check(&inkjoule::lint::Subject::new(&loaded.device, locales), &budget(&loaded.device)));
    (loaded, findings)
}

#[test]
fn every_lint_finds_something_once() {
    let (_, findings) = faulty();
    let mut counts: BTreeMap<&str, usize> = LINTS.iter().map(|lint| (lint.id, 0)).collect();
    for finding in findings {
        if let Some(count) = finding.fault.id.and_then(|id| counts.get_mut(id)) {
            *count += 1;
        }
    }
    // Of a panel without a controller: tests/budget/clocked.rs.
    assert_eq!(counts.remove("few-frames"), Some(0));
    let other: Vec<_> = counts.iter().filter(|(_, count)| **count != 1).collect();
    assert!(other.is_empty(), "not found exactly once: {other:?}");
}

/// ACCEPT=1 writes the text anew.
#[test]
fn findings_are_said_as_agreed() {
    let (loaded, findings) = faulty();
    let faults: Vec<Fault> = findings.iter().map(|finding| finding.fault.clone()).collect();
    let said = fault::render(&faults, &loaded.sources, false);
    let golden = Path::new("tests/faulty/findings.txt");
    if std::env::var_os("ACCEPT").is_some() {
        std::fs::write(golden, &said).unwrap();
    }
    let agreed = std::fs::read_to_string(golden).unwrap();
    let differing = agreed.lines().zip(said.lines()).find(|(agreed, said)| agreed != said);
    assert!(agreed == said, "first difference (agreed, said): {differing:?}\n\n{said}");
}

#[test]
fn levels_are_the_projects() {
    let changes = |change: &str| load(Path::new("tests/faulty"), &[change.to_owned()]);
    let off = changes("lints.unused-string=off").map_err(|failed| failed.faults).unwrap();
    assert!(off.warnings.iter().all(|fault| fault.id != Some("unused-string")));
    let failed = changes("lints.missing-string=error").map(|_| ()).unwrap_err();
    assert!(failed.faults.iter().any(|fault| fault.id == Some("missing-string") && fault.level == fault::Level::Error));
    let unknown = changes("lints.unused-strings=off").map(|_| ()).unwrap_err();
    let fault = unknown.faults.iter().find(|fault| fault.message.contains("there is no lint")).unwrap();
    assert_eq!(fault.help.as_deref(), Some("did you mean `unused-string`?"));
}

#[test]
fn a_finding_that_can_be_seen_is_drawn_in_grey_with_its_area_black() {
    let (loaded, findings) = faulty();
    let cut = findings.iter().find(|finding| finding.fault.id == Some("text-cut")).unwrap();
    let shown = cut.shown.as_ref().unwrap();
    let drawn = image::load_from_memory(&picture(&loaded.device, shown, "text-cut").unwrap()).unwrap().to_luma8();
    let area = shown.areas[0];
    let darkest = |x0: i32, y0: i32, w: u32, h: u32| {
        let (x0, y0) = (12 + 3 * x0 as u32, 12 + 3 * y0 as u32);
        (x0..x0 + 3 * w)
            .flat_map(|x| (y0..y0 + 3 * h).map(move |y| (x, y)))
            .map(|(x, y)| drawn.get_pixel(x, y).0[0])
            .min()
    };
    assert_eq!(darkest(area.top_left.x, area.top_left.y, area.size.width, area.size.height), Some(24));
    // The soft keys' labels are not concerned.
    assert_eq!(darkest(20, 115, 40, 12), Some(176));
}

/// What the program says of the project as SARIF, asked once.
fn sarif() -> &'static serde_json::Value {
    static LOG: OnceLock<serde_json::Value> = OnceLock::new();
    LOG.get_or_init(|| {
        let program = env!("CARGO_BIN_EXE_inkjoule");
        let output = std::process::Command::new(program).args(["check", "tests/faulty", "--format", "sarif"]).output();
        serde_json::from_slice(&output.expect("starts").stdout).expect("JSON")
    })
}

/// Each finding of the faulty project as SARIF: what its region marks, by file and line. A region that marks another key, or
/// lies beside its text, shows here. ACCEPT=1 writes the list again.
#[cfg(feature = "cli")]
#[test]
fn regions_mark_what_a_finding_is_about() {
    let log = sarif();
    let mut said = String::new();
    for result in log["runs"][0]["results"].as_array().expect("a list") {
        let id = result["ruleId"].as_str().expect("a rule");
        let place = &result["locations"][0]["physicalLocation"];
        let file = place["artifactLocation"]["uri"].as_str().unwrap_or_else(|| panic!("{id} has no place: {result}"));
        let whole = std::fs::read(file).unwrap_or_else(|why| panic!("{id}: {file}: {why}"));
        said += &format!("{id:20} {}", file.trim_start_matches("tests/faulty/"));
        if let Some(region) = place["region"].as_object() {
            let number = |key: &str| region[key].as_u64().expect("a number") as usize;
            let text = String::from_utf8(whole).expect("a text");
            let line: Vec<char> = text.lines().nth(number("startLine") - 1).expect("the line").chars().collect();
            let end = if number("endLine") > number("startLine") { line.len() } else { number("endColumn") - 1 };
            let marked: String = line[number("startColumn") - 1..end].iter().collect();
            said += &format!(":{}: {}", number("startLine"), if marked.is_empty() { "(the file)" } else { &marked });
        }
        said.push('\n');
    }
    let golden = Path::new("tests/faulty/regions.txt");
    if std::env::var_os("ACCEPT").is_some() {
        std::fs::write(golden, &said).unwrap();
    }
    let agreed = std::fs::read_to_string(golden).unwrap();
    let differing = agreed.lines().zip(said.lines()).find(|(agreed, said)| agreed != said);
    assert!(agreed == said, "first difference (agreed, said): {differing:?}\n\n{said}");
    // What is about a part of the design is at that part, not at the project as a whole.
    let at = |id: &str, part: &str| {
        assert!(said.lines().any(|line| line.starts_with(id) && line.contains(part)), "{id} is not at {part}:\n{said}");
    };
    at("pixel-shape", "device.toml:9: [\"46.1 mm\"");
    at("free-wake-ups", "[events.tick]");
    at("usb-load", "[board.loads.copier]");
    at("unused-asset", "icons/spare.pbm");
}

/// What SARIF says to do names keys as the files have them.
#[cfg(feature = "cli")]
#[test]
fn what_to_do_names_keys_that_there_are() {
    let log = sarif();
    let keys = inkjoule::guide::keys();
    let mut seen = 0;
    for rule in log["runs"][0]["tool"]["driver"]["rules"].as_array().expect("rules") {
        let help = rule["help"]["text"].as_str().expect("a text");
        let words = help.split([' ', ',', ';']).map(|word| word.trim_end_matches('.'));
        let tables = ["panel.", "board.", "battery.", "display.", "policy.", "usage."];
        for word in words.filter(|word| tables.iter().any(|table| word.starts_with(table))) {
            assert!(keys.contains(&format!("`{word}")), "{}: there is no key `{word}`", rule["id"]);
            seen += 1;
        }
    }
    assert!(seen >= 5, "{seen}");
}

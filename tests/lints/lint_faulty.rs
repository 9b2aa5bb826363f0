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

fn faulty() -> (Loaded, Vec<Finding>) {
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
    for finding in &findings {
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

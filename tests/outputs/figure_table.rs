//! Adding a figure is one line of the table: every output goes through it.

use crate::starter::run;
use inkjoule::answer::{self, Content, Section};
use inkjoule::budget::explain::explain;
use inkjoule::budget::figure::{Figure, Unit};
use inkjoule::budget::json;
use inkjoule::evaluation::Evaluation;
use inkjoule::figures::comparison::facts;
use inkjoule::look::Look;
use inkjoule::report;
use inkjoule::source::files::Files;
use std::collections::BTreeSet;
use std::path::Path;

/// Nothing but the line is needed: text, JSON, comparison and report show whatever the table has.
#[test]
fn a_line_of_the_table_is_enough_for_every_output() {
    for project in ["screens-demo", "tests/product"] {
        let side = Evaluation::of(project, Files::read(Path::new(project)).unwrap())
            .unwrap_or_else(|failed| panic!("{:?}", failed.faults));
        let of = Content { files: &side.files, device: &side.device, budget: &side.budget };
        let text = answer::sections(of, &[Section::Figures], Look { width: 400, color: false });
        let json = json::json(&side.device, &side.budget);
        let compared: BTreeSet<String> = facts(&side).into_iter().map(|fact| fact.key).collect();
        let page = report::inputs::section(&side).into_string();
        for figure in Figure::ALL {
            let (row, value) = (figure.row(), figure.value(&side.device, &side.budget));
            assert!(compared.contains(&figure.key()), "{}: comparison", row.name);
            let Some(value) = value else { continue };
            assert!(
                text.contains(row.title) && text.contains(&figure.text(&side.device, &side.budget)),
                "{}: text",
                row.name
            );
            let told = json.pointer(row.pointer).unwrap_or_else(|| panic!("{}: JSON", row.name));
            assert_eq!(told.as_f64(), Some(value), "{}: JSON", row.name);
            let whole = matches!(row.unit, Unit::Bytes | Unit::Count);
            assert_eq!(told.is_u64(), whole, "{}: bytes and counts are integers, others are not: {told}", row.name);
            assert!(page.contains(&format!("data-figure=\"{}\"", row.pointer)), "{}: report", row.name);
            let explained = explain(&side.device, &side.budget, row.name);
            let explained = explained.unwrap_or_else(|fault| panic!("{}: {}", row.name, fault.message));
            assert!(explained.results.contains(&(row.pointer, value)), "{}: explanation", row.name);
        }
    }
}

/// `sweep --figure` takes every name of the table, and each of its figures is there as a single run has it.
#[test]
fn a_sweep_takes_every_figure() {
    let names: Vec<&str> = Figure::ALL.iter().map(|figure| figure.row().name).collect();
    let range =
        ["sweep", "screens-demo", "battery.capacity", "--list", "250mAh,500mAh", "--format", "json", "--figure"];
    let shown = run(&[&range[..], &[names.join(",").as_str()]].concat());
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    let sweep: serde_json::Value = serde_json::from_str(&shown.stdout).unwrap();
    let run = run(&["budget", "screens-demo", "--set", "battery.capacity=500 mAh", "--format", "json"]);
    let budget: serde_json::Value = serde_json::from_str(&run.stdout).unwrap();
    for figure in Figure::ALL {
        let told = &sweep["rows"][1]["figures"][figure.key()];
        let told = if *figure == Figure::Life { &told["p50"] } else { told };
        let expected = budget.pointer(figure.row().pointer).and_then(serde_json::Value::as_f64);
        assert_eq!(told.as_f64(), expected, "{}", figure.row().name);
    }
}

/// Readers of a figure take it from the table: nobody else puts together the numbers behind one.
#[test]
fn nobody_else_calculates_a_figure() {
    let behind =
        ["counts.full + counts.partial", "charges.cycles()", "per_day(counts.full)", "per_day(counts.partial)"];
    let mut found = Vec::new();
    let mut folders = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("src")];
    while let Some(folder) = folders.pop() {
        for path in std::fs::read_dir(folder).unwrap().flatten().map(|entry| entry.path()) {
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let text = std::fs::read_to_string(&path).unwrap();
            let place = path.strip_prefix(env!("CARGO_MANIFEST_DIR")).unwrap().to_string_lossy().replace('\\', "/");
            let outside = !["src/simulate/", "src/budget/", "src/cost/"].iter().any(|folder| place.starts_with(folder));
            if outside && behind.iter().any(|words| text.contains(words)) {
                found.push(place);
            }
        }
    }
    assert!(found.is_empty(), "{found:?}");
}

/// A limit is a column of its figure: it is found where it is passed, and explanations and sweeps know it.
#[test]
fn a_limit_of_the_table_is_checked_and_told() {
    let stated = ["--set", "panel.residue=0.5 %"];
    let mut limits = 0;
    let shown = run(&[&["budget", "screens-demo", "--format", "json"][..], &stated].concat());
    let budget: serde_json::Value = serde_json::from_str(&shown.stdout).unwrap();
    for figure in Figure::ALL {
        let row = figure.row();
        let Some(limit) = row.limit else { continue };
        limits += 1;
        let value = budget.pointer(row.pointer).and_then(serde_json::Value::as_f64).unwrap();
        let passed = if *figure == Figure::Life { value * 2.0 } else { value / 2.0 };
        let set = format!("limits.{}={passed} {}", limit.key, row.unit.symbol());
        let arguments = |first: &[&str]| run(&[first, &stated, &["--set", set.trim()]].concat());
        let found = arguments(&["check", "screens-demo", "--format", "json"]);
        assert_eq!(found.status, 1, "{set}: {}", found.stderr);
        assert!(found.stdout.contains(&format!("\"{}\"", limit.lint.id)), "{set}: {}", found.stdout);
        let explained = arguments(&["budget", "screens-demo", "--explain", row.name]);
        let told = format!("limit {} ({})", row.unit.show(passed), row.name);
        let words = explained.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains(&told), "{told}: {}", explained.stdout);
    }
    assert_eq!(limits, 7);
}

//! The table of limits in src/limits.md is that of limits.rs, and drawing without end is refused before it begins.

use std::path::Path;
use std::process::Command;

/// The table as it must stand in the page: a row for each constant, from its doc comment and value.
fn table() -> String {
    let mut rows = "| limit | at most |\n|---|---|\n".to_owned();
    let mut meaning = String::new();
    for line in include_str!("../../src/limits.rs").lines() {
        if let Some(text) = line.strip_prefix("/// ") {
            meaning = format!("{meaning} {}", text.trim_end_matches('.')).trim().to_owned();
        } else if let Some(constant) = line.strip_prefix("pub const ") {
            let value = constant.split_once(" = ").expect("a value").1.trim_end_matches(';');
            rows += &format!("| {meaning} | {} |\n", shown(value));
            meaning.clear();
        }
    }
    rows
}

/// A value of Rust's as people write it: `16 << 20` as 16,777,216.
fn shown(value: &str) -> String {
    if let Some(times) = value.strip_prefix("[Seconds(").and_then(|rest| rest.strip_suffix(")]")) {
        let time = |text: &str| {
            let seconds: f64 =
                text.split('*').map(|part| part.trim().replace('_', "").parse::<f64>().expect("a number")).product();
            if seconds >= 86_400.0 { format!("{} days", seconds / 86_400.0) } else { format!("{seconds} s") }
        };
        let (least, most) = times.split_once("), Seconds(").expect("two times");
        return format!("{} to {}", time(least), time(most));
    }
    let number = |text: &str| text.trim().replace('_', "").parse::<u64>().expect("a plain number");
    let value = match value.split_once("<<") {
        Some((number_of, places)) => number(number_of) << number(places),
        None => number(value),
    };
    let digits = value.to_string();
    let groups: Vec<&str> =
        digits.as_bytes().rchunks(3).rev().filter_map(|three| std::str::from_utf8(three).ok()).collect();
    groups.join(",")
}

#[test]
fn numbers_are_shown_as_people_write_them() {
    assert_eq!(["16", "5_000", "16 << 20"].map(shown), ["16", "5,000", "16,777,216"]);
}

#[test]
fn the_page_has_every_limit() {
    let (page, table) = (include_str!("../../src/limits.md"), table());
    assert!(table.lines().count() > 20, "{table}");
    assert!(page.contains(&table), "src/limits.md needs this table:\n{table}");
}

/// A project on the largest panel, with this many screens.
fn large(folder: &Path, screens: usize) {
    let device = include_str!("../../src/cli/starter/device.toml");
    let device = device.replacen("[panel]", "[panel]\npixels = [4096, 4096]\nactive = [\"90 mm\", \"90 mm\"]", 1);
    std::fs::create_dir_all(folder.join("screens")).unwrap();
    std::fs::write(folder.join("device.toml"), device).unwrap();
    let names = ["home", "empty"].map(str::to_owned).into_iter().chain((2..screens).map(|n| format!("s{n}")));
    for name in names {
        std::fs::write(folder.join(format!("screens/{name}.toml")), "content = [ { text = \"A\" } ]\n").unwrap();
    }
}

#[test]
fn more_pixels_than_a_run_draws_are_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let (project, out) = (folder.path().join("project"), folder.path().join("out"));
    large(&project, 129);
    for verb in [&["render"] as &[&str], &["render", "--screen", "home", "--scale", "16"], &["export", "--to", "c"]] {
        let output = Command::new(env!("CARGO_BIN_EXE_inkjoule"))
            .arg(verb[0])
            .arg(&project)
            .args(&verb[1..])
            .arg("--out")
            .arg(&out)
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{verb:?}: {said}");
        assert!(said.contains("one run draws at most 2147483648"), "{verb:?}: {said}");
        assert!(!out.exists(), "{verb:?}");
    }
}

#[test]
fn a_sweep_of_too_many_values_or_combinations_is_refused() {
    let said = |more: &[&str]| {
        let sweep = ["sweep", "screens-demo", "policy.max-partials", "2..2000"];
        let output = Command::new(env!("CARGO_BIN_EXE_inkjoule")).args(sweep).args(more).output().unwrap();
        assert_eq!(output.status.code(), Some(2));
        String::from_utf8_lossy(&output.stderr).into_owned()
    };
    assert!(said(&["--steps", "1001"]).contains("2 to 1000"), "{}", said(&["--steps", "1001"]));
    let both = ["--steps", "1000", "--and", "usage.seed", "1,2,3,4,5,6,7,8,9,10,11"];
    assert!(said(&both).contains("at most 10000"), "{}", said(&both));
}

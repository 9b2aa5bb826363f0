//! What is printed fits the terminal: no line of findings, explanations, tables or pages of the guide is wider than it, save
//! lines of the project's own files, code and names that have no place to be parted.

use crate::starter::{Project, Shown, kept_within, run_within};

/// Lines that are too wide, quoted source and its marks left out.
fn wide(shown: &Shown, columns: usize) -> Vec<String> {
    let text = format!("{}\n{}", shown.stdout, shown.stderr);
    let quoted = |line: &str| line.contains('│') || line.contains('┌') || line.contains('^');
    let fits = |line: &str| line.chars().count() <= columns || quoted(line) || !line.trim().contains(' ');
    text.lines().filter(|line| !fits(line)).map(str::to_owned).collect()
}

#[test]
fn lines_fit_eighty_columns() {
    for arguments in [
        &["check", "screens-demo"][..],
        &["check", "tests/faulty"],
        &["check", "screens-demo", "--lints"],
        &["budget", "screens-demo", "--all"],
        &["budget", "screens-demo"],
        &["profiles"],
        &["profiles", "nope"],
        &["fonts", "screens-demo"],
        &["budget", "screens-demo", "--explain", "day"],
        &["budget", "screens-demo", "--explain", "life"],
        &["budget", "screens-demo", "--explain", "latency"],
        &["budget", "screens-demo", "--explain", "home"],
        &["check", "tests/product"],
        &["budget", "tests/product", "--section", "transitions"],
        &["compare", "screens-demo", "tests/product"],
        &["compare", "screens-demo", "--panel", "mono-296x128-full"],
        &["trace", "screens-demo/traces/bench-current.csv", "--against", "screens-demo", "--temperature", "22 °C"],
        &["sweep", "screens-demo", "policy.max-partials", "2..6", "--steps", "2"],
        &["help"],
        &["guide"],
    ] {
        let shown = kept_within(80, arguments);
        let wide = wide(&shown, 80);
        assert!(wide.is_empty(), "{arguments:?}:\n{}", wide.join("\n"));
    }
}

/// Names of fonts once read `condense` over `d`, phases of a trace `transf` over `er`, a window `0 0 296 1` over `28`.
#[test]
fn no_table_breaks_a_word() {
    let words = |arguments: &[&str], columns: usize| -> std::collections::BTreeSet<String> {
        kept_within(columns, arguments).stdout.split_whitespace().map(str::to_owned).collect()
    };
    for arguments in [
        &["fonts", "screens-demo"][..],
        &["profiles"],
        &["budget", "screens-demo", "--all"],
        &["compare", "screens-demo", "tests/product"],
        &["trace", "screens-demo/traces/bench-current.csv", "--against", "screens-demo", "--temperature", "22 °C"],
    ] {
        let wide = words(arguments, 120);
        let broken: Vec<String> = words(arguments, 80).into_iter().filter(|word| !wide.contains(word)).collect();
        // A rule under a heading is as long as its table.
        let broken: Vec<&String> = broken.iter().filter(|word| !word.starts_with("--")).collect();
        assert!(broken.is_empty(), "{arguments:?}: {broken:?}");
    }
}

#[test]
fn what_is_the_same_stands_once() {
    // Drawn by code of its own each screen takes as long; by the exported machine as long as its operations.
    let own = ["--set", "board.mcu.cycles-per-pixel=18"];
    let asked = ["budget", "screens-demo", "--section", "screens", "--section", "transitions"];
    let shown = run_within(100, &[&asked[..], &own].concat()).stdout;
    assert!(shown.contains("each: latency 4.48 s, energy 75.1 mJ"), "{shown}");
    assert_eq!(shown.matches("event frost").count(), 2, "once for all screens, once for `alarm` itself: {shown}");
    let day = run_within(100, &["budget", "screens-demo", "--section", "day"]).stdout;
    assert!(day.contains("Not shown in 7 days: confirm, empty"), "{day}");
}

/// A rate of 0.429 a day over seven days is three times.
#[test]
fn what_is_rare_is_counted_in_a_comparison_too() {
    let shown = run_within(100, &["compare", "screens-demo", "tests/product"]).stdout;
    assert!(shown.contains("3 in 7 days") && !shown.contains("0.429"), "{shown}");
    assert!(shown.contains("other size (16 images): alarm, "), "{shown}");
    // Beside a panel that lasts for decades, lives of 1.5 and 3 years were once `2 years` and `3 years`.
    let life = shown.lines().find(|line| line.contains("median (P50)")).expect("a row");
    assert_eq!(life.matches(" years").count(), 2, "{life}");
    assert!(
        life.split(" years").take(2).all(|part| part.rsplit(' ').next().is_some_and(|number| number.contains('.'))),
        "{life}"
    );
}

#[test]
fn errors_about_one_limit_are_folded() {
    let arguments = ["check", "screens-demo", "--set", "limits.latency=\"200 ms\""];
    let shown = run_within(100, &arguments);
    let count = |text: &str| shown.stderr.matches(text).count();
    assert_eq!(count("error[limit-latency]"), 2, "{}", shown.stderr);
    assert_eq!((count("more of `limit-latency`"), shown.status), (1, 1), "{}", shown.stderr);
    let all = run_within(100, &[&arguments[..], &["--all"]].concat());
    assert!(all.stderr.matches("error[limit-latency]").count() > 3, "{}", all.stderr);
}

#[test]
fn a_unit_at_fault_is_told_alone() {
    let project = Project::new();
    let text = std::fs::read_to_string(project.folder().join("device.toml")).expect("the file is there");
    project.write("device.toml", format!("{text}\n[events.report]\nevery = \"5 m\"\n").as_bytes());
    let said = run_within(100, &["check", project.path()]).stderr;
    assert!(said.contains("is not one of its units") && !said.contains("exactly one of"), "{said}");
}

#[test]
fn a_folder_that_is_not_there_is_named() {
    assert!(run_within(100, &["fonts", "nope"]).stderr.contains("no such project folder: nope"));
}

//! The report's figures against the budget's JSON: the same values, and texts that say them.

use crate::starter::{CHANGE, Project, changed_report, demo_report, report, run};
use inkjoule::evaluation::Evaluation;
use inkjoule::project::set;
use inkjoule::report::summary;
use inkjoule::source::files::Files;
use serde_json::Value;
use std::path::Path;

/// A figure of the page: its pointer, its bare value, its text.
struct Figure {
    pointer: String,
    value: f64,
    text: String,
}

fn unescaped(text: &str) -> String {
    text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
}

fn budget(project: &str, extra: &[&str]) -> Value {
    let shown = run(&[&["budget", project, "--format", "json"], extra].concat());
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    serde_json::from_str(&shown.stdout).expect("JSON")
}

fn figures(html: &str) -> Vec<Figure> {
    let figure = |part: &str| {
        let (value, rest) = part.split_once("\" data-figure=\"").expect("a pointer");
        let (pointer, rest) = rest.split_once("\">").expect("a text");
        let (text, _) = rest.split_once("</data>").expect("an end");
        Figure { pointer: unescaped(pointer), value: value.parse().expect("a number"), text: unescaped(text) }
    };
    html.split("<data value=\"").skip(1).map(figure).collect()
}

/// The number that a text says, in the JSON's unit, and half of its last decimal: in a column all have as many.
fn said(pointer: &str, text: &str) -> [f64; 2] {
    let (shown, unit) = text.split_once('\u{a0}').unwrap_or((text, ""));
    let plain = shown.replace('−', "-").replace(['+', ',', '<'], "");
    let number: f64 = plain.parse().expect(text);
    let rare = unit.strip_prefix("in\u{a0}").and_then(|rest| rest.strip_suffix("\u{a0}days"));
    if let Some(days) = rare {
        return [number / days.parse::<f64>().expect(text), 0.0];
    }
    let decimals = plain.split_once('.').map_or(0, |(_, decimals)| decimals.len() as i32);
    let factor = factor(pointer, text, unit);
    [number * factor, if decimals > 0 { 0.5 * 0.1_f64.powi(decimals) * factor } else { 0.0 }]
}

/// What one of a text's unit is in the JSON's.
fn factor(pointer: &str, text: &str, unit: &str) -> f64 {
    let days = pointer.starts_with("/life/days");
    match unit {
        "d" | "years" if pointer.ends_with("aged_s") => {
            if unit == "d" {
                86_400.0
            } else {
                365.25 * 86_400.0
            }
        }
        "" | "J" | "s" | "V" | "B" | "days" | "A" | "Ω" | "°C" => 1.0,
        "mJ" | "ms" | "mV" | "mA" | "mΩ" | "mW" => 1e-3,
        "µJ" | "µs" | "µA" | "µW" => 1e-6,
        "µAh" => 3.6e-3,
        "mAh" => 3.6,
        "min" => 60.0,
        "h" if days => 1.0 / 24.0,
        "h" => 3600.0,
        "years" => 365.25,
        "%" if pointer.contains("elasticity") => 1.0,
        "%" => 0.01,
        other => panic!("{pointer}: unit {other:?} in {text:?}"),
    }
}

fn agree(html: &str, json: &Value) -> Vec<String> {
    let figures = figures(html);
    for Figure { pointer, value, text } in &figures {
        let expected = json.pointer(pointer).and_then(Value::as_f64);
        // The JSON reader of this test may be off by the last bit; the browser test compares exactly.
        let same = expected.is_some_and(|expected| (value - expected).abs() <= 4.0 * f64::EPSILON * expected.abs());
        assert!(same, "{pointer} is {expected:?}, in the page {value}");
        let [said, last] = said(pointer, text);
        let room = (0.006 * value.abs()).max(1.001 * last);
        let close = if text.starts_with('<') { value.abs() < said } else { (said - value).abs() <= room };
        assert!(close, "{pointer} is {value}, the page says {text:?}");
    }
    figures.into_iter().map(|figure| figure.pointer).collect()
}

/// Pointers to every number below a place of the JSON.
fn numbers(value: &Value, at: &str, found: &mut Vec<String>) {
    match value {
        Value::Number(_) => found.push(at.to_owned()),
        Value::Array(all) => {
            all.iter().enumerate().for_each(|(index, one)| numbers(one, &format!("{at}/{index}"), found))
        }
        Value::Object(all) => all
            .iter()
            .for_each(|(key, one)| numbers(one, &format!("{at}/{}", key.replace('~', "~0").replace('/', "~1")), found)),
        _ => {}
    }
}

#[test]
fn the_demos_figures_are_the_budgets_and_none_is_left_out() {
    let json = budget("screens-demo", &[]);
    let shown = agree(demo_report(), &json);
    let mut wanted = Vec::new();
    for part in ["screens", "memory", "policy", "life", "battery", "per_day", "use"] {
        numbers(&json[part], &format!("/{part}"), &mut wanted);
    }
    for (index, _) in json["transitions"].as_array().expect("a list").iter().enumerate() {
        wanted.extend(["changed_px", "latency_s", "energy_j"].map(|key| format!("/transitions/{index}/{key}")));
    }
    let missing: Vec<&String> = wanted.iter().filter(|pointer| !shown.contains(pointer)).collect();
    assert!(missing.is_empty(), "not in the report: {missing:?}");
}

#[test]
fn a_changed_project_is_reported_as_it_was_changed() {
    let html = changed_report();
    agree(html, &budget("screens-demo", &CHANGE));
    assert!(html.contains("Not the project as it stands"), "the change is named");
}

#[test]
fn the_starter_project_has_a_report() {
    let project = Project::new();
    agree(&report(project.path(), &[]), &budget(project.path(), &[]));
}

/// The changes that the page proposes, as arguments.
fn proposed(html: &str) -> Vec<String> {
    let parts = html.split("<code>--set ").skip(1).filter_map(|part| part.split_once("</code>"));
    parts
        .map(|(set, _)| {
            let set = unescaped(set);
            let (path, value) = set.split_once('=').expect("path=value");
            let quote = value.chars().next().expect("a quote");
            format!("{path}={}", value.trim_matches(quote))
        })
        .collect()
}

#[test]
fn proposed_changes_lengthen_the_life_in_their_order() {
    let life = |json: &Value| json.pointer("/life/days/p50").and_then(Value::as_f64).expect("a life");
    let now = life(&budget("screens-demo", &[]));
    let lives: Vec<f64> =
        proposed(demo_report()).iter().map(|change| life(&budget("screens-demo", &["--set", change]))).collect();
    assert_eq!(lives.len(), 3);
    // The budget draws devices from their spread and the page compares typical ones, so that near gains may change places.
    assert!(lives.iter().all(|life| *life > now), "{now} {lives:?}");
    assert!(lives.windows(2).all(|pair| pair[0] > pair[1] * 0.99), "{lives:?}");
}

#[test]
fn a_costly_light_is_named_before_the_screen() {
    // A light that is always on, also with a low battery, takes more than anything the screen does.
    let mut files = Files::read(Path::new("screens-demo")).expect("the demo's files");
    for change in ["board.loads.status-light.period=12 ms", "board.loads.status-light.while.from=0"] {
        set::apply(&mut files, change).expect("a change");
    }
    let side = Evaluation::of("lit", files).unwrap_or_else(|failed| panic!("{:?}", failed.faults));
    let html = summary::in_words(&side).into_string();
    assert!(
        html.contains("The status light alone costs more than all refreshes of the screen."),
        "said in plain words"
    );
    assert!(proposed(&html)[0].starts_with("board.loads.status-light.period="), "{:?}", proposed(&html));
}

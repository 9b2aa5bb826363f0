//! Bytes as names and texts of a project: whatever they are, outputs for other programs are read back by these as they
//! were meant, and no character in them steers a terminal.

use super::BOARD;
use inkjoule::budget::json::json;
use inkjoule::evaluation::Evaluation;
use inkjoule::project::ProjectFault;
use inkjoule::sarif::{Entry, Folder, Run, document};
use inkjoule::source::fault::Fault;
use inkjoule::source::files::Files;
use inkjoule::source::levels::Levels;
use inkjoule::source::spans::Sources;
use inkjoule::visible::{in_json, steers};
use serde_json::Value;
use std::path::Path;

const SUPPLY: &str = "[board.rails.main]\nregulator = \"ldo\"\noutput = \"3 V\"\ndropout = \"100 mV\"\n\
                      [battery]\nfrom = \"lithium-ion-pouch\"\n";

/// A text as TOML writes it.
fn quoted(text: &str) -> String {
    text.chars().fold("\"".to_owned(), |text, character| match character {
        '"' | '\\' => format!("{text}\\{character}"),
        _ if character.is_control() => format!("{text}\\u{:04x}", character as u32),
        _ => format!("{text}{character}"),
    }) + "\""
}

/// The bytes as three texts: the product's name, a load's, an event's. What is refused is told in SARIF too.
pub fn names(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    let mut texts = text.splitn(3, '\n');
    let mut next = || quoted(texts.next().unwrap_or("x"));
    let (product, load, event) = (next(), next(), next());
    let root = format!(
        "name = {product}\n{BOARD}{SUPPLY}[board.loads.{load}]\nrail = \"main\"\ncurrent = \"5 uA\"\n\
         [events.{event}]\nper-day = 5\ncharge = \"2 mC\"\n"
    );
    let screen = format!("content = [ {{ text = {event} }} ]\n");
    match Evaluation::of("fuzz", Files::from_memory([("device.toml", root), ("screens/a.toml", screen)])) {
        Ok(of) => {
            let told = json(&of.device, &of.budget);
            assert_eq!(told["project"], *of.device.name);
            plain(&told);
            let entries: Vec<Entry<'_>> =
                of.findings.iter().map(|finding| Entry { fault: &finding.fault, shown: None }).collect();
            findings(&entries, &of.sources, &of.device.levels);
        }
        Err(failed) => refused(&failed),
    }
}

fn refused(failed: &ProjectFault) {
    assert!(!failed.faults.is_empty(), "a project that is refused without a word");
    let entries: Vec<Entry<'_>> = failed.faults.iter().map(|fault: &Fault| Entry { fault, shown: None }).collect();
    findings(&entries, &failed.sources, &Levels::default());
}

fn findings(entries: &[Entry<'_>], sources: &Sources, levels: &Levels) {
    let here = Path::new("/work");
    let run = Run { entries, sources, levels, folder: Folder::of(Path::new("project"), here), status: 2 };
    let told = document(&run);
    plain(&told);
    let results = told["runs"][0]["results"].as_array().expect("results");
    assert_eq!(results.len(), entries.len());
    for (result, entry) in results.iter().zip(entries) {
        assert!(result["message"]["text"].as_str().is_some_and(|text| !text.is_empty()), "{}", entry.fault.message);
        let region = &result["locations"][0]["physicalLocation"]["region"];
        if let Some(start) = region["startLine"].as_u64() {
            // Lines and columns count from 1 (SARIF 2.1.0, 3.30.5 and 3.30.6); an end is not before its start.
            let end = region["endLine"].as_u64().unwrap_or(start);
            assert!(start >= 1 && end >= start, "{region}");
            assert!(region["startColumn"].as_u64().is_none_or(|column| column >= 1), "{region}");
        }
    }
}

/// Whether two documents say the same, numbers to their last digits.
fn alike(one: &Value, other: &Value) -> bool {
    match (one, other) {
        (Value::Number(one), Value::Number(other)) => {
            let (one, other) = (one.as_f64().expect("a number"), other.as_f64().expect("a number"));
            (one - other).abs() <= other.abs() * 1e-14
        }
        (Value::Array(one), Value::Array(other)) => {
            one.len() == other.len() && one.iter().zip(other).all(|(one, other)| alike(one, other))
        }
        (Value::Object(one), Value::Object(other)) => {
            let pairs = || one.iter().zip(other);
            one.len() == other.len() && pairs().all(|(one, other)| one.0 == other.0 && alike(one.1, other.1))
        }
        _ => one == other,
    }
}

/// Read back it is the same, and nothing in it steers.
fn plain(told: &Value) {
    let text = in_json(&format!("{told:#}\n")).into_owned();
    let again: Value = serde_json::from_str(&text).expect("JSON");
    assert!(alike(&again, told), "{again}\n{told}");
    assert!(!text.chars().any(|character| steers(character) && character != '\n'), "{text:?}");
}

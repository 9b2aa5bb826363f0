//! Text made to do harm: writing that is not supported, parts that hold themselves or multiply, endless nesting, very
//! many elements.
//!
//! What is supported: left to right, one glyph a character, no shaping. See `src/resolve/script.rs`.

use inkjoule::lint::{Subject, findings};
use inkjoule::project::{Loaded, load_files};
use inkjoule::source::fault::Fault;
use inkjoule::source::files::Files;
use std::time::{Duration, Instant};

const DEVICE: &str = include_str!("../../src/cli/starter/device.toml");

fn load(files: &[(&str, String)]) -> Result<Loaded, Vec<Fault>> {
    let device = [("device.toml".to_owned(), DEVICE.to_owned())];
    let others = files.iter().map(|(name, text)| (name.to_string(), text.clone()));
    load_files(Files::from_memory(device.into_iter().chain(others))).map_err(|failed| failed.faults)
}

fn messages(files: &[(&str, String)]) -> String {
    let faults = load(files).map(|loaded| loaded.warnings).unwrap_or_else(|faults| faults);
    faults.iter().map(|fault| format!("{}: {}\n", fault.id.unwrap_or(""), fault.message)).collect()
}

fn home(content: &str) -> (&'static str, String) {
    ("screens/home.toml", format!("content = [ {content} ]\n"))
}

#[test]
fn writing_that_is_not_supported_is_named() {
    let text = |words: &str| messages(&[home(&format!("{{ text = \"{words}\" }}"))]);
    assert!(text("bell\\u0007").contains("text-control: U+0007"), "{}", text("bell\\u0007"));
    assert!(text("a\\u202Eb").contains("text-control: U+202E"));
    assert!(text("שלום").contains("text-direction: U+05E9"));
    assert!(text("e\\u0301").contains("text-shaping: U+0301"));
    assert_eq!(text("Zażółć gęślą jaźń"), "");
}

#[test]
fn strings_of_a_locale_are_looked_at_where_they_stand() {
    let files = [home("{ text = \"@hello\" }"), ("strings/xx.toml", "hello = \"سلام\"\n".into())];
    let faults = load(&files).map(|_| ()).unwrap_err();
    let fault = faults.iter().find(|fault| fault.id == Some("text-direction")).unwrap();
    assert!(fault.span.clone().unwrap().start > DEVICE.len(), "the place is in the strings' file");
}

#[test]
fn a_very_long_text_is_refused() {
    let said = messages(&[home(&format!("{{ text = \"{}\" }}", "x".repeat(100_000)))]);
    assert!(said.contains("100000 bytes; at most"), "{said}");
}

#[test]
fn a_part_that_holds_itself_is_named() {
    let files = [
        home("{ part = \"a\" }"),
        ("parts/a.toml", "content = [ { part = \"b\" } ]\n".into()),
        ("parts/b.toml", "content = [ { part = \"a\" }, { part = \"a\" } ]\n".into()),
    ];
    assert!(messages(&files).contains("the part `a` holds itself"), "{}", messages(&files));
}

#[test]
fn parts_that_multiply_end_at_the_limit() {
    let mut files = vec![home("{ part = \"p0\" }")];
    let names: Vec<String> = (0..20).map(|n| format!("parts/p{n}.toml")).collect();
    for (n, name) in names.iter().enumerate() {
        let next = if n == 19 { "{ line = 1 }".to_owned() } else { format!("{{ part = \"p{}\" }}", n + 1) };
        files.push((name.as_str(), format!("content = [ {next}, {next}, {next} ]\n")));
    }
    let start = Instant::now();
    assert!(messages(&files).contains("at most 20000 elements"));
    assert!(start.elapsed() < Duration::from_secs(60), "{:?}", start.elapsed());
}

#[test]
fn endless_nesting_is_an_error_and_no_overflow() {
    for depth in [30, 1_000, 200_000] {
        let text = format!("{}{{ line = 1 }}{}", "{ row = [ ".repeat(depth), " ] }".repeat(depth));
        assert!(!messages(&[home(&text)]).is_empty(), "{depth} deep");
    }
    assert!(!messages(&[("screens/home.toml", format!("content = {}", "[".repeat(500_000)))]).is_empty());
    assert!(!messages(&[("screens/home.toml", format!("{} = 1\ncontent = []", ["a"; 100_000].join(".")))]).is_empty());
}

/// Ten thousand elements over one another: the worst there is for the search for overlaps. How the work grows with them,
/// `tests/faults/growth.sh` counts.
#[test]
fn ten_thousand_elements_are_checked_and_few_of_their_findings_kept() {
    let heap = "{ text = \"{taken}\", at = [10, 10], size = [60, 16] }, ".repeat(10_000);
    let loaded = load(&[home(&heap)]).unwrap();
    let findings = findings(&Subject::new(&loaded.device, vec![0]));
    assert!(findings.iter().any(|finding| finding.fault.id == Some("overlap")));
    // A thousand of a kind are kept; what is printed of them is folded and counted.
    assert!(findings.len() <= 1_100, "{} findings are kept", findings.len());
}

#[test]
fn more_elements_than_the_limit_are_refused() {
    let said = messages(&[home(&"{ line = 1 }, ".repeat(30_000))]);
    assert_eq!(said.matches("at most 20000 elements").count(), 1, "{said}");
}

#[test]
fn what_is_not_utf8_is_an_error() {
    let files = Files::from_memory([
        ("device.toml", DEVICE.as_bytes().to_vec()),
        ("screens/home.toml", b"title = \"\xff\xfe\"\n".to_vec()),
    ]);
    let failed = load_files(files).map(|_| ()).unwrap_err();
    assert!(failed.faults.iter().any(|fault| fault.message.contains("not UTF-8")));
}

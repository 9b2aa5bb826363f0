//! Errors are few kinds that implement `std::error::Error`; no function fails with a bare sentence.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

fn sources(folder: &Path, all: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("the folder is there").flatten() {
        let path = entry.path();
        if path.is_dir() {
            sources(&path, all);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            all.push(path);
        }
    }
}

fn texts() -> Vec<(PathBuf, String)> {
    let mut all = Vec::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut all);
    all.into_iter().map(|path| (path.clone(), std::fs::read_to_string(path).expect("UTF-8"))).collect()
}

/// The second parameter of every `Result` with two, as written.
fn errors(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (start, _) in text.match_indices("Result<") {
        let (mut depth, mut second) = (0, None);
        for (at, letter) in text[start + 7..].char_indices() {
            match letter {
                '<' | '(' | '[' => depth += 1,
                '>' if depth == 0 => {
                    found.extend(second.map(|from: usize| text[start + 7 + from..start + 7 + at].trim().to_owned()));
                    break;
                }
                '>' if text[..start + 7 + at].ends_with('-') => {}
                '>' | ')' | ']' => depth -= 1,
                ',' if depth == 0 => second = Some(at + 1),
                _ => {}
            }
        }
    }
    found
}

#[test]
fn parameters_of_results_are_found() {
    assert_eq!(
        errors("-> Result<Vec<(u8, Q)>, String> { a: Result<(), Box<ProjectFault>> }"),
        ["String", "Box<ProjectFault>"]
    );
}

#[test]
fn nothing_fails_with_a_bare_sentence() {
    let bare = |error: &String| ["String", "&str", "&'static str", "()"].contains(&error.as_str());
    let mut found = Vec::new();
    for (path, text) in texts() {
        let text = text.split("#[cfg(test)]\nmod tests").next().unwrap_or_default();
        let count = errors(text).iter().filter(|error| *error == "String").count();
        if count > 0 || text.contains("type Error = String") {
            found.push(path);
        }
        let public = text.split("pub fn ").skip(1).filter_map(|rest| rest.split_once(" {")).map(|(head, _)| head);
        for head in public {
            assert!(!errors(head).iter().any(bare), "{head}");
        }
    }
    assert!(found.is_empty(), "{found:?}");
}

#[test]
fn every_fault_is_an_error() {
    let mut named = BTreeSet::new();
    let mut errors = BTreeSet::new();
    for (_, text) in texts() {
        for line in text.lines() {
            for kind in ["pub enum ", "pub struct "] {
                let name = line.strip_prefix(kind).map(|rest| rest.split(|c: char| !c.is_alphanumeric()).next());
                named.extend(name.flatten().filter(|name| name.ends_with("Fault")).map(str::to_owned));
            }
            if let Some((_, name)) = line.split_once("std::error::Error for ") {
                errors.insert(name.split(|c: char| !c.is_alphanumeric()).next().expect("a name").to_owned());
            }
        }
    }
    // A name stands for one kind.
    assert!(named.len() >= 8 && named.is_subset(&errors), "without: {:?}", named.difference(&errors));
}

/// What a check or an output does to an element follows from its operations and its nature, not from the name of its kind.
#[test]
fn nobody_asks_an_element_for_the_name_of_its_kind() {
    let asks = |text: &str| {
        let test = text.split("#[cfg(test)]\nmod tests").next().unwrap_or_default();
        test.contains(".kind == \"") || test.contains("item.kind, \"") || test.contains("match item.kind")
    };
    let found: Vec<PathBuf> = texts().into_iter().filter(|(_, text)| asks(text)).map(|(path, _)| path).collect();
    assert!(found.is_empty(), "{found:?}");
}

/// One word for it.
#[test]
fn nothing_is_reckoned() {
    let found: Vec<PathBuf> =
        texts().into_iter().filter(|(_, text)| text.to_lowercase().contains("reckon")).map(|(path, _)| path).collect();
    assert!(found.is_empty(), "{found:?}");
}

/// Every error is called a fault: `LifeFault`, `PackFault`.
#[test]
fn errors_have_names_of_one_style() {
    let mut names = Vec::new();
    for (path, text) in texts() {
        for rest in text.split("std::error::Error for ").skip(1).chain(text.split(" Error for ").skip(1)) {
            let name = rest.split(|letter: char| !letter.is_alphanumeric()).next().unwrap_or_default();
            assert!(name.ends_with("Fault"), "{name} in {}", path.display());
            names.push(name.to_owned());
        }
    }
    assert!(names.len() >= 12, "{names:?}");
}

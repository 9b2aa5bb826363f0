//! The house: modules stand on floors and import from their own floor or from floors below, never from above; and no
//! circle of modules imports one another.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// The floors from the ground up; modules of one floor may import one another, but not in a circle.
const FLOORS: &[&[&str]] = &[
    &["units", "limits", "random", "table", "look", "visible", "frame", "parameters", "plot", "cell"],
    &["source"],
    &["hardware"],
    &["screen"],
    &["assets"],
    &["behaviour"],
    &["elements"],
    &["device"],
    &["refresh"],
    &["machine"],
    &["project"],
    &["usage"],
    &["cost"],
    &["simulate"],
    &["firmware"],
    &["budget"],
    &["lint", "check"],
    &["evaluation"],
    &["figures", "map", "timeline"],
    &["output"],
    OUTPUTS,
    &["cli"],
];

/// None of these knows another.
const OUTPUTS: &[&str] = &[
    "answer",
    "render",
    "specimen",
    "export",
    "bringup",
    "verify",
    "trace",
    "preview",
    "filmstrip",
    "report",
    "compare",
    "sweep",
    "sarif",
    "guide",
];

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

/// The text without comments and without the tests at its end.
fn code(text: &str) -> String {
    let text = text.split("#[cfg(test)]\nmod tests").next().unwrap_or_default();
    text.lines().map(|line| line.split("//").next().unwrap_or_default()).collect::<Vec<_>>().join("\n")
}

/// Each import from one module to another, with the file that holds it.
fn imports() -> Vec<(String, String, PathBuf)> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut all = Vec::new();
    files(&src, &mut all);
    let mut imports = Vec::new();
    for path in all {
        let inside = path.strip_prefix(&src).expect("inside");
        let module = inside.iter().next().expect("a name").to_string_lossy().trim_end_matches(".rs").to_owned();
        if module == "main" || module == "lib" {
            continue;
        }
        let text = code(&std::fs::read_to_string(&path).expect("a file"));
        for part in text.split("crate::").skip(1) {
            // A group names several modules at once: `use crate::{a::B, c::D}`.
            assert!(!part.starts_with('{'), "{}: write one `use` for each module", path.display());
            let to: String = part.chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '_').collect();
            if to != module {
                imports.push((module.clone(), to, inside.to_path_buf()));
            }
        }
    }
    imports
}

fn floor(module: &str) -> usize {
    let found = FLOORS.iter().position(|floor| floor.contains(&module));
    found.unwrap_or_else(|| panic!("the module `{module}` stands on no floor: add it to FLOORS"))
}

/// The page for developers has the same floors in the same order, and stays short enough to be read.
#[test]
fn developers_read_of_these_floors() {
    let page = std::fs::read_to_string("DEVELOPERS.md").expect("the page");
    assert!(page.len() <= 8_000, "{} bytes", page.len());
    let table = page.split("| floor | holds |").nth(1).and_then(|rest| rest.split("\n\n").next()).expect("the table");
    let named = |row: &str| -> Vec<String> {
        row.split('|').nth(1).unwrap_or_default().split('`').skip(1).step_by(2).map(str::to_owned).collect()
    };
    let told: Vec<String> = table.lines().filter(|line| line.starts_with("| `")).flat_map(named).collect();
    let all: Vec<&str> = FLOORS.iter().flat_map(|floor| floor.iter().copied()).collect();
    assert_eq!(told, all);
}

#[test]
fn no_import_goes_up() {
    let up: BTreeSet<String> = imports()
        .into_iter()
        .filter(|(from, to, _)| floor(to) > floor(from))
        .map(|(_, to, file)| format!("{} imports {to}", file.display()))
        .collect();
    assert!(up.is_empty(), "imports from floors above:\n{}", up.into_iter().collect::<Vec<_>>().join("\n"));
}

#[test]
fn no_output_knows_another() {
    let across: BTreeSet<String> = imports()
        .into_iter()
        .filter(|(from, to, _)| OUTPUTS.contains(&from.as_str()) && OUTPUTS.contains(&to.as_str()))
        .map(|(_, to, file)| format!("{} imports {to}", file.display()))
        .collect();
    assert!(across.is_empty(), "{}", across.into_iter().collect::<Vec<_>>().join("\n"));
}

#[test]
fn no_modules_import_one_another_in_a_circle() {
    let mut graph: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for (from, to, _) in imports() {
        graph.entry(from).or_default().insert(to);
    }
    // Modules that import nothing that is left are taken away until nothing changes; what stays is in or above a circle.
    let mut left: BTreeSet<String> = graph.keys().cloned().collect();
    loop {
        let free: Vec<String> =
            left.iter().filter(|module| graph[*module].iter().all(|to| !left.contains(to))).cloned().collect();
        if free.is_empty() {
            break;
        }
        free.iter().for_each(|module| {
            left.remove(module);
        });
    }
    assert!(left.is_empty(), "these import one another in a circle, or lie above one: {left:?}");
}

/// The check itself: a file with an arrow upwards is found.
#[test]
fn comments_and_tests_are_no_imports() {
    let text = "use crate::units::Volts; // crate::cli\n/// [`crate::cli`]\nfn f() {}\n#[cfg(test)]\nmod tests {\n use crate::cli::run;\n}\n";
    assert!(code(text).contains("crate::units") && !code(text).contains("cli"));
}

/// Of the library compiled for its own tests only what these reach is made: one test that reads a project there makes all
/// of the reader, the renderer and the model a second time, 54 s of processor time.
#[test]
fn no_test_within_the_library_reads_a_project() {
    let mut all = Vec::new();
    files(Path::new("src"), &mut all);
    let mut seen = 0;
    for path in all {
        let text = std::fs::read_to_string(&path).expect("a source file");
        let whole = path.file_name().is_some_and(|name| name == "tests.rs");
        let Some(tests) =
            (if whole { Some(text.as_str()) } else { text.split_once("#[cfg(test)]\nmod tests {").map(|of| of.1) })
        else {
            continue;
        };
        seen += 1;
        for reads in ["project::load", "load_files(", "Evaluation::of("] {
            assert!(
                !tests.contains(reads),
                "{} reads a project by {reads}: its test belongs to tests/",
                path.display()
            );
        }
    }
    assert!(seen > 100, "{seen} files with tests");
}

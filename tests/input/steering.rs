//! Names, notes and sources with characters that steer a terminal, an editor or a compiler: no output holds one raw.

use crate::starter::{Project, run};
use std::path::Path;

/// Escape, a C1 control, delete, right-to-left override, isolate, zero-width space.
const STEERING: &[char] = &['\u{1b}', '\u{9b}', '\u{7f}', '\u{202e}', '\u{2066}', '\u{200b}', '\r', '\u{7}'];

/// What steers, as TOML writes it.
const WRITTEN: &str = "a\\u001B[31mb\\u009Bc\\u007Fd\\u202Ee\\u2066f\\u200Bg\\u0007";

fn clean(what: &str, text: &str) {
    let found = text.chars().find(|letter| STEERING.contains(letter));
    assert!(found.is_none(), "{what} holds {found:?} raw:\n{}", text.escape_debug());
}

fn clean_folder(folder: &Path) -> usize {
    let entries = std::fs::read_dir(folder).unwrap().flatten();
    let count = |path: std::path::PathBuf| {
        clean("a file's name", &path.display().to_string());
        if path.is_dir() {
            return clean_folder(&path);
        }
        let text = String::from_utf8(std::fs::read(&path).unwrap());
        usize::from(text.is_ok_and(|text| {
            clean(&path.display().to_string(), &text);
            text.contains("[U+202E]") || text.contains("\\u202e")
        }))
    };
    entries.map(|entry| count(entry.path())).sum()
}

fn hostile() -> Project {
    let project = Project::new();
    project.edit("device.toml", "note = \"Starter project with example values.\"\n", "");
    let name = "name = \"My instrument\"";
    project.edit("device.toml", name, &format!("name = \"{WRITTEN}\"\nnote = \"{WRITTEN}\""));
    let path = project.folder().join("device.toml");
    let text = std::fs::read_to_string(&path).unwrap();
    let more = format!(
        "\n[board.loads.\"{WRITTEN}\"]\ncurrent = {{ typ = \"5 uA\", source = \"{WRITTEN}\" }}\n\n\
         [events.\"{WRITTEN}\"]\nper-day = 5\ncharge = {{ typ = \"2 mC\", max = \"3 mC\", source = \"{WRITTEN}\" }}\n"
    );
    std::fs::write(&path, text + &more).unwrap();
    project
}

#[test]
fn nothing_printed_steers_a_terminal() {
    let project = hostile();
    let path = project.path();
    let event = "events.a\u{1b}[31mb\u{9b}c\u{7f}d\u{202e}e\u{2066}f\u{200b}g\u{7}.charge";
    let out = project.folder().join("out");
    std::fs::create_dir(&out).unwrap();
    let out = |name: &str| out.join(name).display().to_string();
    let (html, svg, c, json, rust) = (out("r.html"), out("p.svg"), out("c"), out("json"), out("rust"));
    let bringup = out("bringup");
    let runs: &[&[&str]] = &[
        &["check", path],
        &["check", path, "--format", "json"],
        &["budget", path],
        &["budget", path, "--format", "json"],
        &["budget", path, "--explain", "life"],
        &["budget", path, "--explain", "always-on"],
        &["budget", path, "--explain", event],
        &["compare", path, path],
        &["compare", path, path, "--format", "json"],
        &["sweep", path, "board.mcu.sleep", "1uA..2uA", "--steps", "2", "--plot", &svg],
        &["preview", path, "--terminal"],
        &["fonts", path],
        &["report", path, "--out", &html, "--set", "note=\u{1b}[31m\u{202e}"],
        &["export", path, "--to", "c,c-live", "--out", &c],
        &["export", path, "--to", "rust,rust-live", "--out", &rust],
        &["export", path, "--to", "json", "--out", &json],
        &["bringup", path, "--out", &bringup],
    ];
    for arguments in runs {
        let shown = run(arguments);
        assert_ne!(shown.status, 2, "{arguments:?}: {}", shown.stderr);
        clean(&format!("{arguments:?}"), &shown.stdout);
        clean(&format!("{arguments:?}"), &shown.stderr);
    }
    assert!(clean_folder(&project.folder().join("out")) >= 5, "files name the device");
}

#[test]
fn nothing_said_about_faults_steers_a_terminal() {
    let project = Project::new();
    let path = project.path();
    project.write("screens/bad\u{1b}[31m\u{202e}.toml", b"wrong = 1\n");
    project.write("screens/home.toml", "# \u{202e} \u{9b}\ntitel = 'a\u{1b}[31m\u{202e}'\r\nfoo\u{7} = 1\n".as_bytes());
    let set = "board.\u{1b}[31m\u{202e}=1";
    let nowhere = "no\u{1b}[31mwhere\u{202e}";
    let format = "--format=\u{1b}[31m\u{202e}";
    let screen = "a\u{1b}[31m\u{202e}";
    for arguments in [
        &["check", path] as &[&str],
        &["check", path, "--format", "json"],
        &["check", path, "--set", set],
        &["check", nowhere],
        &["check", path, format],
        &["\u{1b}[31m\u{202e}"],
        &["budget", path, "--explain", screen],
        &["trace", nowhere],
        &["verify", nowhere, path],
        &["compare", &format!("{path}@{nowhere}")],
        &["sweep", path, set, "1..2"],
    ] {
        let shown = run(arguments);
        assert_eq!(shown.status, 2, "{arguments:?}: {}", shown.stdout);
        clean(&format!("{arguments:?}"), &shown.stdout);
        clean(&format!("{arguments:?}"), &shown.stderr);
        assert!(!(shown.stderr + &shown.stdout).is_empty());
    }
}

/// The marks stand below what they mean, although what is made visible is longer.
#[test]
fn marks_stand_below_their_place() {
    let project = Project::new();
    project.write("screens/home.toml", "titel = 'a' # \u{202e}\n\"\\u001B\" = 1 # \u{202e}\nfoo = 'x'\n".as_bytes());
    let shown = run(&["check", project.path()]).stderr;
    let lines: Vec<&str> = shown.lines().collect();
    let at = lines.iter().position(|line| line.contains("│ foo = 'x'")).unwrap_or_else(|| panic!("{shown}"));
    assert_eq!(
        lines[at].find("foo").map(|_| lines[at].chars().position(|c| c == 'f')),
        Some(lines[at + 1].chars().position(|c| c == '^')),
        "{shown}"
    );
}

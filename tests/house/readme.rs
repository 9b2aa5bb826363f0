//! Every command of the README works as written.
//!
//! Lines of its `sh` blocks are run in one shell, in order, in a folder that holds a copy of the demo. `inkjoule` is the
//! program under test; `cargo run --` stands for it; `cargo test` is this very run.

use std::path::Path;
use std::process::Command;

#[test]
fn every_command_of_the_readme_works() {
    let readme = std::fs::read_to_string("README.md").unwrap();
    let commands = commands(&readme);
    assert!(commands.iter().any(|line| line == "cargo run -- budget screens-demo"), "the first command");
    assert!(commands.iter().any(|line| line == "cargo test"), "the second command");
    let folder = tempfile::tempdir().unwrap();
    copy(Path::new("screens-demo"), &folder.path().join("screens-demo"));
    let program = Path::new(env!("CARGO_BIN_EXE_inkjoule"));
    let path = format!("{}:{}", program.parent().unwrap().display(), std::env::var("PATH").unwrap_or_default());
    let runnable = commands.iter().filter(|line| *line != "cargo test" && !line.starts_with("cargo install"));
    let script: Vec<String> = runnable.map(|line| line.replace("cargo run -- ", "inkjoule ")).collect();
    assert!(script.len() > 10, "the README's commands were found: {script:?}");
    let output = Command::new("sh")
        .args(["-e", "-c", &script.join("\n")])
        .current_dir(folder.path())
        .env("PATH", path)
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .output()
        .unwrap();
    let shown = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{script:#?}\n{shown}");
}

/// The README's images of the demo, made anew: as they stand, byte for byte. `ACCEPT=1` writes them.
#[test]
fn the_images_are_what_the_program_makes() {
    let folder = tempfile::tempdir().unwrap();
    let run = |arguments: &[&str]| {
        let output = Command::new(env!("CARGO_BIN_EXE_inkjoule"))
            .args(arguments)
            .env_remove("DISPLAY")
            .env_remove("WAYLAND_DISPLAY")
            .output()
            .unwrap();
        assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    };
    let out = folder.path().to_str().unwrap();
    let at = |name: &str| folder.path().join(name);
    run(&["render", "screens-demo", "--sheet", "--locale", "en", "--out", out]);
    run(&["render", "screens-demo", "--filmstrip", "round", "--scale", "2", "--locale", "en", "--out", out]);
    run(&["preview", "screens-demo", "--screenshot", at("preview.png").to_str().unwrap()]);
    for name in ["sheet.png", "round.png", "preview.png"] {
        let kept = Path::new("screens-demo/pictures").join(name);
        if std::env::var_os("ACCEPT").is_some() {
            std::fs::copy(at(name), &kept).unwrap();
        }
        let same = std::fs::read(at(name)).unwrap() == std::fs::read(&kept).unwrap();
        assert!(same, "{name} is not what the program makes; ACCEPT=1 writes it");
    }
}

/// Lines of the fenced `sh` blocks, comments left out, lines ending in a backslash joined.
fn commands(readme: &str) -> Vec<String> {
    let mut inside = false;
    let mut commands = Vec::new();
    let mut open = String::new();
    for line in readme.lines() {
        match line.trim() {
            "```sh" => inside = true,
            "```" => inside = false,
            text if inside && !text.is_empty() && !text.starts_with('#') => {
                open += text.strip_suffix('\\').unwrap_or(text);
                if !text.ends_with('\\') {
                    commands.push(std::mem::take(&mut open));
                }
            }
            _ => {}
        }
    }
    commands
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}

#[test]
fn the_first_paragraph_states_the_job() {
    let readme = std::fs::read_to_string("README.md").unwrap();
    let first = readme.split("\n\n").nth(1).unwrap();
    for word in ["e-paper", "battery", "screens", "text", "1-bit", "firmware", "life"] {
        assert!(first.contains(word), "the first paragraph does not say {word:?}: {first}");
    }
}

/// The power model is held by forty checks against the outside or more, each of them a test that is there.
#[test]
fn checks_of_power_are_counted_and_there() {
    let page = std::fs::read_to_string("tests/checks.md").expect("the page");
    let (_, section) = page.split_once("## Power, counted").expect("its section");
    let (section, _) = section.split_once("## How to test").expect("its end");
    let mut count = 0;
    for row in section.lines().filter(|row| row.contains("::")) {
        let test = row.split('`').nth(1).expect("a test's name");
        let (file, name) = test.split_once("::").expect("file and test");
        let read = |folder: &str| std::fs::read_to_string(format!("tests/{folder}/{file}.rs"));
        let text = read("budget").or_else(|_| read("cell")).expect(file);
        assert!(text.contains(&format!("fn {name}(")), "{test}");
        assert!(row.split('|').nth(4).is_some_and(|source| source.trim().len() > 5), "no source: {row}");
        count += 1;
    }
    assert!(count >= 40, "{count} checks");
}

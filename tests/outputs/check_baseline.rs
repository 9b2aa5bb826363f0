//! `check --baseline` through the program: what changed, screen by screen, and when frames are accepted.

use std::path::Path;
use std::process::{Command, Output};

fn inkjoule(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_inkjoule")).current_dir(folder).args(arguments).output().expect("starts")
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

fn edit(file: &Path, from: &str, to: &str) {
    let text = std::fs::read_to_string(file).expect("there");
    assert!(text.contains(from), "{from}");
    std::fs::write(file, text.replace(from, to)).expect("written");
}

/// A starter project in two locales, in a folder `p`.
fn project() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    assert!(inkjoule(folder.path(), &["new", "p"]).status.success());
    let strings = folder.path().join("p/strings");
    std::fs::create_dir(&strings).expect("made");
    std::fs::write(strings.join("en.toml"), "word = \"Level\"\n").expect("written");
    std::fs::write(strings.join("pl.toml"), "word = \"Poziom\"\n").expect("written");
    folder
}

const COMPARE: [&str; 4] = ["check", "p", "--baseline", "accepted"];
const ACCEPT: [&str; 5] = ["check", "p", "--baseline", "accepted", "--accept"];

#[test]
fn a_change_is_shown_until_it_is_accepted() {
    let folder = project();
    let at = folder.path();
    let missing = inkjoule(at, &COMPARE);
    assert_eq!(missing.status.code(), Some(2), "{}", said(&missing));
    let before = inkjoule(at, &["check", "p"]).status.code();
    let accepted = inkjoule(at, &ACCEPT);
    assert_eq!(accepted.status.code(), before, "accepting changes no status: {}", said(&accepted));
    assert!(said(&accepted).contains("4 frames accepted"), "{}", said(&accepted));
    assert!(at.join("accepted/en/home.pbm").exists() && at.join("accepted/pl/empty.pbm").exists());
    let same = inkjoule(at, &COMPARE);
    assert_eq!(same.status.code(), before, "{}", said(&same));
    assert!(said(&same).contains("4 frames as accepted, 0 changed or new, 0 gone"), "{}", said(&same));
    // A screen changes in both locales, another is renamed.
    edit(
        &at.join("p/screens/home.toml"),
        "content = [",
        "content = [\n  { box = 1, fill = \"ink\", at = [40, 60], size = [9, 9], name = \"blot\" },",
    );
    let text = said(&inkjoule(at, &COMPARE));
    let changed = inkjoule(at, &[&COMPARE[..], &["--images", "seen", "--format", "json"]].concat());
    assert_eq!(changed.status.code(), Some(1));
    let answer: serde_json::Value = serde_json::from_slice(&changed.stdout).expect("JSON");
    let changes = answer["baseline"]["changes"].as_array().expect("a list");
    assert_eq!(changes.len(), 2, "{answer:#}");
    for (change, locale) in changes.iter().zip(["en", "pl"]) {
        assert_eq!((&change["screen"], &change["locale"]), (&"home".into(), &locale.into()));
        assert!(change["regions"][0]["elements"].to_string().contains("blot"), "{change:#}");
        assert!(at.join(format!("seen/changed/{locale}/home.png")).exists());
    }
    assert!(text.contains("changed: en/home.pbm") && text.contains("`blot`"), "{text}");
    assert!(said(&inkjoule(at, &ACCEPT)).contains("4 frames accepted"));
    assert_eq!(inkjoule(at, &COMPARE).status.code(), before);
}

#[test]
fn screens_that_come_and_go_are_told() {
    let folder = project();
    let at = folder.path();
    inkjoule(at, &ACCEPT);
    std::fs::write(at.join("p/screens/more.toml"), "content = [ { text = \"more\" } ]\n").expect("written");
    std::fs::write(at.join("accepted/en/old.pbm"), std::fs::read(at.join("accepted/en/home.pbm")).expect("there"))
        .expect("written");
    let output = inkjoule(at, &COMPARE);
    assert_eq!(output.status.code(), Some(1));
    for words in
        ["new: en/more.pbm", "new: pl/more.pbm", "gone: en/old.pbm", "4 frames as accepted, 2 changed or new, 1 gone"]
    {
        assert!(said(&output).contains(words), "{words} in {}", said(&output));
    }
    // What others put there stays; what was accepted and is gone goes.
    inkjoule(at, &ACCEPT);
    std::fs::remove_file(at.join("p/screens/more.toml")).expect("removed");
    inkjoule(at, &ACCEPT);
    assert!(at.join("accepted/en/old.pbm").exists() && !at.join("accepted/en/more.pbm").exists());
}

#[test]
fn nothing_is_accepted_from_a_project_with_errors_or_into_another_folder() {
    let folder = project();
    let at = folder.path();
    inkjoule(at, &ACCEPT);
    let frame = || std::fs::read(at.join("accepted/en/home.pbm")).expect("there");
    let before = frame();
    let home = std::fs::read_to_string(at.join("p/screens/home.toml")).expect("there");
    std::fs::write(
        at.join("p/screens/home.toml"),
        home.replace("content = [", "content = [ { text = \"{nothing}\" },"),
    )
    .expect("written");
    let broken = inkjoule(at, &ACCEPT);
    assert_eq!((broken.status.code(), frame() == before), (Some(2), true), "{}", said(&broken));
    std::fs::write(at.join("p/screens/home.toml"), home).expect("written");
    // A folder with other things in it, forced or not.
    std::fs::create_dir(at.join("photos")).expect("made");
    std::fs::write(at.join("photos/cat.txt"), "a cat").expect("written");
    for more in [&["--accept"][..], &["--accept", "--force"], &[]] {
        let output = inkjoule(at, &[&["check", "p", "--baseline", "photos"][..], more].concat());
        assert_eq!(output.status.code(), Some(2), "{}", said(&output));
        assert!(said(&output).contains("not accepted frames"), "{}", said(&output));
    }
    assert_eq!(std::fs::read_dir(at.join("photos")).expect("there").count(), 1);
    // A frame that somebody changed by hand is not lost without a word.
    std::fs::write(at.join("accepted/en/home.pbm"), "P1 1 1 0").expect("written");
    assert_eq!(inkjoule(at, &ACCEPT).status.code(), Some(2));
    assert!(inkjoule(at, &[&ACCEPT[..], &["--force"]].concat()).status.code() != Some(2));
    assert!(frame() == before);
    // Accepting without a folder, or in one locale, is no use of the program.
    for arguments in [&["check", "p", "--accept"][..], &["check", "p", "--baseline", "accepted", "--locale", "en"]] {
        assert_eq!(inkjoule(at, arguments).status.code(), Some(2));
    }
}

#[test]
fn files_of_others_are_kept_and_equal_files_keep_their_times() {
    let folder = project();
    let at = folder.path();
    let render = ["render", "p", "--out", "drawn"];
    std::fs::create_dir_all(at.join("drawn/en")).expect("made");
    std::fs::write(at.join("drawn/en/home.png"), "mine").expect("written");
    let refused = inkjoule(at, &render);
    assert_eq!(refused.status.code(), Some(2));
    assert!(said(&refused).contains("--force") && !at.join("drawn/pl").exists(), "{}", said(&refused));
    assert!(inkjoule(at, &[&render[..], &["--force"]].concat()).status.success());
    let times = || {
        ["en/home.png", "pl/empty.png", ".inkjoule-files"].map(|name| {
            std::fs::metadata(at.join("drawn").join(name)).and_then(|about| about.modified()).expect("there")
        })
    };
    let before = times();
    assert!(inkjoule(at, &render).status.success());
    assert_eq!(times(), before);
    assert!(inkjoule::output::complete(&at.join("drawn")));
    // A new project is never written over anything.
    std::fs::create_dir_all(at.join("q/screens")).expect("made");
    std::fs::write(at.join("q/screens/home.toml"), "mine").expect("written");
    assert_eq!(inkjoule(at, &["new", "q"]).status.code(), Some(2));
    assert!(!at.join("q/device.toml").exists());
    assert_eq!(std::fs::read_to_string(at.join("q/screens/home.toml")).expect("there"), "mine");
}

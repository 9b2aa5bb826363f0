//! `check` through the program: warnings folded, levels of screens and elements, SARIF, checking again at every change; and
//! that nothing else repeats the warnings.

use serde_json::Value;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

fn inkjoule(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_inkjoule")).current_dir(folder).args(arguments).output().expect("starts")
}

fn errors(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn edit(file: &Path, from: &str, to: &str) {
    let text = std::fs::read_to_string(file).expect("there");
    assert!(text.contains(from), "{from}");
    std::fs::write(file, text.replace(from, to)).expect("written");
}

/// A starter project `p` with forty strings that nothing uses.
fn project() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    assert!(inkjoule(folder.path(), &["new", "p"]).status.success());
    std::fs::create_dir(folder.path().join("p/strings")).expect("made");
    let strings: String = (0..40).map(|n| format!("word-{n} = \"Word {n}\"\n")).collect();
    std::fs::write(folder.path().join("p/strings/en.toml"), strings).expect("written");
    folder
}

fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).expect("JSON alone on standard output")
}

/// How many findings of a kind there are in JSON.
fn count(folder: &Path, id: &str, more: &[&str]) -> usize {
    let found = json(&inkjoule(folder, &[&["check", "p", "--format", "json"], more].concat()));
    found["findings"].as_array().expect("a list").iter().filter(|finding| finding["id"] == id).count()
}

#[test]
fn warnings_of_one_kind_are_folded_and_counted() {
    let folder = project();
    let said = errors(&inkjoule(folder.path(), &["check", "p"]));
    assert_eq!(said.matches("warning[unused-string]").count(), 4, "three and what is left: {said}");
    assert!(said.contains("and 37 more of `unused-string`") && said.contains("inkjoule check --all"), "{said}");
    let all = errors(&inkjoule(folder.path(), &["check", "p", "--all"]));
    assert_eq!(all.matches("warning[unused-string]").count(), 40);
    assert!(!all.contains("more of"), "{all}");
    assert_eq!(count(folder.path(), "unused-string", &[]), 40, "programs get all of them");
    // Errors are what has to be mended: all of them are shown.
    let change = ["--set", "lints.unused-string=error"];
    let errors = errors(&inkjoule(folder.path(), &[&["check", "p"][..], &change].concat()));
    assert_eq!(errors.matches("error[unused-string]").count(), 40);
}

#[test]
fn warnings_are_shown_by_check_alone() {
    let folder = project();
    for arguments in
        [&["render", "p", "--out", "pictures"][..], &["fonts", "p"], &["export", "p", "--to", "pbm", "--out", "x"]]
    {
        let ran = inkjoule(folder.path(), arguments);
        assert!(ran.status.success(), "{arguments:?}: {}", errors(&ran));
        assert!(!errors(&ran).contains("unused-string"), "{arguments:?}: {}", errors(&ran));
    }
}

#[test]
fn levels_hold_for_an_element_a_screen_or_the_project() {
    let folder = project();
    let (home, device) = (folder.path().join("p/screens/home.toml"), folder.path().join("p/device.toml"));
    let content = "content = [\n  { text = \"One\", at = [4, 20] }, { text = \"Two\", at = [8, 24] },";
    edit(&home, "content = [", content);
    let overlaps = |what: &str, wanted: usize| assert_eq!(count(folder.path(), "overlap", &[]), wanted, "{what}");
    overlaps("at first", 1);
    edit(&home, "at = [8, 24] }", "at = [8, 24], lints = { overlap = \"off\" } }");
    overlaps("off on the element", 0);
    // The innermost holds, whatever the project says.
    let before = std::fs::read_to_string(&device).expect("there");
    std::fs::write(&device, before.clone() + "\n[lints]\noverlap = \"error\"\n").expect("written");
    overlaps("still off on the element", 0);
    std::fs::write(&device, before).expect("written");
    edit(&home, "lints = { overlap = \"off\" }", "lints = { overlap = \"error\" }");
    assert_eq!(inkjoule(folder.path(), &["check", "p"]).status.code(), Some(1), "an error on the element");
    edit(&home, ", lints = { overlap = \"error\" }", "");
    edit(&home, "content = [", "lints = { overlap = \"off\" }\ncontent = [");
    overlaps("off on the screen", 0);
    edit(&home, "overlap = \"off\"", "overlaps = \"off\"");
    let unknown = inkjoule(folder.path(), &["check", "p"]);
    assert_eq!(unknown.status.code(), Some(2));
    assert!(
        errors(&unknown).contains("there is no lint `overlaps`")
            && errors(&unknown).contains("did you mean `overlap`?")
    );
}

#[test]
fn a_part_is_judged_where_it_is_used() {
    let folder = project();
    let p = folder.path().join("p");
    std::fs::create_dir_all(p.join("parts")).expect("made");
    let part = "content = [ { text = \"One\", at = [40, 40] }, { text = \"Two\", at = [44, 44] } ]\n";
    std::fs::write(p.join("parts/twin.toml"), part).expect("written");
    for screen in ["home", "empty"] {
        edit(
            &p.join(format!("screens/{screen}.toml")),
            "content = [",
            "content = [\n  { part = \"twin\", at = [0, 0], size = [90, 70] },",
        );
    }
    let found = |shown: &str| {
        let found = json(&inkjoule(folder.path(), &["check", "p", "--format", "json"]));
        let all = found["findings"].as_array().expect("a list").clone();
        let overlap = all
            .iter()
            .find(|finding| finding["id"] == "overlap" && finding["place"].as_str().unwrap().contains("twin"));
        assert_eq!(
            overlap
                .map(|finding| finding["label"].as_str().unwrap().split("; ").last().unwrap().to_owned())
                .unwrap_or_default(),
            shown
        );
    };
    found("on empty, home");
    edit(&p.join("screens/home.toml"), "{ part = \"twin\",", "{ part = \"twin\", lints = { overlap = \"off\" },");
    found("on empty");
    edit(&p.join("screens/empty.toml"), "content = [", "lints = { overlap = \"off\" }\ncontent = [");
    found("");
}

#[test]
fn sarif_holds_what_json_holds_hostile_names_too() {
    let folder = project();
    let screen = folder.path().join("p/screens/h\u{202e}%ö {0}.toml");
    let text = "# 😀\ncontent = [ { text = \"😀 {nothing} \\u001b[31m\u{202e}\" } ]\n";
    std::fs::write(&screen, text).expect("written");
    for (change, status) in [("name=Other", 2), ("lints.overlap=off", 2)] {
        let plain = inkjoule(folder.path(), &["check", "p", "--format", "json", "--set", change]);
        let sarif = inkjoule(folder.path(), &["check", "p", "--format", "sarif", "--set", change]);
        assert_eq!((plain.status.code(), sarif.status.code()), (Some(status), Some(status)));
        // Nothing that steers a terminal leaves the program as it is.
        assert!(!sarif.stdout.contains(&0x1b) && !String::from_utf8_lossy(&sarif.stdout).contains('\u{202e}'));
        let (plain, sarif) = (json(&plain), json(&sarif));
        assert_eq!(serde_json::from_str::<Value>(&sarif.to_string()).expect("again"), sarif);
        let results = sarif["runs"][0]["results"].as_array().expect("a list");
        let findings = plain["findings"].as_array().expect("a list");
        assert_eq!(results.len(), findings.len());
        assert_eq!(sarif["runs"][0]["invocations"][0]["exitCode"], status);
        for (result, finding) in results.iter().zip(findings) {
            let said = result["message"]["text"].as_str().expect("text").replace("{{", "{").replace("}}", "}");
            assert!(said.starts_with(finding["message"].as_str().expect("text")), "{said}: {finding}");
            assert_eq!(result["level"], finding["level"]);
            let region = &result["locations"][0]["physicalLocation"]["region"];
            if let Some(place) = finding["place"].as_str() {
                assert!(
                    place.ends_with(&format!(":{}:{}", region["startLine"], region["startColumn"])),
                    "{place}: {region}"
                );
            }
        }
    }
}

/// The program while it watches; killed at the end.
struct Watching(Child);

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn lines(from: impl Read + Send + 'static) -> Receiver<String> {
    let (send, lines) = channel();
    std::thread::spawn(move || {
        BufReader::new(from)
            .lines()
            .map_while(Result::ok)
            .take_while(|line| send.send(line.clone()).is_ok())
            .for_each(drop);
    });
    lines
}

#[test]
fn watching_checks_again_at_every_change_through_errors() {
    let folder = project();
    let mut child = Command::new(env!("CARGO_BIN_EXE_inkjoule"));
    child.current_dir(folder.path()).args(["check", "p", "--watch"]).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = Watching(child.spawn().expect("starts"));
    let (out, err) = (lines(child.0.stdout.take().expect("piped")), lines(child.0.stderr.take().expect("piped")));
    let until = |lines: &Receiver<String>, wanted: &str| loop {
        let line = lines.recv_timeout(Duration::from_secs(60)).unwrap_or_else(|_| panic!("no line with {wanted:?}"));
        if line.contains(wanted) {
            break line;
        }
    };
    until(&out, "0 errors");
    until(&out, "waiting for changes");
    let home = folder.path().join("p/screens/home.toml");
    // As an editor saves: it writes beside the file first. Once that was named as well.
    std::fs::write(folder.path().join("p/screens/sed3UA7oM"), "title = 1").expect("written");
    std::fs::write(folder.path().join("p/screens/home.toml~"), "title = 1").expect("written");
    edit(&home, "content = [", "content = [ { tex = 1 },");
    std::fs::remove_file(folder.path().join("p/screens/sed3UA7oM")).expect("removed");
    assert_eq!(until(&out, "checked again"), "-- screens/home.toml changed: checked again");
    until(&err, "`tex` is not a kind of element");
    until(&out, "waiting for changes");
    edit(&home, "content = [ { tex = 1 },", "content = [");
    until(&out, "checked again");
    until(&out, "0 errors");
    until(&out, "waiting for changes");
    assert!(child.0.try_wait().expect("asked").is_none(), "it still runs");
    drop(child);
    let document = inkjoule(folder.path(), &["check", "p", "--watch", "--format", "json"]);
    assert_eq!(document.status.code(), Some(2), "several results are no document");
}

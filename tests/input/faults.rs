//! When the machine is at fault: outputs that cannot be written, files that vanish, pipes that break. After each the
//! files are old or new, never half, and exit status and message are right.
#![cfg(unix)]

use crate::starter::Project;
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

fn inkjoule() -> Command {
    Command::new(env!("CARGO_BIN_EXE_inkjoule"))
}

fn sh(script: &str) -> Output {
    let program = env!("CARGO_BIN_EXE_inkjoule");
    Command::new("sh").arg("-c").arg(script).env("INKJOULE", program).output().expect("a shell")
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn no_panic(output: &Output) {
    assert!(!said(output).contains("panicked"), "{}", said(output));
    assert!(output.status.code().is_some_and(|code| code <= 2) || output.status.code().is_none(), "{output:?}");
}

/// Names of the files in a folder that inkjoule writes beside their places and renames.
fn strays(folder: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let names = entries.filter_map(|entry| Some(entry.ok()?.file_name().to_string_lossy().into_owned()));
    names.filter(|name| name.starts_with(".inkjoule-")).collect()
}

#[test]
fn a_pipe_that_breaks_is_no_panic() {
    for verb in [
        "budget",
        "budget --format json",
        "check --lints",
        "profiles",
        "schema device",
        "man",
        "sweep screens-demo board.mcu.sleep 1uA..9uA --steps 3",
    ] {
        let project = if verb.starts_with("budget") { " screens-demo" } else { "" };
        let output =
            sh(&format!("{{ \"$INKJOULE\" {verb}{project}; echo \"status $?\" >&2; }} | head -c 1 >/dev/null"));
        no_panic(&output);
        assert!(!said(&output).contains("status 101"), "{verb}: {}", said(&output));
    }
}

#[test]
fn standard_output_that_cannot_be_written_is_an_error() {
    if !Path::new("/dev/full").exists() {
        return;
    }
    for verb in [
        "budget screens-demo",
        "budget screens-demo --format json",
        "schema device",
        "profiles",
        "check screens-demo --format json",
    ] {
        let output = sh(&format!("\"$INKJOULE\" {verb} >/dev/full"));
        no_panic(&output);
        assert_eq!(output.status.code(), Some(2), "{verb}: {}", said(&output));
        assert!(said(&output).contains("cannot write"), "{verb}: {}", said(&output));
    }
}

#[test]
fn closed_streams_are_no_panic() {
    let project = Project::new();
    for redirection in ["<&-", ">&-", "2>&-", "<&- >&- 2>&-"] {
        let output = sh(&format!("\"$INKJOULE\" budget '{}' {redirection}; echo \"status $?\"", project.path()));
        assert!(!said(&output).contains("panicked"), "{redirection}: {}", said(&output));
        let status = String::from_utf8_lossy(&output.stdout).into_owned();
        assert!(!status.contains("status 101") && !status.contains("status 134"), "{redirection}: {status}");
    }
}

#[test]
fn several_runs_may_make_one_folder_at_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().display();
    for round in 0..6 {
        let output = sh(&format!(
            "for run in 1 2 3 4; do \"$INKJOULE\" bringup screens-demo --out '{path}/{round}' >/dev/null || echo failed & done; wait"
        ));
        no_panic(&output);
        assert_eq!(String::from_utf8_lossy(&output.stdout), "", "{}", said(&output));
    }
}

#[test]
fn a_file_that_grows_too_large_leaves_the_old_one() {
    // The shell's limit on the size of files, in blocks of 512 bytes, stands for a full disk: the write fails midway.
    let (project, folder) = (Project::new(), tempfile::tempdir().expect("a folder"));
    let report = folder.path().join("report.html");
    let old = "<!DOCTYPE html><meta name=\"generator\" content=\"inkjoule 0\">old";
    fs::write(&report, old).expect("written");
    let path = report.display();
    // With the signal ignored from outside, and with the one that ends a program (it once left its half files behind).
    for trap in ["trap '' XFSZ; ", ""] {
        let output = sh(&format!("{trap}ulimit -f 8; \"$INKJOULE\" report '{}' --out '{path}'", project.path()));
        no_panic(&output);
        assert_eq!(output.status.code(), Some(2), "{}", said(&output));
        assert!(said(&output).contains("cannot write"), "{}", said(&output));
        assert_eq!(fs::read_to_string(&report).expect("the old file"), old);
        assert_eq!(strays(folder.path()), [""; 0]);
        let pictures = folder.path().join("images");
        let place = pictures.display();
        let output = sh(&format!("{trap}ulimit -f 1; \"$INKJOULE\" render screens-demo --scale 8 --out '{place}'"));
        no_panic(&output);
        assert_eq!(output.status.code(), Some(2), "{}", said(&output));
        assert_eq!(fs::read_dir(&pictures).map(|all| all.count()).unwrap_or(0), 0, "all or nothing");
        assert_eq!(strays(folder.path()), [""; 0]);
    }
}

#[test]
fn a_folder_that_cannot_be_written_is_named() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("file");
    fs::write(&file, "a file, no folder").expect("written");
    for verb in ["export screens-demo --to c", "render screens-demo", "bringup screens-demo", "new"] {
        let (verb, out) = match verb {
            "new" => (verb, format!("{}/inside", file.display())),
            _ => (verb, format!("--out {}/inside", file.display())),
        };
        let output = sh(&format!("\"$INKJOULE\" {verb} {out}"));
        no_panic(&output);
        assert_eq!(output.status.code(), Some(2), "{verb}: {}", said(&output));
        assert!(said(&output).contains("file"), "{verb}: {}", said(&output));
    }
    assert_eq!(fs::read_to_string(&file).expect("untouched"), "a file, no folder");
}

#[test]
fn a_file_that_comes_and_goes_while_a_project_is_loaded_is_an_answer_or_an_error() {
    let project = Project::new();
    let screen = Path::new(project.path()).join("screens/extra.toml");
    let text = "content = [ { text = \"extra\" } ]\n";
    let mut children = Vec::new();
    for round in 0..60 {
        match round % 2 {
            0 => fs::write(&screen, text).expect("written"),
            _ => fs::remove_file(&screen).expect("removed"),
        }
        let child = inkjoule().args(["check", project.path()]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn();
        children.push(child.expect("started"));
    }
    for child in children {
        let output = child.wait_with_output().expect("ended");
        no_panic(&output);
        assert!(output.status.code().is_some(), "{output:?}");
    }
}

#[test]
fn the_locale_and_the_time_zone_do_not_matter() {
    let run = |variables: &[(&str, &str)]| {
        let mut command = inkjoule();
        command.args(["budget", "screens-demo", "--format", "json"]).env_remove("HOME").envs(variables.iter().copied());
        let output = command.output().expect("started");
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
        output.stdout
    };
    let plain = run(&[]);
    for variables in [
        &[("LC_ALL", "C")][..],
        &[("LC_ALL", "tr_TR.UTF-8")],
        &[("TZ", "Asia/Kathmandu")],
        &[("TZ", "Pacific/Kiritimati"), ("LANG", "xx")],
        &[("RAYON_NUM_THREADS", "1")],
        &[("RAYON_NUM_THREADS", "7")],
    ] {
        assert!(run(variables) == plain, "{variables:?}");
    }
}

#[test]
fn arguments_that_are_no_text_are_an_error() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let output = inkjoule().arg("check").arg(OsStr::from_bytes(b"no\xfftext")).output().expect("started");
    no_panic(&output);
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
    let output = inkjoule().arg("budget").arg("--set").arg(OsStr::from_bytes(b"a=\xff")).output().expect("started");
    no_panic(&output);
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
}

#[test]
fn files_from_the_future_and_the_past_are_read_and_replaced() {
    use std::time::{Duration, SystemTime};
    let project = Project::new();
    let out = Path::new(project.path()).join("images");
    let render = || {
        let output = inkjoule().args(["render", project.path(), "--out"]).arg(&out).output().expect("started");
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    };
    render();
    let picture = out.join("home.png");
    let before = fs::read(&picture).expect("an image");
    let times = [SystemTime::now() + Duration::from_secs(400_000_000), SystemTime::UNIX_EPOCH + Duration::from_secs(1)];
    for time in times {
        for file in [picture.clone(), Path::new(project.path()).join("screens/home.toml")] {
            let file = fs::File::options().append(true).open(file).expect("opened");
            file.set_modified(time).expect("a clock that went backwards");
        }
        render();
        assert_eq!(fs::read(&picture).expect("an image"), before);
    }
}

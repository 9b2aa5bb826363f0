//! The program to start from: it compiles for the board as it stands, and on a computer it runs the plain frost monitor by itself.

use super::export_live::remembering;
use crate::firmware::{C99, cc, compile, export, orchard, order};
use inkjoule::device::Device;
use inkjoule::frame::files::pbm;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

#[test]
fn the_program_runs_a_design_on_a_computer_and_compiles_for_the_board() {
    for device in [orchard(), remembering("tests/firmware/orchard")] {
        runs_and_compiles(&device);
    }
}

fn runs_and_compiles(device: &Device) {
    let folder = tempfile::tempdir().expect("a folder");
    let order = order(device);
    let mut files: Vec<String> = Vec::new();
    for to in ["c-live", "c-main"] {
        let written = export(&order, to, folder.path());
        files.extend(written.iter().filter_map(|path| Some(path.file_name()?.to_str()?.to_owned())));
    }
    let sources: Vec<&str> = files.iter().map(String::as_str).filter(|name| name.ends_with(".c")).collect();
    for source in &sources {
        compile(&cc(), folder.path(), &[&C99[..], &["-c", source]].concat());
    }
    // A memo can be left out all the same.
    compile(&cc(), folder.path(), &[&C99[..], &["-DINK_MEMO=0", "-c", "screens_main.c"]].concat());
    let said = shown(folder.path(), &sources, &[]);
    assert!(said.lines().count() >= 3, "{said}");
    let first = std::fs::read(folder.path().join("0000.pbm")).expect("an image");
    let home = device.draw(device.usage.home, 0, &device.sample());
    assert_eq!(first, pbm(&home), "the home screen with its sample values");
}

/// Builds the program for this computer and runs it: the home screen, then its first key and back by whatever stands there.
/// What it says.
fn shown(folder: &Path, sources: &[&str], more: &[&str]) -> String {
    let mut line = vec!["-std=c99", "-Wall", "-Wextra", "-Werror", "-DINK_HOST", "-fsanitize=undefined", "-o", "demo"];
    line.extend(more);
    line.extend(sources);
    compile(&cc(), folder, &line);
    let mut run = Command::new(folder.join("demo"))
        .arg(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let script =
        "100 wait\n20000 press 1\n20000 press 1\n20000 wait\n60000 event 1\n20000 press 2\n20000 press 2\n20000 wait\n";
    run.stdin.take().expect("its input").write_all(script.as_bytes()).expect("written");
    let output = run.wait_with_output().expect("it ends");
    assert!(output.status.success());
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// Each update through the memory and from there to the panel: the same frames as sent line by line.
#[test]
fn an_update_goes_through_the_external_memory() {
    let device = orchard();
    let folder = tempfile::tempdir().expect("a folder");
    let order = order(&device);
    let written = ["c-live", "c-main"].map(|to| export(&order, to, folder.path())).concat();
    let names: Vec<String> = written.iter().filter_map(|path| Some(path.file_name()?.to_str()?.to_owned())).collect();
    let sources: Vec<&str> = names.iter().map(String::as_str).filter(|name| name.ends_with(".c")).collect();
    let text = std::fs::read_to_string(folder.path().join("screens_main.c")).expect("a program");
    assert!(text.contains("#define EXTERNAL_MEMORY 1"), "as the policy has it");
    let frames = |said: &str| -> Vec<Vec<u8>> {
        let names = said.lines().filter_map(|line| line.split_once(' ').map(|(name, _)| name.to_owned()));
        names.map(|name| std::fs::read(folder.path().join(name)).expect("an image")).collect()
    };
    let [through, direct] = [1, 0].map(|external| {
        let said = shown(folder.path(), &sources, &[&format!("-DEXTERNAL_MEMORY={external}")]);
        let frames = frames(&said);
        (said, frames)
    });
    assert!(direct.1.len() >= 3 && direct.1[0] != direct.1[1], "{}", direct.0);
    assert!(through == direct, "{}\n{}", through.0, direct.0);
    let whole = format!("{} x {}", device.panel.native.width, device.panel.native.height);
    assert!(direct.0.lines().any(|line| !line.contains(&whole)), "windows smaller than the panel: {}", direct.0);
    // What does not go through the memory is missed: a memory that forgets gives other frames.
    let forgets =
        text.replace("    memcpy(bytes, host_memory + at, count);", "    (void)at;\n    memset(bytes, 0, count);");
    assert_ne!(forgets, text);
    std::fs::write(folder.path().join("screens_main.c"), forgets).expect("written");
    let said = shown(folder.path(), &sources, &[]);
    assert!(frames(&said)[0] != through.1[0], "the memory is used");
}

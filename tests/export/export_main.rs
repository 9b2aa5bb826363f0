//! The program to start from: it compiles for the board as it stands, and on a computer it runs the plain frost monitor by itself.

use super::export_live::remembering;
use crate::firmware::{C99, cc, compile, export, orchard, order};
use inkjoule::device::Device;
use inkjoule::frame::files::pbm;
use std::io::Write;
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
    let mut line = vec!["-std=c99", "-Wall", "-Wextra", "-Werror", "-DINK_HOST", "-o", "demo"];
    line.extend(&sources);
    compile(&cc(), folder.path(), &line);
    let mut run = Command::new(folder.path().join("demo"))
        .arg(folder.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program starts");
    // The home screen, then its first key and back by whatever stands there.
    let script = "100 wait\n20000 press 1\n20000 press 1\n20000 wait\n";
    run.stdin.take().expect("its input").write_all(script.as_bytes()).expect("written");
    let output = run.wait_with_output().expect("it ends");
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success() && said.lines().count() >= 3, "{said}");
    let first = std::fs::read(folder.path().join("0000.pbm")).expect("an image");
    let home = device.draw(device.usage.home, 0, &device.sample());
    assert_eq!(first, pbm(&home), "the home screen with its sample values");
}

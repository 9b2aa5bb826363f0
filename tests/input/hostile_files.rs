//! Projects made to do harm through the file system: links and paths that leave the project, things that are no files.
#![cfg(unix)]

use inkjoule::project::load;
use std::os::unix::fs::symlink;
use std::path::Path;

const DEVICE: &str = include_str!("../../src/cli/starter/device.toml");

/// A project in a folder of its own; the folder beside it holds a secret.
fn project(screen: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    };
    write("project/device.toml", DEVICE);
    write("project/screens/home.toml", screen);
    write("outside/secret.toml", "content = [ { text = \"secret\" } ]\n");
    folder
}

fn faults(project: &Path) -> String {
    match load(project, &[]) {
        Ok(_) => String::new(),
        Err(failed) => failed.faults.iter().map(|fault| format!("{}\n", fault.message)).collect(),
    }
}

const PLAIN: &str = "content = [ { text = \"at {taken}\" } ]\n";

#[test]
fn a_plain_project_loads() {
    let folder = project(PLAIN);
    assert_eq!(faults(&folder.path().join("project")), "");
}

#[test]
fn a_link_to_a_file_outside_is_refused() {
    let folder = project(PLAIN);
    symlink(folder.path().join("outside/secret.toml"), folder.path().join("project/screens/x.toml")).unwrap();
    let faults = faults(&folder.path().join("project"));
    assert!(faults.contains("x.toml: it is a link that leaves the project"), "{faults}");
}

#[test]
fn a_link_to_a_folder_outside_is_refused() {
    let folder = project(PLAIN);
    symlink(folder.path().join("outside"), folder.path().join("project/parts")).unwrap();
    let faults = faults(&folder.path().join("project"));
    assert!(faults.contains("it is a link that leaves the project"), "{faults}");
}

#[test]
fn a_project_file_that_is_a_link_outside_is_refused() {
    let folder = project(PLAIN);
    let device = folder.path().join("project/device.toml");
    std::fs::rename(&device, folder.path().join("outside/device.toml")).unwrap();
    symlink(folder.path().join("outside/device.toml"), &device).unwrap();
    assert!(faults(&folder.path().join("project")).contains("leaves the project"));
}

#[test]
fn links_inside_the_project_are_followed_and_circles_end() {
    let folder = project(PLAIN);
    let root = folder.path().join("project");
    symlink(root.join("screens/home.toml"), root.join("screens/second.toml")).unwrap();
    assert_eq!(load(&root, &[]).unwrap().device.screens.len(), 2);
    std::fs::create_dir(root.join("icons")).unwrap();
    symlink(root.join("icons"), root.join("icons/again")).unwrap();
    assert!(faults(&root).contains("nested more than"));
}

#[test]
fn a_link_that_leads_nowhere_is_an_error() {
    let folder = project(PLAIN);
    symlink("nowhere", folder.path().join("project/screens/x.toml")).unwrap();
    assert!(faults(&folder.path().join("project")).contains("cannot read"));
}

#[test]
fn paths_that_climb_out_find_nothing() {
    for icon in ["../outside/secret.toml", "icons/../../outside/secret.toml", "/etc/hostname", "..\\\\x"] {
        let folder = project(&format!("content = [ {{ icon = \"{icon}\" }}, {{ text = \"{{taken}}\" }} ]\n"));
        let faults = faults(&folder.path().join("project"));
        assert!(faults.contains("there is no file"), "{icon}: {faults}");
    }
}

#[test]
fn a_pipe_does_not_hang() {
    let folder = project(PLAIN);
    let pipe = folder.path().join("project/screens/pipe.toml");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status().unwrap();
    assert!(made.success());
    assert!(faults(&folder.path().join("project")).contains("neither a file nor a folder"));
}

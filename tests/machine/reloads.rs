//! A project whose files change is loaded again; one that cannot be loaded is told too.

use inkjoule::preview::watch::watch;
use inkjoule::project::watch::WatchedProject;
use std::sync::mpsc::channel;
use std::time::Duration;

#[test]
fn what_cannot_be_loaded_is_sent_too() {
    let folder = tempfile::tempdir().unwrap();
    let (send, loads) = channel();
    let place = WatchedProject { project: folder.path().to_path_buf(), set: Vec::new() };
    let _watching = watch(place, move |reload| drop(send.send(reload))).unwrap();
    std::fs::write(folder.path().join("device.toml"), "name = 1").unwrap();
    let failed = loads.recv_timeout(Duration::from_secs(10)).expect("the change is seen").expect_err("no project");
    assert!(!failed.faults.is_empty());
}

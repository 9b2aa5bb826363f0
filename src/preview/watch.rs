//! Loads a project again when its files change. Not for noticing that; see [`crate::project::watch`].
//!
//! Loading happens on the watching thread, so the preview stays responsive meanwhile.

use crate::project::watch::{self, Watch, WatchedProject};
use crate::project::{Loaded, ProjectFault, load};
use crate::source::fault::Fault;

/// A project loaded again.
pub type Reload = Result<Loaded, Box<ProjectFault>>;

/// Begins to watch; every change ends in a call of `send` on another thread.
///
/// # Errors
/// When the system cannot watch the folder.
pub fn watch(place: WatchedProject, send: impl Fn(Reload) + Send + 'static) -> Result<Watch, Fault> {
    watch::watch(place.clone(), move |_| send(load(&place.project, &place.set)))
}

#[cfg(test)]
mod tests {
    use super::*;
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
}

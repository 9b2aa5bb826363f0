//! Watches a project's files and loads it again when they change.
//!
//! Loading happens on the watching thread, so the preview stays responsive meanwhile.

use crate::project::{Failed, Loaded, load};
use crate::source::files::FOLDERS;
use notify::{Event, EventKind, RecommendedWatcher, RecursiveMode, Watcher};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::{Duration, Instant};

/// A project loaded again.
pub type Reload = Result<Loaded, Box<Failed>>;

/// Files must be left alone for this long: editors write in several steps.
const QUIET: Duration = Duration::from_millis(12);
/// Not put off for longer than this.
const PATIENCE: Duration = Duration::from_millis(60);

/// Watches until it is dropped.
#[derive(Debug)]
pub struct Watch {
    stop: Sender<Message>,
}

enum Message {
    Changed(notify::Result<Event>),
    Stop,
}

impl Drop for Watch {
    fn drop(&mut self) {
        // The thread may have ended already.
        let _ = self.stop.send(Message::Stop);
    }
}

/// A project on the disk, with changes as for `--set`.
#[derive(Clone, Debug)]
pub struct Place {
    /// The folder or its `device.toml`.
    pub project: PathBuf,
    /// Changes for this run.
    pub set: Vec<String>,
}

impl Place {
    /// The folder, as the system names it in its events: absolute and without links.
    fn root(&self) -> PathBuf {
        let root = match self.project.is_dir() {
            true => self.project.as_path(),
            false => match self.project.parent() {
                Some(folder) if !folder.as_os_str().is_empty() => folder,
                _ => Path::new("."),
            },
        };
        std::fs::canonicalize(root).unwrap_or_else(|_| root.to_path_buf())
    }

    /// Whether a file belongs to the project.
    fn holds(&self, root: &Path, path: &Path) -> bool {
        let Ok(inside) = path.strip_prefix(root) else { return false };
        let device = if self.project.is_dir() {
            Path::new("device.toml")
        } else {
            Path::new(self.project.file_name().unwrap_or_default())
        };
        let hidden = inside.file_name().and_then(|name| name.to_str()).is_some_and(|name| name.starts_with('.'));
        inside == device || (!hidden && FOLDERS.iter().any(|folder| inside.starts_with(folder)))
    }

    fn follow(&self, root: &Path, watcher: &mut RecommendedWatcher) {
        for folder in FOLDERS.iter().map(|folder| root.join(folder)).filter(|folder| folder.is_dir()) {
            // A folder that vanished between the two calls is noticed by its root.
            let _ = watcher.watch(&folder, RecursiveMode::Recursive);
        }
    }
}

/// Begins to watch; every change ends in a call of `send` on another thread.
///
/// # Errors
/// A sentence, when the system cannot watch the folder.
pub fn watch(place: Place, send: impl Fn(Reload) + Send + 'static) -> Result<Watch, String> {
    let (stop, messages) = channel();
    let sender = stop.clone();
    let fail = |why: notify::Error| format!("changes of the files are not seen: {why}");
    let mut watcher = notify::recommended_watcher(move |event| {
        let _ = sender.send(Message::Changed(event));
    })
    .map_err(fail)?;
    let root = place.root();
    watcher.watch(&root, RecursiveMode::NonRecursive).map_err(fail)?;
    place.follow(&root, &mut watcher);
    std::thread::spawn(move || {
        while wait(&messages, &place, &root) {
            place.follow(&root, &mut watcher);
            send(load(&place.project, &place.set));
        }
    });
    Ok(Watch { stop })
}

/// Waits for a change and then for quiet. False when the watch was dropped.
fn wait(messages: &Receiver<Message>, place: &Place, root: &Path) -> bool {
    let matters = |event: &notify::Result<Event>| match event {
        Ok(event) if matches!(event.kind, EventKind::Access(_)) => false,
        Ok(event) => event.need_rescan() || event.paths.iter().any(|path| place.holds(root, path)),
        Err(_) => true,
    };
    loop {
        match messages.recv() {
            Ok(Message::Changed(event)) if matters(&event) => break,
            Ok(Message::Changed(_)) => {}
            Ok(Message::Stop) | Err(_) => return false,
        }
    }
    let latest = Instant::now() + PATIENCE;
    while Instant::now() < latest {
        match messages.recv_timeout(QUIET) {
            Ok(Message::Changed(_)) => {}
            Ok(Message::Stop) | Err(RecvTimeoutError::Disconnected) => return false,
            Err(RecvTimeoutError::Timeout) => break,
        }
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    const WAIT: Duration = Duration::from_secs(10);

    #[test]
    fn only_the_projects_own_files_matter() {
        let folder = tempfile::tempdir().unwrap();
        let place = Place { project: folder.path().to_path_buf(), set: Vec::new() };
        let root = place.root();
        let holds = |name: &str| place.holds(&root, &root.join(name));
        assert!(holds("device.toml") && holds("screens/a.toml") && holds("icons/x/y.png") && holds("parts"));
        assert!(!holds("notes.txt") && !holds("preview-a-1.png") && !holds("screens/.a.toml.swp"));
        assert!(!place.holds(&root, Path::new("/elsewhere/device.toml")));
    }

    #[test]
    fn every_change_is_loaded_once_it_is_quiet_errors_too() {
        let folder = tempfile::tempdir().unwrap();
        let (send, loads) = channel();
        let place = Place { project: folder.path().to_path_buf(), set: Vec::new() };
        let watching = watch(place, move |reload| drop(send.send(reload))).unwrap();
        fs::write(folder.path().join("notes.txt"), "none of its business").unwrap();
        fs::write(folder.path().join("device.toml"), "name = 1").unwrap();
        let failed = loads.recv_timeout(WAIT).expect("the change is seen").expect_err("not a project");
        assert!(!failed.faults.is_empty());
        // A folder that is new is followed from then on.
        fs::create_dir(folder.path().join("screens")).unwrap();
        loads.recv_timeout(WAIT).expect("the new folder is seen").expect_err("still not a project");
        std::thread::sleep(Duration::from_millis(100));
        while loads.try_recv().is_ok() {}
        fs::write(folder.path().join("screens/a.toml"), "content = []").unwrap();
        loads.recv_timeout(WAIT).expect("its file is seen").expect_err("still not a project");
        drop(watching);
        std::thread::sleep(Duration::from_millis(200));
        while loads.try_recv().is_ok() {}
        fs::write(folder.path().join("device.toml"), "name = 2").unwrap();
        assert!(loads.recv_timeout(Duration::from_millis(300)).is_err(), "nobody watches any more");
    }
}

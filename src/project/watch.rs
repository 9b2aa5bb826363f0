//! Watches a project's files: says which of them changed, once they have been left alone for a moment.
//!
//! Not for what is done then: the preview loads the project again, `check --watch` looks at it again.

use crate::source::fault::Fault;
use crate::source::files::FOLDERS;
use notify::{Event, EventKind, RecommendedWatcher, RecursiveMode, Watcher};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::{Duration, Instant};

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
pub struct WatchedProject {
    /// The folder or its `device.toml`.
    pub project: PathBuf,
    /// Changes for this run.
    pub set: Vec<String>,
}

impl WatchedProject {
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
        let name = inside.file_name().and_then(|name| name.to_str()).unwrap_or_default();
        // Files of a project have an ending; what editors put beside them while they save has none, or `~`.
        let passing = name.ends_with('~') || (inside.extension().is_none() && !path.is_dir());
        let folder = FOLDERS.iter().any(|folder| inside == Path::new(folder));
        let hidden = name.starts_with('.') || (passing && !folder);
        inside == device || (!hidden && FOLDERS.iter().any(|folder| inside.starts_with(folder)))
    }

    fn follow(&self, root: &Path, watcher: &mut RecommendedWatcher) {
        for folder in FOLDERS.iter().map(|folder| root.join(folder)).filter(|folder| folder.is_dir()) {
            // A folder that vanished between the two calls is noticed by its root.
            let _ = watcher.watch(&folder, RecursiveMode::Recursive);
        }
    }
}

/// Begins to watch; every change ends in a call of `changed` on another thread, with the files concerned as the project
/// names them, in order. The list is empty where the system does not say which.
///
/// # Errors
/// When the system cannot watch the folder.
pub fn watch(place: WatchedProject, changed: impl Fn(&[PathBuf]) + Send + 'static) -> Result<Watch, Fault> {
    let (stop, messages) = channel();
    let sender = stop.clone();
    let fail = |why: notify::Error| Fault::plain(format!("changes of the files are not seen: {why}"));
    let mut watcher = notify::recommended_watcher(move |event| {
        let _ = sender.send(Message::Changed(event));
    })
    .map_err(fail)?;
    let root = place.root();
    watcher.watch(&root, RecursiveMode::NonRecursive).map_err(fail)?;
    place.follow(&root, &mut watcher);
    std::thread::spawn(move || {
        while let Some(files) = wait(&messages, &place, &root) {
            place.follow(&root, &mut watcher);
            changed(&files.into_iter().collect::<Vec<_>>());
        }
    });
    Ok(Watch { stop })
}

/// Waits for a change and then for quiet; the files of the project that changed. `None` when the watch was dropped.
fn wait(messages: &Receiver<Message>, place: &WatchedProject, root: &Path) -> Option<BTreeSet<PathBuf>> {
    let mut files = BTreeSet::new();
    loop {
        match messages.recv() {
            Ok(Message::Changed(event)) if take(&event, place, root, &mut files) => break,
            Ok(Message::Changed(_)) => {}
            Ok(Message::Stop) | Err(_) => return None,
        }
    }
    let latest = Instant::now() + PATIENCE;
    while Instant::now() < latest {
        match messages.recv_timeout(QUIET) {
            Ok(Message::Changed(event)) => {
                take(&event, place, root, &mut files);
            }
            Ok(Message::Stop) | Err(RecvTimeoutError::Disconnected) => return None,
            Err(RecvTimeoutError::Timeout) => break,
        }
    }
    Some(files)
}

/// Takes the project's files of an event; whether it matters.
fn take(event: &notify::Result<Event>, place: &WatchedProject, root: &Path, files: &mut BTreeSet<PathBuf>) -> bool {
    let Ok(event) = event else { return true };
    if matches!(event.kind, EventKind::Access(_)) {
        return false;
    }
    let held = event.paths.iter().filter(|path| place.holds(root, path));
    let held: Vec<PathBuf> = held.filter_map(|path| Some(path.strip_prefix(root).ok()?.to_path_buf())).collect();
    let matters = event.need_rescan() || !held.is_empty();
    files.extend(held);
    matters
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    const WAIT: Duration = Duration::from_secs(10);

    #[test]
    fn only_the_projects_own_files_matter() {
        let folder = tempfile::tempdir().unwrap();
        let place = WatchedProject { project: folder.path().to_path_buf(), set: Vec::new() };
        let root = place.root();
        let holds = |name: &str| place.holds(&root, &root.join(name));
        assert!(holds("device.toml") && holds("screens/a.toml") && holds("icons/x/y.png") && holds("parts"));
        assert!(!holds("notes.txt") && !holds("preview-a-1.png") && !holds("screens/.a.toml.swp"));
        assert!(!place.holds(&root, Path::new("/elsewhere/device.toml")));
    }

    #[test]
    fn every_change_is_told_once_it_is_quiet() {
        let folder = tempfile::tempdir().unwrap();
        let (send, changes) = channel();
        let place = WatchedProject { project: folder.path().to_path_buf(), set: Vec::new() };
        let watching = watch(place, move |files| drop(send.send(files.to_vec()))).unwrap();
        let next = |what: &str| -> Vec<PathBuf> { changes.recv_timeout(WAIT).expect(what) };
        fs::write(folder.path().join("notes.txt"), "none of its business").unwrap();
        fs::write(folder.path().join("device.toml"), "name = 1").unwrap();
        assert_eq!(next("the change is seen"), [PathBuf::from("device.toml")]);
        // A folder that is new is followed from then on.
        fs::create_dir(folder.path().join("screens")).unwrap();
        assert_eq!(next("the new folder is seen"), [PathBuf::from("screens")]);
        std::thread::sleep(Duration::from_millis(100));
        while changes.try_recv().is_ok() {}
        fs::write(folder.path().join("screens/a.toml"), "content = []").unwrap();
        assert_eq!(next("its file is seen"), [PathBuf::from("screens/a.toml")]);
        drop(watching);
        std::thread::sleep(Duration::from_millis(200));
        while changes.try_recv().is_ok() {}
        fs::write(folder.path().join("device.toml"), "name = 2").unwrap();
        assert!(changes.recv_timeout(Duration::from_millis(300)).is_err(), "nobody watches any more");
    }
}

//! The preview: from a saved file to pixels, and one picture of a large panel.

use super::devices::DEMO;
use super::pair::{median, timed};
use super::table::{Table, Target};
use embedded_graphics::prelude::Size;
use inkjoule::preview::panel::PanelPicture;
use inkjoule::preview::scene;
use inkjoule::preview::session::{Begin, Session};
use inkjoule::preview::view::View;
use inkjoule::preview::watch::watch;
use inkjoule::project::load;
use inkjoule::project::watch::WatchedProject;
use std::fs;
use std::path::Path;
use std::sync::mpsc::channel;
use std::time::{Duration, Instant};

/// All rows.
pub fn rows(table: &mut Table) {
    reload(table);
    frame(table);
}

fn session(project: &Path, changes: &[&str]) -> Session {
    let changes: Vec<String> = changes.iter().map(ToString::to_string).collect();
    let loaded = load(project, &changes).map_err(|failed| failed.faults).expect("the demo can be loaded");
    Session::new(loaded, Begin::Shown)
}

/// A copy of the demo is saved again and again; the clock stops when the picture of the window is drawn.
fn reload(table: &mut Table) {
    let name = "preview: file saved to pixels drawn";
    if !table.wants(name) {
        return;
    }
    let folder = tempfile::tempdir().expect("a folder");
    copy(Path::new(DEMO), folder.path());
    let mut session = session(folder.path(), &[]);
    let (mut view, mut panel) = (View::default(), PanelPicture::default());
    let (send, loads) = channel();
    let place = WatchedProject { project: folder.path().to_path_buf(), set: Vec::new() };
    let _watching = watch(place, move |reload| drop(send.send(reload))).expect("the folder can be watched");
    let file = folder.path().join("screens/tonight.toml");
    let text = fs::read_to_string(&file).expect("the home screen");
    let once = |turn: usize| {
        let start = Instant::now();
        fs::write(&file, format!("{text}\n# {turn}\n")).expect("the file can be saved");
        let reload = loads.recv_timeout(Duration::from_secs(10)).expect("the change is seen");
        view.take(&mut session, reload);
        scene::draw(&session, &view, Size::new(1200, 700), &mut panel);
        let taken = start.elapsed().as_secs_f64();
        std::thread::sleep(Duration::from_millis(50));
        taken
    };
    let times: Vec<f64> = (0..21).map(once).collect();
    table.time(name, Target::Seconds(0.1), median(times));
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("the demo") {
        let path = entry.expect("an entry").path();
        let target = to.join(path.file_name().unwrap_or_default());
        if path.is_dir() {
            copy(&path, &target);
        } else {
            fs::copy(&path, &target).expect("a copy");
        }
    }
}

/// The window of an 800 x 480 panel at scale 1, with its strip; with another picture on the panel each time, and with
/// the same one.
fn frame(table: &mut Table) {
    let name = "preview: a frame, 800 x 480 panel";
    if !table.wants(name) {
        return;
    }
    let session = session(Path::new(DEMO), &["panel.from=mono-800x480", "panel.mounted=0"]);
    let view = View::default();
    let size = scene::wanted(&session, &view, 1.0);
    let mut panel = PanelPicture::default();
    let ours = timed(|| scene::draw(&session, &view, size, &mut panel));
    let plain = timed(|| scene::draw(&session, &view, size, &mut PanelPicture::default()));
    let measured = super::pair::pair(ours, plain);
    table.time(&format!("{name}, display changed"), Target::Seconds(0.016), measured.plain);
    table.time(&format!("{name}, display as it was"), Target::Seconds(0.016), measured.ours);
}

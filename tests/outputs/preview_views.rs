//! What the window and the terminal show of a session, without either of them.

use embedded_graphics::prelude::{Point, PointsIter, Size};
use inkjoule::preview::canvas::WindowCanvas;
use inkjoule::preview::command::{Command, apply};
use inkjoule::preview::panel::PanelPicture;
use inkjoule::preview::scene::{self, Scene};
use inkjoule::preview::session::{Begin, Session};
use inkjoule::preview::terminal::page::{Room, page};
use inkjoule::preview::theme::{ALERT, BOXES, INK, PAPER, STRIP};
use inkjoule::preview::view::{Note, View, Zoom};
use inkjoule::preview::watch::watch;
use inkjoule::project::watch::WatchedProject;
use inkjoule::project::{Loaded, load, load_files};
use inkjoule::source::files::Files;
use proptest::prelude::*;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::mpsc::channel;
use std::time::Duration;

fn demo_folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("screens-demo")
}

fn demo() -> Session {
    Session::new(load(&demo_folder(), &[]).expect("the demo loads"), Begin::Shown)
}

fn starter(side: &str) -> Loaded {
    let device = include_str!("../../src/cli/starter/device.toml");
    let mut device = device.replace("keys-at = \"bottom\"", &format!("keys-at = \"{side}\""));
    if matches!(side, "left" | "right") {
        for (from, to) in
            [("centre = \"11 mm\"", "centre = \"5 mm\""), ("33 mm", "14 mm"), ("56 mm", "23 mm"), ("18 mm", "8 mm")]
        {
            device = device.replace(from, to);
        }
    }
    let home = "content = [ { text = \"Hello\", font = \"bold\" } ]\n[keys]\n2 = { go = \"home\" }\n";
    let files = [("device.toml", device.as_str()), ("screens/home.toml", home)];
    load_files(Files::from_memory(files)).unwrap_or_else(|failed| panic!("{:?}", failed.faults))
}

fn drawn(session: &Session, view: &View, size: Size) -> Scene {
    scene::draw(session, view, size, &mut PanelPicture::default())
}

fn has(canvas: &WindowCanvas, color: u32) -> bool {
    canvas.pixels().contains(&color)
}

#[test]
fn every_pixel_of_the_panel_is_a_sharp_square_of_the_picture() {
    let session = demo();
    let view = View { zoom: Zoom::Times(3), ..View::default() };
    let scene = drawn(&session, &view, Size::new(1500, 800));
    assert_eq!(scene.scale, 3.0);
    let frame = session.display();
    for y in 0..frame.height() {
        for x in 0..frame.width() {
            let corner = scene.bezel.active.top_left + Point::new(x as i32 * 3, y as i32 * 3);
            let wanted = Some(if frame.ink(x, y) { INK } else { PAPER });
            assert_eq!(
                (scene.canvas.pixel(corner), scene.canvas.pixel(corner + Point::new(2, 2))),
                (wanted, wanted),
                "{x}, {y}"
            );
        }
    }
    assert_eq!(scene.panel_pixel(scene.bezel.active.top_left + Point::new(8, 11)), Some((2, 3)));
    assert_eq!(scene.panel_pixel(Point::new(1, 1)), None);
}

#[test]
fn soft_keys_lie_at_their_millimetres_on_their_side_and_take_clicks() {
    for side in ["bottom", "top", "left", "right"] {
        let session = Session::new(starter(side), Begin::Shown);
        let view = View { zoom: Zoom::Times(2), ..View::default() };
        let scene = drawn(&session, &view, Size::new(1400, 1000));
        let (bezel, panel) = (&scene.bezel, &session.device().panel);
        let upright = matches!(side, "left" | "right");
        for (index, (key, place)) in bezel.keys.iter().zip(&session.device().display.keys).enumerate() {
            let middle = key.center();
            assert_eq!(scene.command_at(middle), Some(Command::Press(index)), "{side}");
            let pitch = panel.pitch[usize::from(upright)].0;
            let along = (place.centre.0 / pitch * 2.0) as i32;
            let (begin, at) = match upright {
                true => (bezel.active.top_left.y, middle.y),
                false => (bezel.active.top_left.x, middle.x),
            };
            assert!((at - begin - along).abs() <= 2, "{side}: key {} is at {}, not {along}", index + 1, at - begin);
            assert!(key.intersection(&bezel.display).is_zero_sized(), "{side}: a key on the display");
            assert_eq!(key.intersection(&bezel.body), *key, "{side}: a key beside the body");
        }
        let outwards = bezel.keys[0].center() - bezel.display.center();
        let ok = match side {
            "bottom" => outwards.y > 0,
            "top" => outwards.y < 0,
            "left" => outwards.x < 0,
            _ => outwards.x > 0,
        };
        assert!(ok, "{side}: the keys lie at another side");
    }
}

#[test]
fn true_size_follows_the_monitors_pitch() {
    let session = demo();
    let pitch = session.device().panel.pitch[0].0;
    for ppi in [96.0, 163.0, 254.0] {
        let view = View { zoom: Zoom::TrueSize, monitor_ppi: Some(ppi), ..View::default() };
        let scene = drawn(&session, &view, Size::new(1600, 900));
        let shown = f64::from(scene.bezel.active.size.width) / ppi * 0.0254;
        let real = pitch * f64::from(session.device().panel.size().width);
        assert!((shown / real - 1.0).abs() < 0.01, "{shown} m instead of {real} m at {ppi} ppi");
    }
}

#[test]
fn overlays_and_errors_are_seen() {
    let mut session = demo();
    let mut view = View::default();
    let size = Size::new(1200, 600);
    let plain = drawn(&session, &view, size);
    assert!(!has(&plain.canvas, ALERT) && !has(&plain.canvas, BOXES));
    apply(Command::Boxes, &mut session, &mut view);
    assert!(has(&drawn(&session, &view, size).canvas, BOXES));
    let failed = load_files(Files::from_memory([("device.toml", "name = 1")])).expect_err("no project");
    view.take(&mut session, Err(failed));
    let scene = drawn(&session, &view, size);
    assert!(has(&scene.canvas, ALERT));
    // The picture above the message is the last good one.
    let corner = scene.bezel.active.top_left;
    assert_eq!(scene.canvas.pixel(corner), plain.canvas.pixel(corner));
    view.take(&mut session, load(&demo_folder(), &[]));
    assert!(view.errors.is_empty() && !has(&drawn(&session, &view, size).canvas, ALERT));
}

#[test]
fn actual_size_keeps_the_strip_and_leads_back() {
    let (mut session, mut view) = (demo(), View { monitor_ppi: Some(96.0), fitted: 3, ..View::default() });
    let usual = scene::wanted(&session, &view, 3.0);
    let strip = |view: &View, session: &Session, size: Size| {
        let drawn = drawn(session, view, size);
        // The strip is a column of its own colour at the right edge.
        (0..size.height as i32).all(|y| drawn.canvas.pixel(Point::new(size.width as i32 - 2, y)) == Some(STRIP))
    };
    assert!(strip(&view, &session, usual));
    apply(Command::TrueSize, &mut session, &mut view);
    assert_eq!(view.zoom, Zoom::TrueSize);
    let small = scene::wanted(&session, &view, view.true_scale(&session));
    assert!(small.width < usual.width && strip(&view, &session, small), "the strip stays at {small:?}");
    view.fitted = 1;
    apply(Command::TrueSize, &mut session, &mut view);
    assert_eq!((view.zoom, view.fitted), (Zoom::Fit, 3), "as it was before");
    let mut chosen = View { zoom: Zoom::Times(4), ..view.clone() };
    apply(Command::TrueSize, &mut session, &mut chosen);
    apply(Command::TrueSize, &mut session, &mut chosen);
    assert_eq!(chosen.zoom, Zoom::Times(4));
}

#[test]
fn what_went_well_is_not_red() {
    let (session, size) = (demo(), Size::new(1200, 600));
    let with = |note: Note| drawn(&session, &View { note: Some(note), ..View::default() }, size);
    assert!(!has(&with(Note::done("saved preview.png")).canvas, ALERT));
    assert!(has(&with(Note::trouble("key 3 does nothing here")).canvas, ALERT));
}

#[test]
fn the_list_of_keys_stands_beside_the_panel() {
    let (session, size) = (demo(), Size::new(1200, 640));
    let plain = drawn(&session, &View::default(), size);
    let help = drawn(&session, &View { help: true, ..View::default() }, size);
    let body = plain.bezel.body;
    for at in body.points().step_by(7) {
        assert_eq!(plain.canvas.pixel(at), help.canvas.pixel(at), "the device is covered at {at}");
    }
    assert!(plain.canvas.pixels() != help.canvas.pixels());
}

#[test]
fn a_small_terminal_can_be_read() {
    for unicode in [true, false] {
        let session = demo();
        let lines =
            page(&session, &View { windows: false, ..View::default() }, Room { columns: 80, rows: 24, unicode });
        let text: Vec<String> =
            lines.into_iter().map(|line| line.into_iter().map(|(_, text)| text).collect::<String>()).collect();
        let all = text.join("\n");
        assert!(text.len() <= 24 && text.iter().all(|line| line.chars().count() <= 80), "{all}");
        // The screen's own words, and each key with its label below its place.
        for words in ["Tonight", "Frost risk", "[1] Posts", "[2] Trend", "[3] Alarm", "[4] Night", "screen tonight"] {
            assert!(all.contains(words), "{words:?} is not in\n{all}");
        }
        let keys = text.iter().find(|line| line.contains("[1]")).expect("a row of keys");
        assert!(["[1]", "[2]", "[3]", "[4]"].iter().all(|key| keys.contains(key)), "{all}");
    }
}

#[test]
fn a_saved_change_is_drawn() {
    let folder = tempfile::tempdir().expect("a folder");
    for entry in walk(&demo_folder()) {
        let to = folder.path().join(entry.strip_prefix(demo_folder()).expect("inside"));
        fs::create_dir_all(to.parent().expect("a folder")).expect("made");
        fs::copy(&entry, to).expect("copied");
    }
    let (send, loads) = channel();
    let place = WatchedProject { project: folder.path().to_path_buf(), set: Vec::new() };
    let _watching = watch(place, move |reload| drop(send.send(reload))).expect("a watch");
    let (mut session, mut view, mut panel) = (demo(), View::default(), PanelPicture::default());
    let screen = folder.path().join("screens/tonight.toml");
    let text = fs::read_to_string(&screen).expect("read");
    for number in 0..9 {
        let margin = format!("gap = {}, align = \"stretch\"", 10 + number % 2);
        fs::write(&screen, text.replace("gap = 10, align = \"stretch\"", &margin)).expect("written");
        let reload = loads.recv_timeout(Duration::from_secs(10)).expect("seen");
        view.take(&mut session, reload);
        assert!(view.errors.is_empty(), "{:?}", view.errors);
        scene::draw(&session, &view, Size::new(1200, 600), &mut panel);
        std::thread::sleep(Duration::from_millis(80));
        while loads.try_recv().is_ok() {}
    }
}

fn walk(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path());
    entries.flat_map(|path| if path.is_dir() { walk(&path) } else { vec![path] }).collect()
}

#[test]
fn every_step_of_a_full_refresh_is_drawn_on_a_large_panel() {
    let mut loaded = load(&demo_folder(), &[]).expect("the demo loads");
    loaded.device.panel.native = Size::new(480, 800);
    let mut session = Session::new(loaded, Begin::Shown);
    assert_eq!(session.device().panel.size(), Size::new(800, 480));
    session.set_speed(1.0);
    session.restart();
    let (view, mut panel) = (View::default(), PanelPicture::default());
    let (mut steps, mut changes, mut before) = (0, 0, Vec::new());
    while session.busy() {
        let picture = scene::draw(&session, &view, Size::new(2000, 1200), &mut panel).canvas;
        // What was drawn before is used again only where it is still right.
        assert_eq!(picture, drawn(&session, &view, Size::new(2000, 1200)).canvas, "step {steps}");
        changes += u32::from(picture.pixels() != before);
        before = picture.pixels().to_vec();
        steps += 1;
        session.advance(session.next_change().expect("busy"));
    }
    assert!(changes > 4, "{changes} of {steps}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_window_can_be_drawn(w in 1u32..1800, h in 1u32..1200, text in 1u32..4, zoom in 0u32..6, help: bool, boxes: bool) {
        let session = demo();
        let zoom = match zoom { 0 => Zoom::Fit, 1 => Zoom::TrueSize, times => Zoom::Times(times * 3) };
        let view = View { zoom, help, boxes, activity: boxes, text_scale: text, pointed: Some((9, 40)), ..View::default() };
        let scene = drawn(&session, &view, Size::new(w, h));
        prop_assert_eq!(scene.canvas.size(), Size::new(w, h));
    }

    #[test]
    fn any_terminal_can_be_filled(columns in 1u32..400, rows in 1u32..120, unicode: bool, help: bool, boxes: bool) {
        let mut session = demo();
        session.press(0);
        let mut view = View { help, boxes, ..View::default() };
        view.failed(&load_files(Files::from_memory([("device.toml", "naïve = 1")])).expect_err("no project"));
        let lines = page(&session, &view, Room { columns, rows, unicode });
        prop_assert!(lines.len() <= rows as usize);
        for line in lines {
            let text: String = line.into_iter().map(|(_, text)| text).collect();
            prop_assert!(text.chars().count() <= columns as usize, "{:?} is longer than {}", text, columns);
            prop_assert!(unicode || text.is_ascii(), "{:?} is not ASCII", text);
        }
    }
}

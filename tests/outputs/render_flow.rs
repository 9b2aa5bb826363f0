//! `render --map`, `render --filmstrip FILE` and what `check` says of the flow, as commands.

use crate::starter::{Project, run};
use inkjoule::project::load;
use inkjoule::render::{Show, frames};
use std::path::Path;

#[test]
fn a_map_is_written_as_svg_and_png() {
    let project = Project::new();
    let out = project.folder().join("images");
    let shown = run(&["render", project.path(), "--map", "--out", out.to_str().expect("a plain path")]);
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    let svg = std::fs::read_to_string(out.join("map.svg")).expect("the SVG");
    assert!(roxmltree::Document::parse(&svg).is_ok());
    let png = image::open(out.join("map.png")).expect("the PNG");
    assert!(png.width() > 1000 && png.height() > 400);
    let wrong = run(&["render", project.path(), "--map", "--sheet"]);
    assert_eq!(wrong.status, 2);
}

#[test]
fn a_filmstrip_plays_a_script_and_a_log_of_keys() {
    let project = Project::new();
    project.write("walk.keys", b"# to the other screen and back\npress 1\nwait 3 s\npress 1\nwait 3 s\n");
    project.write("bench.csv", b"time,key,state\n0.0,1,down\n0.1,1,up\n");
    project.write("wrong.keys", b"press 1\nexpect home\nwait 3 s\nexpect nowhere\n");
    let out = project.folder().join("films");
    let out = out.to_str().expect("a plain path");
    for (file, made) in [("walk.keys", "walk.png"), ("bench.csv", "bench.png")] {
        let path = project.folder().join(file);
        let path = path.to_str().expect("a plain path");
        let shown = run(&["render", project.path(), "--filmstrip", path, "--out", out]);
        assert_eq!(shown.status, 0, "{}", shown.stderr);
        assert!(Path::new(out).join(made).is_file());
    }
    let wrong = project.folder().join("wrong.keys");
    let shown = run(&["render", project.path(), "--filmstrip", wrong.to_str().expect("a plain path"), "--out", out]);
    assert_eq!(shown.status, 2);
    assert!(shown.stderr.contains("wrong.keys:4: there is no screen `nowhere`"), "{}", shown.stderr);
    let absent = run(&["render", project.path(), "--filmstrip", "absent.keys", "--out", out]);
    assert_eq!(absent.status, 2);
    assert!(absent.stderr.contains("there is no journey and no file `absent.keys`"), "{}", absent.stderr);
}

#[test]
fn check_says_how_many_states_it_looked_at() {
    let shown = run(&["check", "screens-demo"]);
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    assert!(shown.stdout.contains("0 errors, 0 warnings"), "{}{}", shown.stdout, shown.stderr);
    assert!(shown.stdout.contains("5632 states of the flow explored"), "{}", shown.stdout);
    let json = run(&["check", "screens-demo", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json.stdout).expect("JSON");
    assert_eq!(
        json["flow"],
        serde_json::json!({
            "states": 5632, "complete": true, "bound": 20_000, "fields_taken_both_ways": []
        })
    );
}

#[test]
fn a_box_is_pictured_over_its_screen_and_the_language_is_that_of_the_picture() {
    let Ok(loaded) = load(Path::new("screens-demo"), &[]) else { panic!("the demo does not load") };
    let device = &loaded.device;
    let id = |name: &str| device.screen(name).expect("a screen");
    let picture = |name: &str, locale: usize| frames(device, &[id(name)], locale, Show::Sample).remove(0).1;
    // What lies above the box is that of the screen on which it opens: settings, or the home screen where both lead.
    for (over, below) in [("confirm", "settings"), ("low", "tonight"), ("saved", "tonight")] {
        let area = device.screens[id(over).0].over.as_ref().expect("a box").area;
        let (boxed, plain) = (picture(over, 0), picture(below, 0));
        let rows = 0..area.top_left.y as u32;
        assert!(rows.clone().all(|y| (0..boxed.width()).all(|x| boxed.ink(x, y) == plain.ink(x, y))), "{over}");
        assert!(rows.len() > 20 && boxed != plain, "{over}");
    }
    let language = device.field("language").expect("a field");
    for locale in 0..device.locales.len() {
        let mut values = device.sample();
        values.put(language, locale as f64);
        assert!(picture("settings", locale) == device.draw(id("settings"), locale, &values), "{locale}");
    }
}

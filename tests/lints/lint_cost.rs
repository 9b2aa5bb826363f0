//! The lints' time grows in step with screens times locales.

use inkjoule::lint::{Subject, findings};
use inkjoule::project::load_files;
use inkjoule::source::files::Files;
use std::time::{Duration, Instant};

const DEVICE: &str = include_str!("../../src/cli/starter/device.toml");
const SCREEN: &str = r#"
content = [
  { text = "@head", font = "small", top = 14 },
  { keys = "ticks", bottom = 15 },
  { row = [
    { value = "level", font = "numerals", unit-font = "bold" },
    { column = [ { text = "@body", wrap = true }, { text = "at {taken}" } ], grow = 1 },
  ], gap = 8, align = "center" },
]

[keys]
1 = { label = "Home", go = "home" }
"#;

/// The least of three times that the lints take with this many screens and locales.
fn time(screens: usize, locales: usize) -> Duration {
    let mut files =
        vec![("device.toml".to_owned(), DEVICE.to_owned()), ("screens/home.toml".to_owned(), SCREEN.to_owned())];
    files.extend((1..screens).map(|n| (format!("screens/s{n}.toml"), SCREEN.to_owned())));
    let words = "head = \"Level of the tank\"\nbody = \"As read by the float\"\n";
    files.extend((0..locales).map(|n| (format!("strings/l{n}.toml"), words.to_owned())));
    let loaded = load_files(Files::from_memory(files)).unwrap();
    let once = || {
        let start = Instant::now();
        let found = findings(&Subject::new(&loaded.device, (0..locales).collect()));
        assert!(!found.is_empty());
        start.elapsed()
    };
    (0..3).map(|_| once()).min().unwrap()
}

#[test]
fn time_grows_in_step_with_screens_and_locales() {
    let small = time(16, 2);
    for (what, large) in [("screens", time(64, 2)), ("locales", time(16, 8))] {
        let growth = large.as_secs_f64() / small.as_secs_f64();
        // Four times the work; twice that again is allowed for a busy machine. A square law would be 16.
        assert!(growth < 8.0, "four times the {what} take {growth:.1} times as long ({small:?}, {large:?})");
    }
}

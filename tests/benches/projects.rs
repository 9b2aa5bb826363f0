//! Whole projects: loading, checking, sweeps, the report; how the lints' time grows.

use super::devices::{DEMO, demo};
use super::pair::{Pair, pair, timed};
use super::table::{Table, Target};
use inkjoule::budget::figure::Figure;
use inkjoule::budget::summary::budget;
use inkjoule::check::check;
use inkjoule::device::Device;
use inkjoule::evaluation::Evaluation;
use inkjoule::figures::sweep::range::{Spacing, values};
use inkjoule::figures::sweep::{Swept, sweep};
use inkjoule::lint::{Subject, findings};
use inkjoule::project::{load, load_files, set};
use inkjoule::report::{Content, page};
use inkjoule::source::files::Files;
use std::path::Path;

/// All rows.
pub fn rows(table: &mut Table) {
    loading(table);
    lints(table);
    sweeps(table);
    report(table);
}

fn loading(table: &mut Table) {
    let files = Files::read(Path::new(DEMO)).expect("the demo can be read");
    let texts: Vec<&str> = files
        .names()
        .filter(|name| name.ends_with(".toml"))
        .filter_map(|name| std::str::from_utf8(files.bytes(name)?).ok())
        .collect();
    let ours = timed(|| load(Path::new(DEMO), &[]));
    let plain = timed(|| texts.iter().filter(|text| text.parse::<toml::Table>().is_ok()).count());
    table.pair("load the demo", Target::None, "its TOML parsed, nothing else", ours, plain);
    let device = demo(&[]);
    let ours =
        timed(|| check(&inkjoule::lint::Subject::new(&device, (0..device.locales.len()).collect()), &budget(&device)));
    let plain = timed(|| budget(&device));
    table.pair("check the demo: lints and limits", Target::None, "its budget alone", ours, plain);
}

/// The demo with each screen so many times and so many locales.
fn grown(times: usize, locales: usize) -> Device {
    let mut files = Files::read(Path::new(DEMO)).expect("the demo can be read");
    let text = |files: &Files, name: &str| {
        String::from_utf8(files.bytes(name).map(<[u8]>::to_vec).unwrap_or_default()).expect("text")
    };
    for id in files.toml_in("screens") {
        let screen = text(&files, &format!("screens/{id}.toml"));
        (1..times).for_each(|copy| files.replace(&format!("screens/{id}-{copy}.toml"), screen.clone()));
    }
    let words = text(&files, "strings/en.toml");
    (files.toml_in("strings").len()..locales).for_each(|n| files.replace(&format!("strings/x{n}.toml"), words.clone()));
    load_files(files).map_err(|failed| failed.faults).expect("the grown demo can be loaded").device
}

/// Four times the screens, or the locales, against four times the time.
fn lints(table: &mut Table) {
    for (name, few, many) in
        [("lints, four times the screens", (1, 3), (4, 3)), ("lints, four times the locales", (1, 3), (1, 12))]
    {
        if !table.wants(name) {
            continue;
        }
        let [small, large] = [few, many].map(|(times, locales)| grown(times, locales));
        let all = |device: &Device| findings(&Subject::new(device, (0..device.locales.len()).collect())).len();
        let Pair { ours, plain, gain } = pair(timed(|| all(&large)), timed(|| all(&small)));
        let measured = Pair { ours: ours / 4.0, plain, gain: 4.0 * gain };
        table.row(name, Target::Within(1.3), "a quarter of them; a quarter of the time stands here", measured);
    }
}

fn sweeps(table: &mut Table) {
    let name = "sweep of 24 values";
    if !table.wants(name) {
        return;
    }
    let (path, steps) = ("board.mcu.sleep", 24);
    let files = Files::read(Path::new(DEMO)).expect("the demo can be read");
    let device = demo(&[]);
    let range = values("1uA..10uA", steps, Spacing::Linear).expect("a range");
    let ours = timed(|| {
        let swept = Swept::new(&device, &files, path, range.clone(), Spacing::Linear);
        sweep(&device, &files, vec![swept], vec![Figure::Life], None).map(|sweep| sweep.rows.len()).unwrap_or(0)
    });
    let plain = timed(|| {
        let one = |text: &String| {
            let changes = [format!("{path}={text}")];
            load(Path::new(DEMO), &changes).map(|loaded| budget(&loaded.device).policy[0].0).unwrap_or(0.0)
        };
        range.values.iter().map(|value| one(&value.text)).sum::<f64>()
    });
    table.pair(name, Target::None, "24 budgets, one after the other", ours, plain);
}

fn report(table: &mut Table) {
    let name = "report of the demo";
    if !table.wants(name) {
        return;
    }
    let mut files = Files::read(Path::new(DEMO)).expect("the demo can be read");
    set::apply(&mut files, "usage.days=7").expect("a change");
    let side = Evaluation::of("demo", files).map_err(|failed| failed.faults).expect("the demo can be loaded");
    let content = Content { side: &side, changes: &[], locale: 0, against: &[], alternatives: &[] };
    let ours = timed(|| page(&content).len());
    let plain = timed(|| budget(&side.device));
    table.pair(name, Target::None, "its budget alone", ours, plain);
}

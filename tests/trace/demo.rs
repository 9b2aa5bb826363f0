//! The demo's trace: how it is made, and that the report tells the truth behind it.

use super::made::{Happening, Phase, Truth, seeded};
use inkjoule::budget::summary::full_work;
use inkjoule::plot::palette::{Colour, Theme};
use inkjoule::plot::scene::{Anchor, Shape};
use inkjoule::plot::svg::svg;
use inkjoule::project::{load, load_files};
use inkjoule::source::files::Files;
use inkjoule::trace::against::against;
use inkjoule::trace::chart::chart;
use inkjoule::trace::kinds::{Name, kinds};
use inkjoule::trace::profile::{Known, panel_table, profile};
use inkjoule::trace::{Settings, read};
use inkjoule::units::Celsius;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// Temperature of the invented bench.
const BENCH: Celsius = Celsius(22.0);

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("screens-demo")
}

fn file() -> PathBuf {
    demo().join("traces/bench-current.csv")
}

/// The invented device: drawing takes it somewhat longer or shorter than its project says, its full drive longer and more.
fn phases(full: bool, longer: f64) -> Vec<Phase> {
    // A full refresh is sent one plane, a partial one both.
    let (drawn, buffer, transfer, drive) = match full {
        true => (0.0331, 0.0229, 0.0118, (2.62, 4.42e-3)),
        false => (0.1049, 0.0344, 0.0229, (0.43, 3.38e-3)),
    };
    vec![
        (drawn, 2.11e-3),
        (0.0131, 0.97e-3),
        (buffer, 3.72e-3),
        (transfer, 2.12e-3),
        (0.0464, 5.37e-3),
        (drive.0 * longer, drive.1),
        (0.0312, 1.37e-3),
    ]
}

fn truth() -> Truth {
    let updates = [
        (2.1, true, 1.0),
        (9.4, false, 1.0),
        (16.3, false, 1.013),
        (24.6, true, 0.991),
        (33.2, false, 0.994),
        (41.9, true, 1.006),
        (52.5, false, 1.004),
    ];
    let refresh = |(start, full, longer): (f64, bool, f64)| Happening { start, phases: phases(full, longer) };
    let blink = |n: u32| Happening { start: 7.7 + 10.0 * f64::from(n), phases: vec![(0.012, 1.2e-3)] };
    let mut happenings: Vec<Happening> = updates.map(refresh).into_iter().chain((0..5).map(blink)).collect();
    happenings.sort_by(|a, b| a.start.total_cmp(&b.start));
    Truth { baseline: 9.6e-6, noise: 0.7e-6, grain: 0.004, ripple: (0.03, 0.02), happenings, length: 57.0 }
}

fn made() -> String {
    let truth = truth();
    let mut text = String::from(
        "# INVENTED DATA: no such device was ever measured. A made-up bench measurement of the made-up demo, at the battery,\n\
         # at 22 °C. Made by tests/trace/demo.rs (cargo test --test trace -- --ignored); the test beside it knows the truth.\n\
         # The logger takes a row every millisecond while something happens, else every 50 ms. Three rows lost their current.\n\
         t [ms],I [uA]\n",
    );
    for (row, (time, current)) in truth.sample(truth.logger(1e-3, 50e-3), &mut seeded(20310412)).into_iter().enumerate()
    {
        let current = if (20..23).contains(&row) { String::new() } else { format!("{:.1}", current * 1e6) };
        text += &format!("{:.1},{current}\n", time * 1e3);
    }
    text
}

#[test]
#[ignore = "writes the demo's trace anew"]
fn make_the_demo_trace() {
    std::fs::create_dir_all(demo().join("traces")).unwrap();
    std::fs::write(file(), made()).unwrap();
}

#[test]
fn the_demo_trace_is_what_its_generator_makes() {
    let text = std::fs::read_to_string(file()).unwrap();
    // Its last digits hang on the platform's sine and logarithm, so rows are compared as numbers.
    let rows = |text: &str| -> Vec<Vec<f64>> {
        let cells = |line: &str| line.split(',').map(|cell| cell.parse().unwrap_or(-1.0)).collect();
        text.lines().map(cells).collect()
    };
    let (is, should) = (rows(&text), rows(&made()));
    assert_eq!(is.len(), should.len());
    let near = |(a, b): (&f64, &f64)| (a - b).abs() < 0.11;
    assert!(is.iter().zip(&should).all(|(a, b)| a.len() == b.len() && a.iter().zip(b).all(near)));
    assert!(text.starts_with("# INVENTED"));
}

#[test]
fn the_report_tells_the_truth_behind_the_demo_trace() {
    let trace = read(&file(), &Settings::default()).unwrap();
    let truth = truth();
    assert_eq!((trace.updates.len(), trace.pulses.count, trace.missing), (7, 5, 3));
    assert!((trace.baseline.0 - truth.baseline).abs() < truth.noise);
    let refreshes = truth.happenings.iter().filter(|one| one.phases.len() > 1);
    for (update, real) in trace.updates.iter().zip(refreshes) {
        assert!((update.start.0 - real.start).abs() < 1e-3);
        assert!((update.duration.0 - real.duration()).abs() < 1e-3, "{} {}", update.duration, real.duration());
        assert!((update.charge.0 / real.charge() - 1.0).abs() < 0.005, "{} {}", update.charge, real.charge());
        assert_eq!(update.steps.len(), 7, "{:?}", update.steps);
        for (step, (duration, level)) in update.steps.iter().zip(&real.phases) {
            assert!((step.duration.0 - duration).abs() < 1.1e-3, "{step:?} {duration}");
            assert!((step.current.0 / level - 1.0).abs() < 0.03, "{step:?} {level}");
        }
    }
}

#[test]
fn the_project_is_off_where_the_invented_device_differs() {
    let device = load(&demo(), &[]).unwrap().device;
    let trace = read(&file(), &Settings::default()).unwrap();
    let mut kinds = kinds(&trace);
    let against = against(&device, &mut kinds, (BENCH, false), None).unwrap();
    assert_eq!(kinds.iter().map(|kind| kind.name).collect::<Vec<_>>(), [Name::Full, Name::Partial]);
    let full = &against.compared[0];
    let names: Vec<&str> = full.rows.iter().map(|row| row.name.as_str()).collect();
    assert_eq!(
        names,
        ["wake + render", "panel start", "buffer", "transfer", "booster on", "drive, full", "booster off"]
    );
    assert_eq!(full.rows[full.worst].name, "drive, full");
    // From the demo's files at 22 °C, by hand: 2.4 s of drive between 3.6 s at 10 °C and 2.1 s at 25 °C; truth 2.62 s.
    let [time, ..] = full.rows[5].errors();
    assert!((time - (2.4 / 2.62 - 1.0)).abs() < 0.002, "{time}");
    // Wake and drawing: 0.6 ms and its cycles at 32 MHz; truth 33.1 ms.
    let [time, current, _] = full.rows[0].errors();
    let predicted = 0.0006 + full_work(&device, BENCH).cycles / 32e6;
    assert!((time - (predicted / 0.0331 - 1.0)).abs() < 0.02, "{time}");
    // The core's active current less its sleep current, through a linear regulator; truth 2.11 mA.
    assert!((current - ((2.1e-3 - 1.4e-6) / 2.11e-3 - 1.0)).abs() < 0.02, "{current}");
    assert_eq!(against.compared[1].rows.len(), 7);
    let charges: f64 = full.rows.iter().map(|row| row.miss().0).sum();
    assert!((charges - full.total.miss().0).abs() < 1e-5, "rows add up to the whole: {charges} {}", full.total.miss());
}

#[test]
fn the_measured_profile_makes_the_project_predict_what_was_measured() {
    let device = load(&demo(), &[]).unwrap().device;
    let trace = read(&file(), &Settings::default()).unwrap();
    let mut found = kinds(&trace);
    let before = against(&device, &mut found, (BENCH, false), None).unwrap();
    let known = Known { device: &device, panel: panel_table(&demo()).unwrap(), against: &before };
    let text = profile(&trace, &found, BENCH, Some(&known));
    assert!(text.contains("source = \"measured, bench-current.csv, 3 updates\""), "{text}");
    assert!(text.contains("source = \"measured, bench-current.csv, 4 updates\""), "{text}");
    let mut files = Files::read(&demo()).unwrap();
    files.replace("panels/measured.toml", text);
    let own = std::str::from_utf8(files.bytes("device.toml").unwrap())
        .unwrap()
        .replace("from = \"mono-296x128\"", "from = \"measured\"")
        // The bench measured at one temperature only.
        .replace("low = \"1 °C\", high = \"12 °C\"", "low = \"22 °C\", high = \"22 °C\"");
    files.replace("device.toml", own);
    let renewed = load_files(files).unwrap().device;
    let after = against(&renewed, &mut found, (BENCH, false), None).unwrap();
    for compared in &after.compared {
        for row in compared.rows.iter().filter(|row| {
            ["panel start", "booster on", "booster off"].contains(&row.name.as_str()) || row.name.starts_with("drive")
        }) {
            // Start and pump stand once in a profile, from the full refresh.
            let near = if compared.mode.name() == "full" || row.name.starts_with("drive") { 0.001 } else { 0.09 };
            assert!(row.errors().into_iter().all(|error| error.abs() < near), "{} {:?}", row.name, row.errors());
        }
    }
    // Rows at other temperatures are the project's own.
    assert_eq!(renewed.panel.full.knots.len(), device.panel.full.knots.len() + 1);
}

#[test]
fn without_a_project_the_profile_holds_what_the_current_tells() {
    let trace = read(&file(), &Settings::default()).unwrap();
    let text = profile(&trace, &kinds(&trace), BENCH, None);
    let table: toml::Table = text.parse().unwrap();
    assert_eq!(table.keys().map(String::as_str).collect::<Vec<_>>(), ["booster-on", "booster-off", "full", "partial"]);
    let drive = &table["full"]["drive"][0];
    assert_eq!(drive["at"].as_str(), Some("22 °C"));
    assert_eq!(drive["time"]["typ"].as_str().map(|time| &time[..4]), Some("2.62"));
    assert!(text.contains("# Unknown from this trace: start."), "{text}");
}

#[test]
fn a_measured_update_is_drawn_over_its_prediction() {
    let settings = Settings::default();
    let trace = read(&file(), &settings).expect("a trace");
    let mut kinds = kinds(&trace);
    let device = load(&demo(), &[]).unwrap_or_else(|_| panic!("the demo does not load")).device;
    let against = against(&device, &mut kinds, (BENCH, false), None).expect("a comparison");
    let drawn = chart(&file(), &settings, &trace, &kinds, Some(&against)).expect("a picture");
    let svg = svg(&drawn, Theme::Light);
    for words in ["A full refresh", "A partial refresh, as ", "measured", "predicted", "drive, full"] {
        assert!(svg.contains(words), "{words} is not in the picture");
    }
    // The first plane holds one line of many points; the area under it is the update's charge.
    let lines = drawn.shapes.iter().filter_map(|shape| match shape {
        Shape::Line { points, colour: Colour::Ink, .. } if points.len() > 100 => Some(points),
        _ => None,
    });
    let line = lines.clone().next().expect("a measured line");
    assert!(lines.count() >= 2, "one for each kind");
    let tick = |anchor: Anchor, part: usize| {
        let all: Vec<(f64, f64)> = drawn
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Text { at, anchor: own, text, colour: Colour::Grey, .. } if *own == anchor => {
                    Some((f64::from(at[part]), text.parse().ok()?))
                }
                _ => None,
            })
            .collect();
        (all[1].0 - all[0].0) / (all[1].1 - all[0].1)
    };
    let (up, across) = (-tick(Anchor::End, 1) * 1e3, tick(Anchor::Middle, 0));
    let bottom = 84.0 + 190.0;
    let area: f64 = line
        .windows(2)
        .map(|pair| f64::from(pair[1][0] - pair[0][0]) * (bottom - f64::from(pair[0][1] + pair[1][1]) / 2.0))
        .sum();
    let full = kinds.iter().find(|kind| kind.name == Name::Full).expect("full refreshes");
    let charge = full.charge.typ.0;
    assert!((area / up / across / charge - 1.0).abs() < 0.02, "{} for {charge}", area / up / across);
    // Without a project there is the measurement alone.
    let alone =
        inkjoule::plot::svg::svg(&chart(&file(), &settings, &trace, &kinds, None).expect("a picture"), Theme::Dark);
    assert!(alone.contains("measured") && !alone.contains("predicted"));
}

/// Spikes of a millisecond inside each drive, the same in four updates: no spread between devices, but a peak. The peak was
/// lost once, and what rippled was written as spread.
#[test]
fn ripple_inside_a_waveform_is_a_peak_and_no_spread() {
    let mut csv = String::from("t [ms],I [mA]\n");
    for t in 0..18_000 {
        let level = match (t + 2_000) % 4_000 {
            0..12 => 1.1,
            12..52 => 6.0,
            at @ 52..2_040 => {
                if (at - 52) % 10 == 0 {
                    18.0
                } else {
                    2.3
                }
            }
            2_040..2_080 => 1.7,
            _ => 0.01,
        };
        let _ = writeln!(csv, "{t}.0,{level:.4}");
    }
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("ripple.csv");
    std::fs::write(&file, csv).expect("written");
    let trace = read(&file, &Settings::default()).expect("a trace");
    let text = profile(&trace, &kinds(&trace), BENCH, None);
    let table: toml::Table = text.parse().expect("a profile");
    let drive = &table["full"]["drive"][0];
    let of = |what: &str, part: &str| drive[what][part].as_str().map(str::to_owned).expect(what);
    assert_eq!(of("current", "min"), of("current", "max"), "{drive:?}");
    // Nine of ten milliseconds at 2.3 mA, one at 18 mA: 3.87 mA; 17.99 mA above the baseline.
    assert!(of("current", "typ").starts_with("3.8"), "{drive:?}");
    assert_eq!(of("peak", "max"), "17.99 mA");
}

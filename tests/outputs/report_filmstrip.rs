//! Filmstrips: emulated times equal the budget's, and the picture plays them.

use crate::starter::run;
use inkjoule::budget::residue::Shading;
use inkjoule::budget::summary::budget;
use inkjoule::device::Device;
use inkjoule::filmstrip::{REST, Shot, Showing, apng, pace, shaded_shots, shots};
use inkjoule::project::load;
use inkjoule::units::{Ratio, Seconds};
use std::path::Path;

fn demo() -> Device {
    load(Path::new("screens-demo"), &[]).expect("the demo loads").device
}

fn film(device: &Device, journey: &str) -> Vec<Shot> {
    let journey = device.usage.journeys.iter().position(|known| known.name == journey).expect("a journey of the demo");
    shots(device, 0, journey, None)
}

#[test]
fn a_press_takes_as_long_as_in_the_budget() {
    let device = demo();
    let ways = budget(&device).transitions;
    let latency = |from: &str, to: &str| {
        let (from, to) = (device.screen(from), device.screen(to));
        ways.iter().find(|way| Some(way.from) == from && Some(way.to) == to).expect("a way").change.latency
    };
    // tonight, key 2 to trend; look; key 1 back to tonight.
    let shots = film(&device, "history");
    let busy =
        |key: usize| -> Seconds { shots.iter().filter(|shot| shot.key == Some(key)).map(|shot| shot.time).sum() };
    for (key, from, to) in [(1, "tonight", "trend"), (0, "trend", "tonight")] {
        let (seen, told) = (busy(key), latency(from, to));
        assert!((seen - told).0.abs() < 2e-6, "{from} to {to}: {seen} in the strip, {told} in the budget");
    }
    let before: Seconds = shots.iter().take_while(|shot| shot.key != Some(0)).map(|shot| shot.time).sum();
    let look = device.usage.journeys.iter().find(|known| known.name == "history").expect("known").steps[0].look;
    assert!((before - REST - look).0.abs() < 2e-6, "a look counts from its press");
    let last = shots.last().expect("shots");
    assert!(last.step == Showing::Look && last.settling.is_none() && last.frame.ink_count() > 0, "it ends on an image");
}

#[test]
fn a_full_refresh_flashes_and_a_partial_one_does_not() {
    // The way back to the home screen is full here: the demo's own is partial.
    let mut device = demo();
    device.policy.full_on[device.usage.home.0] = true;
    let shots = film(&device, "history");
    let drives = |key: usize| {
        shots.iter().filter(|shot| shot.key == Some(key) && shot.step == Showing::Drive).collect::<Vec<_>>()
    };
    let partial = drives(1);
    assert_eq!(partial.len(), 1);
    assert!(partial[0].settling.as_ref().is_some_and(|settling| settling.ink_count() > 0));
    let full = drives(0);
    let size = device.panel.size();
    let all = u64::from(size.width) * u64::from(size.height);
    assert_eq!(
        full.iter().map(|shot| shot.frame.ink_count()).collect::<Vec<_>>()[1..],
        [all, 0],
        "negative, black, white"
    );
}

#[test]
fn the_picture_has_every_shot_for_its_time() {
    let device = demo();
    let shots = film(&device, "round");
    let pace = pace(&shots);
    let file = apng(&device, &shots, 1, pace).expect("an image");
    let decoder = png::Decoder::new(std::io::Cursor::new(&file));
    let mut reader = decoder.read_info().expect("a PNG");
    assert_eq!(reader.info().animation_control.expect("animated").num_frames as usize, shots.len());
    let mut pixels = vec![0; reader.output_buffer_size().expect("a size")];
    let mut total = 0.0;
    for shot in &shots {
        reader.next_frame(&mut pixels).expect("a frame");
        let control = reader.info().frame_control.expect("a time");
        let delay = f64::from(control.delay_num) / f64::from(control.delay_den);
        assert!((delay - shot.time.0 / pace).abs() <= 0.001, "{delay} s for {}", shot.time);
        total += delay;
    }
    assert!(total < 17.0, "{total} s is too long to watch");
}

#[test]
fn the_command_writes_it_and_knows_its_journeys() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().to_str().expect("a plain path");
    let shown =
        run(&["render", "screens-demo", "--filmstrip", "glance", "--faster", "2", "--locale", "en", "--out", out]);
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    assert!(folder.path().join("glance.png").is_file());
    let shown = run(&["render", "screens-demo", "--filmstrip", "rond", "--out", out]);
    assert_eq!(shown.status, 2);
    assert!(shown.stderr.contains("did you mean `round`?"), "{}", shown.stderr);
}

/// Each partial refresh leaves 2 %: after one 2 % are shaded above nothing, and nothing above 2 %.
#[test]
fn residue_is_shaded_where_it_is_asked_for() {
    let device = load(Path::new("screens-demo"), &["panel.residue=2 %".to_owned()]).expect("the demo loads").device;
    let journey = device.usage.journeys.iter().position(|known| known.name == "history").expect("a journey");
    let shaded = |above: f64| {
        let shading = Shading::of(&device, Ratio(above));
        assert!(shading.is_some());
        shaded_shots(&device, 0, (journey, None), shading)
    };
    let (plain, all) = (shots(&device, 0, journey, None), shaded(0.0));
    assert!(plain.iter().all(|shot| shot.shaded.is_empty() && !shot.caption.contains("residue")));
    let first = all.iter().find(|shot| !shot.shaded.is_empty()).expect("a partial refresh");
    assert!(first.caption.ends_with(", residue 2 % (assumption)"), "{}", first.caption);
    assert_eq!(first.step, Showing::Look);
    let once = shaded(0.02);
    let count = |shots: &[Shot]| shots.iter().filter(|shot| !shot.shaded.is_empty()).count();
    assert!(count(&once) < count(&all), "{} {}", count(&once), count(&all));
    let frames = |shots: &[Shot]| shots.last().map(|last| last.frame.clone());
    assert_eq!(frames(&plain), frames(&all));
    assert_ne!(apng(&device, &plain, 1, 1.0).expect("a film"), apng(&device, &all, 1, 1.0).expect("a film"));
    let silent = demo();
    assert_eq!(Shading::of(&silent, Ratio(0.0)).is_some(), silent.panel.residue.is_some());
}

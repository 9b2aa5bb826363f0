//! Panels without a controller: the drive by counting frames and lines one by one, numbers by hand, and what is refused.

use crate::plain::{BASE, close, load};
use inkjoule::budget::life::moment;
use inkjoule::cost::phases::{How, Phase, duration, latency, phases};
use inkjoule::cost::unit_costs::UnitCosts;
use inkjoule::device::Device;
use inkjoule::device::drawing::Scenes;
use inkjoule::refresh::update::{Change, Mode, work};
use inkjoule::refresh::work::Work;
use inkjoule::units::{Celsius, Hertz, Ratio, Seconds};

const SCREENS: &[(&str, &str)] = &[("a", "content = [ { text = \"A\" } ]")];
const USE: &str = "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = 4\n\
                   temperature = { low = \"0 °C\", high = \"40 °C\", warmest = \"12:00\" }\n";

/// The base with its controller taken away: 64 lines of 128 pixels.
fn base() -> String {
    let (before, rest) = BASE.split_once("full = {").expect("drives");
    let (_, after) = rest.split_once("[display]").expect("the display");
    before.to_owned()
        + "full = { planes = 2, stages = [\n  { time = \"480 ms\", min-frames = 4 },\n  { time = \"480 ms\", min-frames = 4 },\n  \
           { time = \"330 ms\" },\n] }\nclocked = { line-bytes = 50, line-time = \"100 us\", stretch = [\n  \
           { at = \"0 °C\", factor = \"800 %\", current = \"3.001 mA\" },\n  \
           { at = \"20 °C\", factor = \"150 %\", current = \"2.001 mA\", peak = \"9.001 mA\" },\n  \
           { at = \"40 °C\", factor = \"50 %\", current = \"2.001 mA\" },\n] }\n"
        + "[display]"
        + after
}

fn device(base: &str) -> Device {
    load(format!("{base}{USE}"), SCREENS).unwrap_or_else(|text| panic!("{text}"))
}

fn full(device: &Device, at: f64) -> Work {
    work(device, device.policy.buffer, &Change::NONE, &Scenes::default(), Mode::Full, Celsius(at))
        .expect("within the table")
}

fn drive(all: &[Phase]) -> &Phase {
    let mut drives = all.iter().filter(|phase| phase.name == "drive, full");
    let drive = drives.next().expect("a drive");
    assert!(drives.next().is_none());
    drive
}

/// Counts an update as a microcontroller would clock it: line after line, frame after frame, until the stage's time has
/// passed and its least number of frames stands. Gives frames and time.
fn clock(
    stages: &[(f64, u32)],
    factor: f64,
    lines: u32,
    (bytes, bits_per_second, line): (u32, f64, f64),
) -> (u32, f64) {
    let (mut frames, mut time) = (0, 0.0);
    for (length, least) in stages {
        let (mut of_stage, mut passed) = (0, 0.0);
        while passed < length * factor * (1.0 - 1e-9) || of_stage < *least {
            for _ in 0..lines {
                for _ in 0..bytes {
                    passed += 8.0 / bits_per_second;
                }
                passed += line;
            }
            of_stage += 1;
        }
        frames += of_stage;
        time += passed;
    }
    (frames, time)
}

/// By hand: a line is 50 x 8 bits at 1 MHz and 0.1 ms, together 0.5 ms; 64 of them are a frame of 32 ms. At 20 °C the
/// stages last 720, 720 and 495 ms: 22.5, 22.5 and 15.47 frames, so 23, 23 and 16, together 62 of 32 ms: 1.984 s. Panel
/// 2 mA and microcontroller 2 mA beyond sleep on a rail of 3 V: 23.808 mJ delivered, 7.936 mC from the battery.
#[test]
fn a_drive_by_hand() {
    let device = device(&base());
    let parameters = device.inputs.typical();
    let all = phases(&device, &parameters, &full(&device, 20.0), device.battery.nominal());
    let drive = drive(&all);
    close(drive.time.0, 1.984, 1e-12);
    close(drive.draw.charge.0, 1.984 * 4e-3, 1e-12);
    close(drive.delivered.energy.0, 3.0 * 1.984 * 4e-3, 1e-12);
    let How::Clocked(_, _, _, _, (frames, frame)) = drive.how else { panic!("{}", drive.how) };
    close(frames, 62.0, 1e-12);
    close(frame.0, 0.032, 1e-12);
    // Nothing is sent before: wake 1 ms, 128 x 64 pixels of 10 cycles at 10 MHz, start 10 ms, booster 40 ms.
    let before = 1e-3 + 128.0 * 64.0 * 1e-6 + 10e-3 + 40e-3;
    close(latency(&all).0, before + 1.984, 1e-12);
    close(duration(&all).0, before + 1.984 + 20e-3, 1e-12);
    // The hardest moment: the peak of 9 mA and the microcontroller above sleep, and 3 uA of sleep.
    let moment = moment(&device, &parameters, Mode::Full, Celsius(20.0)).expect("within the table");
    close(moment.peak.load_current.current.0, 9e-3 + 2e-3 + 3e-6, 1e-9);
    assert_eq!(moment.phase.map(|phase| phase.0), Some("drive, full"));
}

#[test]
fn drives_are_those_that_a_loop_over_frames_and_lines_counts() {
    let stages = [(0.48, 4), (0.48, 4), (0.33, 1)];
    for (clock_mhz, line_us, bytes) in [(1.0, 100, 50), (4.0, 60, 57), (0.2, 0, 33), (12.0, 250, 120)] {
        let base = base()
            .replace("clock = \"1 MHz\"", &format!("clock = \"{clock_mhz} MHz\""))
            .replace("line-time = \"100 us\"", &format!("line-time = \"{line_us} us\""))
            .replace("line-bytes = 50", &format!("line-bytes = {bytes}"));
        let device = device(&base);
        let parameters = device.inputs.typical();
        for at in [0.0, 3.0, 7.7, 13.0, 20.0, 21.3, 33.0, 40.0] {
            let factor =
                if at <= 20.0 { 8.0 + (1.5 - 8.0) * at / 20.0 } else { 1.5 + (0.5 - 1.5) * (at - 20.0) / 20.0 };
            let (frames, time) = clock(&stages, factor, 64, (bytes, clock_mhz * 1e6, f64::from(line_us) * 1e-6));
            let work = full(&device, at);
            let all = phases(&device, &parameters, &work, device.battery.nominal());
            let drive = drive(&all);
            close(drive.time.0, time, 1e-9);
            let How::Clocked(_, _, _, _, (counted, _)) = drive.how else { panic!("{}", drive.how) };
            assert_eq!(counted.round() as u32, frames, "{clock_mhz} MHz at {at} °C");
            let current = if at < 20.0 { 3e-3 - 1e-3 * at / 20.0 } else { 2e-3 };
            close(drive.draw.charge.0, time * (current + 2e-3), 1e-9);
        }
    }
}

/// A year's updates are one sum: it takes what its updates take one by one, whole frames and all.
#[test]
fn the_sum_of_updates_is_what_they_take_one_by_one() {
    let device = device(&base());
    let parameters = device.inputs.typical();
    let unit_costs = UnitCosts::of(&device, &parameters);
    let (mut sum, mut time, mut charge) = (Work::default(), 0.0, 0.0);
    for at in [0.0, 1.0, 5.5, 12.0, 19.9, 20.0, 20.1, 30.0, 39.0, 40.0] {
        let one = full(&device, at);
        let all = phases(&device, &parameters, &one, device.battery.nominal());
        let cost = unit_costs.cost(&one);
        close(cost.duration.0, duration(&all).0, 1e-12);
        time += cost.duration.0;
        charge += cost.draw.charge.0;
        sum += &one;
    }
    let all = phases(&device, &parameters, &sum, device.battery.nominal());
    close(duration(&all).0, time, 1e-12);
    close(inkjoule::cost::phases::total(&all).charge.0, charge, 1e-12);
}

/// The driver of each device counts frames by its own clock until its own stages are over: against the same loop, on devices
/// of other line times, stages and factors. By hand at 20 °C with twice the line time: frames of 38.4 ms, 18.75, 18.75 and
/// 12.9 of them, so 19, 19 and 13.
#[test]
fn other_devices_have_their_own_frames_and_stages() {
    let device = device(&base());
    let typical = device.inputs.typical();
    let at = |path: &str| device.inputs.rows().iter().position(|row| row.path == path).expect(path);
    let time = |parameters| drive(&phases(&device, &parameters, &full(&device, 20.0), device.battery.nominal())).time.0;
    close(time(typical.scaled(at("panel.clocked.line-time"), 2.0)), 51.0 * 0.0384, 1e-9);
    let paths = ["panel.clocked.line-time", "panel.full.stages.0.time", "panel.clocked.stretch.1.factor"];
    let mut differ = 0;
    for step in 0..200 {
        let by = |place: u32| 0.6 + f64::from((step * 37 + place * 61) % 101) / 100.0;
        let (line, stage, factor) = (by(1), by(2), by(3));
        let other =
            paths.iter().zip([line, stage, factor]).fold(typical.clone(), |one, (path, by)| one.scaled(at(path), by));
        let stages = [(0.48 * stage, 4), (0.48, 4), (0.33, 1)];
        let (frames, expected) = clock(&stages, 1.5 * factor, 64, (50, 1e6, 100e-6 * line));
        close(time(other), expected, 1e-9);
        differ += u32::from(frames != 62);
    }
    assert!(differ > 100);
    assert_eq!(typical.of(device.board.bus.clock), Hertz(1e6));
    assert_eq!(typical.of(device.board.bus.overhead), Ratio(0.0));
}

/// Of many updates near one temperature the mean counts: a sum of 4,000 on another device, against each for itself.
#[test]
fn the_sum_of_many_updates_keeps_their_frames() {
    let device = device(&base());
    let at = |path: &str| device.inputs.rows().iter().position(|row| row.path == path).expect(path);
    let other = device.inputs.typical().scaled(at("panel.clocked.line-time"), 1.37);
    let unit_costs = UnitCosts::of(&device, &other);
    let (mut sum, mut time, mut charge) = (Work::default(), 0.0, 0.0);
    for step in 0..4000 {
        let one = full(&device, f64::from(step) * 0.01);
        let cost = unit_costs.cost(&one);
        time += cost.duration.0;
        charge += cost.draw.charge.0;
        sum += &one;
    }
    let all = phases(&device, &other, &sum, device.battery.nominal());
    close(duration(&all).0, time, 2e-4);
    close(inkjoule::cost::phases::total(&all).charge.0, charge, 2e-4);
}

/// The memory is at work with the microcontroller while every frame is read from it: by hand 1 mA more, and the image is
/// written to it once before, 1024 bytes at 1 MHz.
#[test]
fn an_external_buffer_works_all_through() {
    let memory = "[board.memory]\nsize = \"8 KiB\"\nactive = \"1.001 mA\"\nstandby = \"1 uA\"\n";
    let device = device(&format!("{}{memory}[policy]\nbuffer = \"external\"\n", base()));
    let parameters = device.inputs.typical();
    let all = phases(&device, &parameters, &full(&device, 20.0), device.battery.nominal());
    close(drive(&all).draw.charge.0, 1.984 * 5e-3, 1e-12);
    let buffer = all.iter().find(|phase| phase.name == "buffer").expect("written once");
    close(buffer.time.0, 1024.0 * 8e-6, 1e-12);
    let sent = all.iter().find(|phase| phase.name == "transfer").expect("a phase");
    assert_eq!(sent.time, Seconds(0.0));
}

/// At 40 °C a stage of 480 ms is 240 ms: 7.5 frames of 32 ms, but 3.75 of 64 ms and 1.9 of 128 ms.
#[test]
fn a_bus_that_is_too_slow_for_the_least_number_of_frames_is_noted() {
    let slow = |bytes: u32, line: &str| {
        let base = base().replace("line-bytes = 50", &format!("line-bytes = {bytes}")).replace("100 us", line);
        inkjoule::project::load_files(inkjoule::source::files::Files::from_memory([
            ("device.toml", format!("{base}{USE}").as_str()),
            ("screens/a.toml", SCREENS[0].1),
        ]))
        .unwrap_or_else(|failed| panic!("{:?}", failed.faults))
        .warnings
        .into_iter()
        .map(|fault| fault.message)
        .filter(|message| message.contains("frames"))
        .collect::<Vec<_>>()
    };
    assert!(slow(50, "100 us").is_empty());
    // 4 whole frames of 64 ms make the least number.
    assert!(slow(50, "600 us").is_empty());
    let said = slow(50, "1600 us");
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(said[0].starts_with("1.88 frames of 128 ms fit into this stage at 40 °C, and it needs 4"), "{said:?}");
}

#[test]
fn what_cannot_be_clocked_is_refused_at_its_place() {
    let refused = |from: &str, to: &str, says: &[&str]| {
        let base = base();
        assert!(base.contains(from), "{from}");
        let text = load(format!("{}{USE}", base.replace(from, to)), SCREENS).map(|_| ()).expect_err(to);
        says.iter().for_each(|says| assert!(text.contains(says), "{says} in {text}"));
    };
    let base = base();
    let (_, rest) = base.split_once("stages = [").expect("stages");
    let (stages, _) = rest.split_once("] }").expect("their end");
    refused(stages, "", &["an update of 0 stages cannot be clocked", "stages = ["]);
    refused(&format!(", stages = [{stages}]"), "", &["an update of 0 stages cannot be clocked"]);
    refused("time = \"330 ms\"", "time = \"0 ms\"", &["a stage of no time drives nothing"]);
    refused("min-frames = 4", "min-frames = 0", &["a stage has one frame or more"]);
    refused("at = \"20 °C\", factor", "at = \"0 °C\", factor", &["the factors need rows that rise in temperature"]);
    refused("factor = \"800 %\"", "factor = \"0 %\"", &["an update that is not driven shows nothing"]);
    refused("line-bytes = 50", "line-bytes = 0", &["a line of no bytes shows nothing"]);
    refused("[board.bus]\nclock = \"1 MHz\"\noverhead = \"0 %\"\n", "", &["bus"]);
    refused("clock = \"1 MHz\"", "clock = \"0 MHz\"", &["0 MHz"]);
    refused(
        ", stages = [",
        ", drive = [ { at = \"0 °C\", time = \"1 s\", current = \"1 mA\" } ], stages = [",
        &["a panel that the microcontroller clocks has no times of its own"],
    );
    refused("[display]", "[policy]\nbuffer = { strip-lines = 16 }\n[display]", &["strips keep no whole image"]);
    let base = BASE.replace("full = { planes = 1,", "full = { planes = 1, stages = [ { time = \"1 s\" } ],");
    let text = load(format!("{base}{USE}"), SCREENS).map(|_| ()).expect_err("both");
    assert!(text.contains("a panel with a controller makes its waveform by itself"), "{text}");
    let (before, rest) = BASE.split_once(", drive = [").expect("a drive");
    let (_, after) = rest.split_once("] }\n").expect("its end");
    let text = load(format!("{before} }}\n{after}{USE}"), SCREENS).map(|_| ()).expect_err("no drive");
    assert!(text.contains("the drive table needs rows that rise in temperature"), "{text}");
}

/// A project of the built-in profile: the exported header states the stages for the driver.
#[cfg(feature = "cli")]
#[test]
fn the_built_in_panel_is_explained_and_its_export_says_what_the_driver_does() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let (before, rest) = BASE.split_once("pixels =").expect("the panel");
    let (_, after) = rest.split_once("[display]").expect("the display");
    let root = format!("{before}from = \"mono-128x96-full\"\n[display]{after}{USE}[policy]\nmax-partials = 0\n");
    std::fs::create_dir(folder.path().join("screens")).expect("a folder");
    std::fs::write(folder.path().join("device.toml"), root).expect("written");
    std::fs::write(folder.path().join("screens/a.toml"), SCREENS[0].1).expect("written");
    let project = folder.path().to_str().expect("a plain path");
    let run = |arguments: &[&str]| {
        let shown = crate::starter::run(arguments);
        assert_eq!(shown.status, 0, "{}{}", shown.stdout, shown.stderr);
        shown.stdout
    };
    // 57 bytes at 1 MHz and 60 us are 516 us, 96 of them 49.54 ms; at 20 °C each of four stages is 720 ms: 15 frames.
    let explained = run(&[
        "budget",
        project,
        "--explain",
        "a",
        "--set",
        "usage.temperature.low=20 °C",
        "--set",
        "usage.temperature.high=20 °C",
    ]);
    let plain = explained.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(plain.contains("60 frames") && plain.contains("49.5 ms"), "{explained}");
    let firmware = folder.path().join("firmware");
    run(&["export", project, "--to", "c-live", "--out", firmware.to_str().expect("a plain path")]);
    let header = std::fs::read_to_string(firmware.join("screens_live.h")).expect("a header");
    for line in [
        "This panel has no controller.",
        "#define SCREENS_LIVE_FULL_STAGE_MS { 480, 480, 480, 480 }",
        "#define SCREENS_LIVE_FULL_STAGE_MIN_FRAMES { 4, 4, 4, 4 }",
        "#define SCREENS_LIVE_FULL_STRETCH_AT { 0, 150, 250, 400 }",
        "#define SCREENS_LIVE_FULL_STRETCH_PERCENT { 800, 200, 100, 70 }",
        "#define SCREENS_LIVE_FULL_LINE_BYTES 57",
    ] {
        assert!(header.contains(line), "{line}");
    }
}

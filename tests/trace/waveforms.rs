//! Waveforms as they are: frame ripple, several levels inside one drive, a radio burst just before or during an update,
//! a clock that drifts. What was put in is found again, to the row.

use super::made::{Happening, Phase, Truth, csv, seeded};
use inkjoule::trace::kinds::{Name, kinds};
use inkjoule::trace::{Settings, Trace, read};

const BEFORE: [Phase; 3] = [(0.05, 2e-3), (0.03, 3e-3), (0.045, 6e-3)];
const AFTER: Phase = (0.03, 1.5e-3);

/// An update with a drive of these levels.
fn update(start: f64, drive: &[Phase]) -> Happening {
    let phases = BEFORE.iter().chain(drive).copied().chain([AFTER]).collect();
    Happening { start, phases }
}

fn found(happenings: Vec<Happening>, stretch: f64) -> Trace {
    let length = happenings.last().map_or(1.0, |last| last.start + last.duration()) + 2.0;
    let truth = Truth { baseline: 10e-6, noise: 0.5e-6, grain: 0.004, ripple: (0.0, 1.0), happenings, length };
    let times = (0..(length / 1e-3) as usize).map(|row| row as f64 * 1e-3);
    let mut samples = truth.sample(times, &mut seeded(7));
    // A logger whose clock is off, more and more.
    samples.iter_mut().for_each(|sample| sample.0 *= 1.0 + stretch * sample.0 / length);
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join("made.csv");
    std::fs::write(&path, csv(&samples)).expect("written");
    read(&path, &Settings::default()).expect("a trace")
}

/// All updates are of one kind, full, with five phases; the drive is the fourth, of this time and current.
fn assert_one_kind(trace: &Trace, count: usize, (time, current): (f64, f64)) {
    let kinds = kinds(trace);
    assert_eq!(kinds.len(), 1);
    assert_eq!((kinds[0].name, kinds[0].updates.len(), kinds[0].alike), (Name::Full, count, count));
    assert_eq!(kinds[0].phases.len(), 5, "{:?}", kinds[0].phases);
    let drive = &kinds[0].phases[3];
    assert!((drive.duration.typ.0 - time).abs() < 4e-3, "{:?}", drive.duration);
    assert!((drive.current.typ.0 / current - 1.0).abs() < 0.01, "{:?}", drive.current);
}

fn four(drive: impl Fn(usize) -> Vec<Phase>) -> Vec<Happening> {
    (0..4).map(|index| update(2.0 + 4.5 * index as f64, &drive(index))).collect()
}

/// Every frame of 40 ms drives 20 ms at 5 mA and 20 ms at 3 mA: 2 s at 4 mA.
#[test]
fn frame_ripple_is_one_drive() {
    let trace = found(four(|_| [(0.02, 5e-3), (0.02, 3e-3)].repeat(50)), 0.0);
    assert_one_kind(&trace, 4, (2.0, 4e-3));
}

/// Four stages of 250 ms at 4 mA and 250 ms at 5.5 mA: 2 s at 4.75 mA.
#[test]
fn levels_that_repeat_inside_one_drive_are_one() {
    let trace = found(four(|_| [(0.25, 4e-3), (0.25, 5.5e-3)].repeat(4)), 0.0);
    assert_one_kind(&trace, 4, (2.0, 4.75e-3));
}

/// 100 mA for 5 ms in two of four updates, at different times: what they add to 4 mA is 0.48 mC each.
#[test]
fn a_radio_burst_during_an_update_is_set_apart() {
    let drive = |index: usize| match index {
        1 => vec![(0.8, 4e-3), (0.005, 0.1), (1.195, 4e-3)],
        2 => vec![(1.4, 4e-3), (0.005, 0.1), (0.595, 4e-3)],
        _ => vec![(2.0, 4e-3)],
    };
    let trace = found(four(drive), 0.0);
    assert_one_kind(&trace, 4, (2.0, 4e-3));
    assert_eq!(trace.pulses.count, 2);
    assert!((trace.pulses.charge.0 / (2.0 * 0.005 * 0.096) - 1.0).abs() < 0.03, "{:?}", trace.pulses);
    assert!(trace.cautions.iter().any(|caution| caution.contains("2 short bursts")), "{:?}", trace.cautions);
    for update in &trace.updates {
        assert!(update.peak.0 < 7e-3 && (update.charge.0 / 8.5e-3 - 1.0).abs() < 0.02, "{update:?}");
    }
}

/// 100 mA for 4 ms right before two of four updates: 0.4 mC each, and the updates begin where they begin.
#[test]
fn a_radio_burst_just_before_an_update_is_set_apart() {
    let mut all = four(|_| vec![(2.0, 4e-3)]);
    for index in [0, 2] {
        all[index].phases.insert(0, (0.004, 0.1));
        all[index].start -= 0.004;
    }
    let trace = found(all, 0.0);
    assert_one_kind(&trace, 4, (2.0, 4e-3));
    assert_eq!(trace.pulses.count, 2);
    for (index, update) in trace.updates.iter().enumerate() {
        assert!((update.start.0 - 2.0 - 4.5 * index as f64).abs() < 2.1e-3, "{update:?}");
        assert!((update.duration.0 - 2.155).abs() < 4e-3, "{update:?}");
    }
}

/// What every update has at the same place is a part of it.
#[test]
fn an_inrush_of_every_update_stays() {
    let trace = found(four(|_| vec![(0.01, 0.05), (2.0, 4e-3)]), 0.0);
    assert_eq!(trace.pulses.count, 0);
    let kinds = kinds(&trace);
    assert_eq!((kinds.len(), kinds[0].phases.len()), (1, 6));
}

/// A clock that runs 2 % off by the end spreads times, and parts no kinds.
#[test]
fn a_drifting_clock_spreads_times_and_parts_no_kinds() {
    let trace = found(four(|_| vec![(2.0, 4e-3)]), 0.02);
    let kinds = kinds(&trace);
    assert_eq!((kinds.len(), kinds[0].updates.len(), kinds[0].phases.len()), (1, 4, 5));
    let drive = &kinds[0].phases[3];
    assert!(drive.duration.max.0 > 1.01 * drive.duration.min.0, "{:?}", drive.duration);
    assert!((drive.current.typ.0 / 4e-3 - 1.0).abs() < 0.01);
}

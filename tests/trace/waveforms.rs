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
    sampled(happenings, stretch, 1e-3)
}

/// As [`found`], in rows of so many seconds.
fn sampled(happenings: Vec<Happening>, stretch: f64, row: f64) -> Trace {
    let length = happenings.last().map_or(1.0, |last| last.start + last.duration()) + 2.0;
    let truth = Truth { baseline: 10e-6, noise: 0.5e-6, grain: 0.004, ripple: (0.0, 1.0), happenings, length };
    let times = (0..(length / row) as usize).map(|index| index as f64 * row);
    let mut samples = truth.sample(times, &mut seeded(7));
    // A logger whose clock is off, more and more.
    samples.iter_mut().for_each(|sample| sample.0 *= 1.0 + stretch * sample.0 / length);
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join("made.csv");
    std::fs::write(&path, csv(&samples)).expect("written");
    read(&path, &Settings::default()).expect("a trace")
}

/// All updates are of one kind, full, with five phases; the drive is the fourth, of this time and current.
fn assert_one_kind(trace: &Trace, count: usize, drive: (f64, f64)) {
    assert_one_kind_within(trace, count, drive, 0.01);
}

fn assert_one_kind_within(trace: &Trace, count: usize, (time, current): (f64, f64), within: f64) {
    let kinds = kinds(trace);
    assert_eq!(kinds.len(), 1);
    assert_eq!((kinds[0].name, kinds[0].updates.len(), kinds[0].alike), (Name::Full, count, count));
    assert_eq!(kinds[0].phases.len(), 5, "{:?}", kinds[0].phases);
    let drive = &kinds[0].phases[3];
    assert!((drive.duration.typ.0 - time).abs() < 4e-3, "{:?}", drive.duration);
    assert!((drive.current.typ.0 / current - 1.0).abs() < within, "{:?}", drive.current);
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

/// A drive whose current swings in every frame about 4 mA, in rows of 0.1 ms: `shape` over the frame, of mean 1.
fn swinging(frame: f64, shape: impl Fn(f64) -> f64) -> Vec<Phase> {
    const ROW: f64 = 1e-4;
    (0..20_000).map(|row| (ROW, 4e-3 * shape((row as f64 + 0.5) * ROW / frame % 1.0))).collect()
}

/// A sine of 40 %, a saw-tooth of 50 %, six levels, and spikes of almost four times the mean that decay (their mean in closed
/// form): at 1 kHz and 10 kHz, frames of 12.5 ms to 80 ms. The drive is one part at its mean, and none of its spikes is
/// set apart as a burst. Twenty rows of a frame, one of them at its beginning, put the mean of the spike 8 % too high by
/// themselves: sum of a geometric series.
#[test]
fn a_ripple_of_any_shape_is_one_drive() {
    let sine = |share: f64| 1.0 + 0.4 * (share * std::f64::consts::TAU).sin();
    let saw = |share: f64| 0.5 + share;
    let levels = |share: f64| [0.6, 1.0, 1.5, 0.7, 1.3, 0.9][(share * 6.0) as usize];
    let spike = |share: f64| {
        let mean = 1.0 + 4.0 * 0.1 * (1.0 - (-10.0f64).exp());
        (1.0 + 4.0 * (-share / 0.1).exp()) / mean
    };
    let shapes: [(&str, &dyn Fn(f64) -> f64); 4] =
        [("sine", &sine), ("saw", &saw), ("levels", &levels), ("spike", &spike)];
    for (name, shape) in shapes {
        for (frame, row) in [(0.02, 1e-3), (0.08, 1e-3), (0.0125, 1e-4), (0.05, 1e-4)] {
            let trace = sampled(four(|_| swinging(frame, shape)), 0.0, row);
            assert_eq!(trace.pulses.count, 0, "{name}, frames of {frame} s, rows of {row} s");
            assert_one_kind_within(&trace, 4, (2.0, 4e-3), if frame / row > 50.0 { 0.02 } else { 0.08 });
        }
    }
}

/// Two stages, the second at 60 % of the first, with the same spikes: two parts, and a radio amid the first is set apart.
#[test]
fn stages_under_a_ripple_are_parted_and_a_burst_amid_it_is_set_apart() {
    let spike = |share: f64| (1.0 + 2.0 * (-share / 0.1).exp()) / (1.0 + 0.2 * (1.0 - (-10.0f64).exp()));
    let drive = |index: usize| {
        let mut all = swinging(0.02, spike);
        all[10_000..].iter_mut().for_each(|part| part.1 *= 0.6);
        if index == 2 {
            all[4_030..4_080].iter_mut().for_each(|part| part.1 = 0.1);
        }
        all
    };
    let trace = sampled(four(drive), 0.0, 1e-3);
    assert_eq!(trace.pulses.count, 1, "{:?}", trace.pulses);
    let kinds = kinds(&trace);
    assert_eq!((kinds.len(), kinds[0].phases.len(), kinds[0].alike), (1, 6, 4), "{:?}", kinds[0].phases);
    for (phase, current) in kinds[0].phases[3..5].iter().zip([4e-3, 2.4e-3]) {
        assert!((phase.duration.typ.0 - 1.0).abs() < 4e-3, "{:?}", phase.duration);
        assert!((phase.current.typ.0 / current - 1.0).abs() < 0.05, "{:?}", phase.current);
    }
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

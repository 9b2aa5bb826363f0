//! What was put into a trace is found in it again.

use super::made::{Happening, Phase, Samples, Truth, csv, seeded, trapezoid};
use inkjoule::trace::kinds::{Name, kinds};
use inkjoule::trace::{Settings, Trace, read};
use inkjoule::units::Volts;
use proptest::prelude::*;
use rand::RngExt;

fn found(text: &str, settings: &Settings) -> Trace {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("made.csv");
    std::fs::write(&path, text).unwrap();
    read(&path, settings).unwrap()
}

/// An update as panels make them: preparation, transfer, pump, drive, end.
fn update(start: f64, scale: f64, drive: f64) -> Happening {
    let phases: Vec<Phase> = vec![
        (0.045, 2.1e-3 * scale),
        (0.014, 1.1e-3 * scale),
        (0.022, 3.7e-3 * scale),
        (0.045, 5.6e-3 * scale),
        (drive, 4.2e-3 * scale),
        (0.030, 1.4e-3 * scale),
    ];
    Happening { start, phases }
}

prop_compose! {
    fn truth()(
        baseline in 2e-6..60e-6_f64, noise in 0.05e-6..4e-6_f64, grain in 0.0..0.02_f64, scale in 0.4..3.0_f64,
        drives in proptest::collection::vec(0.35..3.0_f64, 1..5), pause in 1.0..4.0_f64,
    ) -> Truth {
        let mut time = pause;
        let mut happenings = Vec::new();
        for drive in drives {
            happenings.push(update(time, scale, drive));
            time += drive + 0.156 + pause;
        }
        Truth { baseline, noise, grain, ripple: (0.0, 1.0), happenings, length: time }
    }
}

/// Times with steps that vary by a fifth to either side.
fn uneven(length: f64, step: f64, seed: u64) -> Vec<f64> {
    let mut random = seeded(seed);
    let mut time = 0.0;
    let steps = (0..(length / step) as usize).map(|_| {
        time += step * random.random_range(0.8..1.2);
        time
    });
    steps.collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn updates_phases_and_baseline_are_recovered(truth in truth(), step in 0.25e-3..1.5e-3_f64, seed: u64) {
        let samples = truth.sample(uneven(truth.length, step, seed), &mut seeded(seed ^ 1));
        let trace = found(&csv(&samples), &Settings { voltage: Some(Volts(3.7)), ..Settings::default() });
        prop_assert!((trace.baseline.0 - truth.baseline).abs() <= truth.noise, "{} {}", trace.baseline, truth.baseline);
        prop_assert!((trace.noise.0 / truth.noise - 1.0).abs() < 0.2, "{} {}", trace.noise, truth.noise);
        prop_assert_eq!(trace.updates.len(), truth.happenings.len());
        let sample = 1.2 * step;
        for (update, real) in trace.updates.iter().zip(&truth.happenings) {
            let start = samples[0].0 + update.start.0;
            prop_assert!((start - real.start).abs() <= sample, "start {start} {}", real.start);
            prop_assert!((update.duration.0 - real.duration()).abs() <= sample, "{} {}", update.duration, real.duration());
            prop_assert!((update.charge.0 / real.charge() - 1.0).abs() < 0.005, "{} {}", update.charge, real.charge());
            let energy = update.energy.unwrap().0;
            prop_assert!((energy / update.charge.0 - 3.7).abs() < 1e-3);
            let phases = update.steps.len();
            prop_assert_eq!(phases, real.phases.len(), "{:?}", update.steps);
            for (step, (duration, level)) in update.steps.iter().zip(&real.phases) {
                prop_assert!((step.duration.0 - duration).abs() <= sample, "{step:?} {duration}");
                prop_assert!((step.current.0 / level - 1.0).abs() < 0.03, "{step:?} {level}");
            }
        }
    }

    #[test]
    fn charges_are_those_of_the_trapezoid_rule(truth in truth(), seed: u64) {
        let samples: Samples = truth.sample(uneven(truth.length, 1e-3, seed), &mut seeded(seed));
        // As the file states them, rounding included.
        let round = |value: f64, to: f64| (value / to).round() * to;
        let samples: Samples = samples.iter().map(|(time, current)| (round(*time, 1e-6), round(*current, 1e-9))).collect();
        let trace = found(&csv(&samples), &Settings::default());
        let whole = trapezoid(&samples, f64::MIN, f64::MAX, 0.0);
        prop_assert!((trace.charge.0 / whole - 1.0).abs() < 1e-9, "{} {whole}", trace.charge);
        for update in &trace.updates {
            // An update ends halfway between rows; the halves beyond are quiet and hold noise only.
            let (from, to) = (samples[0].0 + update.start.0 - 1e-3, samples[0].0 + (update.start + update.duration).0 + 1e-3);
            let own = trapezoid(&samples, from, to, update.baseline.0);
            prop_assert!((update.charge.0 - own).abs() < 6.0 * truth.noise * 2e-3 + 1e-4 * own, "{} {own}", update.charge);
            let largest = samples.iter().filter(|(time, _)| *time >= from && *time <= to).map(|(_, current)| *current).fold(0.0, f64::max);
            prop_assert!((update.peak.0 - largest).abs() < 1e-12);
        }
    }
}

fn still(happenings: Vec<Happening>, length: f64) -> Truth {
    Truth { baseline: 10e-6, noise: 0.5e-6, grain: 0.01, ripple: (0.0, 1.0), happenings, length }
}

#[test]
fn kinds_are_told_apart_and_short_pulses_left_out() {
    let blink = |start: f64| Happening { start, phases: vec![(0.012, 1.2e-3)] };
    let radio = |start: f64| Happening { start, phases: vec![(0.3, 22e-3)] };
    let all = vec![
        blink(0.5),
        update(1.0, 1.0, 2.1),
        blink(4.0),
        update(5.0, 1.0, 0.4),
        radio(7.0),
        update(8.0, 1.0, 0.42),
        update(10.0, 1.0, 2.2),
        update(14.0, 1.0, 0.41),
        blink(16.0),
        update(17.0, 1.0, 2.15),
    ];
    let truth = still(all, 21.0);
    let samples = truth.sample(truth.logger(1e-3, 50e-3), &mut seeded(5));
    let trace = found(&csv(&samples), &Settings::default());
    let kinds = kinds(&trace);
    let seen: Vec<(Name, Vec<usize>)> = kinds.iter().map(|kind| (kind.name, kind.updates.clone())).collect();
    assert_eq!(seen, [(Name::Full, vec![0, 4, 6]), (Name::Other, vec![2]), (Name::Partial, vec![1, 3, 5])]);
    assert_eq!(trace.pulses.count, 3);
    assert!((trace.pulses.charge.0 / (3.0 * 0.012 * 1.2e-3) - 1.0).abs() < 0.15, "{}", trace.pulses.charge);
    let labels: Vec<&str> = kinds[0].phases.iter().map(|phase| phase.label.map_or("", |label| label.text())).collect();
    assert_eq!(labels, ["start", "", "transfer", "booster on", "drive", "booster off"]);
    let drive = &kinds[0].phases[4].duration;
    assert!(
        (drive.min.0 - 2.1).abs() < 2e-3 && (drive.typ.0 - 2.15).abs() < 2e-3 && (drive.max.0 - 2.2).abs() < 2e-3,
        "{drive:?}"
    );
}

#[test]
fn a_hole_cuts_an_update_and_is_no_charge() {
    let truth = still(vec![update(1.0, 1.0, 2.0), update(5.0, 1.0, 2.0)], 9.0);
    let mut samples = truth.sample((0..9000).map(|n| f64::from(n) * 1e-3), &mut seeded(6));
    samples.retain(|(time, _)| !(2.0..2.5).contains(time));
    let trace = found(&csv(&samples), &Settings::default());
    assert_eq!(trace.updates.iter().map(|update| update.cut).collect::<Vec<_>>(), [true, true, false]);
    assert_eq!(trace.gaps.0, 1);
    assert!((trace.gaps.1.0 - 0.501).abs() < 2e-3, "{}", trace.gaps.1);
    assert!(trace.cautions.iter().any(|caution| caution.contains("Cut off")));
    assert_eq!(kinds(&trace).len(), 1);
}

#[test]
fn a_drifting_baseline_is_followed() {
    let mut truth = still((0..20).map(|n| update(3.0 + 5.0 * f64::from(n), 1.0, 0.5)).collect(), 104.0);
    truth.noise = 1e-6;
    let mut samples = truth.sample((0..104_000).map(|n| f64::from(n) * 1e-3), &mut seeded(7));
    samples.iter_mut().for_each(|(time, current)| *current += *time * 0.5e-6);
    let trace = found(&csv(&samples), &Settings::default());
    assert_eq!(trace.updates.len(), 20);
    for (update, real) in trace.updates.iter().zip(&truth.happenings) {
        assert!((update.baseline.0 - (10e-6 + 0.5e-6 * real.start)).abs() < 1e-6, "{}", update.baseline);
        assert!((update.charge.0 / real.charge() - 1.0).abs() < 0.005);
    }
}

#[test]
fn a_current_that_stays_up_becomes_the_baseline() {
    let on = Happening { start: 100.0, phases: vec![(400.0, 1e-3)] };
    let truth = still(vec![update(1.0, 1.0, 0.5), on], 500.0);
    let mut samples = truth.sample((0..50_000).map(|n| f64::from(n) * 1e-2), &mut seeded(8));
    // A refresh on top of it.
    samples.iter_mut().filter(|(time, _)| (400.0..402.0).contains(time)).for_each(|(_, current)| *current += 4e-3);
    let trace = found(&csv(&samples), &Settings::default());
    assert!(trace.cautions.iter().any(|caution| caution.contains("stayed up")), "{:?}", trace.cautions);
    let late = trace.updates.iter().find(|update| (update.start.0 - 400.0).abs() < 0.02).unwrap();
    assert!((late.charge.0 / 8e-3 - 1.0).abs() < 0.01, "{late:?}");
}

#[test]
fn long_updates_at_a_fast_rate_keep_their_charge() {
    let truth = still(vec![update(0.5, 1.0, 3.0)], 4.5);
    let samples = truth.sample((0..450_000).map(|n| f64::from(n) * 1e-5), &mut seeded(9));
    let trace = found(&csv(&samples), &Settings::default());
    let (update, real) = (&trace.updates[0], &truth.happenings[0]);
    assert!((update.charge.0 / real.charge() - 1.0).abs() < 0.001);
    assert!((update.duration.0 - real.duration()).abs() < 2e-5);
    assert_eq!(update.steps.len(), 6, "{:?}", update.steps);
    // 315,600 rows in at most 32,768 bins of 16 rows: bounds are known to 0.16 ms.
    for (step, (duration, _)) in update.steps.iter().zip(&real.phases) {
        assert!((step.duration.0 - duration).abs() < 0.4e-3, "{step:?} {duration}");
    }
}

#[test]
fn every_update_of_a_sparse_row_of_them_is_found() {
    // One row in three begins an update: a logger that keeps only changes. Found while its limit was tested.
    const UPDATES: usize = 4_000;
    let mut text = String::from("time s,current A\n");
    for update in 0..UPDATES {
        let start = update as f64 * 0.2;
        text += &format!("{start:.2},0.000002\n{:.2},0.005\n{:.2},0.000002\n", start + 0.03, start + 0.07);
    }
    let trace = found(&text, &Settings::default());
    assert_eq!(trace.updates.len(), UPDATES);
    assert!((trace.baseline.0 - 2e-6).abs() < 1e-9, "{}", trace.baseline);
}

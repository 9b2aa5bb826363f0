//! A capacitor beside the battery against `tests/references/capacitor.py`, which integrates the circuit over time, and
//! against cases that can be done by hand.

use inkjoule::cell::capacitor::{Buffered, Capacitor, Leg, Train};
use inkjoule::cell::peak::{LoadCurrent, Terminal, terminal};
use inkjoule::units::{Amps, Farads, Ohms, Seconds, Volts, Watts};

fn rows(kind: &str) -> Vec<Vec<f64>> {
    let rows = include_str!("../references/capacitor.csv").lines().filter_map(|line| line.split_once(','));
    let rows = rows.filter(|(of, _)| *of == kind);
    let rows: Vec<Vec<f64>> =
        rows.map(|(_, row)| row.split(',').map(|number| number.parse().unwrap()).collect()).collect();
    assert!(!rows.is_empty(), "no rows for {kind}");
    rows
}

fn load_current(amps: f64, watts: f64) -> LoadCurrent {
    LoadCurrent { current: Amps(amps), power: Watts(watts) }
}

fn leg(amps: f64, watts: f64, seconds: f64) -> Leg {
    Leg { load_current: load_current(amps, watts), time: Seconds(seconds) }
}

fn capacitor(farads: f64, ohms: f64) -> Capacitor {
    Capacitor { capacitance: Farads(farads), resistance: Ohms(ohms) }
}

#[test]
fn dips_and_collapses_agree_with_an_integration_over_time() {
    let mut collapses = 0;
    for row in rows("dip") {
        let legs: Vec<Leg> = row[6..15].chunks(3).map(|part| leg(part[0], part[1], part[2])).collect();
        let always = load_current(row[4], row[5]);
        let buffered = Buffered { capacitor: capacitor(row[2], row[3]), always, trains: Vec::new(), legs };
        let found = buffered.dip(Volts(row[0]), Ohms(row[1]));
        match found.terminal {
            Terminal::Holds(volts) => assert!((volts.0 - row[15]).abs() < 2e-8, "{row:?}: {found:?}"),
            Terminal::Collapses => {
                collapses += 1;
                assert_eq!(row[15], 0.0, "{row:?}: {found:?}");
                assert!((found.at.0 - row[16]).abs() < 1e-6 * row[16].max(1e-3), "{row:?}: {found:?}");
            }
        }
    }
    assert!(collapses > 10, "{collapses}");
}

#[test]
fn pulses_that_come_before_the_capacitor_is_full_again_agree_with_an_integration_over_many() {
    for row in rows("train") {
        let always = load_current(row[4], row[5]);
        let legs = vec![leg(row[6], row[7], row[8])];
        let train = Train { legs: legs.clone(), period: Seconds(row[9]) };
        let buffered = Buffered { capacitor: capacitor(row[2], row[3]), always, trains: vec![train], legs };
        let found = buffered.dip(Volts(row[0]), Ohms(row[1])).terminal.volts().unwrap();
        assert!((found.0 - row[10]).abs() < 1e-7, "{row:?}: {found}");
        let full =
            Buffered { trains: Vec::new(), ..buffered }.dip(Volts(row[0]), Ohms(row[1])).terminal.volts().unwrap();
        let fills = row[9] > 20.0 * (row[1] + row[3]) * row[2];
        assert!(if fills { (full - found).0 < 1e-7 } else { full > found }, "{row:?}: {full}");
    }
}

/// By hand: 1 mF without resistance gives 10 mA for 1 ms alone, 10 mV, while the battery behind 1 MOhm gives nothing.
#[test]
fn a_short_pulse_takes_its_charge_from_the_capacitor() {
    let legs = vec![leg(10e-3, 0.0, 1e-3)];
    let buffered =
        Buffered { capacitor: capacitor(1e-3, 0.0), always: LoadCurrent::default(), trains: Vec::new(), legs };
    let volts = buffered.dip(Volts(3.0), Ohms(1e6)).terminal.volts().unwrap();
    assert!((volts.0 - 2.99).abs() < 1e-7, "{volts}");
}

/// Without capacitance, or for a long time, the dip is that of the battery alone; never is it deeper.
#[test]
fn a_capacitor_helps_less_the_smaller_it_is_and_the_longer_the_pulse() {
    let (ocv, ohms) = (Volts(3.0), Ohms(30.0));
    let dip = |farads: f64, seconds: f64| {
        let legs = vec![leg(2e-3, 40e-3, seconds)];
        let buffered =
            Buffered { capacitor: capacitor(farads, 0.2), always: load_current(1e-5, 1e-5), trains: Vec::new(), legs };
        buffered.dip(ocv, ohms).terminal.volts().unwrap().0
    };
    let alone = terminal(ocv, ohms, load_current(2e-3, 40e-3)).volts().unwrap().0;
    assert!((dip(1e-9, 1.0) - alone).abs() < 1e-9 && (dip(1e-3, 10.0) - alone).abs() < 1e-9);
    let falling: Vec<f64> = [1e-3, 3e-3, 1e-2, 0.1, 1.0].map(|seconds| dip(1e-3, seconds)).to_vec();
    assert!(falling.windows(2).all(|pair| pair[0] > pair[1]) && falling[0] > 2.9, "{falling:?}");
    let rising: Vec<f64> = [1e-6, 1e-4, 1e-3, 1e-2].map(|farads| dip(farads, 0.01)).to_vec();
    assert!(rising.windows(2).all(|pair| pair[0] < pair[1]), "{rising:?}");
}

/// The losses of one pulse in both resistances, added up step by step, over those in the battery alone.
#[test]
fn what_is_left_of_a_pulse_agrees_with_its_losses_added_up() {
    for (farads, esr, ohms, time) in [(1e-3, 0.5, 20.0, 0.01), (0.1, 5.0, 10.0, 0.5), (1e-5, 1.0, 2.0, 1.0)] {
        let (step, constant) = (1e-6_f64.min(time / 1e5), (ohms + esr) * farads);
        let (mut missing, mut losses, mut at) = (0.0_f64, 0.0_f64, 0.0_f64);
        while at < time + 15.0 * constant {
            // 1 A; `missing` is what the capacitor lacks, in volts, in the middle of the step.
            let drawn = if at < time { 1.0 } else { 0.0 };
            let middle = missing + 0.5 * step * (drawn * ohms - missing) / constant;
            let own = (drawn * ohms - middle) / (ohms + esr);
            losses += step * (ohms * (drawn - own).powi(2) + esr * own * own);
            missing += step * (drawn * ohms - middle) / constant;
            at += step;
        }
        let found = capacitor(farads, esr).left_of_a_pulse(Ohms(ohms), Seconds(time));
        assert!((found / (losses / (ohms * time)) - 1.0).abs() < 1e-3, "{found} for {}", losses / (ohms * time));
    }
}

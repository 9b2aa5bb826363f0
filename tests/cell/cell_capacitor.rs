//! A capacitor beside the battery against `tests/references/capacitor.py`, which integrates the circuit over time, and
//! against cases that can be done by hand.

use inkjoule::cell::capacitor::{Buffered, Capacitor, Leg, Peak, Train};
use inkjoule::cell::peak::{LoadCurrent, Terminal, terminal};
use inkjoule::units::{Amps, Farads, Ohms, Seconds, Volts, Watts};
use std::sync::Arc;

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

/// By hand: 3 V behind 100 ohms and 1 mF without resistance under 50 mA. The voltage tends to -2 V with a time constant of
/// 0.1 s, `v = -2 + 5 e^(-t/0.1)`, and is 0 after `0.1 ln 2.5` seconds; after 50 ms it is 1.0327 V.
#[test]
fn a_current_that_no_battery_bears_collapses_when_the_capacitor_is_empty() {
    let dip = |seconds: f64| {
        let legs = vec![leg(50e-3, 0.0, seconds)];
        Buffered { capacitor: capacitor(1e-3, 0.0), always: LoadCurrent::default(), trains: Vec::new(), legs }
            .dip(Volts(3.0), Ohms(100.0))
    };
    let held = dip(0.05);
    assert!((held.terminal.volts().unwrap().0 - 1.032_653_298_6).abs() < 1e-9, "{held:?}");
    let fell = dip(1.0);
    assert_eq!((fell.terminal, fell.leg), (Terminal::Collapses, 0));
    assert!((fell.at.0 - 0.091_629_073_187).abs() < 1e-11, "{fell:?}");
}

/// By hand: 2 V behind 1 ohm bear 1 W at most, at 1 V. Beside 1 F without resistance `C dv/dt = (2 - v) - 1 / v` is
/// `dt = -v / (v - 1)^2 dv`, so that from 2 V the voltage is `v` after `1 / (v - 1) - 1 - ln(v - 1)` seconds: 1.5 V after
/// `1 + ln 2` of them, 1.1 V after `9 + ln 10`.
#[test]
fn the_most_that_a_battery_bears_is_approached_slowly() {
    for (volts, seconds) in [(1.5, 1.0 + 2f64.ln()), (1.1, 9.0 + 10f64.ln())] {
        let legs = vec![leg(0.0, 1.0, seconds)];
        let buffered =
            Buffered { capacitor: capacitor(1.0, 0.0), always: LoadCurrent::default(), trains: Vec::new(), legs };
        let found = buffered.dip(Volts(2.0), Ohms(1.0)).terminal.volts().unwrap();
        assert!((found.0 - volts).abs() < 1e-9, "{found} after {seconds} s");
    }
}

/// Behind 1 MOhm the battery gives as good as nothing of a short pulse: by hand 10 mV less at the terminals are 10 nA. Of a
/// load without a capacitor beside it, and of one that lasts, it gives all.
#[test]
fn the_battery_itself_gives_what_its_own_resistance_lets_through() {
    let load = load_current(10e-3, 0.0);
    let peak = |ohms: f64, seconds: f64| {
        let legs = vec![leg(10e-3, 0.0, seconds)];
        let buffered =
            Buffered { capacitor: capacitor(1e-3, 0.0), always: LoadCurrent::default(), trains: Vec::new(), legs };
        Peak { load_current: load, buffered: Some(Arc::new(buffered)) }.battery_current(
            Volts(3.0),
            Ohms(ohms),
            Volts(3.0),
        )
    };
    assert!((peak(1e6, 1e-3).0 - 10e-9).abs() < 1e-12, "{}", peak(1e6, 1e-3));
    assert!((peak(20.0, 10.0).0 - 10e-3).abs() < 1e-12, "{}", peak(20.0, 10.0));
    let alone = Peak::from(load_current(4e-3, 12e-3)).battery_current(Volts(3.6), Ohms(20.0), Volts(3.0));
    assert!((alone.0 - 8e-3).abs() < 1e-15, "{alone}");
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

//! Lives under pulses against a sum over small steps of charge, with the voltage under a pulse found by substitution.

use inkjoule::cell::Cell;
use inkjoule::cell::chemistry::{Chemistry, ChemistryKind};
use inkjoule::cell::life::Discharge;
use inkjoule::cell::load::MeanLoad;
use inkjoule::cell::peak::LoadCurrent;
use inkjoule::cell::pulsed::{Demand, Groups, Pulse, Pulsed, Spread};
use inkjoule::units::{Celsius, Coulombs, Ohms, PerSecond, Ratio, Seconds, Volts, Watts};

/// Power at the terminals between pulses and during them, and the pulses' share of the time.
const BASE: f64 = 20e-6;
const PULSE: f64 = 20e-3;
const SHARE: f64 = 0.01;

fn coin() -> Cell {
    let chemistry = Chemistry::built_in(ChemistryKind::LithiumManganeseDioxide).unwrap();
    let mut cell = Cell::typical(chemistry.into(), Coulombs(810.0));
    (cell.resistance, cell.self_discharge) = (Ohms(15.0), PerSecond(0.0));
    cell.reserve = Ratio(0.3);
    cell
}

fn pulsed() -> Pulsed {
    let during = Demand::LoadCurrent(LoadCurrent::power(Watts(BASE + PULSE)));
    Pulsed::new(Demand::LoadCurrent(LoadCurrent::power(Watts(BASE))), vec![(Ratio(SHARE), during)], Spread::default())
        .unwrap()
}

#[test]
fn a_life_agrees_with_small_steps_and_is_shorter_than_that_of_the_mean() {
    for (celsius, least) in [(20.0, 0.02), (5.0, 0.03)] {
        let case = coin().at(Celsius(celsius)).unwrap();
        let discharge = Discharge { case: &case, cut_offs: &[], age_limit: None };
        let found = discharge.run(&pulsed()).unwrap().time.0;
        const STEPS: u32 = 20_000;
        let step = (case.start() - case.floor()) / f64::from(STEPS);
        let mut time = 0.0;
        for at in 0..STEPS {
            let soc = case.state_of_charge(case.floor() + step * (f64::from(at) + 0.5));
            let (ocv, ohms) = (case.ocv(soc).0, case.resistance(soc).0);
            let current = |watts: f64| (0..200).fold(0.0, |amps, _| watts / (ocv - ohms * amps));
            time += step.0 / ((1.0 - SHARE) * current(BASE) + SHARE * current(BASE + PULSE));
        }
        assert!((found / time - 1.0).abs() < 1e-6, "{celsius}: {found} for {time}");
        let mean = MeanLoad::always(LoadCurrent::power(Watts(BASE + SHARE * PULSE))).unwrap();
        let of_mean = discharge.run(&mean).unwrap().time.0;
        assert!(of_mean > found * (1.0 + least), "{celsius}: the mean gives {}", of_mean / found);
    }
}

/// A constant current does not depend on the voltage, so its pulses cost what their mean does.
#[test]
fn pulses_of_current_cost_their_mean() {
    let amps = |amps: f64| LoadCurrent::current(inkjoule::units::Amps(amps));
    let case = coin().at(Celsius(20.0)).unwrap();
    let discharge = Discharge { case: &case, cut_offs: &[], age_limit: None };
    let with = vec![(Ratio(SHARE), Demand::LoadCurrent(amps(5.01e-3)))];
    let found = discharge.run(&Pulsed::new(Demand::LoadCurrent(amps(1e-5)), with, Spread::default()).unwrap()).unwrap();
    let mean = discharge.run(&MeanLoad::always(amps(6e-5)).unwrap()).unwrap();
    assert!((found.time / mean.time - 1.0).abs() < 1e-9);
}

/// Many pulses of any size, each for itself or in groups: what the groups leave out is made up for to first order.
#[test]
fn groups_of_pulses_cost_what_each_costs_for_itself() {
    let load_current =
        |amps: f64, watts: f64| LoadCurrent { current: inkjoule::units::Amps(amps), power: Watts(watts) };
    let (nominal, base) = (Volts(3.0), load_current(4e-6, 20e-6));
    let pulses: Vec<Pulse> = (0..40_u32)
        .map(|index| {
            let unit = |by: u32| f64::from(index * by % 41) / 41.0;
            let (time, share) = (Seconds(0.01), Ratio(0.01 * unit(7)));
            Pulse { share, time, load_current: load_current(4e-3 * unit(11), 16e-3 * unit(17)) }
        })
        .collect();
    let whole = |load_current: LoadCurrent| Demand::LoadCurrent(base + load_current);
    let each = pulses.iter().map(|pulse| (pulse.share, whole(pulse.load_current))).collect();
    let groups = Groups::of(&pulses, nominal);
    assert!(groups.count < 12 && groups.count > 1, "{}", groups.count);
    let of = |group: usize| {
        let members = || pulses.iter().zip(&groups.places).filter(move |(_, place)| **place == group);
        let share: f64 = members().map(|(pulse, _)| pulse.share.0).sum();
        let sum: LoadCurrent = members().map(|(pulse, _)| pulse.mean()).sum();
        (Ratio(share), whole(LoadCurrent { current: sum.current / share, power: sum.power / share }))
    };
    let together = (0..groups.count).map(of).collect::<Vec<_>>();
    let case = coin().at(Celsius(20.0)).unwrap();
    let discharge = Discharge { case: &case, cut_offs: &[], age_limit: None };
    let run = |pulses: Vec<(Ratio, Demand)>, spread: Spread| {
        discharge.run(&Pulsed::new(Demand::LoadCurrent(base), pulses, spread).unwrap()).unwrap()
    };
    let each = run(each, Spread::default());
    let mended = run(together.clone(), groups.spread);
    let plain = run(together, Spread::default());
    let miss = |found: f64, right: f64| (found / right - 1.0).abs();
    assert!(miss(mended.time.0, each.time.0) < 1e-4, "{} for {}", mended.time, each.time);
    assert!(miss(mended.energy.0, each.energy.0) < 1e-4, "{} for {}", mended.energy, each.energy);
    assert!(miss(plain.time.0, each.time.0) > 3.0 * miss(mended.time.0, each.time.0), "{} {}", plain.time, each.time);
}

/// By hand at 3 V: 2 mA beside 6 mW are 4 mA, 3.2 mA beside 3 mW are 4.2 mA, both for a hundredth of the time; 20 mA are a
/// group of their own. Around the means of 4.1 mA and 2.6 mA the currents' covariance with the whole is 0.12 mA^2, that
/// of what the powers take, 2 mA and 1 mA, is -0.1 mA^2; each for a hundredth of the time.
#[test]
fn what_a_group_scatters_is_worked_out_by_hand() {
    let pulse = |share: f64, amps: f64, watts: f64| Pulse {
        share: Ratio(share),
        time: Seconds(0.01),
        load_current: LoadCurrent { current: inkjoule::units::Amps(amps), power: Watts(watts) },
    };
    let pulses = [pulse(0.01, 20e-3, 0.0), pulse(0.01, 2e-3, 6e-3), pulse(0.0, 1.0, 0.0), pulse(0.01, 3.2e-3, 3e-3)];
    let groups = Groups::of(&pulses, Volts(3.0));
    assert_eq!((groups.count, groups.places[0], groups.places[1], groups.places[3]), (2, 1, 0, 0));
    assert!((groups.spread.currents - 0.12e-8).abs() < 1e-20, "{:?}", groups.spread);
    assert!((groups.spread.powers + 0.10e-8).abs() < 1e-20, "{:?}", groups.spread);
    // One alone scatters around nothing.
    let alone = Groups::of(&pulses[..1], Volts(3.0));
    assert_eq!((alone.count, alone.spread.currents, alone.spread.powers), (1, 0.0, 0.0));
}

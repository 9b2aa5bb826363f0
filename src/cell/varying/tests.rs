//! What a load that varies draws, against its own formula and by hand.

use super::*;

/// 1 mA and 3 mW behind an efficiency from 60 % at 3 V to 90 % at 4.2 V, a straight line between, flat beyond.
fn load_current(volts: Volts) -> LoadCurrent {
    let share = 0.6 + 0.3 * ((volts.0 - 3.0) / 1.2).clamp(0.0, 1.0);
    LoadCurrent { current: Amps(0.001), power: Watts(0.003 / share) }
}

#[test]
fn a_power_over_a_straight_efficiency_takes_few_points() {
    let asked = std::cell::Cell::new(0);
    let counted = |volts| {
        asked.set(asked.get() + 1);
        load_current(volts)
    };
    let varying = Varying::of(&[3.0, 4.2].map(Volts), counted);
    assert_eq!(asked.get(), 3, "both ends and the middle");
    for volts in [2.0, 3.0, 3.1, 3.3, 3.7, 4.0, 4.2, 5.0] {
        let (found, right) = (varying.at(Volts(volts)), load_current(Volts(volts)));
        assert!((found.power / right.power - 1.0).abs() < 1e-12, "{volts} V: {found:?} for {right:?}");
        assert!((found.current / right.current - 1.0).abs() < 1e-12, "{volts} V: {found:?} for {right:?}");
    }
}

#[test]
fn what_bends_between_is_halved_until_it_is_met() {
    let bent = |volts: Volts| LoadCurrent::power(Watts(0.003 / (1.0 - 0.4 * (-(volts.0 - 2.0) * 3.0).exp())));
    let varying = Varying::of(&[2.0, 4.2].map(Volts), bent);
    for step in 0..=220 {
        let volts = Volts(2.0 + 0.01 * f64::from(step));
        let (found, right) = (varying.at(volts).power, bent(volts).power);
        assert!((found / right - 1.0).abs() < 1e-4, "{volts}: {found} for {right}");
    }
}

#[test]
fn both_ways_to_the_voltage_agree() {
    let varying = Varying::of(&[2.0, 3.0, 3.6, 4.2].map(Volts), load_current);
    let (mut near, mut within) = (0, 0);
    for ocv in (20..45).map(|tenth| 0.1 * f64::from(tenth)).map(Volts) {
        for ohms in [0.0, 0.1, 1.0, 10.0, 100.0, 200.0, 400.0, 1e3, 1e4].map(Ohms) {
            let Some((amps, watts)) = varying.settle_near(ocv, ohms) else { continue };
            let volts = Volts(watts.0 / amps.0);
            assert!((ocv - ohms * amps - volts).0.abs() <= 1e-9 * ocv.0, "{ocv} {ohms}: {amps} at {volts}");
            let miss = varying.at(volts).at(volts) / amps - 1.0;
            assert!(miss.abs() <= 1e-9, "{ocv} {ohms}: {amps} at {volts}, {miss:e}");
            // Substitution ends when the voltage stays to 1e-10, and knows the current less well.
            let (a, w) = varying.settle_anywhere(ocv, ohms).expect("a voltage bears it");
            assert!((amps / a - 1.0).abs() < 1e-5 && (watts / w - 1.0).abs() < 1e-5, "{ocv} {ohms}: {amps} {a}");
            near += 1;
            if let Some((a, w)) = varying.settle_within(ocv, ohms) {
                assert!((a / amps - 1.0).abs() < 2e-7 && (w / watts - 1.0).abs() < 2e-7, "{ocv} {ohms}: {a} {amps}");
                within += 1;
            }
        }
    }
    assert!(near > 100 && within > 15, "the quick ways are the usual ones: {near}, {within}");
    // Where nothing bears the load, the quick way finds no voltage either.
    assert!(varying.settle_near(Volts(3.0), Ohms(1e4)).is_none());
    assert!(varying.settle(Volts(3.0), Ohms(1e4)).is_err());
}

/// Just above a bend the voltage that is left lies below it, where the load is another.
#[test]
fn the_voltage_is_met_on_either_side_of_a_bend() {
    let bent = |volts: Volts| LoadCurrent {
        current: Amps(0.001),
        power: Watts(0.003 / (0.8 + 0.2 * (volts.0 - 3.6).min(0.0))),
    };
    let varying = Varying::of(&[3.3, 3.6, 4.2].map(Volts), bent);
    for ocv in [3.31, 3.5999, 3.6, 3.6001, 3.6004, 3.6006, 3.6008, 3.7].map(Volts) {
        let (amps, watts) = varying.settle_within(ocv, Ohms(0.3)).expect("a small fall");
        let volts = Volts(watts.0 / amps.0);
        assert!((ocv - Ohms(0.3) * amps - volts).0.abs() <= 1e-10, "{ocv}: {amps} at {volts}");
        let miss = bent(volts).at(volts) / amps - 1.0;
        assert!(miss.abs() <= 2e-7, "{ocv}: {amps} at {volts}, {miss:e}");
    }
}

/// A rail that is off below 3 V and comes up in a straight line: no reciprocal tells a power of 0.
#[test]
fn a_power_that_begins_at_nothing_is_met() {
    let rises = |volts: Volts| LoadCurrent::power(Watts(0.003 * ((volts.0 - 3.0) / 0.6).clamp(0.0, 1.0)));
    let varying = Varying::of(&[2.0, 3.0, 3.6, 4.2].map(Volts), rises);
    for (volts, watts) in [(2.5, 0.0), (3.0, 0.0), (3.2, 0.001), (3.3, 0.0015), (3.6, 0.003), (4.0, 0.003)] {
        let found = varying.at(Volts(volts)).power.0;
        assert!((found - watts).abs() < 1e-12, "{volts} V: {found} W");
    }
}

/// Ends within a hundredth of one another: a straight line, for which the middle is not asked.
#[test]
fn what_hardly_varies_is_asked_for_at_its_ends_only() {
    let asked = std::cell::Cell::new(0);
    let of = |by: f64| {
        asked.set(0);
        Varying::of(&[3.0, 4.0].map(Volts), |volts| {
            asked.set(asked.get() + 1);
            LoadCurrent { current: Amps(0.001), power: Watts(0.003 * (1.0 + by * (volts.0 - 3.0))) }
        })
    };
    let flat = of(0.009);
    assert_eq!(asked.get(), 2);
    assert!((flat.at(Volts(3.5)).power.0 / (0.003 * 1.0045) - 1.0).abs() < 1e-4);
    of(0.011);
    assert!(asked.get() > 2);
    // A step is narrowed by five halvings; either half of each is the one in which it lies.
    for step in [3.1, 3.55, 3.9] {
        asked.set(0);
        Varying::of(&[3.0, 4.0].map(Volts), |volts| {
            asked.set(asked.get() + 1);
            LoadCurrent::current(Amps(if volts.0 < step { 0.001 } else { 0.002 }))
        });
        assert!((10..=14).contains(&asked.get()), "{step}: {}", asked.get());
    }
}

#[test]
fn one_voltage_is_a_load_that_does_not_vary() {
    let varying = Varying::of(&[Volts(3.0)], |_| LoadCurrent::power(Watts(0.002)));
    assert_eq!([1.0, 3.0, 9.0].map(|volts| varying.at(Volts(volts))), [LoadCurrent::power(Watts(0.002)); 3]);
}

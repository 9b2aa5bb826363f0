//! Terminal voltage under load, corners and the largest power.

use inkjoule::cell::Cell;
use inkjoule::cell::chemistry::{Chemistry, ChemistryKind};
use inkjoule::cell::peak::{
    Fill, LoadCurrent, Span, Terminal, Warmth, Wear, largest_power, supply_corners, terminal, worst,
};
use inkjoule::units::{Amps, Celsius, Coulombs, Ohms, Seconds, Volts, Watts, YEAR};
use proptest::prelude::*;
use std::sync::Arc;

/// Kirchhoff by hand: 3 V behind 10 ohms into 0.2 W is 2 V at 0.1 A; the matched load is 3^2 / (4 * 10) = 0.225 W at half
/// of 3 V, and above it no voltage satisfies the circuit.
#[test]
fn worked_by_hand() {
    let at = |watts| terminal(Volts(3.0), Ohms(10.0), LoadCurrent::power(Watts(watts)));
    let close = |found: Terminal, volts: f64| (found.volts().unwrap().0 - volts).abs() < 1e-7;
    assert!(close(at(0.2), 2.0) && close(at(0.0), 3.0) && close(at(0.225 - 1e-16), 1.5));
    assert_eq!(at(0.2251), Terminal::Collapses);
    assert_eq!(terminal(Volts(3.0), Ohms(10.0), LoadCurrent::current(Amps(0.1))), Terminal::Holds(Volts(2.0)));
    assert_eq!(terminal(Volts(3.0), Ohms(10.0), LoadCurrent::current(Amps(0.3))), Terminal::Collapses);
    assert_eq!(terminal(Volts(f64::NAN), Ohms(10.0), LoadCurrent::default()), Terminal::Collapses);
    assert!(!at(0.3).reaches(Volts(0.0)));
}

#[test]
fn eight_corners_with_the_cold_empty_aged_one_worst() {
    let cell =
        Cell::typical(Arc::new(Chemistry::built_in(ChemistryKind::LithiumManganeseDioxide).unwrap()), Coulombs(810.0));
    let span = Span { cold: Celsius(-10.0), hot: Celsius(50.0), aged: Seconds(5.0 * YEAR) };
    let all = supply_corners(
        &cell,
        span,
        &[LoadCurrent::power(Watts(0.01)).into(), LoadCurrent::power(Watts(0.01)).into()],
        Volts(1.8),
    )
    .unwrap();
    assert_eq!(all.len(), 8);
    let worst = worst(&all).unwrap();
    assert_eq!((worst.warmth, worst.fill, worst.wear), (Warmth::Cold, Fill::Empty, Wear::Aged));
    // 15 ohms, 2.7 times when cold, 4 times when empty, exp(0.25) after five years at 5 % a year: above 2^2 / (4 * 0.01).
    let ohms = 15.0 * 2.7 * 4.0 * 0.25f64.exp();
    assert!((worst.resistance.0 - ohms).abs() < 1e-9 && worst.terminal == Terminal::Collapses);
    assert!((worst.largest_power.unwrap().0 - 1.8 * 0.2 / ohms).abs() < 1e-12);
    let best = all.iter().find(|c| (c.warmth, c.fill, c.wear) == (Warmth::Hot, Fill::Full, Wear::New)).unwrap();
    assert!(best.terminal.volts().unwrap().0 > 3.1);
    assert!(supply_corners(&cell, Span { cold: Celsius(-30.0), ..span }, &Default::default(), Volts(1.8)).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn more_resistance_or_more_load_never_raises_the_voltage(
        ocv in 0.5..5.0f64, ohms in 0.0..50.0f64, more in 0.0..50.0f64, amps in 0.0..0.1f64, watts in 0.0..0.3f64,
        heavier in 0.0..0.2f64,
    ) {
        let height = |ohms, watts| {
            let load_current = LoadCurrent { current: Amps(amps), power: Watts(watts) };
            terminal(Volts(ocv), Ohms(ohms), load_current).volts().map_or(f64::NEG_INFINITY, f64::from)
        };
        prop_assert!(height(ohms + more, watts) <= height(ohms, watts) + 1e-12);
        prop_assert!(height(ohms, watts + heavier) <= height(ohms, watts) + 1e-12);
        prop_assert!(height(ohms, watts) <= ocv);
    }

    #[test]
    fn the_voltage_satisfies_kirchhoff(ocv in 0.5..5.0f64, ohms in 0.0..50.0f64, amps in -0.1..0.1f64, watts in 0.0..0.3f64) {
        let load_current = LoadCurrent { current: Amps(amps), power: Watts(watts) };
        if let Terminal::Holds(volts) = terminal(Volts(ocv), Ohms(ohms), load_current) {
            prop_assert!((ocv - ohms * load_current.at(volts).0 - volts.0).abs() < 1e-6);
        }
    }

    #[test]
    fn the_largest_power_is_the_largest(ocv in 1.0..5.0f64, ohms in 0.01..50.0f64, amps in 0.0..0.05f64, v_min in 0.1..4.0f64) {
        let most = largest_power(Volts(ocv), Ohms(ohms), Amps(amps), Volts(v_min)).unwrap();
        let reaches = |watts| {
            let load_current = LoadCurrent { current: Amps(amps), power: Watts(watts) };
            terminal(Volts(ocv), Ohms(ohms), load_current).reaches(Volts(v_min))
        };
        prop_assert!(most.0 == 0.0 || reaches(most.0 * (1.0 - 1e-9)));
        prop_assert!(!reaches(most.0 * (1.0 + 1e-9) + 1e-9));
    }
}

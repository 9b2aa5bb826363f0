//! Charging against closed forms, and what must be refused. SciPy's figures are in `cell_references.rs`.

use inkjoule::cell::charging::{ChargeFault, ChargeTime, Charger};
use inkjoule::cell::chemistry::{Chemistry, ChemistryKind};
use inkjoule::cell::curve::Table;
use inkjoule::cell::peak::LoadCurrent;
use inkjoule::cell::surface::Surface;
use inkjoule::cell::{Cell, CellFault};
use inkjoule::units::{Amps, Celsius, Coulombs, Ohms, Ratio, Seconds, Volts, Watts};
use proptest::prelude::*;
use std::sync::Arc;

const ROOM: Celsius = Celsius(25.0);
const CHARGER: Charger = Charger { current: Amps(0.2), termination: Amps(0.02) };

fn built_in(kind: ChemistryKind, ohms: f64) -> Cell {
    let chemistry = Arc::new(Chemistry::built_in(kind).unwrap());
    Cell { resistance: Ohms(ohms), ..Cell::typical(chemistry, Coulombs(1440.0)) }
}

/// One straight line from 3.0 to 4.2 V and one resistance everywhere.
fn straight(ohms: f64) -> Cell {
    let cell = built_in(ChemistryKind::LithiumIon, ohms);
    let mut chemistry = Chemistry::clone(&cell.chemistry);
    chemistry.ocv = Table::new([(Ratio(0.0), Volts(3.0)), (Ratio(1.0), Volts(4.2))]).unwrap();
    let warm = [Celsius(-20.0), Celsius(60.0)];
    chemistry.resistance = Surface::new(&warm, &[Ratio(0.5)], &[vec![Ratio(1.0)], vec![Ratio(1.0)]]).unwrap();
    Cell { chemistry: Arc::new(chemistry), ..cell }
}

fn close(got: f64, expected: f64) {
    assert!((got - expected).abs() <= 1e-8 * expected.abs(), "{got}, expected {expected}");
}

/// With OCV = a + b q the constant-voltage current falls as exp(-t b / R): a capacitor charged through a resistor.
#[test]
fn a_straight_cell_charges_like_a_capacitor() {
    let (ohms, load) = (0.5, 0.004);
    let time = straight(ohms).charge_time(ROOM, Ratio(0.0), CHARGER, LoadCurrent::current(Amps(load))).unwrap();
    let into = 0.2 - load;
    let slope = 1.2 / 1440.0;
    let turn = (1.2 - into * ohms) / slope;
    close(time.constant_current.0, turn / into);
    close(time.turn.0, turn / 1440.0);
    close(time.constant_voltage.0, ohms / slope * (into / (0.02 - load)).ln());
    close(time.charge.0, 1440.0 - (0.02 - load) * ohms / slope);
    close(time.to.0, time.charge.0 / 1440.0);
    close(time.total().0, time.constant_current.0 + time.constant_voltage.0);
}

/// The straight cell above, over time: a line up to the turn, by hand `q = t i`, and from there an exponential,
/// `q = full - (full - turn) e^(-t b / R)` with the slope `b = 1.2 V / 1440 C`; what lies beyond the end changes nothing.
#[test]
fn the_state_of_charge_over_the_time_at_the_charger() {
    let (ohms, load, slope) = (0.5, 0.004, 1.2 / 1440.0);
    let cell = straight(ohms);
    let load = LoadCurrent::current(Amps(load));
    let after =
        |from: f64, seconds: f64| cell.charge_for(ROOM, Ratio(from), CHARGER, load, Seconds(seconds)).unwrap().0;
    let turn = (1.2 - 0.196 * ohms) / slope;
    for share in [0.0, 0.1, 0.5, 0.9, 1.0] {
        close(after(0.0, share * turn / 0.196) + 1.0, share * turn / 1440.0 + 1.0);
    }
    let whole = cell.charge_time(ROOM, Ratio(0.0), CHARGER, load).unwrap();
    for share in [0.01, 0.2, 0.5, 0.99] {
        let seconds = share * whole.constant_voltage.0;
        let charge = 1440.0 - (1440.0 - turn) * (-seconds * slope / ohms).exp();
        close(after(0.0, whole.constant_current.0 + seconds), charge / 1440.0);
    }
    close(after(0.0, whole.total().0), whole.to.0);
    assert_eq!(after(0.0, 10.0 * whole.total().0), whole.to.0);
    assert_eq!(after(0.25, 0.0), 0.25);
    // A charge that is broken off and begun again arrives where one in a piece does.
    let (first, second) = (1000.0, whole.constant_current.0);
    close(after(after(0.0, first), second), after(0.0, first + second));
}

/// The same over built-in curves, which bend: what is left of the charge takes what is left of its time.
#[test]
fn from_the_state_that_a_time_reaches_the_rest_takes_the_rest_of_the_time() {
    for kind in [ChemistryKind::LithiumIon, ChemistryKind::LithiumIronPhosphate] {
        let (cell, load) = (built_in(kind, 2.0), LoadCurrent::power(Watts(0.02)));
        let whole = cell.charge_time(ROOM, Ratio(0.02), CHARGER, load).unwrap().total();
        for share in [0.001, 0.3, 0.6, 0.8, 0.95, 0.999] {
            let state = cell.charge_for(ROOM, Ratio(0.02), CHARGER, load, whole * share).unwrap();
            let rest = cell.charge_time(ROOM, state, CHARGER, load).unwrap().total();
            assert!((rest - whole * (1.0 - share)).0.abs() < 1e-7 * whole.0, "{kind} {share}: {rest} of {whole}");
        }
    }
}

#[test]
fn no_resistance_means_no_second_part() {
    let time = straight(0.0).charge_time(ROOM, Ratio(0.25), CHARGER, LoadCurrent::default()).unwrap();
    close(time.constant_current.0, 0.75 * 1440.0 / 0.2);
    assert_eq!(time.constant_voltage.0, 0.0);
    close(time.to.0, 1.0);
}

#[test]
fn a_lower_float_voltage_ends_near_the_share_that_it_stores() {
    for (volts, stored) in [(4.0, 0.725), (4.1, 0.875)] {
        let cell = Cell { float_voltage: Some(Volts(volts)), ..built_in(ChemistryKind::LithiumIon, 0.2) };
        let slow = Charger { current: Amps(0.2), termination: Amps(0.001) };
        let time = cell.charge_time(ROOM, Ratio(0.1), slow, LoadCurrent::default()).unwrap();
        assert!((time.to.0 - stored).abs() < 1e-3, "{volts} V: {}", time.to.0);
    }
}

#[test]
fn a_full_cell_needs_no_time() {
    let time = built_in(ChemistryKind::LithiumIon, 0.2)
        .charge_time(ROOM, Ratio(1.0), CHARGER, LoadCurrent::default())
        .unwrap();
    assert_eq!((time.total().0, time.charge.0), (0.0, 0.0));
}

#[test]
fn two_cells_take_as_long_as_one() {
    let one = built_in(ChemistryKind::LithiumIronPhosphate, 0.3);
    let two = Cell { series: 2, ..one.clone() };
    let time =
        |cell: &Cell, watts| cell.charge_time(ROOM, Ratio(0.0), CHARGER, LoadCurrent::power(Watts(watts))).unwrap();
    close(time(&two, 0.04).total().0, time(&one, 0.02).total().0);
}

#[test]
fn what_must_not_or_cannot_be_charged_is_refused() {
    let cell = built_in(ChemistryKind::LithiumIon, 0.2);
    let fault = |cell: &Cell, degrees, charger, load| {
        cell.charge_time(Celsius(degrees), Ratio(0.1), charger, load).unwrap_err()
    };
    for kind in [ChemistryKind::LithiumManganeseDioxide, ChemistryKind::Alkaline] {
        let refused = fault(&built_in(kind, 0.2), 25.0, CHARGER, LoadCurrent::default());
        assert_eq!(refused, ChargeFault::Primary);
        assert!(refused.to_string().contains("never charge it"));
    }
    for degrees in [-0.1, 45.1, f64::NAN] {
        assert!(matches!(fault(&cell, degrees, CHARGER, LoadCurrent::default()), ChargeFault::Temperature { .. }));
    }
    let thirsty = fault(&cell, 25.0, CHARGER, LoadCurrent::current(Amps(0.02)));
    assert_eq!(thirsty, ChargeFault::TerminationUnreachable { load: Amps(0.02), termination: Amps(0.02) });
    // 80 mW at 4.2 V is below a termination of 20 mA, but at 3 V and 26 mA above a charger of 22 mA.
    let weak = Charger { current: Amps(0.022), termination: Amps(0.02) };
    assert!(matches!(
        fault(&cell, 25.0, weak, LoadCurrent::power(Watts(0.08))),
        ChargeFault::LoadExceedsCharger { .. }
    ));
    let backward = Charger { current: Amps(0.01), termination: Amps(0.02) };
    assert!(matches!(fault(&cell, 25.0, backward, LoadCurrent::default()), ChargeFault::Value { .. }));
    let high = Cell { float_voltage: Some(Volts(4.3)), ..cell.clone() };
    assert!(matches!(fault(&high, 25.0, CHARGER, LoadCurrent::default()), ChargeFault::Cell(CellFault::Float { .. })));
    let mut low_table = Chemistry::clone(&cell.chemistry);
    low_table.ocv = Table::new([(Ratio(0.0), Volts(3.0)), (Ratio(1.0), Volts(4.0))]).unwrap();
    let low_table = Cell { chemistry: Arc::new(low_table), ..cell };
    assert!(matches!(fault(&low_table, 25.0, CHARGER, LoadCurrent::default()), ChargeFault::FloatAboveFull { .. }));
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Values far outside any battery's: an answer or a fault, in finite time.
    #[test]
    fn odd_values_end_in_an_answer_or_a_fault(capacity in -30..30i32, ohms in -30..12i32, from in 0.0..1.0f64,
                                              current in -40..9i32, termination in -9..0i32, watts in -40..9i32) {
        let ten = |power: i32| 10f64.powi(power);
        let cell = Cell { capacity: Coulombs(ten(capacity)), ..built_in(ChemistryKind::LithiumIon, ten(ohms)) };
        let charger = Charger { current: Amps(ten(current)), termination: Amps(ten(current + termination)) };
        if let Ok(time) = cell.charge_time(ROOM, Ratio(from), charger, LoadCurrent::power(Watts(ten(watts)))) {
            prop_assert!(time.total().0 >= 0.0 && time.charge.0 >= 0.0 && time.to.0 <= 1.0 + 1e-12, "{time:?}");
        }
    }

    #[test]
    fn more_load_never_shortens_a_charge(ohms in 0.05..2.0f64, from in 0.0..1.0f64, degrees in 0.0..45.0f64,
                                         milliwatts in 0.0..30.0f64, more in 0.0..30.0f64) {
        let cell = built_in(ChemistryKind::LithiumIon, ohms);
        let time = |milliwatts: f64| -> ChargeTime {
            cell.charge_time(Celsius(degrees), Ratio(from), CHARGER, LoadCurrent::power(Watts(milliwatts * 1e-3))).unwrap()
        };
        let (light, heavy) = (time(milliwatts), time(milliwatts + more));
        prop_assert!(light.total().0 >= 0.0 && light.charge.0 >= 0.0 && light.turn.0 <= light.to.0);
        prop_assert!(heavy.total().0 >= light.total().0 * (1.0 - 1e-8));
    }
}

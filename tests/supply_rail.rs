//! Regulators against energy balances worked by hand, and their faults.

use inkjoule::cell::curve::Table;
use inkjoule::cell::surface::Surface;
use inkjoule::supply::{Efficiency, Regulator, SupplyFault, Topology};
use inkjoule::units::{Amps, Ratio, Volts};
use proptest::prelude::*;

const ANY: Volts = Volts(f64::INFINITY);

fn close(got: f64, expected: f64) {
    assert!((got - expected).abs() <= 1e-12 * expected.abs().max(1e-9), "{got}, expected {expected}");
}

fn switching(topology: Topology, efficiency: f64) -> Regulator {
    let efficiency = Efficiency::Fixed(Ratio(efficiency));
    Regulator::switching(topology, Volts(3.3), efficiency, Amps(1e-6), Volts(1.8)..=Volts(5.5)).unwrap()
}

#[test]
fn a_linear_regulator_passes_its_current_and_burns_the_difference() {
    let ldo = Regulator::ldo(Volts(3.0), Volts(0.15), Amps(2e-6), ANY).unwrap();
    close(ldo.battery_current(Amps(0.01), Volts(3.7)).unwrap().0, 0.010002);
    close(ldo.loss(Amps(0.01), Volts(3.7)).unwrap().0, 3.7 * 0.010002 - 0.03);
    assert!(ldo.battery_current(Amps(0.01), Volts(3.15)).is_ok());
    let dropped = SupplyFault::Dropout { input: Volts(3.12), needed: Volts(3.15) };
    assert_eq!(ldo.battery_current(Amps(0.01), Volts(3.12)), Err(dropped));
    assert_eq!(ldo.accepts_all(Volts(3.12), Volts(4.2)), Err(dropped));
}

#[test]
fn a_switching_regulator_keeps_the_energy_but_for_its_efficiency() {
    // 3.3 V * 10 mA / 90 % is 36.67 mW: 9.167 mA at 4 V, and 1 uA for itself.
    let regulator = switching(Topology::BuckBoost, 0.9);
    close(regulator.battery_current(Amps(0.01), Volts(4.0)).unwrap().0, 0.033 / 0.9 / 4.0 + 1e-6);
    close(regulator.loss(Amps(0.01), Volts(4.0)).unwrap().0, 0.033 / 0.9 - 0.033 + 4e-6);
    close(regulator.battery_current(Amps(0.0), Volts(4.0)).unwrap().0, 1e-6);
    let pull = regulator.pull(Amps(0.01), Volts(4.0)).unwrap();
    close(pull.power.0, 0.033 / 0.9);
    close(pull.current.0, 1e-6);
}

#[test]
fn direct_is_the_battery_itself() {
    assert_eq!(Regulator::Direct.battery_current(Amps(0.01), Volts(3.0)), Ok(Amps(0.01)));
    assert_eq!(Regulator::Direct.loss(Amps(0.01), Volts(3.0)).unwrap().0, 0.0);
}

#[test]
fn each_topology_refuses_the_wrong_side() {
    let at = |topology, volts| switching(topology, 0.9).battery_current(Amps(0.01), Volts(volts)).err();
    let (input, output) = (Volts(3.2), Volts(3.3));
    assert_eq!(at(Topology::Buck, 3.2), Some(SupplyFault::BuckBelowOutput { input, output }));
    assert_eq!(at(Topology::Boost, 3.4), Some(SupplyFault::BoostAboveOutput { input: Volts(3.4), output }));
    assert_eq!((at(Topology::Buck, 3.4), at(Topology::Boost, 3.2)), (None, None));
    let minimum = Volts(1.8);
    assert_eq!(at(Topology::BuckBoost, 1.7), Some(SupplyFault::BelowMinimum { input: Volts(1.7), minimum }));
    assert!(matches!(at(Topology::BuckBoost, 5.6), Some(SupplyFault::AboveMaximum { .. })));
    assert!(matches!(at(Topology::BuckBoost, f64::NAN), Some(SupplyFault::BelowMinimum { .. })));
    assert_eq!(switching(Topology::Buck, 0.9).input_range(), (Volts(3.3), Volts(5.5)));
    assert_eq!(switching(Topology::Boost, 0.9).input_range(), (Volts(1.8), Volts(3.3)));
}

#[test]
fn efficiency_tables_interpolate_and_do_not_guess() {
    let table = Table::new([(Amps(1e-5), Ratio(0.6)), (Amps(1e-3), Ratio(0.9))]).unwrap();
    let over_current = Efficiency::OverCurrent(table);
    let range = Volts(1.8)..=Volts(5.5);
    let made = Regulator::switching(Topology::BuckBoost, Volts(3.3), over_current, Amps(0.0), range.clone()).unwrap();
    close(made.battery_current(Amps(5.05e-4), Volts(3.3)).unwrap().0, 5.05e-4 / 0.75);
    let unknown = made.battery_current(Amps(2e-3), Volts(3.3));
    assert_eq!(unknown, Err(SupplyFault::EfficiencyUnknown { rail: Amps(2e-3), input: Volts(3.3) }));
    assert!(made.battery_current(Amps(0.0), Volts(3.3)).is_ok());
    let rows = [vec![Ratio(0.7), Ratio(0.5)], vec![Ratio(0.9), Ratio(0.8)]];
    let surface = Surface::new(&[Amps(1e-5), Amps(1e-3)], &[Volts(3.0), Volts(4.0)], &rows).unwrap();
    let both = Efficiency::OverCurrentAndInput(surface);
    let made = Regulator::switching(Topology::BuckBoost, Volts(3.3), both, Amps(0.0), range).unwrap();
    close(made.battery_current(Amps(1e-3), Volts(3.5)).unwrap().0, 3.3e-3 / 0.85 / 3.5);
    assert!(matches!(made.battery_current(Amps(1e-3), Volts(4.1)), Err(SupplyFault::EfficiencyUnknown { .. })));
}

#[test]
fn impossible_regulators_are_refused() {
    for value in [0.0, -0.5, 1.01, f64::NAN] {
        let efficiency = Efficiency::Fixed(Ratio(value));
        let made = Regulator::switching(Topology::Buck, Volts(3.0), efficiency, Amps(0.0), Volts(2.0)..=Volts(5.0));
        assert!(matches!(made, Err(SupplyFault::Efficiency { .. })), "{value}");
    }
    let table = Table::new([(Amps(0.0), Ratio(0.9)), (Amps(1.0), Ratio(1.2))]).unwrap();
    let efficiency = Efficiency::OverCurrent(table);
    let made = Regulator::switching(Topology::Buck, Volts(3.0), efficiency, Amps(0.0), Volts(2.0)..=Volts(5.0));
    assert_eq!(made, Err(SupplyFault::Efficiency { value: Ratio(1.2) }));
    let fixed = || Efficiency::Fixed(Ratio(0.9));
    let boost = Regulator::switching(Topology::Boost, Volts(3.0), fixed(), Amps(0.0), Volts(3.1)..=Volts(5.0));
    assert!(matches!(boost, Err(SupplyFault::Value { .. })));
    assert!(Regulator::ldo(Volts(3.0), Volts(-0.1), Amps(0.0), ANY).is_err());
    assert!(Regulator::ldo(Volts(3.0), Volts(0.1), Amps(0.0), Volts(3.0)).is_err());
    let direct = Regulator::Direct.battery_current(Amps(-1.0), Volts(3.0));
    assert_eq!(direct, Err(SupplyFault::Rail { current: Amps(-1.0) }));
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn nothing_comes_from_nowhere(efficiency in 0.01..1.0f64, rail in 0.0..0.5f64, input in 1.8..5.5f64) {
        let loss = switching(Topology::BuckBoost, efficiency).loss(Amps(rail), Volts(input)).unwrap();
        prop_assert!(loss.0 >= -1e-12);
    }
}

//! Physics of supply and cells against textbooks and published figures, each named. What has no page behind it says so.

use crate::plain::device_on;
use inkjoule::cell::Cell;
use inkjoule::cell::chemistry::{Chemistry, ChemistryKind};
use inkjoule::cell::peak::{LoadCurrent, Terminal, terminal};
use inkjoule::hardware::profiles::PROFILES;
use inkjoule::units::{Amps, Celsius, Coulombs, Ohms, Quantity, Ratio, Seconds, Volts, Watts, YEAR};

/// Jacobi's theorem of maximum power transfer (1840; in every text on circuits): a source of voltage `V` and resistance
/// `R` gives at most `V^2 / 4 R`, at half its voltage.
#[test]
fn a_cell_gives_at_most_the_power_of_jacobis_theorem() {
    for (volts, ohms) in [(3.0, 12.0), (4.2, 0.25), (1.5, 0.4), (2.7, 60.0)] {
        let most = volts * volts / (4.0 * ohms);
        let at = |share: f64| {
            terminal(Volts(volts), Ohms(ohms), LoadCurrent { current: Amps(0.0), power: Watts(most * share) })
        };
        assert_eq!(at(1.000_001), Terminal::Collapses, "{volts} V, {ohms} ohm");
        let Terminal::Holds(found) = at(0.999_999_999) else { panic!("{volts} V, {ohms} ohm hold") };
        assert!((found.0 / (volts / 2.0) - 1.0).abs() < 1e-4, "{found} for half of {volts}");
    }
}

/// What a current on the rail of the plain device takes from the battery at a voltage, the regulator's own included.
fn taken(rail: &str, current: f64, volts: f64) -> f64 {
    let device = device_on(rail, USE, &[("a", "content = [ { text = \"A\" } ]")]);
    let (parameters, rail) = (device.inputs.typical(), &device.board.rails[0]);
    let (own, output) = (rail.own(&parameters), rail.output().unwrap_or(Volts(volts)));
    (rail.taken(&parameters, LoadCurrent::current(Amps(current)), Volts(volts), output).at(Volts(volts))
        + own.at(Volts(volts)))
    .0
}

const USE: &str = "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\n\
                   temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";

/// Efficiency of a linear regulator `I_out V_out / ((I_out + I_q) V_in)`: Texas Instruments, SLVA079, "Understanding the
/// Terms and Definitions of LDO Voltage Regulators" (from memory); hence at most `V_out / V_in`.
#[test]
fn a_linear_regulator_wastes_the_voltage_it_drops() {
    let rail = "regulator = \"ldo\"\noutput = \"2.8 V\"\ndropout = \"100 mV\"\nquiescent = \"1 uA\"\n";
    for (input, current) in [(3.0, 5e-3), (3.7, 5e-3), (4.2, 20e-6), (4.2, 1e-6)] {
        let efficiency = 2.8 * current / (input * taken(rail, current, input));
        let by_the_book = current * 2.8 / ((current + 1e-6) * input);
        assert!((efficiency / by_the_book - 1.0).abs() < 1e-12, "{efficiency} for {by_the_book}");
        assert!(efficiency <= 2.8 / input);
    }
}

/// A switching regulator takes `V_out I_out / (eta V_in)` (conservation of energy): halving the input doubles its current.
#[test]
fn a_switching_regulator_takes_its_power_at_any_voltage() {
    let rail = "regulator = \"buck-boost\"\noutput = \"3 V\"\nmin-input = \"1.8 V\"\nefficiency = \"90 %\"\n";
    assert!((taken(rail, 0.01, 4.0) - 3.0 * 0.01 / (0.9 * 4.0)).abs() < 1e-15);
    assert!((taken(rail, 0.01, 2.0) / taken(rail, 0.01, 4.0) - 2.0).abs() < 1e-12);
}

/// Self-discharge of kinds of cell: "BU-802b: What does Elevated Self-discharge Do?", table (from memory): lithium-ion 1 to
/// 2 % a month beside 3 % for a protection circuit; primary lithium about 10 % in 5 years, or 1 % a year in makers' data
/// sheets (from memory); primary alkaline 2 to 3 % a year.
#[test]
fn cells_lose_charge_within_published_rates() {
    for (kind, low, high) in [
        (ChemistryKind::LithiumIon, 0.01 * 12.0, 0.05 * 12.0),
        (ChemistryKind::LithiumManganeseDioxide, 0.01, 0.03),
        (ChemistryKind::Alkaline, 0.02, 0.03),
    ] {
        let chemistry = Chemistry::built_in(kind).expect("it is built in");
        let rate = chemistry.self_discharge.0 * YEAR;
        assert!((low..=high).contains(&rate), "{kind:?} loses {rate} a year, published {low} to {high}");
    }
}

/// Nominal 225 mAh of a coin cell of 20 mm by 3.2 mm (data sheets of several makers; from memory): the profile is not
/// above, nor below the smallest stated, 200 mAh.
#[test]
fn a_coin_cell_has_the_usual_capacity() {
    let (_, _, coin) = PROFILES.iter().find(|(_, name, _)| *name == "coin-20mm").expect("it is built in");
    let coin: toml::Table = coin.parse().expect("a profile is TOML");
    let typical = coin["capacity"].get("typ").unwrap_or(&coin["capacity"]).as_str().expect("a quantity");
    let capacity = Coulombs::parse(typical).expect("a charge").0 / 3.6;
    assert!((200.0..=225.0).contains(&capacity), "{capacity} mAh");
}

/// Charge moved is current times time: 1 mAh is 3.6 C (SI Brochure, 9th edition, 2.3.4: the coulomb is the ampere second).
/// A full cell under its own capacity's hundredth lasts a hundred hours.
#[test]
fn a_hundredth_of_its_capacity_empties_a_cell_in_a_hundred_hours() {
    use inkjoule::cell::life::Discharge;
    use inkjoule::cell::load::MeanLoad;
    let mut cell =
        Cell::typical(Chemistry::built_in(ChemistryKind::LithiumIon).expect("built in").into(), Coulombs(3.6 * 500.0));
    cell.self_discharge = inkjoule::units::PerSecond(0.0);
    cell.reserve = Ratio(0.0);
    let case = cell.at(Celsius(25.0)).expect("within its tables");
    let load = MeanLoad::always(LoadCurrent::current(Amps(0.005))).expect("a load");
    let life = Discharge { case: &case, cut_offs: &[], age_limit: None }.run(&load).expect("a life");
    assert!((life.time / Seconds(360_000.0) - 1.0).abs() < 1e-9, "{}", life.time);
}

//! The built-in tables against published cells, and what temperature, rate, cycles and rest do to a cell.
//!
//! `tests/references/lithium_ion.py` printed `lithium_ion.csv` with PyBaMM from published parameter sets: Chen2020 (doi
//! 10.1149/1945-7111/ab9050), Ai2020 (doi 10.1149/2.0122001JES), Marquis2019 (doi 10.1149/2.0341915jes).

use inkjoule::cell::ageing::Ageing;
use inkjoule::cell::capacity::Capacity;
use inkjoule::cell::chemistry::{Chemistry, ChemistryKind};
use inkjoule::cell::curve::Table;
use inkjoule::cell::life::{CutOff, Discharge, EndedBy};
use inkjoule::cell::load::MeanLoad;
use inkjoule::cell::peak::{LoadCurrent, Span, Wear, supply_corners};
use inkjoule::cell::surface::Surface;
use inkjoule::cell::wear::{CycleLife, Film};
use inkjoule::cell::{Cell, CellFault};
use inkjoule::units::{Amps, Celsius, Coulombs, DAY, PerSecond, Ratio, Seconds, Volts, YEAR};

const ROWS: &str = include_str!("../references/lithium_ion.csv");

fn rows(kind: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    let rows = ROWS.lines().map(|line| line.split(',').collect::<Vec<_>>());
    rows.filter(move |row| row[0] == kind).map(|row| row[1..].to_vec())
}

fn number(text: &str) -> f64 {
    text.parse().unwrap()
}

fn close(found: f64, expected: f64, share: f64) {
    assert!((found / expected - 1.0).abs() <= share, "found {found}, expected {expected}");
}

/// From a tenth of the charge up the built-in voltage lies within the published cells, and at most 60 mV beside them.
#[test]
fn the_open_circuit_voltage_of_lithium_ion_lies_among_published_cells() {
    let chemistry = Chemistry::built_in(ChemistryKind::LithiumIon).unwrap();
    let (mut looked, mut squares) = (0, 0.0);
    for tick in 2..=20 {
        let soc = f64::from(tick) / 20.0;
        let all: Vec<f64> = rows("ocv").filter(|row| number(row[1]) == soc).map(|row| number(row[2])).collect();
        assert_eq!(all.len(), 3, "three published cells at {soc}");
        let (low, high) = (all.iter().copied().fold(9.0, f64::min), all.iter().copied().fold(0.0, f64::max));
        let ours = chemistry.ocv.at(Ratio(soc)).unwrap().0;
        assert!(low - 0.06 <= ours && ours <= high + 0.06, "{ours} V at {soc}: published {low} to {high} V");
        squares += (ours - all.iter().sum::<f64>() / 3.0).powi(2);
        looked += 1;
    }
    let rms = (squares / f64::from(looked)).sqrt();
    assert!(rms < 0.09, "{rms} V from the mean of the published cells");
}

/// Cold takes next to nothing from a discharge of days and much from one of two hours: published cells say so too.
#[test]
fn cold_costs_a_slow_discharge_little() {
    let chemistry = Chemistry::built_in(ChemistryKind::LithiumIon).unwrap();
    let mut slow = 0;
    for row in rows("capacity").filter(|row| number(row[2]) == 0.01) {
        let ours = chemistry.capacity.at(Celsius(number(row[1])), 0.01).unwrap().0;
        let published = number(row[3]);
        assert!(ours <= published + 1e-3 && ours >= published - 0.07, "{row:?}: {ours}");
        slow += 1;
    }
    assert_eq!(slow, 6);
    for kind in ChemistryKind::ALL {
        let capacity = Chemistry::built_in(kind).unwrap().capacity;
        let tables = capacity.tables();
        let all = tables[0].1.iter().zip(&tables[1].1);
        all.for_each(|(slow, fast)| assert!(slow.1 >= fast.1 && slow.1.0 <= 1.0, "{kind} at {}", slow.0));
    }
}

fn lived(cell: &Cell, celsius: f64, microamps: f64) -> f64 {
    let load = MeanLoad::always(LoadCurrent::current(Amps(microamps * 1e-6))).unwrap();
    let at = Celsius(celsius);
    let ageing = Ageing { cell, temperature: at, coldest: at, cut_offs: &[], age_limit: None };
    ageing.run(|discharge, from| discharge.between(from, discharge.case.floor(), &load)).unwrap().time.0
}

/// `ln(1 + k Q / I) / k` with the k of the temperature: stated at 20 degrees Celsius, twice that at 30, half at 10.
#[test]
fn self_discharge_doubles_every_ten_kelvin() {
    let mut chemistry = Chemistry::built_in(ChemistryKind::NickelMetalHydride).unwrap();
    (chemistry.ageing, chemistry.resistance_growth) = (PerSecond(0.0), PerSecond(0.0));
    let cell = Cell::typical(chemistry.into(), Coulombs(7200.0));
    for (celsius, factor) in [(10.0, 0.5), (20.0, 1.0), (30.0, 2.0), (40.0, 4.0)] {
        let (k, i) = (0.2 * factor / YEAR, 20e-6);
        let q = cell.usable_charge(Celsius(celsius)).unwrap().0;
        close(lived(&cell, celsius, 20.0), (1.0 + k * q / i).ln() / k, 1e-6);
    }
}

/// Fading acts on the charge as self-discharge does (`ln(1 + a Q / I) / a`): by warmth and by cycles, half of it at 4.1 V.
#[test]
fn warmth_and_cycles_age_a_cell() {
    let mut chemistry = Chemistry::built_in(ChemistryKind::LithiumIon).unwrap();
    chemistry.resistance_growth = PerSecond(0.0);
    let chemistry = std::sync::Arc::new(chemistry);
    for (kept, cycles, float) in [(20.0, 0.0, 4.2), (30.0, 0.0, 4.2), (10.0, 100.0, 4.2), (20.0, 300.0, 4.1)] {
        let cell = Cell {
            self_discharge: PerSecond(0.0),
            kept_at: Celsius(kept),
            cycles: PerSecond(cycles / YEAR),
            float_voltage: Some(Volts(float)),
            ..Cell::typical(chemistry.clone(), Coulombs(3060.0))
        };
        let spared = if float == 4.2 { 1.0 } else { 0.5 };
        // 4 % a year at 20 degrees Celsius; 500 cycles leave 80 %.
        let warm = ((kept - 20.0) / 10.0f64).exp2();
        let a = spared * (0.04 * warm + -(0.8f64.ln()) * cycles / 500.0) / YEAR;
        close(cell.fades().unwrap().0, a, 1e-12);
        let (q, i) = (cell.usable_charge(Celsius(20.0)).unwrap().0, 40e-6);
        close(lived(&cell, 20.0, 40.0), (1.0 + a * q / i).ln() / a, 2e-3);
        let left = cell.cycle_life().unwrap().unwrap();
        close(left.cycles, 500.0 / spared, 1e-12);
    }
}

/// A cell that is half of its time at 0 and half at 40 °C ages and leaks at the mean of the two rates, 2.125 times that at
/// the mean of the temperatures, by hand: (1/4 + 4) / 2.
#[test]
fn rates_are_means_over_the_temperatures_and_not_at_their_mean() {
    let chemistry = std::sync::Arc::new(Chemistry::built_in(ChemistryKind::LithiumIon).unwrap());
    let still = Cell { kept_at: Celsius(20.0), ..Cell::typical(chemistry, Coulombs(3060.0)) };
    let swinging = Cell { swings: vec![-20.0, 20.0].into(), ..still.clone() };
    close(swinging.fades().unwrap().0 / still.fades().unwrap().0, 2.125, 1e-12);
    let leaks = |cell: &Cell| cell.at(Celsius(20.0)).unwrap().self_discharge().0;
    close(leaks(&swinging) / leaks(&still), 2.125, 1e-12);
    let grown = |cell: &Cell| {
        let aged = Cell { age: Seconds(2.0 * YEAR), ..cell.clone() }.at(Celsius(20.0)).unwrap();
        (aged.resistance(Ratio(0.5)).0 / cell.at(Celsius(20.0)).unwrap().resistance(Ratio(0.5)).0).ln()
    };
    close(grown(&swinging) / grown(&still), 2.125, 1e-9);
    // Beyond the ends of a table its ends count.
    let far = Cell { swings: vec![-400.0, 400.0].into(), ..still.clone() };
    close(far.ageing_share().unwrap().0, ((-7.0f64).exp2() + 7f64.exp2()) / 2.0, 1e-12);
}

/// A bobbin cell after a year in a drawer: 20 ohms, and 2.5 times as much for the film, under 10 mA.
#[test]
fn the_film_of_a_rested_cell_stands_in_the_way_of_the_first_load() {
    let chemistry = std::sync::Arc::new(Chemistry::built_in(ChemistryKind::LithiumThionylChloride).unwrap());
    let rested = |days: f64| Cell {
        rest: Seconds(DAY.0 * days),
        ..Cell::typical(std::sync::Arc::clone(&chemistry), Coulombs(4320.0))
    };
    let first = |cell: &Cell| {
        let peak = LoadCurrent::current(Amps(0.010)).into();
        let span = Span { cold: Celsius(25.0), hot: Celsius(25.0), aged: Seconds(YEAR) };
        let all = supply_corners(cell, span, &[Clone::clone(&peak), peak], Volts(2.0)).unwrap();
        all.iter().find(|corner| corner.wear == Wear::New).unwrap().terminal.volts().unwrap().0
    };
    close(first(&rested(0.0)), 3.67 - 0.2, 1e-9);
    close(first(&rested(365.25)), 3.67 - 0.2 * 3.5, 1e-9);
    close(first(&rested(30.0)), 3.67 - 0.2 * 2.0, 1e-9);
    // The mean load sees the cell without its film: the charge is not lost, only the hard moment is.
    close(lived(&rested(365.25), 25.0, 10.0), lived(&rested(0.0), 25.0, 10.0), 1e-12);
    let case = rested(365.25).at(Celsius(25.0)).unwrap();
    let cut_offs = [CutOff { peak: LoadCurrent::current(Amps(0.010)).into(), minimum: Volts(3.0) }];
    let life = Discharge { case: &case, cut_offs: &cut_offs, age_limit: None };
    let load = MeanLoad::always(LoadCurrent::current(Amps(1e-5))).unwrap();
    let life = life.run(&load).unwrap();
    assert_eq!((life.time.0, life.ended_by), (0.0, EndedBy::VoltageTooLow { cut_off: 0 }));
}

/// Resistances of one cell as makers' data sheets state them, all from memory: 2 Ah lithium-ion 30 to 80 milliohms, 2 Ah
/// lithium iron phosphate 20 to 60, a coin cell of 225 mAh 10 to 20 ohms, AA alkaline 150 to 300 milliohms, AA lithium iron
/// disulfide 90 to 240, a bobbin cell of 1.2 Ah 10 to 30 ohms, AA nickel metal hydride 15 to 40 milliohms.
#[test]
fn built_in_resistances_are_those_of_usual_cells() {
    for (kind, amp_hours, low, high) in [
        (ChemistryKind::LithiumIon, 2.0, 0.03, 0.08),
        (ChemistryKind::LithiumIronPhosphate, 2.0, 0.02, 0.06),
        (ChemistryKind::LithiumManganeseDioxide, 0.225, 10.0, 20.0),
        (ChemistryKind::Alkaline, 2.7, 0.15, 0.3),
        (ChemistryKind::LithiumIronDisulfide, 3.0, 0.09, 0.24),
        (ChemistryKind::LithiumThionylChloride, 1.2, 10.0, 30.0),
        (ChemistryKind::NickelMetalHydride, 2.0, 0.015, 0.04),
    ] {
        let ohms = Chemistry::built_in(kind).unwrap().typical_resistance(Coulombs(3600.0 * amp_hours)).0;
        assert!((low..=high).contains(&ohms), "{kind}: {ohms} ohms");
    }
}

/// Each table that no cell has is refused by its name; what stands just inside is taken.
#[test]
fn tables_that_no_cell_has_are_refused() {
    let sound = Chemistry::built_in(ChemistryKind::LithiumIon).unwrap();
    let checked = |change: &dyn Fn(&mut Chemistry)| {
        let mut chemistry = sound.clone();
        change(&mut chemistry);
        Cell::typical(chemistry.into(), Coulombs(3600.0)).at(Celsius(20.0)).map(|_| ())
    };
    let ocv = |rows: &[(f64, f64)]| {
        let table = Table::new(rows.iter().map(|(soc, volts)| (Ratio(*soc), Volts(*volts)))).unwrap();
        checked(&|chemistry| (chemistry.ocv, chemistry.float) = (table.clone(), None))
    };
    for rows in [
        &[(0.1, 3.0), (1.0, 4.2)][..],
        &[(0.0, 3.0), (0.9, 4.2)],
        &[(0.0, 3.0), (0.5, 3.6), (0.6, 3.5), (1.0, 4.2)],
        &[(0.0, 0.0), (1.0, 4.2)],
        &[(0.0, -0.1), (1.0, 4.2)],
    ] {
        assert_eq!(ocv(rows), Err(CellFault::OpenCircuitTable), "{rows:?}");
    }
    assert_eq!(ocv(&[(0.0, 3.0), (0.5, 3.6), (0.6, 3.6), (1.0, 4.2)]), Ok(()), "a level stretch");
    let of = |value: f64| Table::new([-30.0, 80.0].map(|at| (Celsius(at), Ratio(value)))).unwrap();
    let surface = |value: f64| {
        let ends = [Celsius(-30.0), Celsius(80.0)];
        Surface::new(&ends, &[Ratio(0.5)], &[vec![Ratio(value)], vec![Ratio(value)]]).unwrap()
    };
    let rest = |value: f64| Film {
        over_rest: Table::new([(Seconds(0.0), Ratio(0.0)), (Seconds(YEAR), Ratio(value))]).unwrap(),
    };
    let float = |stored: f64, ageing: f64| {
        let row = |value: f64| Table::new([(Volts(4.0), Ratio(value)), (Volts(4.2), Ratio(1.0))]).unwrap();
        move |chemistry: &mut Chemistry| {
            let table = chemistry.float.as_mut().unwrap();
            (table.stored, table.ageing) = (row(stored), row(ageing));
        }
    };
    let life = |cycles: f64, left: f64| Some(CycleLife { cycles, left: Ratio(left) });
    type Case<'a> = (&'static str, &'a dyn Fn(&mut Chemistry), bool);
    let cases: [Case<'_>; 22] = [
        ("the capacity over temperature", &|c| c.capacity = Capacity::at_any_rate(&of(0.0)).unwrap(), false),
        ("the capacity over temperature", &|c| c.capacity = Capacity::at_any_rate(&of(0.01)).unwrap(), true),
        ("the self-discharge over temperature", &|c| c.self_discharge_over_temperature = of(-0.01), false),
        ("the self-discharge over temperature", &|c| c.self_discharge_over_temperature = of(0.0), true),
        ("the ageing over temperature", &|c| c.ageing_over_temperature = of(-0.01), false),
        ("the ageing over temperature", &|c| c.ageing_over_temperature = of(0.0), true),
        ("the film over rest", &|c| c.film = Some(rest(-0.01)), false),
        ("the film over rest", &|c| c.film = Some(rest(0.0)), true),
        ("the cycle life", &|c| c.cycles = life(0.0, 0.8), false),
        ("the cycle life", &|c| c.cycles = life(500.0, 0.0), false),
        ("the cycle life", &|c| c.cycles = life(500.0, 1.0), false),
        ("the cycle life", &|c| c.cycles = life(500.0, 0.99), true),
        ("the internal resistance over temperature", &|c| c.resistance = surface(0.0), false),
        ("the internal resistance over temperature", &|c| c.resistance = surface(0.01), true),
        ("the rate of ageing", &|c| c.ageing = PerSecond(-1e-12), false),
        ("the rate of ageing", &|c| c.resistance_growth = PerSecond(-1e-12), false),
        ("the rate of ageing", &|c| (c.ageing, c.resistance_growth) = (PerSecond(0.0), PerSecond(0.0)), true),
        ("the share stored over charge voltage", &float(0.0, 0.5), false),
        ("the share stored over charge voltage", &float(-0.1, 0.5), false),
        ("the ageing over charge voltage", &float(0.5, -0.1), false),
        ("the ageing over charge voltage", &float(0.5, 0.0), true),
        ("nothing", &|_| (), true),
    ];
    for (table, change, taken) in cases {
        let expected = if taken { Ok(()) } else { Err(CellFault::Factor { table }) };
        assert_eq!(checked(change), expected, "{table}");
    }
}

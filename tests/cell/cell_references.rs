//! Life, charging and peak voltage against figures from another method: `tests/references/cell.py` (SciPy's DOP853
//! integration over time with events, Brent root finding on Kirchhoff's voltage law), which printed
//! `tests/references/cell.csv`.

use inkjoule::cell::Cell;
use inkjoule::cell::ageing::Ageing;
use inkjoule::cell::capacity::Capacity;
use inkjoule::cell::charging::Charger;
use inkjoule::cell::chemistry::{Chemistry, ChemistryKind};
use inkjoule::cell::curve::Table;
use inkjoule::cell::life::{CutOff, Discharge, EndedBy};
use inkjoule::cell::load::{LoadPart, MeanLoad};
use inkjoule::cell::peak::{LoadCurrent, Terminal, terminal};
use inkjoule::cell::surface::Surface;
use inkjoule::units::{Amps, Celsius, Coulombs, Ohms, PerSecond, Quantity, Ratio, Volts, Watts, YEAR};
use std::sync::Arc;

const ROWS: &str = include_str!("../references/cell.csv");

/// The invented cell of the script.
fn cell(capacity: f64, ohms: f64) -> Cell {
    let soc = [0.0, 0.1, 0.5, 0.9, 1.0].map(Ratio);
    let ocv = [3.0, 3.5, 3.75, 4.0, 4.2].map(Volts);
    let warm = [-10.0, 10.0, 30.0].map(Celsius);
    let k_temp = [0.7, 0.9, 1.0].map(Ratio);
    let ohm_rows = [[9.0, 5.0, 4.0], [4.0, 2.5, 2.0], [2.0, 1.2, 1.0]].map(|row| row.map(Ratio).to_vec());
    let mut chemistry = Chemistry::built_in(ChemistryKind::LithiumIon).unwrap();
    chemistry.ocv = Table::new(soc.into_iter().zip(ocv)).unwrap();
    let shares = Table::new(warm.into_iter().zip(k_temp)).unwrap();
    // The script's rates hold at any temperature.
    let flat = Table::new([(Celsius(-50.0), Ratio(1.0)), (Celsius(90.0), Ratio(1.0))]).unwrap();
    (chemistry.self_discharge_over_temperature, chemistry.ageing_over_temperature) = (flat.clone(), flat);
    chemistry.capacity = Capacity::at_any_rate(&shares).unwrap();
    chemistry.resistance = Surface::new(&warm, &[Ratio(0.0), Ratio(0.2), Ratio(1.0)], &ohm_rows).unwrap();
    Cell { resistance: Ohms(ohms), ..Cell::typical(Arc::new(chemistry), Coulombs(capacity)) }
}

fn rows(kind: &str) -> Vec<Vec<&'static str>> {
    let rows = ROWS.lines().map(|line| line.split(',').collect::<Vec<_>>());
    let found: Vec<_> = rows.filter(|row| row[0] == kind).map(|row| row[1..].to_vec()).collect();
    assert!(found.len() >= 4, "the table has its rows of {kind}");
    found
}

fn number(row: &[&str], column: usize) -> f64 {
    row[column].parse().unwrap()
}

fn close(what: &str, got: f64, expected: f64, relative: f64) {
    assert!((got - expected).abs() <= relative * expected.abs() + 1e-6, "{what}: {got}, reference {expected}");
}

#[test]
fn life_agrees_with_an_integration_over_time() {
    for row in rows("life") {
        let at = |column| number(&row, column);
        let self_discharge = PerSecond::parse(&format!("{} %/month", row[4])).unwrap();
        let cell = Cell { reserve: Ratio(at(3)), self_discharge, ..cell(at(0), at(1)) };
        let part = |first| LoadPart {
            share: Ratio(at(first)),
            load_current: LoadCurrent { current: Amps(at(first + 1)), power: Watts(at(first + 2)) },
        };
        let load = MeanLoad::of([part(5), part(8)]).unwrap();
        let peak = LoadCurrent { current: Amps(at(11)), power: Watts(at(12)) };
        let cut_offs = [CutOff { peak: peak.into(), minimum: Volts(at(13)) }];
        let case = cell.at(Celsius(at(2))).unwrap();
        let life = Discharge { case: &case, cut_offs: &cut_offs, age_limit: None }.run(&load).unwrap();
        close("time", life.time.0, at(14), 1e-7);
        close("drawn", life.charge_drawn.0, at(15), 1e-7);
        close("self-discharged", life.self_discharged.0, at(16), 1e-6);
        let ended = if row[17] == "charge" { EndedBy::ChargeExhausted } else { EndedBy::VoltageTooLow { cut_off: 0 } };
        assert_eq!(life.ended_by, ended, "{row:?}");
    }
}

#[test]
fn life_of_an_ageing_cell_agrees_with_an_integration_over_time() {
    for row in rows("ageing") {
        let at = |column| number(&row, column);
        let mut cell = cell(at(0), at(1));
        let chemistry = Arc::make_mut(&mut cell.chemistry);
        chemistry.ageing = PerSecond(at(5) / YEAR);
        chemistry.resistance_growth = PerSecond(at(6) / YEAR);
        let self_discharge = PerSecond::parse(&format!("{} %/month", row[4])).unwrap();
        let cell = Cell { reserve: Ratio(at(3)), self_discharge, ..cell };
        let part = |first| LoadPart {
            share: Ratio(at(first)),
            load_current: LoadCurrent { current: Amps(at(first + 1)), power: Watts(at(first + 2)) },
        };
        let load = MeanLoad::of([part(7), part(10)]).unwrap();
        let peak = LoadCurrent { current: Amps(at(13)), power: Watts(at(14)) };
        let temperature = Celsius(at(2));
        let cut_offs = [CutOff { peak: peak.into(), minimum: Volts(at(15)) }];
        let ageing = Ageing { cell: &cell, temperature, coldest: temperature, cut_offs: &cut_offs, age_limit: None };
        let life = ageing.run(|discharge, from| discharge.between(from, discharge.case.floor(), &load)).unwrap();
        // The life is cut into pieces of one age each, the integration is not.
        close("time", life.time.0, at(16), 2e-3);
        close("drawn", life.charge_drawn.0, at(17), 2e-3);
        let ended = if row[18] == "charge" { EndedBy::ChargeExhausted } else { EndedBy::VoltageTooLow { cut_off: 0 } };
        assert_eq!(life.ended_by, ended, "{row:?}");
    }
}

#[test]
fn charging_agrees_with_an_integration_over_time() {
    for row in rows("charge") {
        let at = |column| number(&row, column);
        let cell = Cell { float_voltage: Some(Volts(at(6))), ..cell(at(0), at(1)) };
        let charger = Charger { current: Amps(at(4)), termination: Amps(at(5)) };
        let load = LoadCurrent { current: Amps(at(7)), power: Watts(at(8)) };
        let time = cell.charge_time(Celsius(at(2)), Ratio(at(3)), charger, load).unwrap();
        close("constant current", time.constant_current.0, at(9), 1e-7);
        close("constant voltage", time.constant_voltage.0, at(10), 1e-6);
        close("turn", time.turn.0, at(11), 1e-7);
        close("end", time.to.0, at(12), 1e-7);
    }
}

#[test]
fn peak_voltage_agrees_with_root_finding_on_kirchhoffs_law() {
    for row in rows("peak") {
        let at = |column| number(&row, column);
        let found = terminal(Volts(at(0)), Ohms(at(1)), LoadCurrent { current: Amps(at(2)), power: Watts(at(3)) });
        match (row[4], found) {
            ("collapse", found) => assert_eq!(found, Terminal::Collapses, "{row:?}"),
            (_, Terminal::Holds(volts)) => close("terminal", volts.0, at(4), 1e-10),
            _ => panic!("{row:?} holds"),
        }
    }
}

//! Primary cells and nickel metal hydride: their tables.
//!
//! Typical of a kind, mostly from memory, and marked so; a maker's data sheet comes before them.

use super::chemistry::{
    ChargeWindow, Chemistry, ChemistryKind, LITHIUM_CAUTION, OHM_AMPERE_HOUR, PRIMARY_CAUTION, Source, TEN_KELVIN,
    assumption, per_year, product, slow_and_fast, table,
};
use super::curve::TableFault;
use super::wear::{CycleLife, Film, doubling};
use crate::units::{Celsius, PerSecond, Ratio, Volts};

const PASSIVATION_CAUTION: &str = "Lithium thionyl chloride: after months of rest a film on the anode lowers the voltage for \
     the first seconds of a load; measure the first pulse on aged, cold cells, and keep pulses within the maker's limit.";

pub(super) fn lithium_thionyl_chloride() -> Result<Chemistry, TableFault> {
    const OCV: [(f64, f64); 8] =
        [(0.0, 2.00), (0.02, 3.20), (0.05, 3.50), (0.1, 3.58), (0.3, 3.62), (0.6, 3.64), (0.9, 3.65), (1.0, 3.67)];
    const TEMPERATURES: [f64; 6] = [-40.0, -20.0, 0.0, 20.0, 40.0, 70.0];
    const SLOW: [f64; 6] = [0.80, 0.92, 0.97, 1.00, 1.00, 0.90];
    const FAST: [f64; 6] = [0.60, 0.80, 0.92, 1.0, 1.0, 0.90];
    const WARM: [(f64, f64); 6] = [(-40.0, 7.0), (-20.0, 3.5), (0.0, 1.8), (25.0, 1.0), (40.0, 0.8), (70.0, 0.6)];
    const FULL: [(f64, f64); 4] = [(0.0, 4.0), (0.1, 1.6), (0.5, 1.0), (1.0, 1.0)];
    // Relative resistance of the film over the seconds of rest: a day, a month, a year.
    const FILM: [(f64, f64); 4] = [(0.0, 0.0), (86_400.0, 0.1), (2_592_000.0, 1.0), (31_557_600.0, 2.5)];
    Ok(Chemistry {
        name: ChemistryKind::LithiumThionylChloride.to_string(),
        rechargeable: false,
        ocv: table(&OCV)?,
        capacity: slow_and_fast(&TEMPERATURES, (0.0002, &SLOW), (0.002, &FAST))?,
        resistance: product(&WARM, &FULL)?,
        // 20 ohms at 1.2 Ah.
        resistance_times_capacity: 20.0 * 1.2 * OHM_AMPERE_HOUR,
        self_discharge: per_year(0.008),
        self_discharge_over_temperature: doubling()?,
        ageing: PerSecond(0.0),
        resistance_growth: per_year(0.08),
        ageing_over_temperature: doubling()?,
        cycles: None,
        film: Some(Film { over_rest: table(&FILM)? }),
        float: None,
        maximum: Volts(3.67),
        minimum: Volts(2.00),
        charge_window: None,
        sources: vec![
            assumption("self-discharge and ageing over temperature", TEN_KELVIN),
            Source {
                of: "open-circuit voltage, self-discharge",
                text: "memory: makers' texts: about 3.65 V; below 1 % a year at 20 °C for bobbin cells",
                assumption: true,
            },
            assumption(
                "film of a rested cell",
                "0.1, 1 and 2.5 times the resistance after a day, a month and a year; from memory",
            ),
            assumption("all other values", "typical of bobbin cells, from memory"),
        ],
        cautions: vec![LITHIUM_CAUTION, PRIMARY_CAUTION, PASSIVATION_CAUTION],
    })
}

pub(super) fn lithium_iron_disulfide() -> Result<Chemistry, TableFault> {
    const OCV: [(f64, f64); 8] =
        [(0.0, 0.90), (0.03, 1.20), (0.1, 1.40), (0.3, 1.47), (0.6, 1.52), (0.85, 1.60), (0.95, 1.70), (1.0, 1.80)];
    const TEMPERATURES: [f64; 5] = [-40.0, -20.0, 0.0, 20.0, 60.0];
    const SLOW: [f64; 5] = [0.70, 0.92, 0.97, 1.00, 1.00];
    const FAST: [f64; 5] = [0.50, 0.82, 0.93, 1.0, 1.0];
    const WARM: [(f64, f64); 5] = [(-40.0, 4.5), (-20.0, 2.4), (0.0, 1.5), (25.0, 1.0), (60.0, 0.7)];
    const FULL: [(f64, f64); 4] = [(0.0, 2.5), (0.1, 1.4), (0.5, 1.0), (1.0, 1.0)];
    Ok(Chemistry {
        name: ChemistryKind::LithiumIronDisulfide.to_string(),
        rechargeable: false,
        ocv: table(&OCV)?,
        capacity: slow_and_fast(&TEMPERATURES, (0.002, &SLOW), (0.05, &FAST))?,
        resistance: product(&WARM, &FULL)?,
        // 150 milliohms at 3 Ah.
        resistance_times_capacity: 0.15 * 3.0 * OHM_AMPERE_HOUR,
        self_discharge: per_year(0.01),
        self_discharge_over_temperature: doubling()?,
        ageing: PerSecond(0.0),
        resistance_growth: per_year(0.03),
        ageing_over_temperature: doubling()?,
        cycles: None,
        film: None,
        float: None,
        maximum: Volts(1.80),
        minimum: Volts(0.90),
        charge_window: None,
        sources: vec![
            assumption("self-discharge and ageing over temperature", TEN_KELVIN),
            assumption("all values", "typical of cells of size AA, from memory"),
        ],
        cautions: vec![LITHIUM_CAUTION, PRIMARY_CAUTION],
    })
}

pub(super) fn nickel_metal_hydride() -> Result<Chemistry, TableFault> {
    const OCV: [(f64, f64); 8] =
        [(0.0, 1.00), (0.05, 1.15), (0.1, 1.20), (0.3, 1.25), (0.6, 1.28), (0.85, 1.31), (0.95, 1.36), (1.0, 1.42)];
    const TEMPERATURES: [f64; 6] = [-20.0, -10.0, 0.0, 20.0, 40.0, 60.0];
    const SLOW: [f64; 6] = [0.80, 0.90, 0.96, 1.00, 1.00, 0.92];
    const FAST: [f64; 6] = [0.60, 0.78, 0.90, 1.0, 1.0, 0.92];
    const WARM: [(f64, f64); 5] = [(-20.0, 3.0), (-10.0, 2.2), (0.0, 1.6), (25.0, 1.0), (60.0, 0.8)];
    const FULL: [(f64, f64); 4] = [(0.0, 2.5), (0.1, 1.4), (0.5, 1.0), (1.0, 1.0)];
    Ok(Chemistry {
        name: ChemistryKind::NickelMetalHydride.to_string(),
        rechargeable: true,
        ocv: table(&OCV)?,
        capacity: slow_and_fast(&TEMPERATURES, (0.02, &SLOW), (0.2, &FAST))?,
        resistance: product(&WARM, &FULL)?,
        // 25 milliohms at 2 Ah.
        resistance_times_capacity: 0.025 * 2.0 * OHM_AMPERE_HOUR,
        self_discharge: per_year(0.20),
        self_discharge_over_temperature: doubling()?,
        ageing: per_year(0.05),
        resistance_growth: per_year(0.10),
        ageing_over_temperature: doubling()?,
        cycles: Some(CycleLife { cycles: 500.0, left: Ratio(0.8) }),
        film: None,
        float: None,
        maximum: Volts(1.42),
        minimum: Volts(1.00),
        charge_window: Some(ChargeWindow { from: Celsius(0.0), to: Celsius(45.0) }),
        sources: vec![
            assumption("cycle life", "500 full cycles leave 80 % of the capacity; typical, from memory"),
            assumption("self-discharge and ageing over temperature", TEN_KELVIN),
            assumption("all values", "typical of cells of low self-discharge, from memory"),
        ],
        cautions: vec![
            "Nickel metal hydride is charged by current and terminated by temperature or falling voltage, not at a fixed \
             voltage: the charging time here is a rough figure; follow the cell maker's charging method.",
        ],
    })
}

pub(super) fn lithium_manganese_dioxide() -> Result<Chemistry, TableFault> {
    const OCV: [(f64, f64); 10] = [
        (0.0, 2.00),
        (0.05, 2.50),
        (0.1, 2.70),
        (0.2, 2.80),
        (0.4, 2.88),
        (0.6, 2.94),
        (0.8, 2.99),
        (0.9, 3.03),
        (0.95, 3.08),
        (1.0, 3.20),
    ];
    const TEMPERATURES: [f64; 5] = [-20.0, -10.0, 0.0, 20.0, 60.0];
    const SLOW: [f64; 5] = [0.85, 0.92, 0.97, 1.00, 1.00];
    const FAST: [f64; 5] = [0.65, 0.80, 0.90, 1.0, 1.0];
    const WARM: [(f64, f64); 5] = [(-20.0, 4.0), (-10.0, 2.7), (0.0, 1.9), (25.0, 1.0), (60.0, 0.7)];
    const FULL: [(f64, f64); 5] = [(0.0, 4.0), (0.1, 2.4), (0.2, 1.6), (0.5, 1.0), (1.0, 0.8)];
    Ok(Chemistry {
        name: ChemistryKind::LithiumManganeseDioxide.to_string(),
        rechargeable: false,
        ocv: table(&OCV)?,
        capacity: slow_and_fast(&TEMPERATURES, (0.0005, &SLOW), (0.01, &FAST))?,
        resistance: product(&WARM, &FULL)?,
        // 15 ohms at 225 mAh.
        resistance_times_capacity: 15.0 * 0.225 * OHM_AMPERE_HOUR,
        self_discharge: per_year(0.01),
        self_discharge_over_temperature: doubling()?,
        ageing: PerSecond(0.0),
        resistance_growth: per_year(0.05),
        ageing_over_temperature: doubling()?,
        cycles: None,
        film: None,
        float: None,
        maximum: Volts(3.20),
        minimum: Volts(2.00),
        charge_window: None,
        sources: vec![
            assumption("self-discharge and ageing over temperature", TEN_KELVIN),
            assumption("all values", "typical of 3 V coin cells of 20 mm diameter, from memory"),
            assumption(
                "capacity under pulses",
                "left to the internal resistance: down to 2 V, pulses of 30 instead of 15 mA cost about 11 %; measured \
                 cells lose 9 % on average (application report SWRA349)",
            ),
        ],
        cautions: vec![LITHIUM_CAUTION, PRIMARY_CAUTION],
    })
}

pub(super) fn alkaline() -> Result<Chemistry, TableFault> {
    const OCV: [(f64, f64); 12] = [
        (0.0, 0.80),
        (0.05, 1.00),
        (0.1, 1.10),
        (0.2, 1.19),
        (0.3, 1.24),
        (0.4, 1.28),
        (0.5, 1.31),
        (0.6, 1.35),
        (0.7, 1.39),
        (0.8, 1.44),
        (0.9, 1.50),
        (1.0, 1.60),
    ];
    const TEMPERATURES: [f64; 6] = [-20.0, -10.0, 0.0, 10.0, 20.0, 50.0];
    const SLOW: [f64; 6] = [0.45, 0.70, 0.85, 0.94, 1.00, 1.00];
    const FAST: [f64; 6] = [0.25, 0.50, 0.70, 0.85, 1.0, 1.0];
    const WARM: [(f64, f64); 5] = [(-20.0, 5.0), (-10.0, 3.2), (0.0, 2.0), (25.0, 1.0), (50.0, 0.8)];
    const FULL: [(f64, f64); 5] = [(0.0, 3.0), (0.1, 1.8), (0.3, 1.2), (0.5, 1.0), (1.0, 0.9)];
    Ok(Chemistry {
        name: ChemistryKind::Alkaline.to_string(),
        rechargeable: false,
        ocv: table(&OCV)?,
        capacity: slow_and_fast(&TEMPERATURES, (0.001, &SLOW), (0.02, &FAST))?,
        resistance: product(&WARM, &FULL)?,
        // 150 milliohms at 2.7 Ah.
        resistance_times_capacity: 0.15 * 2.7 * OHM_AMPERE_HOUR,
        self_discharge: per_year(0.03),
        self_discharge_over_temperature: doubling()?,
        ageing: PerSecond(0.0),
        resistance_growth: per_year(0.05),
        ageing_over_temperature: doubling()?,
        cycles: None,
        film: None,
        float: None,
        maximum: Volts(1.60),
        minimum: Volts(0.80),
        charge_window: None,
        sources: vec![
            assumption("self-discharge and ageing over temperature", TEN_KELVIN),
            assumption("all values", "typical of alkaline cells at loads of days and longer, from memory"),
        ],
        cautions: vec![PRIMARY_CAUTION, "Alkaline cells leak when left empty in a device: take spent cells out."],
    })
}

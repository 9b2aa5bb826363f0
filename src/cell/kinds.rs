//! Three more kinds of cell: lithium thionyl chloride, lithium iron disulfide, nickel metal hydride.
//!
//! Typical of a kind, mostly from memory, and marked so; a maker's data sheet comes before them.

use super::chemistry::{
    ChargeWindow, Chemistry, Kind, LITHIUM_CAUTION, OHM_AMPERE_HOUR, PRIMARY_CAUTION, Source, assumption, per_year,
    product, table,
};
use super::curve::TableFault;
use crate::units::{Celsius, PerSecond, Volts};

const PASSIVATION_CAUTION: &str = "Lithium thionyl chloride: after months of rest a film on the anode lowers the voltage for \
     the first seconds of a load; measure the first pulse on aged, cold cells, and keep pulses within the maker's limit.";

pub(super) fn lithium_thionyl_chloride() -> Result<Chemistry, TableFault> {
    const OCV: [(f64, f64); 8] =
        [(0.0, 2.00), (0.02, 3.20), (0.05, 3.50), (0.1, 3.58), (0.3, 3.62), (0.6, 3.64), (0.9, 3.65), (1.0, 3.67)];
    const CAPACITY: [(f64, f64); 6] =
        [(-40.0, 0.60), (-20.0, 0.80), (0.0, 0.92), (20.0, 1.0), (40.0, 1.0), (70.0, 0.90)];
    const WARM: [(f64, f64); 6] = [(-40.0, 7.0), (-20.0, 3.5), (0.0, 1.8), (25.0, 1.0), (40.0, 0.8), (70.0, 0.6)];
    // The film of a fresh, rested cell counts as resistance at the full end.
    const FULL: [(f64, f64); 5] = [(0.0, 4.0), (0.1, 1.6), (0.5, 1.0), (0.95, 1.0), (1.0, 1.8)];
    Ok(Chemistry {
        name: Kind::LithiumThionylChloride.to_string(),
        rechargeable: false,
        ocv: table(&OCV)?,
        capacity_over_temperature: table(&CAPACITY)?,
        resistance: product(&WARM, &FULL)?,
        // 20 ohms at 1.2 Ah.
        resistance_times_capacity: 20.0 * 1.2 * OHM_AMPERE_HOUR,
        self_discharge: per_year(0.008),
        ageing: PerSecond(0.0),
        resistance_growth: per_year(0.08),
        float: None,
        maximum: Volts(3.67),
        minimum: Volts(2.00),
        charge_window: None,
        sources: vec![
            Source {
                of: "open-circuit voltage, self-discharge",
                text: "memory: makers' texts: about 3.65 V; below 1 % a year at 20 °C for bobbin cells",
                assumption: true,
            },
            assumption("all other values", "typical of bobbin cells, from memory"),
        ],
        cautions: vec![LITHIUM_CAUTION, PRIMARY_CAUTION, PASSIVATION_CAUTION],
    })
}

pub(super) fn lithium_iron_disulfide() -> Result<Chemistry, TableFault> {
    const OCV: [(f64, f64); 8] =
        [(0.0, 0.90), (0.03, 1.20), (0.1, 1.40), (0.3, 1.47), (0.6, 1.52), (0.85, 1.60), (0.95, 1.70), (1.0, 1.80)];
    const CAPACITY: [(f64, f64); 5] = [(-40.0, 0.50), (-20.0, 0.82), (0.0, 0.93), (20.0, 1.0), (60.0, 1.0)];
    const WARM: [(f64, f64); 5] = [(-40.0, 4.5), (-20.0, 2.4), (0.0, 1.5), (25.0, 1.0), (60.0, 0.7)];
    const FULL: [(f64, f64); 4] = [(0.0, 2.5), (0.1, 1.4), (0.5, 1.0), (1.0, 1.0)];
    Ok(Chemistry {
        name: Kind::LithiumIronDisulfide.to_string(),
        rechargeable: false,
        ocv: table(&OCV)?,
        capacity_over_temperature: table(&CAPACITY)?,
        resistance: product(&WARM, &FULL)?,
        // 150 milliohms at 3 Ah.
        resistance_times_capacity: 0.15 * 3.0 * OHM_AMPERE_HOUR,
        self_discharge: per_year(0.01),
        ageing: PerSecond(0.0),
        resistance_growth: per_year(0.03),
        float: None,
        maximum: Volts(1.80),
        minimum: Volts(0.90),
        charge_window: None,
        sources: vec![assumption("all values", "typical of cells of size AA, from memory")],
        cautions: vec![LITHIUM_CAUTION, PRIMARY_CAUTION],
    })
}

pub(super) fn nickel_metal_hydride() -> Result<Chemistry, TableFault> {
    const OCV: [(f64, f64); 8] =
        [(0.0, 1.00), (0.05, 1.15), (0.1, 1.20), (0.3, 1.25), (0.6, 1.28), (0.85, 1.31), (0.95, 1.36), (1.0, 1.42)];
    const CAPACITY: [(f64, f64); 6] =
        [(-20.0, 0.60), (-10.0, 0.78), (0.0, 0.90), (20.0, 1.0), (40.0, 1.0), (60.0, 0.92)];
    const WARM: [(f64, f64); 5] = [(-20.0, 3.0), (-10.0, 2.2), (0.0, 1.6), (25.0, 1.0), (60.0, 0.8)];
    const FULL: [(f64, f64); 4] = [(0.0, 2.5), (0.1, 1.4), (0.5, 1.0), (1.0, 1.0)];
    Ok(Chemistry {
        name: Kind::NickelMetalHydride.to_string(),
        rechargeable: true,
        ocv: table(&OCV)?,
        capacity_over_temperature: table(&CAPACITY)?,
        resistance: product(&WARM, &FULL)?,
        // 25 milliohms at 2 Ah.
        resistance_times_capacity: 0.025 * 2.0 * OHM_AMPERE_HOUR,
        self_discharge: per_year(0.20),
        ageing: per_year(0.05),
        resistance_growth: per_year(0.10),
        float: None,
        maximum: Volts(1.42),
        minimum: Volts(1.00),
        charge_window: Some(ChargeWindow { from: Celsius(0.0), to: Celsius(45.0) }),
        sources: vec![assumption("all values", "typical of cells of low self-discharge, from memory")],
        cautions: vec![
            "Nickel metal hydride is charged by current and terminated by temperature or falling voltage, not at a fixed \
             voltage: the charging time here is a rough figure; follow the cell maker's charging method.",
        ],
    })
}

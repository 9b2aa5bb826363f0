//! Kinds of cell: their curves, rates and limits, with seven kinds built in.
//!
//! The built-in values are typical of a kind; a maker's data sheet comes before them. Each is listed with its source or
//! as an assumption in [`Chemistry::sources`]. Not for one particular cell: see [`super::Cell`].

use super::CellFault;
use super::capacity::Capacity;
use super::curve::{Table, TableFault};
use super::kinds;
use super::surface::Surface;
use super::wear::{CycleLife, Film, doubling};
use crate::units::{Celsius, Coulombs, Ohms, PerSecond, Ratio, Volts, YEAR};
use std::fmt;

/// The built-in kinds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ChemistryKind {
    /// Lithium-ion with a 4.2 V maximum.
    LithiumIon,
    /// Lithium iron phosphate, 3.65 V maximum.
    LithiumIronPhosphate,
    /// Lithium manganese dioxide coin cell, 3 V, primary.
    LithiumManganeseDioxide,
    /// Alkaline zinc manganese dioxide cell, 1.5 V, primary.
    Alkaline,
    /// Lithium thionyl chloride, bobbin cell, 3.6 V, primary.
    LithiumThionylChloride,
    /// Lithium iron disulfide, 1.5 V, primary.
    LithiumIronDisulfide,
    /// Nickel metal hydride of low self-discharge, 1.2 V.
    NickelMetalHydride,
}

impl ChemistryKind {
    /// All built-in kinds.
    pub const ALL: [Self; 7] = [
        Self::LithiumIon,
        Self::LithiumIronPhosphate,
        Self::LithiumManganeseDioxide,
        Self::Alkaline,
        Self::LithiumThionylChloride,
        Self::LithiumIronDisulfide,
        Self::NickelMetalHydride,
    ];
}

/// Where a value comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Source {
    /// Which value.
    pub of: &'static str,
    /// The source, or what the assumption rests on.
    pub text: &'static str,
    /// Whether it is an assumption rather than a published or measured value.
    pub assumption: bool,
}

/// What a charge voltage of one cell does, as tables over that voltage.
#[derive(Clone, Debug, PartialEq)]
pub struct FloatTable {
    /// Share of the full charge that is stored.
    pub stored: Table<Volts, Ratio>,
    /// Factor on the rate of ageing.
    pub ageing: Table<Volts, Ratio>,
}

/// Limits of charging.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChargeWindow {
    /// Lowest temperature at which the cell may be charged.
    pub from: Celsius,
    /// Highest temperature at which the cell may be charged.
    pub to: Celsius,
}

/// A kind of cell; voltages are those of one cell.
#[derive(Clone, Debug, PartialEq)]
pub struct Chemistry {
    /// Its name for reports.
    pub name: String,
    /// Whether it may be charged at all.
    pub rechargeable: bool,
    /// Open-circuit voltage over state of charge 0..1.
    pub ocv: Table<Ratio, Volts>,
    /// Share of the capacity that is given, over temperature and rate.
    pub capacity: Capacity,
    /// Internal resistance over temperature and state of charge, relative to 25 degrees Celsius and half full.
    pub resistance: Surface<Celsius, Ratio, Ratio>,
    /// Typical resistance times capacity (ohm coulombs): larger cells of a kind have less resistance.
    pub resistance_times_capacity: f64,
    /// Typical self-discharge at [`STATED_AT`](super::wear::STATED_AT).
    pub self_discharge: PerSecond,
    /// Factor on self-discharge over temperature.
    pub self_discharge_over_temperature: Table<Celsius, Ratio>,
    /// Rate at which capacity is lost with age at the maximum voltage: `k_age = exp(-rate * age)`.
    pub ageing: PerSecond,
    /// Rate at which resistance grows with age at the maximum voltage: `exp(rate * age)`.
    pub resistance_growth: PerSecond,
    /// Factor on both rates of ageing over temperature.
    pub ageing_over_temperature: Table<Celsius, Ratio>,
    /// What cycles cost; `None` for primary cells or where nothing is stated.
    pub cycles: Option<CycleLife>,
    /// The film of a rested cell; `None` where there is none.
    pub film: Option<Film>,
    /// What a lower charge voltage does; `None` for primary cells or where nothing is known.
    pub float: Option<FloatTable>,
    /// Highest voltage: charge voltage of a rechargeable cell, fresh open-circuit voltage of a primary one.
    pub maximum: Volts,
    /// Voltage below which the cell should not be discharged.
    pub minimum: Volts,
    /// Temperatures at which it may be charged; `None` for primary cells.
    pub charge_window: Option<ChargeWindow>,
    /// Sources and assumptions.
    pub sources: Vec<Source>,
    /// Cautions that reports carry.
    pub cautions: Vec<&'static str>,
}

/// Caution on lithium cells of every kind.
pub const LITHIUM_CAUTION: &str = "Lithium cells: never charge or discharge outside the cell maker's temperature and \
     voltage limits; an estimate is no protection circuit; transport and safety rules of the place apply; a qualified \
     person signs off the pack.";
/// Caution on primary cells.
pub const PRIMARY_CAUTION: &str = "A primary cell is not rechargeable: never charge it, not even with a small current.";
/// Caution on cells that float below their maximum.
pub const FLOAT_CAUTION: &str = "Stored charge and ageing as functions of charge voltage are averages over many cells; the cell \
     maker's figures come first.";

impl Chemistry {
    /// The built-in values of a kind.
    ///
    /// # Errors
    /// None in practice: the built-in tables are sound, and a test makes each of them.
    pub fn built_in(kind: ChemistryKind) -> Result<Self, TableFault> {
        match kind {
            ChemistryKind::LithiumIon => lithium_ion(),
            ChemistryKind::LithiumIronPhosphate => lithium_iron_phosphate(),
            ChemistryKind::LithiumManganeseDioxide => kinds::lithium_manganese_dioxide(),
            ChemistryKind::Alkaline => kinds::alkaline(),
            ChemistryKind::LithiumThionylChloride => kinds::lithium_thionyl_chloride(),
            ChemistryKind::LithiumIronDisulfide => kinds::lithium_iron_disulfide(),
            ChemistryKind::NickelMetalHydride => kinds::nickel_metal_hydride(),
        }
    }

    /// Resistance typical of one cell of this kind with a capacity, at 25 degrees Celsius, half full, new.
    pub fn typical_resistance(&self, capacity: Coulombs) -> Ohms {
        Ohms(self.resistance_times_capacity / capacity.0)
    }

    pub(super) fn check(&self) -> Result<(), CellFault> {
        let (from, to) = self.ocv.domain();
        let falls = self.ocv.rows().zip(self.ocv.rows().skip(1)).any(|(a, b)| b.1 < a.1);
        if from.0 > 0.0 || to.0 < 1.0 || falls || self.ocv.rows().any(|row| row.1.0 <= 0.0) {
            return Err(CellFault::OpenCircuitTable);
        }
        let factor = |table, holds: bool| if holds { Ok(()) } else { Err(CellFault::Factor { table }) };
        factor("the capacity over temperature", self.capacity.values().all(|share| share.0 > 0.0))?;
        let none_negative = |table: &Table<Celsius, Ratio>| table.rows().all(|row| row.1.0 >= 0.0);
        factor("the self-discharge over temperature", none_negative(&self.self_discharge_over_temperature))?;
        factor("the ageing over temperature", none_negative(&self.ageing_over_temperature))?;
        let film = self.film.as_ref().is_none_or(|film| film.over_rest.rows().all(|row| row.1.0 >= 0.0));
        factor("the film over rest", film)?;
        let sound = |life: CycleLife| life.cycles > 0.0 && 0.0 < life.left.0 && life.left.0 < 1.0;
        factor("the cycle life", self.cycles.is_none_or(sound))?;
        factor("the internal resistance over temperature", self.resistance.values().all(|z| z.0 > 0.0))?;
        factor("the rate of ageing", self.ageing.0 >= 0.0 && self.resistance_growth.0 >= 0.0)?;
        if let Some(float) = &self.float {
            factor("the share stored over charge voltage", float.stored.rows().all(|row| row.1.0 > 0.0))?;
            factor("the ageing over charge voltage", float.ageing.rows().all(|row| row.1.0 >= 0.0))?;
        }
        Ok(())
    }
}

impl fmt::Display for ChemistryKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::LithiumIon => "lithium-ion",
            Self::LithiumIronPhosphate => "lithium iron phosphate",
            Self::LithiumManganeseDioxide => "lithium manganese dioxide",
            Self::Alkaline => "alkaline",
            Self::LithiumThionylChloride => "lithium thionyl chloride",
            Self::LithiumIronDisulfide => "lithium iron disulfide",
            Self::NickelMetalHydride => "nickel metal hydride",
        })
    }
}

/// Ohm coulombs of one ohm ampere-hour, coulombs of an ampere-hour.
pub const OHM_AMPERE_HOUR: f64 = 3600.0;

pub(super) fn per_year(share: f64) -> PerSecond {
    PerSecond(share / YEAR)
}

fn per_month(share: f64) -> PerSecond {
    PerSecond(share * 12.0 / YEAR)
}

/// A table with units from plain numbers, as the tables below are written.
pub(super) fn table<X: crate::units::Quantity, Y: crate::units::Quantity>(
    rows: &[(f64, f64)],
) -> Result<Table<X, Y>, TableFault> {
    Table::new(rows.iter().map(|(x, y)| (X::from(*x), Y::from(*y))))
}

/// Relative resistance as a product of a factor over temperature and one over state of charge.
pub(super) fn product(
    over_temperature: &[(f64, f64)],
    over_charge: &[(f64, f64)],
) -> Result<Surface<Celsius, Ratio, Ratio>, TableFault> {
    let xs: Vec<Celsius> = over_temperature.iter().map(|(t, _)| Celsius(*t)).collect();
    let ys: Vec<Ratio> = over_charge.iter().map(|(soc, _)| Ratio(*soc)).collect();
    let row = |warm: f64| over_charge.iter().map(|(_, z)| Ratio(warm * z)).collect();
    Surface::new(&xs, &ys, &over_temperature.iter().map(|(_, warm)| row(*warm)).collect::<Vec<_>>())
}

/// Capacity of a slow and of a fast discharge, each with its rate in C, over the same temperatures.
pub(super) fn slow_and_fast(
    temperatures: &[f64],
    slow: (f64, &[f64]),
    fast: (f64, &[f64]),
) -> Result<Capacity, TableFault> {
    let of = |(rate, shares): (f64, &[f64])| {
        let rows = temperatures.iter().zip(shares).map(|(t, share)| (Celsius(*t), Ratio(*share)));
        Ok((rate, Table::new(rows)?))
    };
    Capacity::over_rate(&[of(slow)?, of(fast)?])
}

pub(super) fn assumption(of: &'static str, text: &'static str) -> Source {
    Source { of, text, assumption: true }
}

/// Where the doubling comes from.
pub(super) const TEN_KELVIN: &str = "doubled by every 10 K more, stated at 20 °C: self-discharge as BU-802b in substance, \
     ageing as common practice; from memory";

const BU_808: &str = "\"How to prolong lithium-based batteries\" (BU-808), public table: 4.10 V 85 to 90 %, 4.00 V 70 to \
     75 %, cycle life about doubled by every 100 mV less; middles of the ranges taken";

fn lithium_ion() -> Result<Chemistry, TableFault> {
    // From 4.00 V up the rows are BU-808's stored shares read backwards, so that charging to a float voltage and the
    // table of stored shares agree; the lower rows and 3.90 V are from memory.
    const OCV: [(f64, f64); 12] = [
        (0.0, 3.00),
        (0.05, 3.45),
        (0.1, 3.60),
        (0.2, 3.69),
        (0.3, 3.74),
        (0.4, 3.78),
        (0.5, 3.82),
        (0.625, 3.90),
        (0.725, 4.00),
        (0.8, 4.04),
        (0.875, 4.10),
        (1.0, 4.20),
    ];
    const STORED: [(f64, f64); 4] = [(3.90, 0.625), (4.00, 0.725), (4.10, 0.875), (4.20, 1.0)];
    // Ageing halves with every 100 mV less.
    const AGEING: [(f64, f64); 4] = [(3.90, 0.125), (4.00, 0.25), (4.10, 0.5), (4.20, 1.0)];
    const TEMPERATURES: [f64; 7] = [-20.0, -10.0, 0.0, 10.0, 20.0, 45.0, 60.0];
    const SLOW: [f64; 7] = [0.88, 0.94, 0.97, 0.99, 1.00, 1.00, 0.99];
    const FAST: [f64; 7] = [0.60, 0.75, 0.85, 0.93, 1.0, 1.0, 0.98];
    const WARM: [(f64, f64); 7] =
        [(-20.0, 6.0), (-10.0, 3.5), (0.0, 2.2), (10.0, 1.5), (25.0, 1.0), (45.0, 0.8), (60.0, 0.75)];
    const FULL: [(f64, f64); 5] = [(0.0, 1.8), (0.1, 1.3), (0.3, 1.05), (0.5, 1.0), (1.0, 1.0)];
    Ok(Chemistry {
        name: ChemistryKind::LithiumIon.to_string(),
        rechargeable: true,
        ocv: table(&OCV)?,
        capacity: slow_and_fast(&TEMPERATURES, (0.02, &SLOW), (0.5, &FAST))?,
        resistance: product(&WARM, &FULL)?,
        resistance_times_capacity: 0.10 * OHM_AMPERE_HOUR,
        self_discharge: per_month(0.02),
        self_discharge_over_temperature: doubling()?,
        ageing: per_year(0.04),
        resistance_growth: per_year(0.10),
        ageing_over_temperature: doubling()?,
        cycles: Some(CycleLife { cycles: 500.0, left: Ratio(0.8) }),
        film: None,
        float: Some(FloatTable { stored: table(&STORED)?, ageing: table(&AGEING)? }),
        maximum: Volts(4.20),
        minimum: Volts(3.00),
        charge_window: Some(ChargeWindow { from: Celsius(0.0), to: Celsius(45.0) }),
        sources: vec![
            assumption("cycle life", "500 full cycles leave 80 % of the capacity; typical, from memory"),
            assumption("self-discharge and ageing over temperature", TEN_KELVIN),
            Source { of: "share stored over charge voltage, 4.00 V and above", text: BU_808, assumption: false },
            assumption("ageing over charge voltage", "BU-808 speaks of cycles; taken over to ageing with time"),
            assumption("open-circuit voltage", "4.00 V and above as BU-808; below typical of lithium-ion, from memory"),
            assumption(
                "capacity over temperature and rate",
                "fast (C/2): typical of small pouch cells; slow (C/50): between that and the cell models of the published sets Ai2020 and Marquis2019, which lose nothing; from memory",
            ),
            assumption("internal resistance", "0.1 ohm ampere-hours, rising when cold and empty; typical, from memory"),
            assumption("self-discharge", "2 % a month with a protection circuit; typical, from memory"),
            assumption("ageing", "4 % of capacity and 10 % of resistance a year at 4.2 V; typical, from memory"),
            assumption("limits", "charge from 0 to 45 °C, 3.0 to 4.2 V; typical, from memory"),
        ],
        cautions: vec![LITHIUM_CAUTION, FLOAT_CAUTION],
    })
}

fn lithium_iron_phosphate() -> Result<Chemistry, TableFault> {
    const OCV: [(f64, f64); 11] = [
        (0.0, 2.50),
        (0.05, 3.05),
        (0.1, 3.20),
        (0.2, 3.25),
        (0.4, 3.28),
        (0.6, 3.30),
        (0.8, 3.33),
        (0.95, 3.35),
        (0.98, 3.40),
        (0.99, 3.50),
        (1.0, 3.65),
    ];
    const STORED: [(f64, f64); 3] = [(3.40, 0.98), (3.50, 0.99), (3.65, 1.0)];
    const AGEING: [(f64, f64); 3] = [(3.40, 0.8), (3.50, 0.9), (3.65, 1.0)];
    const TEMPERATURES: [f64; 6] = [-20.0, -10.0, 0.0, 10.0, 20.0, 60.0];
    const SLOW: [f64; 6] = [0.85, 0.92, 0.96, 0.985, 1.00, 1.00];
    const FAST: [f64; 6] = [0.55, 0.70, 0.82, 0.92, 1.0, 1.0];
    const WARM: [(f64, f64); 6] = [(-20.0, 7.0), (-10.0, 4.0), (0.0, 2.4), (10.0, 1.6), (25.0, 1.0), (60.0, 0.7)];
    const FULL: [(f64, f64); 5] = [(0.0, 2.0), (0.1, 1.3), (0.3, 1.05), (0.5, 1.0), (1.0, 1.0)];
    Ok(Chemistry {
        name: ChemistryKind::LithiumIronPhosphate.to_string(),
        rechargeable: true,
        ocv: table(&OCV)?,
        capacity: slow_and_fast(&TEMPERATURES, (0.02, &SLOW), (0.5, &FAST))?,
        resistance: product(&WARM, &FULL)?,
        resistance_times_capacity: 0.08 * OHM_AMPERE_HOUR,
        self_discharge: per_month(0.02),
        self_discharge_over_temperature: doubling()?,
        ageing: per_year(0.02),
        resistance_growth: per_year(0.05),
        ageing_over_temperature: doubling()?,
        cycles: Some(CycleLife { cycles: 2000.0, left: Ratio(0.8) }),
        film: None,
        float: Some(FloatTable { stored: table(&STORED)?, ageing: table(&AGEING)? }),
        maximum: Volts(3.65),
        minimum: Volts(2.50),
        charge_window: Some(ChargeWindow { from: Celsius(0.0), to: Celsius(45.0) }),
        sources: vec![
            assumption("cycle life", "2000 full cycles leave 80 % of the capacity; typical, from memory"),
            assumption("self-discharge and ageing over temperature", TEN_KELVIN),
            assumption("all values", "typical of small lithium iron phosphate cells, from memory"),
        ],
        cautions: vec![LITHIUM_CAUTION, FLOAT_CAUTION],
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_built_in_kind_is_sound_and_says_where_it_comes_from() {
        for kind in ChemistryKind::ALL {
            let made = Chemistry::built_in(kind).unwrap();
            assert_eq!(made.check(), Ok(()), "{kind}");
            assert!(!made.sources.is_empty() && !made.cautions.is_empty(), "{kind}");
            assert_eq!(made.rechargeable, made.charge_window.is_some(), "{kind}");
            assert_eq!(made.rechargeable, !made.cautions.contains(&PRIMARY_CAUTION), "{kind}");
            assert_eq!(made.capacity.at(Celsius(25.0), 0.0), Some(Ratio(1.0)), "{kind}");
            assert_eq!(made.resistance.at(Celsius(25.0), Ratio(0.5)), Some(Ratio(1.0)), "{kind}");
            assert_eq!(made.ocv.at(Ratio(1.0)), Some(made.maximum), "{kind}");
        }
    }

    #[test]
    fn float_voltage_stores_what_the_open_circuit_table_holds_there() {
        for kind in [ChemistryKind::LithiumIon, ChemistryKind::LithiumIronPhosphate] {
            let made = Chemistry::built_in(kind).unwrap();
            for (volts, stored) in made.float.unwrap().stored.rows() {
                let soc = made.ocv.inverse(volts).unwrap();
                assert!((soc.0 - stored.0).abs() < 1e-9, "{kind} at {volts}: {} against {}", soc.0, stored.0);
            }
        }
    }
}

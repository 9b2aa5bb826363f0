//! The battery as it stands in the files (a project's own or a built-in profile).

use crate::cell::chemistry::ChemistryKind;
use crate::source::amount::{Amount, At, Qty};
use crate::units::{Amps, Celsius, Coulombs, Farads, Ohms, PerSecond, Ratio, Seconds, Volts, YEAR};
use schemars::JsonSchema;
use serde::Deserialize;

fn one() -> At<u32> {
    At { span: 0..0, value: 1 }
}

fn a_year() -> Qty<Seconds> {
    Qty(Seconds(YEAR))
}

/// A voltage at a state of charge.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct VoltageAtSpec {
    /// The state of charge.
    pub at: Qty<Ratio>,
    /// The voltage of one cell there.
    pub is: Qty<Volts>,
}

/// A share or factor at a temperature.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct AtTemperatureSpec {
    /// The temperature.
    pub at: Qty<Celsius>,
    /// The share there.
    pub is: Qty<Ratio>,
}

/// A factor at a state of charge.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct AtChargeSpec {
    /// The state of charge.
    pub at: Qty<Ratio>,
    /// The factor there.
    pub is: Qty<Ratio>,
}

/// Shares of the capacity over temperature at one rate of discharge.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct AtRateSpec {
    /// The current.
    pub at: Qty<Amps>,
    /// The shares at each temperature.
    pub is: Vec<AtTemperatureSpec>,
}

/// A factor after a time.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct AtRestSpec {
    /// The time.
    pub at: Qty<Seconds>,
    /// The factor there.
    pub is: Qty<Ratio>,
}

/// How long a rechargeable battery lasts in cycles.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct CycleLifeSpec {
    /// Full cycles, charged to the chemistry's maximum voltage; a lower charge voltage gives more.
    pub cycles: u32,
    /// Share of the capacity that is left after them.
    pub left: Qty<Ratio>,
}

/// A capacitor beside the battery, from pole to pole: it carries short pulses, and its leakage is a load for ever.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct CapacitorSpec {
    /// Its capacitance; the minimum of the tolerance counts in the worst case, as for every input.
    pub capacitance: Amount<Farads>,
    /// Its series resistance (ESR).
    pub resistance: Amount<Ohms>,
    /// Its leakage current, as it settles after days under voltage.
    pub leakage: Amount<Amps>,
    /// Its rated voltage, several in series together; absent: any.
    pub rated_voltage: Option<At<Qty<Volts>>>,
}

/// The battery.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(transform = crate::project::schema::whole_or_from)]
pub struct BatterySpec {
    /// A built-in battery profile, whose values are used where this table gives none.
    pub from: Option<String>,
    /// What the battery is, in plain words.
    #[serde(default)]
    pub note: String,
    /// Its chemistry, which brings the tables of voltage and resistance.
    pub chemistry: ChemistryKind,
    /// Cells in series.
    #[serde(default = "one")]
    pub cells: At<u32>,
    /// Rated charge.
    pub capacity: Amount<Coulombs>,
    /// Rechargeable: voltage per cell that it is charged to.
    pub charge_voltage: Option<At<Qty<Volts>>>,
    /// Internal resistance of one cell when new, half full, at 25 °C.
    pub resistance: Amount<Ohms>,
    /// Charge lost without any load.
    pub self_discharge: Amount<PerSecond>,
    /// Capacity lost to age in each year at the chemistry's maximum voltage; a lower charge voltage slows it.
    pub ageing: Amount<PerSecond>,
    /// Share of the charge that is reserved for the last screen and the protection circuit.
    pub reserve: Amount<Ratio>,
    /// Open-circuit voltage of one cell over its state of charge, from 0 % to 100 %, instead of the chemistry's.
    pub voltage: Option<At<Vec<VoltageAtSpec>>>,
    /// Share of the capacity that a temperature leaves at any rate of discharge, instead of the chemistry's.
    pub capacity_over_temperature: Option<At<Vec<AtTemperatureSpec>>>,
    /// Internal resistance over temperature, relative to that at 25 °C, instead of the chemistry's.
    pub resistance_over_temperature: Option<At<Vec<AtTemperatureSpec>>>,
    /// Internal resistance over the state of charge, relative to that of the half-full cell, instead of the chemistry's.
    pub resistance_over_charge: Option<At<Vec<AtChargeSpec>>>,
    /// Share of the capacity over temperature at several rates of discharge, the slowest first, each at the same
    /// temperatures, instead of the chemistry's.
    pub capacity_over_rate: Option<At<Vec<AtRateSpec>>>,
    /// Self-discharge over temperature, relative to that stated at 20 °C, instead of the chemistry's.
    pub self_discharge_over_temperature: Option<At<Vec<AtTemperatureSpec>>>,
    /// Ageing over temperature, relative to that stated at 20 °C, instead of the chemistry's.
    pub ageing_over_temperature: Option<At<Vec<AtTemperatureSpec>>>,
    /// Full cycles and what they leave of the capacity, instead of the chemistry's; only for rechargeable batteries.
    pub cycle_life: Option<At<CycleLifeSpec>>,
    /// Resistance of the film that grows on a cell that is not used (passivation), relative to that of the half-full cell, over
    /// the time of rest, instead of the chemistry's.
    pub film_over_rest: Option<At<Vec<AtRestSpec>>>,
    /// Longest time without a load before the device is switched on; the film of so long a rest counts in the worst
    /// case of the supply.
    #[serde(default = "a_year")]
    pub stored_for: Qty<Seconds>,
    /// Voltage of the battery at which its protection circuit switches it off; the chemistry's minimum where that is
    /// higher.
    pub cut_off: Option<At<Qty<Volts>>>,
    /// Current of the protection circuit itself.
    pub protection_current: Option<Amount<Amps>>,
    /// The maximum current that the battery's maker or its protection circuit allows.
    pub max_current: Option<At<Qty<Amps>>>,
    /// A capacitor beside the battery, for short pulses.
    pub capacitor: Option<At<CapacitorSpec>>,
    /// The battery is retired after this time whatever its charge.
    pub shelf_life: Qty<Seconds>,
}

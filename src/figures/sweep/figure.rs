//! Figures of a budget that can be swept: their names, units, limits, and how each is read from a budget.
//!
//! Not for reckoning them: that is [`crate::budget::summary`].

use crate::budget::summary::Budget;
use crate::device::Device;
use crate::units::{DAY, Joules, Quantity, Seconds, Volts, Watts, plain_time};

/// A figure of a budget. Numbers that belong to one are in its [`Figure::unit`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "cli", derive(clap::ValueEnum))]
pub enum Figure {
    /// Battery life: P10, P50 and P90 over devices.
    LifeDays,
    /// Energy of a mean day at the battery.
    EnergyPerDay,
    /// Mean power at the battery.
    MeanPower,
    /// Energy of the costliest transition between screens.
    UpdateEnergy,
    /// Press to visible of the slowest transition, nothing else under way.
    Latency,
    /// Press to visible in the simulated use, 95 % of the presses within.
    LatencyInUse,
    /// Full and partial refreshes of a mean day.
    RefreshesPerDay,
    /// Battery voltage under the hardest pull: cold, empty, aged.
    SupplyVoltage,
    /// Time of a charge from the reserve, the device running.
    ChargeTime,
}

/// A figure's value for one device or, with its band, for many.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The typical device's value, or the median (P50).
    pub value: f64,
    /// P10 and P90.
    pub band: Option<[f64; 2]>,
}

impl Figure {
    /// What it is called, in the words of a heading.
    pub fn title(self) -> &'static str {
        match self {
            Self::LifeDays => "battery life",
            Self::EnergyPerDay => "energy a day",
            Self::MeanPower => "mean power",
            Self::UpdateEnergy => "energy of the costliest update",
            Self::Latency => "slowest press to visible",
            Self::LatencyInUse => "press to visible, 95 % within",
            Self::RefreshesPerDay => "refreshes a day",
            Self::SupplyVoltage => "lowest battery voltage",
            Self::ChargeTime => "time of a charge",
        }
    }

    /// Its name in CSV and JSON, with its unit.
    pub fn key(self) -> &'static str {
        match self {
            Self::LifeDays => "life_days",
            Self::EnergyPerDay => "energy_per_day_j",
            Self::MeanPower => "mean_power_w",
            Self::UpdateEnergy => "update_energy_j",
            Self::Latency => "latency_s",
            Self::LatencyInUse => "latency_in_use_s",
            Self::RefreshesPerDay => "refreshes_per_day",
            Self::SupplyVoltage => "supply_voltage_v",
            Self::ChargeTime => "charge_time_s",
        }
    }

    /// The unit of its numbers; empty for counts.
    pub fn unit(self) -> &'static str {
        match self {
            Self::LifeDays => "d",
            Self::EnergyPerDay | Self::UpdateEnergy => "J",
            Self::MeanPower => "W",
            Self::Latency | Self::LatencyInUse | Self::ChargeTime => "s",
            Self::RefreshesPerDay => "",
            Self::SupplyVoltage => "V",
        }
    }

    /// A value as a person reads it.
    pub fn shown(self, value: f64) -> String {
        match self {
            Self::LifeDays => plain_time(DAY * value),
            Self::EnergyPerDay | Self::UpdateEnergy => Joules(value).to_string(),
            Self::MeanPower => Watts(value).to_string(),
            Self::Latency | Self::LatencyInUse | Self::ChargeTime => plain_time(Seconds(value)),
            Self::RefreshesPerDay => crate::units::figures(value),
            Self::SupplyVoltage => Volts(value).to_string(),
        }
    }

    /// Whether more is worse, so that a limit is the most and not the least allowed.
    pub fn more_is_worse(self) -> bool {
        !matches!(self, Self::LifeDays | Self::SupplyVoltage)
    }

    /// Reads a limit: a quantity with its unit, or a number in [`Figure::unit`].
    ///
    /// # Errors
    /// A sentence that says what was expected.
    pub fn limit(self, text: &str) -> Result<f64, String> {
        if let Ok(number) = text.trim().parse::<f64>() {
            return if number.is_finite() { Ok(number) } else { Err("the limit must be finite".into()) };
        }
        match self {
            Self::LifeDays => Seconds::parse(text).map(|time| time / DAY),
            Self::EnergyPerDay | Self::UpdateEnergy => Joules::parse(text).map(f64::from),
            Self::MeanPower => Watts::parse(text).map(f64::from),
            Self::Latency | Self::LatencyInUse | Self::ChargeTime => Seconds::parse(text).map(f64::from),
            Self::RefreshesPerDay => Err(format!("expected a number of refreshes a day; {text:?} is none")),
            Self::SupplyVoltage => Volts::parse(text).map(f64::from),
        }
    }

    /// The limit that a project sets for it.
    pub fn limit_of(self, device: &Device) -> Option<f64> {
        let limits = &device.limits;
        match self {
            Self::LifeDays => limits.life.as_ref().map(|limit| limit.value / DAY),
            Self::UpdateEnergy => limits.update_energy.as_ref().map(|limit| limit.value.0),
            Self::Latency => limits.latency.as_ref().map(|limit| limit.value.0),
            Self::RefreshesPerDay => limits.refreshes_per_day.as_ref().map(|limit| limit.value),
            _ => None,
        }
    }

    /// Reads it from a budget; `None` where the budget has none, as for a battery that collapses.
    pub fn of(self, budget: &Budget) -> Option<Reading> {
        let largest = |all: &mut dyn Iterator<Item = f64>| all.reduce(f64::max);
        let one = |value: f64| Reading { value, band: None };
        match self {
            Self::LifeDays => budget.life.as_ref().ok().map(|life| Reading {
                value: life.p50.time / DAY,
                band: Some([life.p10.time / DAY, life.p90.time / DAY]),
            }),
            Self::EnergyPerDay => Some(one(budget.causes.iter().map(|(_, energy)| energy.0).sum())),
            Self::MeanPower => Some(one(budget.causes.iter().map(|(_, energy)| energy.0).sum::<f64>() / DAY.0)),
            Self::UpdateEnergy => largest(&mut budget.transitions.iter().map(|way| way.energy.0)).map(one),
            Self::Latency => largest(&mut budget.transitions.iter().map(|way| way.latency.0)).map(one),
            Self::LatencyInUse => budget.tally.latency(0.95).map(|time| one(time.0)),
            Self::RefreshesPerDay => Some(one(budget.tally.per_day(budget.tally.full + budget.tally.partial))),
            Self::SupplyVoltage => budget.worst_voltage().map(|volts| one(volts.0)),
            Self::ChargeTime => budget.charge_time.map(|time| one(time.0)),
        }
    }
}

impl Reading {
    /// The value that a limit is held against: what nine of ten devices reach, as in `check`.
    pub fn against_limit(self) -> f64 {
        self.band.map_or(self.value, |[p10, _]| p10)
    }
}

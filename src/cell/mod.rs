//! The battery: what a cell stores, what it still gives, how long it lasts and how long it takes to charge.
//!
//! Everything here works on plain values. Not for reading a battery's profile from a file, and not for what the board
//! draws: a load comes in as a [`peak::LoadCurrent`] or a [`load::MeanLoad`] at the battery's terminals, made by
//! [`crate::hardware::rail`].
//!
//! ```
//! use inkjoule::cell::{Cell, chemistry::{Chemistry, ChemistryKind}, life::Discharge, load::MeanLoad, peak::LoadCurrent};
//! use inkjoule::units::{Amps, Celsius, Coulombs, YEAR};
//!
//! let chemistry = Chemistry::built_in(ChemistryKind::LithiumManganeseDioxide)?.into();
//! let case = Cell::typical(chemistry, Coulombs(0.225 * 3600.0)).at(Celsius(20.0))?;
//! let load = MeanLoad::always(LoadCurrent::current(Amps(10e-6)))?;
//! let life = Discharge { case: &case, cut_offs: &[], age_limit: None }.run(&load)?;
//! // 225 mAh at 10 uA with 1 % self-discharge a year at 20 °C.
//! assert!((life.time.0 / YEAR - 2.534).abs() < 0.001);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # Cautions
//! An estimate is no protection circuit. Lithium cells can burn: never charge one outside the temperature and voltage
//! limits that its maker states, never charge a primary (non-rechargeable) cell, and follow the transport and safety
//! rules of the place. The built-in tables are typical of a kind of cell and replace no data sheet. A qualified person
//! signs off the pack and its protection.

pub mod ageing;
pub mod capacitor;
pub mod capacity;
pub mod charging;
pub mod chemistry;
pub mod curve;
pub mod life;
pub mod load;
pub mod peak;
mod polynomial;
pub mod pulsed;
mod quadrature;
pub mod resistance;
mod series;
pub mod surface;
pub mod varying;
pub mod wear;

mod case;
mod kinds;

pub use case::{Case, ChargeFactors, Point};

use crate::units::{Celsius, Coulombs, Ohms, PerSecond, Ratio, Seconds, Volts};
use chemistry::Chemistry;
use std::fmt;
use std::sync::Arc;

/// A battery of one or more equal cells in series, with all values at one operating case.
/// Cells in parallel are one cell with the sum of their capacities.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// Curves and limits of the kind of cell; shared, since a Monte Carlo run makes many cells of one kind.
    pub chemistry: Arc<Chemistry>,
    /// Cells in series.
    pub series: u32,
    /// Rated charge of one cell, as its data sheet gives it.
    pub capacity: Coulombs,
    /// Internal resistance of one new cell at 25 degrees Celsius, half full; the chemistry's table is relative to it.
    /// With a table in ohms of its own, put the ohms in as ratios and 1 ohm here.
    pub resistance: Ohms,
    /// A factor on the resistance: spread between cells, contacts, a protection circuit.
    pub resistance_factor: Ratio,
    /// Self-discharge, as a share of the charge that is left.
    pub self_discharge: PerSecond,
    /// Voltage up to which one cell is charged; `None` for the chemistry's maximum.
    pub float_voltage: Option<Volts>,
    /// Age of the cell.
    pub age: Seconds,
    /// Temperature at which it ages.
    pub kept_at: Celsius,
    /// How far its temperature goes from its mean over time, in kelvin, each for as long: the rates of ageing and
    /// self-discharge are means over these, a table's end counting beyond it. Empty where it stays.
    pub swings: Arc<[f64]>,
    /// Rate at which it is discharged, in C: 1 empties the rated capacity in an hour.
    pub rate: f64,
    /// Full cycles that it goes through in a time.
    pub cycles: PerSecond,
    /// Time without any load before the hardest moment, in which a film may grow.
    pub rest: Seconds,
    /// Share of the stored charge that is kept back (for the last screen).
    pub reserve: Ratio,
}

impl Cell {
    /// A new cell of a chemistry with its typical resistance and self-discharge, charged to the maximum, no reserve.
    pub fn typical(chemistry: Arc<Chemistry>, capacity: Coulombs) -> Self {
        Self {
            series: 1,
            capacity,
            resistance: chemistry.typical_resistance(capacity),
            resistance_factor: Ratio(1.0),
            self_discharge: chemistry.self_discharge,
            float_voltage: None,
            age: Seconds(0.0),
            kept_at: wear::STATED_AT,
            swings: Arc::from([]),
            rate: 0.0,
            cycles: PerSecond(0.0),
            rest: Seconds(0.0),
            reserve: Ratio(0.0),
            chemistry,
        }
    }

    /// The cell at a temperature, its tables looked up once.
    ///
    /// # Errors
    /// A value that cannot be, or a temperature or float voltage outside the chemistry's tables.
    pub fn at(&self, temperature: Celsius) -> Result<Case, CellFault> {
        Case::new(self, temperature)
    }

    /// The usable charge at a temperature: `C_rated * k_temp * k_float * k_age * (1 - reserve)`.
    /// [`Cell::factors`] gives the factors one by one.
    ///
    /// # Errors
    /// As [`Cell::at`].
    pub fn usable_charge(&self, temperature: Celsius) -> Result<Coulombs, CellFault> {
        Ok(self.factors(temperature)?.usable())
    }

    /// The factors of the usable charge.
    ///
    /// # Errors
    /// As [`Cell::at`].
    pub fn factors(&self, temperature: Celsius) -> Result<ChargeFactors, CellFault> {
        ChargeFactors::of(self, temperature)
    }

    /// Open-circuit voltage of the pack at a state of charge (clamped to 0..1).
    pub fn ocv(&self, state_of_charge: Ratio) -> Volts {
        self.chemistry.ocv.at_clamped(state_of_charge) * f64::from(self.series)
    }

    /// Internal resistance of the pack at a state of charge (clamped to the table) and a temperature.
    ///
    /// # Errors
    /// As [`Cell::at`].
    pub fn resistance(&self, state_of_charge: Ratio, temperature: Celsius) -> Result<Ohms, CellFault> {
        Ok(self.at(temperature)?.resistance(state_of_charge))
    }

    /// The float voltage of one cell: the chosen one or the chemistry's maximum.
    pub fn float_per_cell(&self) -> Volts {
        self.float_voltage.unwrap_or(self.chemistry.maximum)
    }

    fn check(&self) -> Result<(), CellFault> {
        let at_least = |what: &'static str, value: f64, least: f64| match value.is_finite() && value >= least {
            true => Ok(()),
            false => Err(CellFault::Value { what, value }),
        };
        at_least("the capacity in coulombs", self.capacity.0, f64::MIN_POSITIVE)?;
        at_least("the number of cells in series", f64::from(self.series), 1.0)?;
        at_least("the internal resistance in ohms", self.resistance.0, 0.0)?;
        at_least("the resistance factor", self.resistance_factor.0, 0.0)?;
        at_least("the self-discharge per second", self.self_discharge.0, 0.0)?;
        at_least("the age in seconds", self.age.0, 0.0)?;
        at_least("the rate of discharge in C", self.rate, 0.0)?;
        at_least("the cycles per second", self.cycles.0, 0.0)?;
        at_least("the time of rest in seconds", self.rest.0, 0.0)?;
        at_least("the reserve", self.reserve.0, 0.0)?;
        if self.reserve.0 >= 1.0 {
            return Err(CellFault::Value { what: "the reserve", value: self.reserve.0 });
        }
        self.chemistry.check()
    }
}

/// Why a cell cannot be calculated.
#[derive(Clone, Debug, PartialEq)]
pub enum CellFault {
    /// A value that no cell can have.
    Value {
        /// Which value, with its unit.
        what: &'static str,
        /// The value.
        value: f64,
    },
    /// Nothing is left beside the reserve.
    NothingUsable {
        /// What the battery stores.
        stored: Coulombs,
    },
    /// A temperature outside a table: refused, not extrapolated.
    Temperature {
        /// Which table.
        table: &'static str,
        /// The temperature asked for.
        asked: Celsius,
        /// Where the table begins.
        from: Celsius,
        /// Where it ends.
        to: Celsius,
    },
    /// A float voltage outside the chemistry's table or above its maximum.
    Float {
        /// The voltage asked for, for one cell.
        asked: Volts,
        /// The lowest allowed.
        from: Volts,
        /// The highest allowed.
        to: Volts,
    },
    /// A float voltage for a cell that must not be charged.
    FloatOfPrimary,
    /// A float voltage below the maximum for a rechargeable chemistry without a table of what it stores.
    FloatUnknown {
        /// The voltage asked for, for one cell.
        asked: Volts,
    },
    /// An open-circuit table that does not cover 0 to 1, falls with rising charge, or is not above 0 V.
    OpenCircuitTable,
    /// A table holds a factor that is negative, or 0 where it must not be.
    Factor {
        /// Which table.
        table: &'static str,
    },
}

impl fmt::Display for CellFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Value { what, value } => write!(f, "{what} cannot be {value}"),
            Self::NothingUsable { stored } => {
                let stored = crate::units::figures(stored.0 / 3.6);
                write!(f, "the battery is too small: the reserve with the last screen takes all of its {stored} mAh")
            }
            Self::Temperature { table, asked, from, to } => {
                write!(f, "{table} is known from {from} to {to}; {asked} lies outside and is not guessed")
            }
            Self::Float { asked, from, to } => {
                write!(f, "the charge voltage of one cell must be from {from} to {to}; {asked} was asked for")
            }
            Self::FloatOfPrimary => {
                write!(f, "a primary cell has no charge voltage: never charge it; leave the charge voltage out")
            }
            Self::FloatUnknown { asked } => {
                write!(
                    f,
                    "nothing is known about a charge voltage of {asked} for this chemistry; give a table of the share stored"
                )
            }
            Self::OpenCircuitTable => {
                write!(
                    f,
                    "the open-circuit table must cover a state of charge from 0 to 1, lie above 0 V and never fall"
                )
            }
            Self::Factor { table } => write!(f, "{table} holds a value that is negative or 0"),
        }
    }
}

impl std::error::Error for CellFault {}

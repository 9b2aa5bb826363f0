//! The battery of a project: its chemistry's tables and the numbers that vary from cell to cell.

use crate::cell::Cell;
use crate::cell::chemistry::Chemistry;
use crate::cell::wear::STATED_AT;
use crate::parameters::{Input, ParameterSample};
use crate::source::spans::Span;
use crate::units::{Amps, Coulombs, Farads, Ohms, PerSecond, Ratio, Seconds, Volts};
use std::sync::Arc;

/// A battery.
#[derive(Clone, Debug)]
pub struct Battery {
    /// What it is, in plain words.
    pub note: String,
    /// Its chemistry.
    pub chemistry: Arc<Chemistry>,
    /// Cells in series.
    pub series: u32,
    /// Rated charge.
    pub capacity: Input<Coulombs>,
    /// Voltage per cell that it is charged to; `None` for a primary cell.
    pub float: Option<Volts>,
    /// Internal resistance of one cell when new, half full, at 25 °C.
    pub resistance: Input<Ohms>,
    /// Charge lost without any load.
    pub self_discharge: Input<PerSecond>,
    /// Capacity lost to age.
    pub ageing: Input<PerSecond>,
    /// Share kept back.
    pub reserve: Input<Ratio>,
    /// Given up after this time.
    pub shelf: Seconds,
    /// Longest rest before the first load.
    pub stored: Seconds,
    /// Current of its protection circuit.
    pub protection: Option<Input<Amps>>,
    /// The largest current that it may give.
    pub max_current: Option<Amps>,
    /// The capacitor beside it.
    pub capacitor: Option<Beside>,
}

/// A capacitor beside a battery.
#[derive(Clone, Debug)]
pub struct Beside {
    /// Capacitance.
    pub capacitance: Input<Farads>,
    /// Its series resistance (ESR).
    pub resistance: Input<Ohms>,
    /// Current that it takes for ever.
    pub leakage: Input<Amps>,
    /// The voltage that it stands; infinite where none is stated.
    pub rated: Volts,
    /// Its place in the project.
    pub span: Span,
}

impl Battery {
    /// The voltage at which energies are stated: open circuit, half full.
    pub fn nominal(&self) -> Volts {
        self.ocv(Ratio(0.5))
    }

    /// Open-circuit voltage of the battery at a state of charge.
    pub fn ocv(&self, state_of_charge: Ratio) -> Volts {
        self.chemistry.ocv.at_clamped(state_of_charge) * f64::from(self.series)
    }

    /// The cells of one device at an age.
    pub fn cell(&self, parameters: &ParameterSample, age: Seconds) -> Cell {
        let mut chemistry = self.chemistry.clone();
        let ageing = parameters.of(self.ageing);
        if chemistry.ageing != ageing {
            Arc::make_mut(&mut chemistry).ageing = ageing;
        }
        Cell {
            chemistry,
            series: self.series,
            capacity: parameters.of(self.capacity),
            resistance: parameters.of(self.resistance),
            resistance_factor: Ratio(1.0),
            self_discharge: parameters.of(self.self_discharge),
            float_voltage: self.float,
            age,
            kept_at: STATED_AT,
            swings: Arc::from([]),
            rate: 0.0,
            cycles: PerSecond(0.0),
            rest: Seconds(0.0),
            reserve: parameters.of(self.reserve),
        }
    }
}

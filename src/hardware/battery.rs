//! The battery of a project: its chemistry's tables and the numbers that vary from cell to cell.

use crate::design::hardware::ChemistrySpec;
use crate::inputs::Input;
use crate::units::{Coulombs, Ohms, PerSecond, Ratio, Seconds, Volts};

/// A battery.
#[derive(Clone, Debug)]
pub struct Battery {
    /// What it is, in plain words.
    pub note: String,
    /// Its chemistry.
    pub chemistry: ChemistrySpec,
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
}

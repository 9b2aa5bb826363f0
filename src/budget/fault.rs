//! Why a figure of the budget is unknown: each cause with its own words.

use crate::cell::CellFault;
use crate::cell::ageing::AgeingFault;
use crate::refresh::update::Mode;
use crate::units::Celsius;
use std::fmt;

/// Why there is no life, no usable charge or no supply voltage.
#[derive(Clone, Debug, PartialEq)]
pub enum BudgetFault {
    /// The cell or its load: a temperature outside a table, a battery that is all reserve, a load that cannot be.
    Battery(AgeingFault),
    /// The panel's waveform is not known at this temperature.
    Waveform {
        /// Which waveform.
        mode: Mode,
        /// The temperature of the usage.
        at: Celsius,
    },
}

impl fmt::Display for BudgetFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Battery(fault) => write!(f, "{fault}"),
            Self::Waveform { mode, at } => {
                write!(f, "the panel's {} waveform has no row for {at}, which the usage reaches", mode.name())
            }
        }
    }
}

impl std::error::Error for BudgetFault {}

impl From<CellFault> for BudgetFault {
    fn from(fault: CellFault) -> Self {
        Self::Battery(AgeingFault::Cell(fault))
    }
}

impl From<AgeingFault> for BudgetFault {
    fn from(fault: AgeingFault) -> Self {
        Self::Battery(fault)
    }
}

//! Which battery voltages a rail can be made from.

use super::rail::{OutOfRange, Rail, Regulator, Topology};
use crate::parameters::ParameterSample;
use crate::units::Volts;
use std::fmt;

/// Why a regulator cannot hold its output at an input voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Unfit {
    /// A linear regulator whose input is below output plus dropout.
    Dropout {
        /// Input voltage.
        input: Volts,
        /// The least it needs.
        needed: Volts,
    },
    /// An input below the stated minimum.
    BelowMinimum {
        /// Input voltage.
        input: Volts,
        /// The minimum.
        minimum: Volts,
    },
    /// An input above the stated maximum.
    AboveMaximum {
        /// Input voltage.
        input: Volts,
        /// The maximum.
        maximum: Volts,
    },
    /// A step-down regulator whose input is below its output.
    BuckBelowOutput {
        /// Input voltage.
        input: Volts,
        /// Output voltage.
        output: Volts,
    },
    /// A step-up regulator whose input is above its output.
    BoostAboveOutput {
        /// Input voltage.
        input: Volts,
        /// Output voltage.
        output: Volts,
    },
}

impl fmt::Display for Unfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Dropout { input, needed } => {
                write!(f, "the linear regulator needs {needed} and has {input}: it drops out")
            }
            Self::BelowMinimum { input, minimum } => {
                write!(f, "the regulator needs at least {minimum} at its input and has {input}")
            }
            Self::AboveMaximum { input, maximum } => {
                write!(f, "the regulator is rated for at most {maximum} at its input and has {input}")
            }
            Self::BuckBelowOutput { input, output } => {
                write!(f, "a step-down regulator cannot make {output} from {input}")
            }
            Self::BoostAboveOutput { input, output } => {
                write!(f, "a step-up regulator cannot hold {output} from {input}: its input must not exceed its output")
            }
        }
    }
}

impl Rail {
    /// Whether it works at an input voltage: holds its output, or follows the input where it is said to.
    ///
    /// # Errors
    /// The reason why it does not.
    pub fn fits(&self, parameters: &ParameterSample, input: Volts) -> Result<(), Unfit> {
        let (minimum, maximum) = (self.min_input, self.max_input);
        match &self.regulator {
            _ if self.out_of_range == OutOfRange::Follow && input >= minimum && input <= maximum => Ok(()),
            Regulator::Linear { output, dropout, .. } if input < *output + parameters.of(*dropout) => {
                Err(Unfit::Dropout { input, needed: *output + parameters.of(*dropout) })
            }
            Regulator::Switching { topology: Topology::Buck, output, .. } if input < *output => {
                Err(Unfit::BuckBelowOutput { input, output: *output })
            }
            Regulator::Switching { topology: Topology::Boost, output, .. } if input > *output => {
                Err(Unfit::BoostAboveOutput { input, output: *output })
            }
            _ if input < minimum => Err(Unfit::BelowMinimum { input, minimum }),
            _ if input > maximum => Err(Unfit::AboveMaximum { input, maximum }),
            _ => Ok(()),
        }
    }

    /// Least input voltage at which it works: the stated minimum, or what its kind needs to hold its output where it
    /// does not follow its input.
    pub fn least_input(&self, parameters: &ParameterSample) -> Volts {
        let needed = match &self.regulator {
            _ if self.out_of_range == OutOfRange::Follow => Volts(0.0),
            Regulator::Linear { output, dropout, .. } => *output + parameters.of(*dropout),
            Regulator::Switching { topology: Topology::Buck, output, .. } => *output,
            _ => Volts(0.0),
        };
        if needed > self.min_input { needed } else { self.min_input }
    }

    /// Largest input voltage at which it works; infinite where none is stated.
    pub fn most_input(&self) -> Volts {
        match &self.regulator {
            _ if self.out_of_range == OutOfRange::Follow => self.max_input,
            Regulator::Switching { topology: Topology::Boost, output, .. } if *output < self.max_input => *output,
            _ => self.max_input,
        }
    }
}

//! Regulators: from the current on a rail to the current at the battery's terminals.
//!
//! Linear: `I_bat = I_rail + I_q` while `V_bat >= V_rail + V_dropout`. Switching:
//! `I_bat = V_rail I_rail / (eta V_bat) + I_q`. Both are energy balances. Not for ripple, start-up surges or the
//! regulator's own current limit.

use crate::cell::curve::Table;
use crate::cell::peak::Pull;
use crate::cell::surface::Surface;
use crate::units::{Amps, Ratio, Volts, Watts};
use std::fmt;

/// Why a regulator cannot be, or cannot work at a point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SupplyFault {
    /// A value of the regulator is negative, not finite or out of order.
    Value {
        /// What is wrong.
        what: &'static str,
    },
    /// An efficiency that is 0 or less, or above 1.
    Efficiency {
        /// The efficiency.
        value: Ratio,
    },
    /// The efficiency table does not reach this point; refused, not guessed.
    EfficiencyUnknown {
        /// Current on the rail.
        rail: Amps,
        /// Input voltage.
        input: Volts,
    },
    /// A negative or non-finite current on the rail.
    Rail {
        /// The current.
        current: Amps,
    },
    /// A linear regulator whose input is below output plus dropout.
    Dropout {
        /// Input voltage.
        input: Volts,
        /// The least it needs.
        needed: Volts,
    },
    /// An input below the regulator's minimum.
    BelowMinimum {
        /// Input voltage.
        input: Volts,
        /// The minimum.
        minimum: Volts,
    },
    /// An input above the regulator's maximum.
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

impl fmt::Display for SupplyFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Value { what } => write!(f, "{what}"),
            Self::Efficiency { value } => write!(f, "an efficiency must be above 0 and at most 100 %; it is {value}"),
            Self::EfficiencyUnknown { rail, input } => {
                write!(
                    f,
                    "the efficiency table does not reach {rail} on the rail at {input}; add a row, it is not guessed"
                )
            }
            Self::Rail { current } => write!(f, "a current on a rail must be finite and not negative; it is {current}"),
            Self::Dropout { input, needed } => {
                write!(f, "the linear regulator needs {needed} and has {input}: it drops out")
            }
            Self::BelowMinimum { input, minimum } => {
                write!(f, "the regulator needs at least {minimum} at its input and has {input}")
            }
            Self::AboveMaximum { input, maximum } => {
                write!(f, "the regulator stands at most {maximum} at its input and has {input}")
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

impl std::error::Error for SupplyFault {}

/// Efficiency of a switching regulator, its quiescent current not included.
#[derive(Clone, Debug, PartialEq)]
pub enum Efficiency {
    /// The same everywhere.
    Fixed(Ratio),
    /// Over the output current.
    OverCurrent(Table<Amps, Ratio>),
    /// Over the output current and the input voltage.
    OverCurrentAndInput(Surface<Amps, Volts, Ratio>),
}

impl Efficiency {
    fn check(&self) -> Result<(), SupplyFault> {
        let wrong = |value: &Ratio| !(value.0 > 0.0 && value.0 <= 1.0);
        let found = match self {
            Self::Fixed(value) => Some(*value).filter(wrong),
            Self::OverCurrent(table) => table.rows().map(|row| row.1).find(wrong),
            Self::OverCurrentAndInput(surface) => surface.values().find(wrong),
        };
        found.map_or(Ok(()), |value| Err(SupplyFault::Efficiency { value }))
    }

    fn at(&self, rail: Amps, input: Volts) -> Result<Ratio, SupplyFault> {
        let known = match self {
            Self::Fixed(value) => Some(*value),
            Self::OverCurrent(table) => table.at(rail),
            Self::OverCurrentAndInput(surface) => surface.at(rail, input),
        };
        known.ok_or(SupplyFault::EfficiencyUnknown { rail, input })
    }
}

/// A linear regulator.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ldo {
    output: Volts,
    dropout: Volts,
    quiescent: Amps,
    max_input: Volts,
}

/// What a switching regulator can do with its input.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Topology {
    /// Steps down only.
    Buck,
    /// Steps up only.
    Boost,
    /// Both.
    BuckBoost,
}

/// A switching regulator.
#[derive(Clone, Debug, PartialEq)]
pub struct Switching {
    topology: Topology,
    output: Volts,
    efficiency: Efficiency,
    quiescent: Amps,
    min_input: Volts,
    max_input: Volts,
}

/// What makes a rail from the battery.
#[derive(Clone, Debug, PartialEq)]
pub enum Regulator {
    /// Nothing: the rail is the battery.
    Direct,
    /// A linear regulator.
    Ldo(Ldo),
    /// A switching regulator.
    Switching(Switching),
}

fn positive(value: f64) -> bool {
    value.is_finite() && value > 0.0
}

fn rule(holds: bool, what: &'static str) -> Result<(), SupplyFault> {
    if holds { Ok(()) } else { Err(SupplyFault::Value { what }) }
}

impl Regulator {
    /// A linear regulator; `max_input` may be infinite when it is not known.
    ///
    /// # Errors
    /// A value that is negative, not finite or out of order.
    pub fn ldo(output: Volts, dropout: Volts, quiescent: Amps, max_input: Volts) -> Result<Self, SupplyFault> {
        rule(positive(output.0), "the output voltage must be above 0")?;
        rule(dropout.0.is_finite() && dropout.0 >= 0.0, "the dropout must not be negative")?;
        rule(quiescent.0.is_finite() && quiescent.0 >= 0.0, "the quiescent current must not be negative")?;
        rule(max_input >= output + dropout, "the maximum input must not be below output plus dropout")?;
        Ok(Self::Ldo(Ldo { output, dropout, quiescent, max_input }))
    }

    /// A switching regulator; `max_input` may be infinite when it is not known.
    ///
    /// # Errors
    /// An efficiency that is 0 or less or above 1; a value that is negative, not finite or out of order.
    pub fn switching(
        topology: Topology,
        output: Volts,
        efficiency: Efficiency,
        quiescent: Amps,
        input: std::ops::RangeInclusive<Volts>,
    ) -> Result<Self, SupplyFault> {
        let (min_input, max_input) = input.into_inner();
        rule(positive(output.0), "the output voltage must be above 0")?;
        rule(quiescent.0.is_finite() && quiescent.0 >= 0.0, "the quiescent current must not be negative")?;
        rule(min_input.0.is_finite() && min_input.0 >= 0.0, "the minimum input must not be negative")?;
        rule(max_input >= min_input, "the maximum input must not be below the minimum input")?;
        efficiency.check()?;
        let made = Self::Switching(Switching { topology, output, efficiency, quiescent, min_input, max_input });
        let (low, high) = made.input_range();
        rule(
            low <= high,
            "no input voltage suits this regulator: its input range lies on the wrong side of its output",
        )?;
        Ok(made)
    }

    /// Voltage of the rail; `None` when it is the battery's own.
    pub fn output(&self) -> Option<Volts> {
        match self {
            Self::Direct => None,
            Self::Ldo(ldo) => Some(ldo.output),
            Self::Switching(switching) => Some(switching.output),
        }
    }

    /// Current that it draws from the battery for itself.
    pub fn quiescent(&self) -> Amps {
        match self {
            Self::Direct => Amps(0.0),
            Self::Ldo(ldo) => ldo.quiescent,
            Self::Switching(switching) => switching.quiescent,
        }
    }

    /// Lowest and highest input voltage at which it holds its output; the highest may be infinite.
    pub fn input_range(&self) -> (Volts, Volts) {
        let lower = |a: Volts, b: Volts| if a < b { a } else { b };
        let higher = |a: Volts, b: Volts| if a > b { a } else { b };
        match self {
            Self::Direct => (Volts(0.0), Volts(f64::INFINITY)),
            Self::Ldo(ldo) => (ldo.output + ldo.dropout, ldo.max_input),
            Self::Switching(s) => match s.topology {
                Topology::Buck => (higher(s.min_input, s.output), s.max_input),
                Topology::Boost => (s.min_input, lower(s.max_input, s.output)),
                Topology::BuckBoost => (s.min_input, s.max_input),
            },
        }
    }

    /// Whether it holds its output at this input.
    ///
    /// # Errors
    /// The reason why it does not.
    pub fn accepts(&self, input: Volts) -> Result<(), SupplyFault> {
        if !positive(input.0) {
            return Err(SupplyFault::BelowMinimum { input, minimum: self.input_range().0 });
        }
        match self {
            Self::Direct => Ok(()),
            Self::Ldo(ldo) => {
                let needed = ldo.output + ldo.dropout;
                if input < needed {
                    return Err(SupplyFault::Dropout { input, needed });
                }
                below(input, ldo.max_input)
            }
            Self::Switching(switching) => switching.accepts(input),
        }
    }

    /// Whether it works from a battery over all voltages from its lowest (empty, cold, aged, under the peak) to its
    /// highest (fresh or floating). The lowest is looked at first.
    ///
    /// # Errors
    /// The reason why it does not.
    pub fn accepts_all(&self, lowest: Volts, highest: Volts) -> Result<(), SupplyFault> {
        self.accepts(lowest)?;
        self.accepts(highest)
    }

    /// What it draws at the battery's terminals for a current on the rail: a constant current for a linear regulator,
    /// a constant power beside the quiescent current for a switching one (its efficiency taken at `v_bat`).
    ///
    /// # Errors
    /// An input at which it does not work, a negative current, a point outside the efficiency table.
    pub fn pull(&self, rail: Amps, v_bat: Volts) -> Result<Pull, SupplyFault> {
        if !rail.0.is_finite() || rail.0 < 0.0 {
            return Err(SupplyFault::Rail { current: rail });
        }
        self.accepts(v_bat)?;
        match self {
            Self::Direct => Ok(Pull::current(rail)),
            Self::Ldo(ldo) => Ok(Pull::current(rail + ldo.quiescent)),
            // Without a load the efficiency means nothing, and tables do not begin at 0.
            Self::Switching(s) if rail.0 == 0.0 => Ok(Pull::current(s.quiescent)),
            Self::Switching(s) => {
                let power = s.output * rail / s.efficiency.at(rail, v_bat)?.0;
                Ok(Pull { current: s.quiescent, power })
            }
        }
    }

    /// Current at the battery's terminals for a current on the rail.
    ///
    /// # Errors
    /// As [`Regulator::pull`].
    pub fn battery_current(&self, rail: Amps, v_bat: Volts) -> Result<Amps, SupplyFault> {
        Ok(self.pull(rail, v_bat)?.at(v_bat))
    }

    /// Power lost in the regulator: what goes in less what comes out.
    ///
    /// # Errors
    /// As [`Regulator::pull`].
    pub fn loss(&self, rail: Amps, v_bat: Volts) -> Result<Watts, SupplyFault> {
        let output = self.output().unwrap_or(v_bat);
        Ok(v_bat * self.battery_current(rail, v_bat)? - output * rail)
    }
}

fn below(input: Volts, maximum: Volts) -> Result<(), SupplyFault> {
    if input > maximum { Err(SupplyFault::AboveMaximum { input, maximum }) } else { Ok(()) }
}

impl Switching {
    fn accepts(&self, input: Volts) -> Result<(), SupplyFault> {
        let output = self.output;
        if input < self.min_input {
            return Err(SupplyFault::BelowMinimum { input, minimum: self.min_input });
        }
        below(input, self.max_input)?;
        match self.topology {
            Topology::Buck if input < output => Err(SupplyFault::BuckBelowOutput { input, output }),
            Topology::Boost if input > output => Err(SupplyFault::BoostAboveOutput { input, output }),
            _ => Ok(()),
        }
    }
}

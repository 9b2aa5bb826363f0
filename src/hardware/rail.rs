//! Supply rails: what a current on a rail takes from the battery.
//!
//! A linear regulator passes the current through: `I_bat = I_rail`. A switching one passes the power through:
//! `P_bat = V_rail I_rail / eta(I_rail)`. Both take their quiescent current at all times. A [`Pull`] keeps the two
//! kinds of draw apart, since only the second depends on the battery's voltage.

use crate::cell::peak::Pull;
use crate::inputs::{Input, Point};
use crate::units::{Amps, Coulombs, Joules, Ratio, Seconds, Volts, Watts};

/// The position of a rail in [`super::board::Board::rails`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RailId(pub usize);

/// A rail and its regulator.
#[derive(Clone, Debug)]
pub struct Rail {
    /// Its name.
    pub name: String,
    /// What makes it from the battery.
    pub regulator: Regulator,
    /// Least battery voltage at which it works; 0 V for a direct rail without a stated minimum.
    pub min_input: Volts,
    /// Largest battery voltage it stands.
    pub max_input: Volts,
}

/// What makes a rail.
#[derive(Clone, Debug)]
pub enum Regulator {
    /// The battery itself.
    Direct,
    /// A linear regulator.
    Linear {
        /// Output voltage.
        output: Volts,
        /// Least difference between input and output.
        dropout: Input<Volts>,
        /// Its own current.
        quiescent: Input<Amps>,
    },
    /// A switching regulator.
    Switching {
        /// Output voltage.
        output: Volts,
        /// Its own current.
        quiescent: Input<Amps>,
        /// Efficiency over output current, smallest current first.
        efficiency: Vec<(Amps, Input<Ratio>)>,
    },
}

/// What was taken from the battery over some time, kept apart as in [`Pull`].
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Draw {
    /// Charge taken as a current.
    pub charge: Coulombs,
    /// Energy taken as a power.
    pub energy: Joules,
}

impl Draw {
    /// A pull that lasts.
    pub fn of(pull: Pull, time: Seconds) -> Self {
        Self { charge: pull.current * time, energy: pull.power * time }
    }

    /// Energy at a battery voltage.
    pub fn energy_at(self, voltage: Volts) -> Joules {
        self.charge * voltage + self.energy
    }

    /// Charge at a battery voltage.
    pub fn charge_at(self, voltage: Volts) -> Coulombs {
        self.charge + self.energy / voltage
    }

    /// The mean draw when this much is taken in a time.
    pub fn per(self, time: Seconds) -> Pull {
        Pull { current: self.charge / time, power: self.energy / time }
    }
}

impl std::ops::Add for Draw {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { charge: self.charge + other.charge, energy: self.energy + other.energy }
    }
}

impl std::ops::Mul<f64> for Draw {
    type Output = Self;
    fn mul(self, by: f64) -> Self {
        Self { charge: self.charge * by, energy: self.energy * by }
    }
}

impl std::iter::Sum for Draw {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::default(), std::ops::Add::add)
    }
}

impl Rail {
    /// What a current on the rail takes from the battery, the quiescent current left out.
    pub fn pull(&self, point: &Point, current: Amps) -> Pull {
        match &self.regulator {
            Regulator::Direct | Regulator::Linear { .. } => Pull { current, power: Watts(0.0) },
            Regulator::Switching { output, .. } => {
                let efficiency = self.efficiency(point, current);
                Pull { current: Amps(0.0), power: *output * current / efficiency.0 }
            }
        }
    }

    /// What the regulator itself takes.
    pub fn own(&self, point: &Point) -> Pull {
        let current = match self.regulator {
            Regulator::Direct => Amps(0.0),
            Regulator::Linear { quiescent, .. } | Regulator::Switching { quiescent, .. } => point.of(quiescent),
        };
        Pull { current, power: Watts(0.0) }
    }

    /// Output voltage; `None` where the rail is the battery itself.
    pub fn output(&self) -> Option<Volts> {
        match self.regulator {
            Regulator::Direct => None,
            Regulator::Linear { output, .. } | Regulator::Switching { output, .. } => Some(output),
        }
    }

    /// Efficiency at an output current: linear between the table's rows, its end values beyond; 1 when not switching.
    pub fn efficiency(&self, point: &Point, current: Amps) -> Ratio {
        let Regulator::Switching { efficiency, .. } = &self.regulator else { return Ratio(1.0) };
        let above = efficiency.partition_point(|(at, _)| *at < current);
        let value = |row: usize| point.of(efficiency[row].1).0;
        let share = match above {
            0 => value(0),
            n if n == efficiency.len() => value(n - 1),
            n => {
                let (low, high) = (efficiency[n - 1].0, efficiency[n].0);
                let part = (current - low) / (high - low);
                value(n - 1) * (1.0 - part) + value(n) * part
            }
        };
        Ratio(share.clamp(0.01, 1.0))
    }

    /// Least battery voltage at which the rail holds its output.
    pub fn least_input(&self, point: &Point) -> Volts {
        match self.regulator {
            Regulator::Linear { output, dropout, .. } => {
                let needed = output + point.of(dropout);
                if needed > self.min_input { needed } else { self.min_input }
            }
            _ => self.min_input,
        }
    }
}

//! Supply rails: what a current on a rail takes from the battery.
//!
//! A linear regulator passes the current through: `I_bat = I_rail`. A switching one passes the power through:
//! `P_bat = V_rail I_rail / eta(I_rail, V_bat)`, where `I_rail` is everything that flows on the rail at once. Both are
//! energy balances; both take their quiescent current at all times. A [`Pull`] keeps the two kinds of draw apart, since
//! only the second depends on the battery's voltage. Not for ripple, start-up or the regulator's own current limit.

use super::efficiency::Efficiency;
use crate::cell::peak::Pull;
use crate::parameters::{Input, Point};
use crate::source::spans::Span;
use crate::units::{Amps, Coulombs, Joules, Seconds, Volts, Watts};
use std::ops::Range;

/// The position of a rail in [`super::board::Board::rails`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RailId(pub usize);

/// A rail and its regulator.
#[derive(Clone, Debug)]
pub struct Rail {
    /// Its name.
    pub name: String,
    /// Its place in the project.
    pub span: Span,
    /// What makes it from the battery.
    pub regulator: Regulator,
    /// Least battery voltage that is stated; 0 V where none is. What the kind of regulator needs may lie above it.
    pub min_input: Volts,
    /// Largest battery voltage that is stated; infinite where none is.
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
        /// Whether it steps down, up or both ways.
        topology: Topology,
        /// Output voltage.
        output: Volts,
        /// Its own current.
        quiescent: Input<Amps>,
        /// What reaches the rail.
        efficiency: Efficiency,
    },
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
    /// What it takes from the battery at a voltage more, the quiescent current left out, when the current on it rises
    /// from one value to another. From 0 A it is what the current takes alone.
    pub fn pull(&self, point: &Point, rise: Range<Amps>, input: Volts) -> Pull {
        match &self.regulator {
            Regulator::Direct | Regulator::Linear { .. } => Pull::current(rise.end - rise.start),
            Regulator::Switching { output, efficiency, .. } => {
                let power = |current: Amps| match current.0 == 0.0 {
                    true => Watts(0.0),
                    false => *output * current / efficiency.at(point, current, input).0,
                };
                Pull::power(power(rise.end) - power(rise.start))
            }
        }
    }

    /// What the regulator itself takes.
    pub fn own(&self, point: &Point) -> Pull {
        Pull::current(match self.regulator {
            Regulator::Direct => Amps(0.0),
            Regulator::Linear { quiescent, .. } | Regulator::Switching { quiescent, .. } => point.of(quiescent),
        })
    }

    /// Output voltage; `None` where the rail is the battery itself.
    pub fn output(&self) -> Option<Volts> {
        match self.regulator {
            Regulator::Direct => None,
            Regulator::Linear { output, .. } | Regulator::Switching { output, .. } => Some(output),
        }
    }

    /// Whether what it takes depends on the battery's voltage otherwise than as a current or a power.
    pub fn follows_input(&self) -> bool {
        matches!(self.regulator, Regulator::Switching { efficiency: Efficiency::OverInput(_), .. })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parameters::Inputs;
    use crate::units::Ratio;

    /// The efficiency is that at the whole current of the rail, not at each load's own: by hand, 3 V at 2 uA and 40 %
    /// takes 15 uW, at 10 uA and 60 % 50 uW; what 8 uA take beside 2 uA is the difference.
    #[test]
    fn what_flows_already_counts_for_the_efficiency() {
        let mut inputs = Inputs::default();
        let row = |inputs: &mut Inputs, at, share| (Amps(at), inputs.enter("e", [Ratio(share); 3], None));
        let rows = vec![row(&mut inputs, 2e-6, 0.4), row(&mut inputs, 10e-6, 0.6)];
        let quiescent = inputs.enter("q", [Amps(1e-6); 3], None);
        let efficiency = Efficiency::OverCurrent(rows);
        let regulator =
            Regulator::Switching { topology: Topology::BuckBoost, output: Volts(3.0), quiescent, efficiency };
        let rail = Rail { name: "r".into(), span: 0..0, regulator, min_input: Volts(2.0), max_input: Volts(5.0) };
        let point = inputs.typical();
        let power = |from: f64, to: f64| rail.pull(&point, Amps(from)..Amps(to), Volts(4.0)).power.0;
        let close = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-15, "{found} W for {expected}");
        close(power(0.0, 2e-6), 15e-6);
        close(power(0.0, 10e-6), 50e-6);
        close(power(2e-6, 10e-6), 35e-6);
        close(power(0.0, 0.0), 0.0);
    }
}

//! Supply rails: what a current on a rail takes from the battery.
//!
//! A linear regulator passes the current through: `I_bat = I_rail`. A switching one passes the power through:
//! `P_bat = V_rail I_rail / eta(I_rail, V_bat)`. Both take their quiescent current at all times. A [`Pull`] keeps the two
//! kinds of draw apart, since only the second depends on the battery's voltage.

use crate::cell::curve::{mix, place_by};
use crate::cell::peak::Pull;
use crate::inputs::{Input, Point};
use crate::supply::{self, Efficiency, SupplyFault, Topology};
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
    /// Efficiency at several input voltages, lowest first; empty where it is known over the output current only.
    pub over_input: Vec<(Volts, EfficiencyRows)>,
    /// The battery voltage at which [`Rail::pull`] takes the efficiency.
    pub nominal: Volts,
}

/// Efficiency over output current, smallest current first.
pub type EfficiencyRows = Vec<(Amps, Input<Ratio>)>;

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
        /// Its efficiency; of several input voltages that nearest to the nominal one.
        efficiency: EfficiencyRows,
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
    /// Takes the efficiency at a battery voltage from now on, where it is known over the input voltage.
    pub fn settle(&mut self, nominal: Volts) {
        self.nominal = nominal;
        let apart = |volts: Volts| (volts.0 - nominal.0).abs();
        let nearest = self.over_input.iter().min_by(|a, b| apart(a.0).total_cmp(&apart(b.0)));
        if let (Some((_, rows)), Regulator::Switching { efficiency, .. }) = (nearest, &mut self.regulator) {
            efficiency.clone_from(rows);
        }
    }

    /// What a current on the rail takes from the battery at its nominal voltage, the quiescent current left out.
    pub fn pull(&self, point: &Point, current: Amps) -> Pull {
        self.pull_at(point, current, self.nominal)
    }

    /// What a current on the rail takes from the battery at a voltage, the quiescent current left out.
    pub fn pull_at(&self, point: &Point, current: Amps, input: Volts) -> Pull {
        match &self.regulator {
            Regulator::Direct | Regulator::Linear { .. } => Pull { current, power: Watts(0.0) },
            Regulator::Switching { output, .. } => {
                let efficiency = self.efficiency_at(point, current, input);
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

    /// Efficiency at an output current and the nominal input: linear between the table's rows, its end values beyond; 1
    /// when not switching.
    pub fn efficiency(&self, point: &Point, current: Amps) -> Ratio {
        self.efficiency_at(point, current, self.nominal)
    }

    /// Efficiency at an output current and an input voltage.
    fn efficiency_at(&self, point: &Point, current: Amps, input: Volts) -> Ratio {
        let Regulator::Switching { efficiency, .. } = &self.regulator else { return Ratio(1.0) };
        let share = match self.over_input.len() {
            0 => over_current(efficiency, point, current),
            columns => {
                let (below, along) = place_by(columns, |column| self.over_input[column].0.0, input.0);
                let of = |column: usize| over_current(&self.over_input[column.min(columns - 1)].1, point, current);
                mix(of(below), of(below + 1), along)
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

    /// The regulator as [`supply`] knows it, for the question which inputs suit it; its efficiency is left out.
    ///
    /// # Errors
    /// A value that no regulator can have.
    pub fn physical(&self, point: &Point) -> Result<supply::Regulator, SupplyFault> {
        match self.regulator {
            Regulator::Direct => Ok(supply::Regulator::Direct),
            Regulator::Linear { output, dropout, quiescent } => {
                // A stated least input counts like a larger dropout.
                let (dropout, stated) = (point.of(dropout), self.min_input - output);
                let dropout = if stated > dropout { stated } else { dropout };
                supply::Regulator::ldo(output, dropout, point.of(quiescent), self.max_input)
            }
            Regulator::Switching { topology, output, quiescent, .. } => {
                // Where the output alone is the bound, the regulator says so itself.
                let bound = |of: Topology, limit: Volts, none: Volts| {
                    if topology == of && limit == output { none } else { limit }
                };
                let least = bound(Topology::Buck, self.min_input, Volts(0.0));
                let most = bound(Topology::Boost, self.max_input, Volts(f64::INFINITY));
                let any = Efficiency::Fixed(Ratio(1.0));
                supply::Regulator::switching(topology, output, any, point.of(quiescent), least..=most)
            }
        }
    }

    /// Whether a battery voltage lies within the limits stated for the rail.
    ///
    /// # Errors
    /// The limit that it passes.
    pub fn stands(&self, input: Volts) -> Result<(), SupplyFault> {
        match input {
            _ if input < self.min_input => Err(SupplyFault::BelowMinimum { input, minimum: self.min_input }),
            _ if input > self.max_input => Err(SupplyFault::AboveMaximum { input, maximum: self.max_input }),
            _ => Ok(()),
        }
    }
}

/// The share at an output current, linear between the rows, the end values beyond.
fn over_current(rows: &[(Amps, Input<Ratio>)], point: &Point, current: Amps) -> f64 {
    let (below, along) = place_by(rows.len(), |row| rows[row].0.0, current.0);
    let value = |row: usize| point.of(rows[row.min(rows.len() - 1)].1).0;
    mix(value(below), value(below + 1), along)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inputs::Inputs;

    #[test]
    fn efficiency_is_bilinear_over_current_and_input() {
        let mut inputs = Inputs::default();
        let mut rows = |shares: [f64; 2]| -> EfficiencyRows {
            let enter = |share: f64| inputs.enter("e", [Ratio(share); 3], None);
            [Amps(0.001), Amps(0.011)].into_iter().zip(shares.map(enter)).collect()
        };
        let over_input = vec![(Volts(2.0), rows([0.6, 0.8])), (Volts(4.0), rows([0.8, 0.9]))];
        let mut rail = Rail {
            name: "r".into(),
            regulator: Regulator::Switching {
                topology: Topology::BuckBoost,
                output: Volts(3.0),
                quiescent: inputs.enter("q", [Amps(0.0); 3], None),
                efficiency: over_input[0].1.clone(),
            },
            min_input: Volts(2.0),
            max_input: Volts(5.0),
            over_input,
            nominal: Volts(0.0),
        };
        rail.settle(Volts(3.0));
        let point = inputs.typical();
        // By hand: halfway between the currents 70 % and 85 %, halfway between the inputs 77.5 %.
        assert!((rail.efficiency(&point, Amps(0.006)).0 - 0.775).abs() < 1e-12);
        // At 2 V, and below the table: 70 %. The power is 3 V x 6 mA / 0.7.
        for volts in [2.0, 1.0] {
            let pull = rail.pull_at(&point, Amps(0.006), Volts(volts));
            assert!((pull.power.0 - 0.018 / 0.7).abs() < 1e-12);
        }
        assert!((rail.pull_at(&point, Amps(0.1), Volts(9.0)).power.0 - 0.3 / 0.9).abs() < 1e-12);
    }
}

//! Supply rails: what a current on a rail takes from whatever feeds it.
//!
//! A linear regulator passes the current through: `I_in = I_rail`, and so does a load switch. A switching one passes the
//! power through: `P_in = V_rail I_rail / eta(I_rail, V_in)`, where `I_rail` is everything that flows on the rail at
//! once. Both are energy balances; a regulator takes its quiescent current as long as it is on. A [`LoadCurrent`] keeps the two
//! kinds of draw apart, since only the second depends on the battery's voltage. Rails fed by rails are put together in
//! [`super::tree`]. Not for ripple.

use super::efficiency::Efficiency;
use crate::cell::peak::{LoadCurrent, terminal};
use crate::parameters::{Input, ParameterSample};
use crate::source::spans::Span;
use crate::units::{Amps, Coulombs, Farads, Joules, Ohms, Seconds, Volts, Watts};
use schemars::JsonSchema;
use serde::Deserialize;

/// The position of a rail in [`super::board::Board::rails`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RailId(pub usize);

/// Voltage of a USB supply at the device (USB 2.0 specification, 7.2.2: 4.75 to 5.25 V at the port; the middle taken).
pub const USB: Volts = Volts(5.0);

/// A rail and its regulator.
#[derive(Clone, Debug)]
pub struct Rail {
    /// Its name.
    pub name: String,
    /// Its place in the project.
    pub span: Span,
    /// What feeds it.
    pub source: Source,
    /// What makes it from that.
    pub regulator: Regulator,
    /// When it is on.
    pub enabled: Enabled,
    /// Its regulator's own current while off.
    pub off: Option<Input<Amps>>,
    /// What switching it on takes.
    pub start_up: Option<StartUp>,
    /// The largest current that it gives.
    pub limit: Option<Input<Amps>>,
    /// What it does where it cannot hold its output.
    pub out_of_range: OutOfRange,
    /// Minimum input voltage that is stated; 0 V where none is. What the kind of regulator needs may lie above it.
    pub min_input: Volts,
    /// Largest input voltage that is stated; infinite where none is.
    pub max_input: Volts,
}

/// The supply voltages at which a consumer works.
#[derive(Clone, Debug, PartialEq)]
pub struct Window {
    /// The minimum; 0 V where none is stated.
    pub min: Volts,
    /// The largest; infinite where none is stated.
    pub max: Volts,
    /// Where it is stated.
    pub span: Span,
}

/// What feeds a rail.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// The battery.
    Battery,
    /// A USB supply: there only while the device is at its charger.
    Usb,
    /// Another rail, at an earlier position.
    Rail(RailId),
}

/// When a rail is on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Enabled {
    /// Always.
    #[default]
    Always,
    /// Only while something on it works: an update of the panel, the external memory in use, a pulse, an event.
    WhileUsed,
}

/// Where a regulator cannot hold its output: an LDO below its dropout, a buck below and a boost above its output.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum OutOfRange {
    /// It stops: what is on the rail no longer works.
    #[default]
    Stop,
    /// The output follows the input: an LDO passes its input less the dropout, a buck and a boost pass it on.
    Follow,
}

/// What switching a rail on takes.
#[derive(Clone, Copy, Debug)]
pub struct StartUp {
    /// Until the output is up.
    pub time: Input<Seconds>,
    /// The capacitor at its output, empty whenever the rail is switched on. Its charge `C V` flows at the rail's full
    /// voltage: `C V^2`, of which half stays in the capacitor.
    pub capacitor: Option<Input<Farads>>,
}

/// What makes a rail.
#[derive(Clone, Debug)]
pub enum Regulator {
    /// What feeds it, as it is.
    Direct,
    /// A load switch.
    Switch {
        /// Resistance while on.
        resistance: Input<Ohms>,
        /// Its own current.
        quiescent: Input<Amps>,
    },
    /// A linear regulator.
    Linear {
        /// Output voltage.
        output: Volts,
        /// Minimum difference between input and output.
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
        /// The efficiencies count the quiescent current among the losses, as curves of data sheets do.
        includes_quiescent: bool,
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

/// What was taken from the battery over some time, kept apart as in [`LoadCurrent`].
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Draw {
    /// Charge taken as a current.
    pub charge: Coulombs,
    /// Energy taken as a power.
    pub energy: Joules,
}

impl Draw {
    /// A load that lasts.
    pub fn of(load_current: LoadCurrent, time: Seconds) -> Self {
        Self { charge: load_current.current * time, energy: load_current.power * time }
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
    pub fn per(self, time: Seconds) -> LoadCurrent {
        LoadCurrent { current: self.charge / time, power: self.energy / time }
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
    /// What its input gives, the regulator's own current left out, while this is drawn at its output.
    pub fn taken(&self, parameters: &ParameterSample, demand: LoadCurrent, input: Volts, output: Volts) -> LoadCurrent {
        match &self.regulator {
            Regulator::Direct => demand,
            Regulator::Linear { .. } | Regulator::Switch { .. } if demand.power.0 == 0.0 => demand,
            // A rail without voltage carries nothing.
            _ if output.0 <= 0.0 => LoadCurrent::default(),
            Regulator::Linear { .. } => LoadCurrent::current(demand.at(output)),
            // The current of a power at the output, as a power at the input.
            Regulator::Switch { .. } => LoadCurrent { power: demand.power * (input / output), ..demand },
            Regulator::Switching { efficiency, quiescent, includes_quiescent, .. } => {
                let current = demand.at(output);
                if current.0 == 0.0 {
                    return LoadCurrent::default();
                }
                let power = |current: Amps| output * current / efficiency.at(parameters, current, input).0;
                if !includes_quiescent {
                    return LoadCurrent::power(power(current));
                }
                // Below the table's first row the losses fall in a straight line to the quiescent current alone.
                let own = input * parameters.of(*quiescent);
                let beyond = |current: Amps| Watts((power(current) - own).0.max(0.0));
                let first = efficiency.first(input);
                LoadCurrent::power(if current < first { beyond(first) * (current / first) } else { beyond(current) })
            }
        }
    }

    /// Gives what [`Rail::taken`] is at each of several pairs of input and output voltage, one after the other.
    pub fn taken_at_each(
        &self,
        parameters: &ParameterSample,
        demand: LoadCurrent,
        volts: impl Iterator<Item = (Volts, Volts)> + Clone,
        mut give: impl FnMut(LoadCurrent),
    ) {
        if let Regulator::Switching { efficiency, output, includes_quiescent: false, .. } = &self.regulator {
            let current = demand.at(*output);
            if current.0 != 0.0 && volts.clone().all(|(_, held)| held == *output) {
                let power = *output * current;
                let inputs = volts.map(|(input, _)| input);
                return efficiency
                    .at_each(parameters, current, inputs, |share| give(LoadCurrent::power(power / share.0)));
            }
        }
        volts.for_each(|(input, output)| give(self.taken(parameters, demand, input, output)));
    }

    /// Its output voltage at an input voltage while this is drawn. A rail that stops where it cannot hold its output
    /// counts as if it held: what is needed on it ends the device's life there.
    pub fn voltage(&self, parameters: &ParameterSample, demand: LoadCurrent, input: Volts) -> Volts {
        let follows = self.out_of_range == OutOfRange::Follow;
        match &self.regulator {
            Regulator::Direct => input,
            Regulator::Switch { resistance, .. } => {
                terminal(input, parameters.of(*resistance), demand).volts().unwrap_or_default()
            }
            Regulator::Linear { output, dropout, .. } => {
                let most = input - parameters.of(*dropout);
                if follows && most < *output { Volts(most.0.max(0.0)) } else { *output }
            }
            Regulator::Switching { topology, output, .. } => {
                let passes = match topology {
                    Topology::Buck => input < *output,
                    Topology::Boost => input > *output,
                    Topology::BuckBoost => false,
                };
                if follows && passes { input } else { *output }
            }
        }
    }

    /// The input voltage at which it begins to follow its input, where it does.
    pub fn bend(&self, parameters: &ParameterSample) -> Option<Volts> {
        match &self.regulator {
            _ if self.out_of_range == OutOfRange::Stop => None,
            Regulator::Linear { output, dropout, .. } => Some(*output + parameters.of(*dropout)),
            Regulator::Switching { output, .. } => Some(*output),
            Regulator::Direct | Regulator::Switch { .. } => None,
        }
    }

    /// What the regulator itself takes while it is on.
    pub fn own(&self, parameters: &ParameterSample) -> LoadCurrent {
        LoadCurrent::current(match self.regulator {
            Regulator::Direct => Amps(0.0),
            Regulator::Switch { quiescent, .. }
            | Regulator::Linear { quiescent, .. }
            | Regulator::Switching { quiescent, .. } => parameters.of(quiescent),
        })
    }

    /// Output voltage that it holds; `None` where that is its input's.
    pub fn output(&self) -> Option<Volts> {
        match self.regulator {
            Regulator::Direct | Regulator::Switch { .. } => None,
            Regulator::Linear { output, .. } | Regulator::Switching { output, .. } => Some(output),
        }
    }

    /// The input voltages at which its efficiencies are stated, lowest first; none where they are the same at all.
    pub fn columns(&self) -> impl Iterator<Item = Volts> {
        let columns: &[_] = match &self.regulator {
            Regulator::Switching { efficiency: Efficiency::OverInput(columns), .. } => columns,
            _ => &[],
        };
        columns.iter().map(|column| column.0)
    }

    /// Whether what it takes depends on its input's voltage otherwise than as a current or a power.
    pub fn follows_input(&self) -> bool {
        self.columns().next().is_some() || self.out_of_range == OutOfRange::Follow
    }

    /// Whether it takes the same current and the same power at every voltage of its input.
    pub fn steady(&self) -> bool {
        match &self.regulator {
            Regulator::Direct => true,
            Regulator::Switch { .. } => false,
            Regulator::Linear { .. } => self.out_of_range == OutOfRange::Stop,
            Regulator::Switching { includes_quiescent, .. } => !includes_quiescent && !self.follows_input(),
        }
    }

    /// A rail that is always on, fed by the battery at any voltage; no limits stated.
    pub fn of_battery(name: &str, regulator: Regulator) -> Self {
        Self {
            name: name.to_owned(),
            span: 0..0,
            source: Source::Battery,
            regulator,
            enabled: Enabled::Always,
            off: None,
            start_up: None,
            limit: None,
            out_of_range: OutOfRange::Stop,
            min_input: Volts(0.0),
            max_input: Volts(f64::INFINITY),
        }
    }

    /// Whether its voltage depends on its current.
    pub fn sags(&self) -> bool {
        matches!(self.regulator, Regulator::Switch { .. })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::efficiency::EfficiencyRow;
    use crate::parameters::Inputs;
    use crate::units::Ratio;

    /// The efficiency is that at the whole current of the rail, not at each load's own: by hand, 3 V at 2 uA and 40 %
    /// takes 15 uW, at 10 uA and 60 % 50 uW; what 8 uA take beside 2 uA is the difference.
    #[test]
    fn what_flows_already_counts_for_the_efficiency() {
        let mut inputs = Inputs::default();
        let row =
            |inputs: &mut Inputs, at, share| EfficiencyRow::new(Amps(at), inputs.enter("e", [Ratio(share); 3], None));
        let rows = vec![row(&mut inputs, 2e-6, 0.4), row(&mut inputs, 10e-6, 0.6)];
        let quiescent = inputs.enter("q", [Amps(1e-6); 3], None);
        let efficiency = Efficiency::OverCurrent(rows);
        let topology = Topology::BuckBoost;
        let rail = |includes_quiescent| {
            let (output, efficiency) = (Volts(3.0), efficiency.clone());
            let regulator = Regulator::Switching { topology, output, quiescent, efficiency, includes_quiescent };
            Rail::of_battery("r", regulator)
        };
        let parameters = inputs.typical();
        let close = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-15, "{found} W for {expected}");
        let taken = |rail: &Rail, current: f64| {
            rail.taken(&parameters, LoadCurrent::current(Amps(current)), Volts(4.0), Volts(3.0)).power.0
        };
        let beside = rail(false);
        close(taken(&beside, 2e-6), 15e-6);
        close(taken(&beside, 10e-6), 50e-6);
        close(taken(&beside, 0.0), 0.0);
        // With the quiescent 1 uA at 4 V in the table, 4 uW of what the table tells are the regulator's own. At half of
        // the first row's current half of the other losses are left.
        let within = rail(true);
        close(taken(&within, 2e-6), 11e-6);
        close(taken(&within, 10e-6), 46e-6);
        close(taken(&within, 1e-6), 5.5e-6);
    }
}

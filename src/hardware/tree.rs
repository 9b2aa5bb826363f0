//! The power tree: rails fed by the battery, a USB supply or other rails, put together.
//!
//! Voltages go down the tree from the source, currents and powers up from the loads. At every node what comes in is what
//! goes out and what is lost there, so that what leaves the battery is all loads and all losses. Not for which loads
//! there are: see [`crate::cost::supply`].

use super::rail::{Enabled, Rail, RailId, Source, USB};
use crate::cell::peak::LoadCurrent;
use crate::parameters::ParameterSample;
use crate::units::{Volts, Watts};

/// Which rails are switched on beside those that always are: a bit for each position.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct On(u64);

impl On {
    /// None.
    pub const NONE: Self = Self(0);

    /// All of them.
    pub const ALL: Self = Self(u64::MAX);

    /// With a rail, and everything that feeds it.
    pub fn with(self, rails: &[Rail], rail: RailId) -> Self {
        let on = Self(self.0 | 1 << rail.0);
        match rails[rail.0].source {
            Source::Rail(above) => on.with(rails, above),
            Source::Battery | Source::Usb => on,
        }
    }

    /// Those of both.
    pub fn and(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Whether a rail is among them.
    pub fn has(self, rail: usize) -> bool {
        self.0 >> rail & 1 == 1
    }
}

/// One rail of the tree.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Node {
    /// Whether it is on.
    pub on: bool,
    /// Voltage of what feeds it.
    pub input: Volts,
    /// Its own voltage.
    pub output: Volts,
    /// What is drawn at its output: its loads and the rails that it feeds.
    pub demand: LoadCurrent,
    /// What its input gives for that.
    pub taken: LoadCurrent,
    /// What its regulator takes for itself, on or off.
    pub own: LoadCurrent,
}

impl Node {
    /// What is lost in it.
    pub fn loss(&self) -> Watts {
        let power = |load_current: LoadCurrent, volts: Volts| volts * load_current.current + load_current.power;
        power(self.taken + self.own, self.input) - power(self.demand, self.output)
    }
}

/// A tree under its loads.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Flow {
    /// Its rails.
    pub nodes: Vec<Node>,
    /// What leaves the battery.
    pub battery: LoadCurrent,
}

/// The rails of one device at one battery voltage. A rail stands behind what feeds it.
#[derive(Clone, Copy, Debug)]
pub struct Tree<'a> {
    /// The rails.
    pub rails: &'a [Rail],
    /// The device.
    pub parameters: &'a ParameterSample,
    /// The battery's voltage.
    pub battery: Volts,
}

/// Rounds until voltages behind load switches, which depend on their currents, stay; each is a fraction of the last.
const ROUNDS: usize = 60;
/// A change of voltage that no longer counts.
const STILL: f64 = 1e-13;

impl Tree<'_> {
    /// What flows with loads on the rails, of which those on a rail that is off draw nothing.
    pub fn flow(&self, loads: &[LoadCurrent], on: On) -> Flow {
        let mut nodes = vec![Node::default(); self.rails.len()];
        let rounds = if self.rails.iter().any(Rail::sags) { ROUNDS } else { 1 };
        let mut battery = LoadCurrent::default();
        for _ in 0..rounds {
            let moved = self.voltages(&mut nodes, on);
            battery = self.currents(&mut nodes, loads);
            if moved < STILL {
                break;
            }
        }
        Flow { nodes, battery }
    }

    /// Voltages from the source down; the largest change of one.
    fn voltages(&self, nodes: &mut [Node], on: On) -> f64 {
        let mut moved: f64 = 0.0;
        for (index, rail) in self.rails.iter().enumerate() {
            let (alive, input) = match rail.source {
                Source::Battery => (true, self.battery),
                Source::Usb => (false, USB),
                Source::Rail(above) => (nodes[above.0].on, nodes[above.0].output),
            };
            let node = &mut nodes[index];
            let on = alive && (rail.enabled == Enabled::Always || on.has(index));
            let output = if on { rail.voltage(self.parameters, node.demand, input) } else { Volts(0.0) };
            moved = moved.max((output - node.output).0.abs());
            (node.on, node.input, node.output) = (on, input, output);
            node.own = match rail.off {
                _ if on => rail.own(self.parameters),
                Some(off) if alive => LoadCurrent::current(self.parameters.of(off)),
                _ => LoadCurrent::default(),
            };
        }
        moved
    }

    /// Currents and powers from the loads up; what leaves the battery.
    fn currents(&self, nodes: &mut [Node], loads: &[LoadCurrent]) -> LoadCurrent {
        for (node, load) in nodes.iter_mut().zip(loads) {
            node.demand = if node.on { *load } else { LoadCurrent::default() };
        }
        let mut battery = LoadCurrent::default();
        for (index, rail) in self.rails.iter().enumerate().rev() {
            let node = &mut nodes[index];
            if node.on {
                node.taken = rail.taken(self.parameters, node.demand, node.input, node.output);
            }
            let all = node.taken + node.own;
            match rail.source {
                Source::Battery => battery = battery + all,
                Source::Usb => {}
                Source::Rail(above) => nodes[above.0].demand = nodes[above.0].demand + all,
            }
        }
        battery
    }
}

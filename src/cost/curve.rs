//! One update as current over time, as a probe at the battery would show it: the phases of [`super::phases`] in their
//! order, each at its mean current. Not for drawing: see [`crate::timeline`].

use super::phases::{Cause, Phase, phases, total};
use crate::device::Device;
use crate::parameters::ParameterSample;
use crate::refresh::work::Work;
use crate::units::{Amps, Coulombs, Joules, Seconds, Volts};

/// One phase of the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    /// The phase's name.
    pub name: &'static str,
    /// What it belongs to.
    pub cause: Cause,
    /// When it begins, from the update's beginning.
    pub begins: Seconds,
    /// How long it lasts.
    pub time: Seconds,
    /// Mean current at the battery beyond sleep.
    pub current: Amps,
}

impl Piece {
    /// When it ends.
    pub fn ends(&self) -> Seconds {
        self.begins + self.time
    }
}

/// The current of one update over time.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// The phases that take time, in order and without gaps.
    pub pieces: Vec<Piece>,
    /// The battery voltage at which the currents flow.
    pub volts: Volts,
}

impl Curve {
    /// The curve of some work on a device at a battery voltage.
    pub fn of(device: &Device, parameters: &ParameterSample, work: &Work, volts: Volts) -> Self {
        Self::through(&phases(device, parameters, work, volts), volts)
    }

    fn through(phases: &[Phase], volts: Volts) -> Self {
        let mut begins = Seconds(0.0);
        let lasting = phases.iter().filter(|phase| phase.time > Seconds(0.0));
        let pieces = lasting.map(|phase| {
            let (name, cause, time) = (phase.name, phase.cause, phase.time);
            let piece = Piece { name, cause, begins, time, current: phase.draw.charge_at(volts) / time };
            begins += time;
            piece
        });
        Self { pieces: pieces.collect(), volts }
    }

    /// How long the update lasts.
    pub fn duration(&self) -> Seconds {
        self.pieces.last().map_or(Seconds(0.0), Piece::ends)
    }

    /// The largest mean current of a phase.
    pub fn peak(&self) -> Amps {
        Amps(self.pieces.iter().map(|piece| piece.current.0).fold(0.0, f64::max))
    }

    /// The area under the curve.
    pub fn charge(&self) -> Coulombs {
        self.pieces.iter().map(|piece| piece.current * piece.time).sum()
    }

    /// The area under the curve times the voltage.
    pub fn energy(&self) -> Joules {
        self.volts * self.charge()
    }
}

/// The device on which some work takes most energy: each input at the end of its tolerance that takes more, found one at
/// a time from the typical device, as times and currents multiply and the worse end of each is worse whatever the others.
pub fn worst(device: &Device, work: &Work, volts: Volts) -> ParameterSample {
    let typical = device.inputs.typical();
    let energy = |parameters: &ParameterSample| total(&phases(device, parameters, work, volts)).energy_at(volts);
    let usual = energy(&typical);
    let mut worst = typical.clone();
    for (index, row) in device.inputs.rows().iter().enumerate().filter(|(_, row)| row.min < row.max) {
        let ends = [row.min, row.max].map(|value| (energy(&typical.with(index, value)), value));
        let more = ends.into_iter().filter(|(energy, _)| *energy > usual);
        if let Some((_, value)) = more.max_by(|a, b| a.0.0.total_cmp(&b.0.0)) {
            worst = worst.with(index, value);
        }
    }
    worst
}

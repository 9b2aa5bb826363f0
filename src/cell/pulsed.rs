//! A load that comes in pulses: each is drawn at the voltage that is left under it, not at that of the mean load.
//!
//! Between pulses flows the base. With `I(x)` the current that a demand `x` takes at the voltage which it leaves itself,
//! the mean is `I(base) + sum over pulses of share * (I(base + pulse) - I(base))`. Behind a linear regulator that is the
//! mean of the currents; behind a switching one a pulse takes more than its mean, by about `R I / V` of it. Pulses that
//! fall together by chance are taken one by one. What ends the life under the hardest moment is a
//! [`super::life::CutOff`].

use super::case::Point;
use super::life::LifeFault;
use super::load::{Draw, Drawn};
use super::peak::{Pull, terminal};
use super::varying::Varying;
use crate::units::{Amps, Ohms, Ratio, Seconds, Volts, Watts};

/// Something that is drawn now and then beside the base.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pulse {
    /// Share of the time during which it is drawn.
    pub share: Ratio,
    /// How long it lasts each time.
    pub time: Seconds,
    /// What is drawn then, beyond the base.
    pub pull: Pull,
}

impl Pulse {
    /// Its part in the mean.
    pub fn mean(&self) -> Pull {
        Pull { current: self.pull.current * self.share.0, power: self.pull.power * self.share.0 }
    }
}

/// Pulses of nearly the same current as one each, so that a life is calculated from a few: shares and charge are kept, the
/// pull is their mean. The second part gives the group of each pulse.
pub fn grouped(pulses: &[Pulse], volts: Volts) -> (Vec<Pulse>, Vec<usize>) {
    /// Pulses whose currents differ by less than this factor are one.
    ///
    /// A pulse's current `I` costs `I + R I^2 / V` to first order, so what a group misses is the variance of its currents:
    /// for two that are 10 % apart 0.2 % of the square, which is itself a correction of a few percent.
    const ALIKE: f64 = 1.1;
    let mut all: Vec<Pulse> = Vec::new();
    let mut firsts: Vec<f64> = Vec::new();
    let place = |pulse: &Pulse| {
        let amps = pulse.pull.at(volts).0;
        let alike = |first: &f64| amps <= first * ALIKE && *first <= amps * ALIKE;
        if let Some(place) = firsts.iter().position(alike) {
            let group = &mut all[place];
            let share = group.share.0 + pulse.share.0;
            let mean = |a: f64, b: f64| (a * group.share.0 + b * pulse.share.0) / share;
            if share > 0.0 {
                let current = Amps(mean(group.pull.current.0, pulse.pull.current.0));
                let power = Watts(mean(group.pull.power.0, pulse.pull.power.0));
                *group = Pulse {
                    share: Ratio(share),
                    time: Seconds(mean(group.time.0, pulse.time.0)),
                    pull: Pull { current, power },
                };
            }
            return place;
        }
        firsts.push(amps);
        all.push(*pulse);
        all.len() - 1
    };
    let places = pulses.iter().map(place).collect();
    (all, places)
}

/// What a demand draws at a terminal voltage.
#[derive(Clone, Debug)]
pub enum Demand {
    /// A constant current and a constant power.
    Pull(Pull),
    /// What changes with the voltage otherwise.
    Varying(Varying),
}

impl Demand {
    /// Its current and power at the voltage that it leaves of a source.
    fn settle(&self, ocv: Volts, ohms: Ohms) -> Result<Draw, LifeFault> {
        match self {
            Self::Pull(pull) => {
                let volts = terminal(ocv, ohms, *pull).volts().ok_or(LifeFault::Unbearable { at: ocv })?;
                let amps = pull.at(volts);
                Ok((amps, volts * amps))
            }
            Self::Varying(varying) => varying.settle(ocv, ohms),
        }
    }

    fn is_amount(&self) -> bool {
        let amount = |value: f64| value.is_finite() && value >= 0.0;
        match self {
            Self::Pull(pull) => amount(pull.current.0) && amount(pull.power.0),
            // Each of its values is looked at when it is asked for.
            Self::Varying(_) => true,
        }
    }

    fn bends(&self) -> &[(Volts, Amps)] {
        match self {
            Self::Pull(_) => &[],
            Self::Varying(varying) => varying.bends(),
        }
    }
}

/// A base with pulses on it.
#[derive(Clone, Debug)]
pub struct Pulsed {
    base: Demand,
    /// Share of the time, and the pulse together with the base.
    pulses: Vec<(f64, Demand)>,
    /// Where one of them bends.
    bends: Vec<(Volts, Amps)>,
}

impl Pulsed {
    /// A base, and each pulse as its share of the time and what is drawn during it, the base included.
    ///
    /// # Errors
    /// A negative or non-finite value.
    pub fn new(base: Demand, pulses: Vec<(Ratio, Demand)>) -> Result<Self, LifeFault> {
        let sound = |(share, demand): &(Ratio, Demand)| share.0.is_finite() && share.0 >= 0.0 && demand.is_amount();
        if !base.is_amount() || !pulses.iter().all(sound) {
            return Err(LifeFault::Load);
        }
        let bends = std::iter::once(&base).chain(pulses.iter().map(|(_, demand)| demand));
        let bends = bends.flat_map(Demand::bends).copied().collect();
        let pulses = pulses.into_iter().map(|(share, demand)| (share.0, demand)).collect();
        Ok(Self { base, pulses, bends })
    }

    fn mean(&self, ocv: Volts, ohms: Ohms) -> Result<Draw, LifeFault> {
        let base = self.base.settle(ocv, ohms)?;
        let mut mean = base;
        for (share, demand) in &self.pulses {
            let during = demand.settle(ocv, ohms)?;
            mean = (mean.0 + (during.0 - base.0) * *share, mean.1 + (during.1 - base.1) * *share);
        }
        Ok(mean)
    }
}

impl Drawn for Pulsed {
    fn drawn(&self, at: Point) -> Result<Draw, LifeFault> {
        let (ocv, ohms) = at.source();
        self.mean(ocv, ohms)
    }

    fn holds(&self, at: Point) -> bool {
        !matches!(self.drawn(at), Err(LifeFault::Unbearable { .. }))
    }

    fn bends(&self) -> &[(Volts, Amps)] {
        &self.bends
    }
}

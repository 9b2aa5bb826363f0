//! A load that comes in pulses: each is drawn at the voltage that is left under it, not at that of the mean load.
//!
//! Between pulses flows the base. With `I(x)` the current that a demand `x` takes at the voltage which it leaves itself,
//! the mean is `I(base) + sum over pulses of share * (I(base + pulse) - I(base))`. Behind a linear regulator that is the
//! mean of the currents; behind a switching one a pulse takes more than its mean, by about `R I / V` of it. Pulses that
//! fall together by chance are taken one by one. What ends the life under the hardest moment is a
//! [`super::life::CutOff`].

use super::case::Point;
use super::curve::{mix, place_by};
use super::life::LifeFault;
use super::load::{Draw, Drawn};
use super::peak::{Pull, terminal};
use crate::units::{Amps, Ohms, Ratio, Seconds, Volts, Watts};
use std::sync::Arc;

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

/// Pulses of nearly the same pull as one each, so that a life is reckoned from a few: shares and charge are kept, the
/// pull is their mean. The second part gives the group of each
/// pulse.
pub fn grouped(pulses: &[Pulse], volts: Volts) -> (Vec<Pulse>, Vec<usize>) {
    /// Pulses whose currents differ by less than this factor are one.
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
#[derive(Clone, Debug, PartialEq)]
pub enum Demand {
    /// A constant current and a constant power.
    Pull(Pull),
    /// Currents at rising voltages, straight lines between them.
    Table(Arc<[f64]>, Vec<f64>),
}

impl Demand {
    /// The voltage that it leaves of a source, and its current then.
    fn settle(&self, ocv: Volts, ohms: Ohms) -> Option<(Volts, Amps)> {
        match self {
            Self::Pull(pull) => {
                let volts = terminal(ocv, ohms, *pull).volts()?;
                Some((volts, pull.at(volts)))
            }
            Self::Table(at, amps) => {
                let current = |volts: f64| {
                    let (below, share) = place_by(at.len(), |row| at[row], volts);
                    mix(amps[below], amps[(below + 1).min(amps.len() - 1)], share)
                };
                let mut volts = ocv.0;
                for _ in 0..100 {
                    let next = ocv.0 - ohms.0 * current(volts);
                    if next <= 0.0 {
                        return None;
                    }
                    if (next - volts).abs() <= 1e-10 * ocv.0 {
                        return Some((Volts(next), Amps(current(next))));
                    }
                    volts = next;
                }
                None
            }
        }
    }

    fn sound(&self) -> bool {
        let amount = |value: f64| value.is_finite() && value >= 0.0;
        match self {
            Self::Pull(pull) => amount(pull.current.0) && amount(pull.power.0),
            Self::Table(volts, amps) => {
                volts.len() == amps.len() && !amps.is_empty() && amps.iter().all(|amps| amount(*amps))
            }
        }
    }
}

/// A base with pulses on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Pulsed {
    base: Demand,
    /// Share of the time, and the pulse together with the base.
    pulses: Vec<(f64, Demand)>,
}

impl Pulsed {
    /// A base, and each pulse as its share of the time and what is drawn during it, the base included.
    ///
    /// # Errors
    /// A negative or non-finite value.
    pub fn new(base: Demand, pulses: Vec<(Ratio, Demand)>) -> Result<Self, LifeFault> {
        let sound = |(share, demand): &(Ratio, Demand)| share.0.is_finite() && share.0 >= 0.0 && demand.sound();
        if !base.sound() || !pulses.iter().all(sound) {
            return Err(LifeFault::Load);
        }
        let pulses = pulses.into_iter().map(|(share, demand)| (share.0, demand)).collect();
        Ok(Self { base, pulses })
    }

    fn mean(&self, ocv: Volts, ohms: Ohms) -> Option<Draw> {
        let (volts, amps) = self.base.settle(ocv, ohms)?;
        let (mut current, mut power) = (amps, volts * amps);
        for (share, demand) in &self.pulses {
            let (under, during) = demand.settle(ocv, ohms)?;
            current += (during - amps) * *share;
            power += (under * during - volts * amps) * *share;
        }
        Some((current, power))
    }
}

impl Drawn for Pulsed {
    fn drawn(&self, at: Point) -> Result<Draw, LifeFault> {
        let (ocv, ohms) = at.source();
        self.mean(ocv, ohms).ok_or(LifeFault::Unbearable { at: ocv })
    }

    fn holds(&self, at: Point) -> bool {
        let (ocv, ohms) = at.source();
        self.mean(ocv, ohms).is_some()
    }
}

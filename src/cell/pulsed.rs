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
use super::peak::{LoadCurrent, terminal};
use super::series::Series;
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
    pub load_current: LoadCurrent,
}

impl Pulse {
    /// Its part in the mean.
    pub fn mean(&self) -> LoadCurrent {
        LoadCurrent { current: self.load_current.current * self.share.0, power: self.load_current.power * self.share.0 }
    }
}

/// Pulses of similar current taken as one each, so that a life is calculated from two or three.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Groups {
    /// How many there are.
    pub count: usize,
    /// The group of each pulse; pulses that never come may be in any.
    pub places: Vec<usize>,
    /// What the means of the groups leave out.
    pub spread: Spread,
}

/// How the pulses of a group scatter around their mean, summed over the groups, at a voltage.
///
/// A pulse of a current `i` and a power `p` beside it takes `I = i + p / V` at `V = E - R I`, so to first order in `R`
/// its power takes `R I p / E^2` more than at `E`. The mean of that over a group is that of the group's mean, and
/// `R / E` times the covariance of `p / E` and `I`. In the same way a current gives `R` times the covariance of `i` and
/// `I` less power.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spread {
    /// The voltage.
    pub at: Volts,
    /// Covariance of what powers take and the whole current, times the share of the time, in square amperes.
    pub powers: f64,
    /// The same of currents.
    pub currents: f64,
}

impl Groups {
    /// Pulses next to one another in current are put together while what scatters within the groups is a small part of
    /// the mean square of all.
    pub fn of(pulses: &[Pulse], volts: Volts) -> Self {
        /// Part of the mean square that may scatter within groups. [`Spread`] makes up for it to first order.
        const WITHIN: f64 = 0.01;
        let amps: Vec<f64> = pulses.iter().map(|pulse| pulse.load_current.at(volts).0).collect();
        let mut order: Vec<usize> = (0..pulses.len()).filter(|index| pulses[*index].share.0 > 0.0).collect();
        order.sort_by(|a, b| amps[*a].total_cmp(&amps[*b]));
        // Each group as its share, the mean current and how many pulses of the order are in it.
        let mut groups: Vec<(f64, f64, usize)> =
            order.iter().map(|index| (pulses[*index].share.0, amps[*index], 1)).collect();
        let mut left = WITHIN * groups.iter().map(|(share, amps, _)| share * amps * amps).sum::<f64>();
        let lost = |pair: &[(f64, f64, usize)]| {
            pair[0].0 * pair[1].0 / (pair[0].0 + pair[1].0) * (pair[1].1 - pair[0].1).powi(2)
        };
        loop {
            let all = groups.windows(2).map(lost).enumerate();
            let Some((place, least)) = all.min_by(|a, b| a.1.total_cmp(&b.1)).filter(|least| least.1 <= left) else {
                break;
            };
            left -= least;
            let (first, second) = (groups[place], groups.remove(place + 1));
            let share = first.0 + second.0;
            groups[place] = (share, (first.0 * first.1 + second.0 * second.1) / share, first.2 + second.2);
        }
        let mut places = vec![0; pulses.len()];
        let mut rest = order.as_slice();
        let mut spread = Spread { at: volts, ..Spread::default() };
        for (group, (_, mean, size)) in groups.iter().enumerate() {
            let (members, others) = rest.split_at(*size);
            rest = others;
            for index in members {
                places[*index] = group;
                // For a covariance one of the two around its mean is enough.
                let (share, own) = (pulses[*index].share.0, pulses[*index].load_current.current.0);
                let whole = amps[*index] - mean;
                spread.currents += share * own * whole;
                spread.powers += share * (whole - own) * whole;
            }
        }
        Self { count: groups.len(), places, spread }
    }
}

/// What a demand draws at a terminal voltage.
#[derive(Clone, Debug)]
pub enum Demand {
    /// A constant current and a constant power.
    LoadCurrent(LoadCurrent),
    /// What changes with the voltage otherwise.
    Varying(Varying),
}

impl Demand {
    /// Its current and power at the voltage that it leaves of a source.
    fn settle(&self, ocv: Volts, ohms: Ohms) -> Result<Draw, LifeFault> {
        match self {
            Self::LoadCurrent(load_current) => {
                let volts = terminal(ocv, ohms, *load_current).volts().ok_or(LifeFault::Unbearable { at: ocv })?;
                let amps = load_current.at(volts);
                Ok((amps, volts * amps))
            }
            Self::Varying(varying) => varying.settle(ocv, ohms),
        }
    }

    fn is_amount(&self) -> bool {
        let amount = |value: f64| value.is_finite() && value >= 0.0;
        match self {
            Self::LoadCurrent(load_current) => amount(load_current.current.0) && amount(load_current.power.0),
            // Each of its values is looked at when it is asked for.
            Self::Varying(_) => true,
        }
    }

    fn bends(&self) -> &[(Volts, Amps)] {
        match self {
            Self::LoadCurrent(_) => &[],
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
    /// What each pulse leaves out of those that it stands for.
    spread: Spread,
    /// Where one of them bends.
    bends: Vec<(Volts, Amps)>,
    /// Their mean where all of them vary, as far as one series tells it.
    series: Option<Series>,
}

impl Pulsed {
    /// A base, and each pulse as its share of the time and what is drawn during it, the base included; `spread` is that
    /// of [`Groups`], nothing where each pulse stands for itself.
    ///
    /// # Errors
    /// A negative or non-finite value.
    pub fn new(base: Demand, pulses: Vec<(Ratio, Demand)>, spread: Spread) -> Result<Self, LifeFault> {
        let sound = |(share, demand): &(Ratio, Demand)| share.0.is_finite() && share.0 >= 0.0 && demand.is_amount();
        if !base.is_amount() || !pulses.iter().all(sound) {
            return Err(LifeFault::Load);
        }
        let bends = std::iter::once(&base).chain(pulses.iter().map(|(_, demand)| demand));
        let bends = bends.flat_map(Demand::bends).copied().collect();
        let pulses: Vec<(f64, Demand)> = pulses.into_iter().map(|(share, demand)| (share.0, demand)).collect();
        let series = series(&base, &pulses);
        Ok(Self { base, pulses, spread, bends, series })
    }

    fn mean(&self, ocv: Volts, ohms: Ohms) -> Result<Draw, LifeFault> {
        let mean = match self.series.as_ref().and_then(|series| series.mean(ocv, ohms)) {
            Some(mean) => mean,
            None => self.mean_of_each(ocv, ohms)?,
        };
        let scale = self.spread.at.0 / ocv.0;
        let more = Amps(self.spread.powers * ohms.0 / ocv.0 * scale * scale);
        // What the powers take more, they take at a voltage that is as much lower.
        let less = Watts(self.spread.currents * ohms.0 * scale);
        Ok((mean.0 + more, mean.1 - less))
    }
}

impl Pulsed {
    /// Each at its own voltage, one by one.
    fn mean_of_each(&self, ocv: Volts, ohms: Ohms) -> Result<Draw, LifeFault> {
        let base = self.base.settle(ocv, ohms)?;
        let mut mean = base;
        for (share, demand) in &self.pulses {
            let during = demand.settle(ocv, ohms)?;
            mean = (mean.0 + (during.0 - base.0) * *share, mean.1 + (during.1 - base.1) * *share);
        }
        Ok(mean)
    }
}

/// The mean of a base and pulses that all vary.
fn series(base: &Demand, pulses: &[(f64, Demand)]) -> Option<Series> {
    let without = 1.0 - pulses.iter().map(|(share, _)| share).sum::<f64>();
    let all = std::iter::once((without, base)).chain(pulses.iter().map(|(share, demand)| (*share, demand)));
    let all = all.map(|(share, demand)| match demand {
        Demand::Varying(varying) => Some((share, varying)),
        Demand::LoadCurrent(_) => None,
    });
    Some(Series::of(&all.collect::<Option<Vec<_>>>()?))
}

impl Drawn for Pulsed {
    fn drawn(&self, at: Point) -> Result<Draw, LifeFault> {
        let (ocv, ohms) = at.source();
        self.mean(ocv, ohms)
    }

    fn bends(&self) -> &[(Volts, Amps)] {
        &self.bends
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Currents and powers behind an efficiency that is a straight line from 3 V to 3.6 V and another to 4.2 V.
    fn varying(amps: f64, watts: f64) -> Varying {
        let share = |volts: f64| 0.7 + 0.1 * (volts - 3.0).min(0.6) + 0.05 * (volts - 3.6).max(0.0);
        let load_current = |volts: Volts| LoadCurrent { current: Amps(amps), power: Watts(watts / share(volts.0)) };
        Varying::of(&[3.0, 3.6, 4.2].map(Volts), load_current)
    }

    #[test]
    fn one_series_tells_what_each_load_tells_for_itself() {
        let demands =
            [(2e-6, 30e-6), (1e-3, 20e-3), (4e-3, 0.0)].map(|(amps, watts)| Demand::Varying(varying(amps, watts)));
        let [base, one, other] = demands;
        let pulses = vec![(Ratio(0.03), one), (Ratio(0.2), other)];
        let all = Pulsed::new(base, pulses, Spread::default()).unwrap();
        let (mut told, mut worst) = (0, 0.0_f64);
        for ocv in (0..=60).map(|step| Volts(3.0 + 0.02 * f64::from(step))) {
            for ohms in [0.0, 0.05, 0.3, 1.0, 5.0].map(Ohms) {
                let Some((amps, watts)) = all.series.as_ref().and_then(|series| series.mean(ocv, ohms)) else {
                    continue;
                };
                let (each_amps, each_watts) = all.mean_of_each(ocv, ohms).unwrap();
                worst = worst.max((amps / each_amps - 1.0).abs()).max((watts / each_watts - 1.0).abs());
                told += 1;
            }
        }
        // Nearly everywhere at the smaller resistances; at 1 and 5 ohms the fall is too large.
        assert!((150..=183).contains(&told), "{told}");
        assert!(worst < 1e-8, "{worst:e}");
    }

    #[test]
    fn a_load_that_does_not_vary_has_no_series() {
        let fixed = Demand::LoadCurrent(LoadCurrent::current(Amps(1e-3)));
        let all =
            Pulsed::new(Demand::Varying(varying(1e-6, 0.0)), vec![(Ratio(0.1), fixed)], Spread::default()).unwrap();
        assert!(all.series.is_none());
    }
}

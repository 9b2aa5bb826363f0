//! Lives of many devices drawn at random: each input within its spread, usage and temperature as they differ between
//! owners.
//!
//! The number of a device alone decides its draws, so that the result is the same for any number of threads; what is
//! kept of each device is one life.

use super::fault::BudgetFault;
use super::life::{Ending, Habits, Life, life};
use crate::device::Device;
use crate::parameters::ParameterSample;
use crate::random;
use crate::simulate::counts::Counts;
use crate::units::{Celsius, Ratio, Seconds, figures};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Devices drawn.
pub const DEVICES: u32 = 1_000;

/// Devices around the median whose mean tells how the median moves. More of them change the second digit.
const MIDDLE: usize = 11;

/// The spread of lives.
#[derive(Clone, Debug)]
pub struct Fleet {
    /// Nine of ten devices last longer.
    pub p10: Life,
    /// Half of them last longer: the median.
    pub p50: Life,
    /// One of ten lasts longer.
    pub p90: Life,
    /// How many devices each cause ends.
    pub endings: BTreeMap<Ending, u32>,
    /// Numbers of the devices in the order of their lives.
    pub order: Vec<u32>,
}

/// One device drawn at random and its owner's habits.
#[derive(Clone, Debug)]
pub struct Unit {
    /// Its inputs.
    pub parameters: ParameterSample,
    /// How it is used.
    pub habits: Habits,
}

/// Draws the devices, calling `done` for each, and sorts their lives.
///
/// # Errors
/// Where the life of the typical device is unknown: the others' alone would not speak for all.
pub fn fleet(device: &Device, counts: &Counts, devices: u32, done: &(dyn Fn() + Sync)) -> Result<Fleet, BudgetFault> {
    changed(device, counts, devices, &|unit| {
        done();
        unit
    })
}

/// The same devices with one input scaled, each as far from the typical value in proportion as it was: what a change of
/// the design does, free of the noise of other draws.
///
/// # Errors
/// As for [`fleet`].
pub fn scaled(device: &Device, counts: &Counts, devices: u32, index: usize, factor: f64) -> Result<Fleet, BudgetFault> {
    changed(device, counts, devices, &|unit| Unit { parameters: unit.parameters.scaled(index, factor), ..unit })
}

/// The same devices, each changed as stated.
///
/// # Errors
/// As for [`fleet`].
pub fn changed(
    device: &Device,
    counts: &Counts,
    devices: u32,
    change: &(dyn Fn(Unit) -> Unit + Sync),
) -> Result<Fleet, BudgetFault> {
    let typical = life(device, &device.inputs.typical(), counts, Habits::USUAL)?;
    let one = |number: u32| {
        let Unit { parameters, habits } = change(unit(device, number));
        life(device, &parameters, counts, habits).ok().map(|life| (number, life))
    };
    let mut lives: Vec<(u32, Life)> = (0..devices).into_par_iter().filter_map(one).collect();
    // Equal times stay in the order of the devices' numbers.
    lives.sort_by(|a, b| a.1.time.0.total_cmp(&b.1.time.0));
    let at = |share: f64| lives.get(place(share, lives.len())).map_or(typical, |(_, life)| *life);
    let mut endings = BTreeMap::new();
    lives.iter().for_each(|(_, life)| *endings.entry(life.ending).or_default() += 1);
    let order = lives.iter().map(|(number, _)| *number).collect();
    Ok(Fleet { p10: at(0.1), p50: at(0.5), p90: at(0.9), endings, order })
}

/// Where the device stands that a share of so many do not outlast.
fn place(share: f64, devices: usize) -> usize {
    (share * devices.saturating_sub(1) as f64).round() as usize
}

/// The median life of the same devices, each changed as stated; `order` is theirs before the change.
///
/// A change moves no device far in the order, so that the lives of those around the median tell it. Where one of the
/// outer quarters of them comes to lie on the other side of it, more are looked at, all in the end.
///
/// # Errors
/// As for [`changed`].
pub fn changed_median(
    device: &Device,
    counts: &Counts,
    order: &[u32],
    change: &(dyn Fn(Unit) -> Unit + Sync),
) -> Result<Seconds, BudgetFault> {
    /// Devices on each side of the median that are looked at first.
    const FIRST: usize = 50;
    let middle = place(0.5, order.len());
    let one = |number: &u32| {
        let Unit { parameters, habits } = change(unit(device, *number));
        life(device, &parameters, counts, habits).ok().map(|life| life.time)
    };
    let mut reach = FIRST;
    while reach < middle {
        let near = &order[middle - reach..=(middle + reach).min(order.len() - 1)];
        let Some(lives) = near.par_iter().map(one).collect::<Option<Vec<Seconds>>>() else { break };
        let (median, outer) = (nth(lives.clone(), reach), reach / 2);
        let below = lives[..outer].iter().all(|life| *life <= median);
        if below && lives[lives.len() - outer..].iter().all(|life| *life >= median) {
            return Ok(median);
        }
        reach *= 2;
    }
    let lives: Vec<Seconds> = order.par_iter().filter_map(one).collect();
    if lives.is_empty() {
        return life(device, &device.inputs.typical(), counts, Habits::USUAL).map(|life| life.time);
    }
    let middle = place(0.5, lives.len());
    Ok(nth(lives, middle))
}

fn nth(mut lives: Vec<Seconds>, place: usize) -> Seconds {
    *lives.select_nth_unstable_by(place, |a, b| a.0.total_cmp(&b.0)).1
}

/// Relative change of the median life over relative change of an input.
///
/// A quantile moves as the mean of those devices that lie at it (Hong, Operations Research 57 (2009) 118-130): the
/// devices around the median are drawn again with the input a little more and a little less.
pub fn elasticity(device: &Device, counts: &Counts, middle: &[Unit], index: usize) -> f64 {
    const STEP: f64 = 0.01;
    let days = |unit: &Unit, factor: f64| {
        life(device, &unit.parameters.scaled(index, factor), counts, unit.habits).map(|life| life.time.0.ln()).ok()
    };
    let of = |unit: &Unit| Some(days(unit, 1.0 + STEP)? - days(unit, 1.0 - STEP)?);
    let effects: Vec<f64> = middle.iter().filter_map(of).filter(|effect| effect.is_finite()).collect();
    let mean = effects.iter().sum::<f64>() / effects.len().max(1) as f64;
    mean / ((1.0 + STEP).ln() - (1.0 - STEP).ln())
}

/// Mean of the logarithms of some devices' lives in seconds; minus infinity where none is known. With the devices around
/// the median, a change of it is nearly the relative change of the median, at a hundredth of the work (Hong as above).
pub fn mean_of_ln(device: &Device, counts: &Counts, units: Vec<Unit>) -> f64 {
    let lives = units.iter().filter_map(|unit| life(device, &unit.parameters, counts, unit.habits).ok());
    let logarithms: Vec<f64> = lives.map(|life| life.time.0.ln()).collect();
    let count = logarithms.len();
    if count == 0 { f64::NEG_INFINITY } else { logarithms.iter().sum::<f64>() / count as f64 }
}

impl Fleet {
    /// The devices around the median.
    pub fn middle(&self, device: &Device) -> Vec<Unit> {
        let first = place(0.5, self.order.len()).saturating_sub(MIDDLE / 2);
        self.order.iter().skip(first).take(MIDDLE).map(|number| unit(device, *number)).collect()
    }

    /// What ends the devices and the share of each, the most frequent first.
    pub fn limits(&self) -> Vec<(Ending, Ratio)> {
        let all = self.endings.values().sum::<u32>().max(1);
        let mut limits: Vec<(Ending, u32)> = self.endings.iter().map(|(ending, count)| (*ending, *count)).collect();
        limits.sort_by_key(|limit| std::cmp::Reverse(limit.1));
        limits.into_iter().map(|(ending, count)| (ending, Ratio(f64::from(count) / f64::from(all)))).collect()
    }

    /// What ends the devices in words: `usable capacity`, or `usable capacity (61 %), brown-out under load (39 %)`.
    pub fn limited_by(&self) -> String {
        let limits = self.limits();
        match limits.as_slice() {
            [(ending, _)] => ending.words().to_owned(),
            many => many
                .iter()
                .map(|(ending, share)| format!("{} ({} %)", ending.words(), figures((share.0 * 100.0).round())))
                .collect::<Vec<_>>()
                .join(", "),
        }
    }
}

/// The stream of what owners and places differ in.
const HABITS: u64 = 1;

/// The device of a number: inputs by their triangular distribution, usage lognormal with mean 1, temperature normal.
pub fn unit(device: &Device, number: u32) -> Unit {
    let parameters = device.inputs.draw(device.usage.seed, number);
    let mut random = random::part(device.usage.seed, HABITS, u64::from(number));
    let sigma = (1.0 + device.usage.spread.0.powi(2)).ln().sqrt();
    let [owner, place] = normal(&mut random);
    let usage = (sigma * owner - sigma * sigma / 2.0).exp();
    let warmer = Celsius(device.usage.climate_spread.0 * place);
    Unit { parameters, habits: Habits { usage, warmer } }
}

/// Two independent standard normal draws (Box and Muller, Annals of Mathematical Statistics 29 (1958) 610-611).
fn normal(random: &mut ChaCha8Rng) -> [f64; 2] {
    let (u, v): (f64, f64) = (1.0 - random.random::<f64>(), random.random());
    let (radius, angle) = ((-2.0 * u.ln()).sqrt(), std::f64::consts::TAU * v);
    [radius * angle.cos(), radius * angle.sin()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;

    #[test]
    fn normal_draws_have_mean_zero_variance_one_and_no_correlation() {
        let mut random = ChaCha8Rng::seed_from_u64(9);
        let draws: Vec<[f64; 2]> = (0..20_000).map(|_| normal(&mut random)).collect();
        let mean = |of: &dyn Fn(&[f64; 2]) -> f64| draws.iter().map(of).sum::<f64>() / draws.len() as f64;
        assert!(mean(&|d| d[0]).abs() < 0.03 && mean(&|d| d[1]).abs() < 0.03);
        assert!((mean(&|d| d[0] * d[0]) - 1.0).abs() < 0.05 && (mean(&|d| d[1] * d[1]) - 1.0).abs() < 0.05);
        assert!(mean(&|d| d[0] * d[1]).abs() < 0.03);
    }
}

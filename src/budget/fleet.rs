//! Lives of many devices drawn at random: each input within its spread, usage and temperature as they differ between
//! owners.
//!
//! The number of a device alone decides its draws, so that the result is the same for any number of threads; what is
//! kept of each device is one life.

use super::life::{Ending, Habits, Life, life};
use crate::device::Device;
use crate::random;
use crate::simulate::tally::Tally;
use crate::units::Celsius;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Devices drawn.
pub const DEVICES: u32 = 1_000;

/// The spread of lives.
#[derive(Clone, Debug)]
pub struct Fleet {
    /// Nine of ten devices last longer.
    pub p10: Life,
    /// Half of them last longer.
    pub p50: Life,
    /// One of ten lasts longer.
    pub p90: Life,
    /// How many devices each cause ends.
    pub endings: BTreeMap<Ending, u32>,
}

/// Draws the devices, calling `done` for each, and sorts their lives. `None` where that of the typical device cannot be
/// told: the others' alone would not speak for all.
pub fn fleet(device: &Device, tally: &Tally, devices: u32, done: &(dyn Fn() + Sync)) -> Option<Fleet> {
    life(device, &device.inputs.typical(), tally, Habits::USUAL)?;
    let one = |number: u32| {
        let life = drawn(device, tally, number);
        done();
        life
    };
    let mut lives: Vec<Life> = (0..devices).into_par_iter().filter_map(one).collect();
    // Equal times stay in the order of the devices' numbers.
    lives.sort_by(|a, b| a.time.0.total_cmp(&b.time.0));
    let last = lives.len().checked_sub(1)?;
    let at = |share: f64| lives[(share * last as f64).round() as usize];
    let mut endings = BTreeMap::new();
    lives.iter().for_each(|life| *endings.entry(life.ending).or_default() += 1);
    Some(Fleet { p10: at(0.1), p50: at(0.5), p90: at(0.9), endings })
}

/// The stream of what owners and places differ in.
const HABITS: u64 = 1;

/// One device drawn at random: inputs by their triangular law, usage lognormal with mean 1, temperature normal.
fn drawn(device: &Device, tally: &Tally, number: u32) -> Option<Life> {
    let point = device.inputs.draw(device.usage.seed, number);
    let mut random = random::part(device.usage.seed, HABITS, u64::from(number));
    let sigma = (1.0 + device.usage.spread.0.powi(2)).ln().sqrt();
    let [owner, place] = normal(&mut random);
    let usage = (sigma * owner - sigma * sigma / 2.0).exp();
    let warmer = Celsius(device.usage.climate_spread.0 * place);
    life(device, &point, tally, Habits { usage, warmer })
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

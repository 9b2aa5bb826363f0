//! The baseline: the current that always flows, its noise, and how it drifts.
//!
//! At first from a look at parts of the trace, then as a running low quantile: the median of what is not part of an
//! update, so that neither updates nor short pulses move it.

use crate::units::{Amps, Seconds};
use std::collections::VecDeque;

/// A measured current and the time to the row before.
#[derive(Clone, Copy, Debug)]
pub struct Sample {
    /// The current.
    pub current: Amps,
    /// Time since the row before.
    pub span: Seconds,
    /// Change of the current since the row before.
    pub change: Amps,
}

/// What a look at parts of the trace tells.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// Median of the low currents.
    pub baseline: Amps,
    /// Their standard deviation, from the median absolute deviation.
    pub noise: Amps,
    /// The largest current seen.
    pub largest: Amps,
    /// Median time between rows.
    pub interval: Seconds,
}

/// The median absolute deviation times this is the standard deviation of a normal law (1 over its 75 % quantile).
/// P. J. Rousseeuw and C. Croux, "Alternatives to the median absolute deviation", JASA 88 (1993) 1273.
pub const MAD_TO_DEVIATION: f64 = 1.4826;
/// Share of the time that the trace is at the baseline at least.
const QUIET_SHARE: f64 = 0.1;

/// Baseline and noise of some samples. `None` of fewer than two.
///
/// The currents' 10 % quantile by time lies in the lowest cluster if the device is quiet for a tenth of the time. The
/// cluster is then all within six deviations of its own median, found by repetition.
pub fn level(samples: &[Sample]) -> Option<Level> {
    let mut spans: Vec<f64> = samples.iter().map(|sample| sample.span.0).collect();
    let interval = Seconds(median(&mut spans)?);
    let mut weighted: Vec<(f64, f64)> = samples.iter().map(|sample| (sample.current.0, sample.span.0)).collect();
    weighted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let largest = Amps(weighted.last()?.0);
    let mut centre = quantile(&weighted, QUIET_SHARE)?;
    let mut changes: Vec<f64> =
        samples.iter().filter(|sample| sample.current.0 <= centre).map(|sample| sample.change.0.abs()).collect();
    let mut deviation = median(&mut changes).unwrap_or(0.0) * MAD_TO_DEVIATION / std::f64::consts::SQRT_2;
    for _ in 0..8 {
        let from = weighted.partition_point(|(current, _)| *current < centre - 6.0 * deviation);
        let to = weighted.partition_point(|(current, _)| *current <= centre + 6.0 * deviation);
        let cluster = &weighted[from..to];
        let Some(middle) = quantile(cluster, 0.5) else { break };
        let mut apart: Vec<(f64, f64)> =
            cluster.iter().map(|(current, span)| ((current - middle).abs(), *span)).collect();
        apart.sort_by(|a, b| a.0.total_cmp(&b.0));
        centre = middle;
        deviation = quantile(&apart, 0.5).unwrap_or(0.0) * MAD_TO_DEVIATION;
    }
    Some(Level { baseline: Amps(centre), noise: Amps(deviation), largest, interval })
}

/// The value below which a share of the weight lies; values sorted, weights beside them.
fn quantile(sorted: &[(f64, f64)], share: f64) -> Option<f64> {
    let total: f64 = sorted.iter().map(|(_, weight)| weight).sum();
    let mut below = 0.0;
    for (value, weight) in sorted {
        below += weight;
        if below >= share * total {
            return Some(*value);
        }
    }
    sorted.last().map(|(value, _)| *value)
}

/// The middle value; sorts on the way.
pub fn median(values: &mut [f64]) -> Option<f64> {
    let middle = values.len() / 2;
    if values.is_empty() {
        return None;
    }
    let (_, value, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    Some(*value)
}

/// Quiet rows whose median is one reading of the baseline.
const BLOCK: usize = 64;
/// Readings whose median is the baseline.
const READINGS: usize = 9;

/// The baseline as it drifts.
#[derive(Clone, Debug)]
pub struct Running {
    block: Vec<f64>,
    readings: VecDeque<f64>,
    now: Amps,
}

impl Running {
    /// Begins with a baseline.
    pub fn new(baseline: Amps) -> Self {
        Self { block: Vec::with_capacity(BLOCK), readings: VecDeque::from(vec![baseline.0; READINGS]), now: baseline }
    }

    /// The baseline now.
    pub fn now(&self) -> Amps {
        self.now
    }

    /// Takes in a quiet current.
    pub fn add(&mut self, current: Amps) {
        self.block.push(current.0);
        if self.block.len() < BLOCK {
            return;
        }
        if let Some(reading) = median(&mut self.block) {
            self.readings.pop_front();
            self.readings.push_back(reading);
            let mut readings: Vec<f64> = self.readings.iter().copied().collect();
            self.now = Amps(median(&mut readings).unwrap_or(reading));
        }
        self.block.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn samples(currents: impl IntoIterator<Item = f64>) -> Vec<Sample> {
        let mut before = 0.0;
        let sample = |current: f64| {
            let change = Amps(current - before);
            before = current;
            Sample { current: Amps(current), span: Seconds(0.001), change }
        };
        currents.into_iter().map(sample).collect()
    }

    #[test]
    fn updates_for_most_of_the_time_do_not_move_the_baseline() {
        // Ripple of ten levels from 10 to 19 for a fifth of the time, the rest at 5000.
        let level =
            level(&samples((0..10_000).map(|n| if n % 1000 < 200 { 10.0 + f64::from(n % 10) } else { 5000.0 })))
                .unwrap();
        assert!((level.baseline.0 - 14.5).abs() < 1.0, "{level:?}");
        assert!((2.0..5.0).contains(&level.noise.0), "uniform over 10: deviation 2.9, got {level:?}");
        assert_eq!(level.largest, Amps(5000.0));
    }

    #[test]
    fn the_baseline_follows_a_drift_but_no_pulses() {
        let mut running = Running::new(Amps(5.0));
        for n in 0..2000 {
            running.add(Amps(if n % 10 == 0 { 1000.0 } else { 7.0 }));
        }
        assert_eq!(running.now(), Amps(7.0));
    }

    #[test]
    fn nothing_has_no_level() {
        assert_eq!(level(&[]), None);
    }
}

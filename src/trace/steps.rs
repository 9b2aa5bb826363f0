//! Where the level of a current shifts: an update's parts.
//!
//! Seeded binary segmentation: the best split of every interval out of a fixed set at all scales, then the best of
//! these, recursively (S. Kovács, P. Bühlmann, H. Li, A. Munk, "Seeded binary segmentation", Biometrika 110 (2023)
//! 249-256). A split must lower the sum of squares by more than noise would: the penalty grows with the logarithm of
//! the length (Y.-C. Yao, "Estimating the number of change-points via Schwarz' criterion", Statistics & Probability
//! Letters 6 (1988) 181-189). Plain binary segmentation would miss the short phases beside a long drive.
//!
//! Frame ripple is smoothed at its own period before: see [`super::ripple`]. What the method finds is more than a designer
//! calls a phase: shifts small beside their level, and spikes of a few rows, are joined to their neighbours after.

use super::Plateau;
use super::baseline::{MAD_TO_DEVIATION, median};
use super::bins::Bin;
use super::repeats::joined;
use super::ripple::{Ripple, ripples, smooth};
use crate::units::{Amps, Seconds};

/// A shift of less than this share of the higher level does not part two phases.
const LEAST_SHIFT: f64 = 0.08;
/// A phase of fewer bins is a spike.
const LEAST_BINS: usize = 3;
/// Splits at most.
const MOST_SPLITS: usize = 1000;

/// The parts of an update, with the baseline subtracted.
pub fn steps(bins: &[Bin], baseline: Amps) -> Vec<Plateau> {
    if bins.is_empty() {
        return Vec::new();
    }
    let sums = Sums::new(bins, baseline);
    let mut bounds = sums.split();
    for _ in 0..20 {
        let before = bounds.clone();
        sums.place(&mut bounds);
        sums.join(&mut bounds);
        if bounds == before {
            break;
        }
    }
    let spans: Vec<f64> = std::iter::once(0.0)
        .chain(bins.iter().scan(0.0, |sum, bin| {
            *sum += bin.span.0;
            Some(*sum)
        }))
        .collect();
    let step = |pair: &[usize]| {
        let part = &bins[pair[0]..pair[1]];
        let (start, duration) = (Seconds(spans[pair[0]]), Seconds(spans[pair[1]] - spans[pair[0]]));
        let charge: f64 = part.iter().map(|bin| bin.charge.0).sum();
        let peak = Amps(part.iter().map(|bin| bin.peak.0).fold(0.0, f64::max)) - baseline;
        Plateau { start, duration, current: Amps(charge / duration.0) - baseline, peak }
    };
    joined(bounds.windows(2).map(step).collect())
}

/// Sums from the first bin on, for the mean of any run in one step.
struct Sums {
    rows: Vec<f64>,
    currents: Vec<f64>,
    penalty: f64,
}

impl Sums {
    fn new(bins: &[Bin], baseline: Amps) -> Self {
        let means: Vec<f64> = bins.iter().map(|bin| bin.mean().0).collect();
        let ripples = ripples(&means);
        let (mut rows, mut currents) = (vec![0.0], vec![0.0]);
        let (mut row, mut current) = (0.0, 0.0);
        for (bin, mean) in bins.iter().zip(smooth(&means, &ripples)) {
            row += bin.rows;
            current += bin.rows * (mean - baseline.0);
            rows.push(row);
            currents.push(current);
        }
        let deviation = deviation(bins, &ripples);
        // Twice what the largest of so many splits of pure noise reaches.
        let penalty = 4.0 * deviation * deviation * (bins.len().max(2) as f64).ln();
        Self { rows, currents, penalty }
    }

    fn len(&self) -> usize {
        self.rows.len() - 1
    }

    fn mean(&self, from: usize, to: usize) -> f64 {
        (self.currents[to] - self.currents[from]) / (self.rows[to] - self.rows[from])
    }

    /// How much the sum of squares falls when a run is split.
    fn gain(&self, from: usize, at: usize, to: usize) -> f64 {
        let (left, right) = (self.rows[at] - self.rows[from], self.rows[to] - self.rows[at]);
        let apart = (self.currents[at] - self.currents[from]) / left - (self.currents[to] - self.currents[at]) / right;
        left * right / (left + right) * apart * apart
    }

    /// The best split of a run; `None` where it is too short.
    fn best(&self, from: usize, to: usize) -> Option<Split> {
        let splits = (from + 1..to).map(|at| (self.gain(from, at, to), at));
        let (gain, at) = splits.max_by(|a, b| a.0.total_cmp(&b.0))?;
        Some(Split { from, at, to, gain })
    }

    /// The seeded intervals' best splits that beat the penalty, best first.
    fn candidates(&self) -> Vec<Split> {
        let len = self.len();
        let mut found = Vec::new();
        let mut layer = 1;
        loop {
            let length = len as f64 * std::f64::consts::FRAC_1_SQRT_2.powi(layer);
            if length < 4.0 {
                break;
            }
            let count = 2 * (std::f64::consts::SQRT_2.powi(layer).ceil() as usize) - 1;
            let shift = (len as f64 - length) / (count - 1).max(1) as f64;
            for index in 0..count {
                let from = (index as f64 * shift).floor() as usize;
                let to = ((index as f64 * shift + length).ceil() as usize).min(len);
                found.extend(self.best(from, to).filter(|split| split.gain > self.penalty));
            }
            layer += 1;
        }
        found.sort_by(|a, b| b.gain.total_cmp(&a.gain));
        found
    }

    /// Bounds of the parts, the ends included. The best splits come first, so that a rippled drive, which has a small
    /// shift in every frame, does not use up all splits before the phases are found.
    fn split(&self) -> Vec<usize> {
        let candidates = self.candidates();
        let best_in = |from: usize, to: usize| {
            let seeded = candidates.iter().find(|split| split.from >= from && split.to <= to).copied();
            let whole = self.best(from, to).filter(|split| split.gain > self.penalty);
            let best = [seeded, whole].into_iter().flatten().max_by(|a, b| a.gain.total_cmp(&b.gain));
            best.map(|split| Split { from, to, ..split })
        };
        let mut bounds = vec![0, self.len()];
        let mut open: Vec<Split> = best_in(0, self.len()).into_iter().collect();
        while bounds.len() <= MOST_SPLITS {
            let next = (0..open.len()).max_by(|a, b| open[*a].gain.total_cmp(&open[*b].gain));
            let Some(next) = next else { break };
            let Split { from, at, to, .. } = open.swap_remove(next);
            bounds.push(at);
            open.extend([best_in(from, at), best_in(at, to)].into_iter().flatten());
        }
        bounds.sort_unstable();
        bounds
    }

    /// Puts every bound where it parts its two neighbours best.
    fn place(&self, bounds: &mut [usize]) {
        for index in 1..bounds.len().saturating_sub(1) {
            if let Some(best) = self.best(bounds[index - 1], bounds[index + 1]) {
                bounds[index] = best.at;
            }
        }
    }

    /// Takes out bounds that part no phases, the weakest first.
    fn join(&self, bounds: &mut Vec<usize>) {
        loop {
            let inner = 1..bounds.len().saturating_sub(1);
            let weakest = inner.map(|index| (self.strength(bounds, index), index)).min_by(|a, b| a.0.total_cmp(&b.0));
            match weakest {
                Some((strength, index)) if strength < 1.0 => bounds.remove(index),
                _ => return,
            };
        }
    }

    /// How well a bound parts two phases: below 1 not well enough.
    fn strength(&self, bounds: &[usize], index: usize) -> f64 {
        let (from, at, to) = (bounds[index - 1], bounds[index], bounds[index + 1]);
        let (left, right) = (self.mean(from, at), self.mean(at, to));
        let shift = (left - right).abs() / left.abs().max(right.abs()).max(f64::MIN_POSITIVE) / LEAST_SHIFT;
        let gain = self.gain(from, at, to) / self.penalty.max(f64::MIN_POSITIVE);
        // A spike goes to that neighbour whose level is nearer: its weaker bound is taken out first.
        let spike = at - from < LEAST_BINS || to - at < LEAST_BINS;
        let short = if spike { 1e-3 * shift.min(900.0) } else { f64::INFINITY };
        shift.min(gain).min(short)
    }
}

#[derive(Clone, Copy, Debug)]
struct Split {
    from: usize,
    at: usize,
    to: usize,
    gain: f64,
}

/// Standard deviation of one row around its level, from the changes between neighbours, which shifts hardly touch; in a
/// ripple from row to row a period later.
fn deviation(bins: &[Bin], ripples: &[Ripple]) -> f64 {
    let change = |(at, later): (usize, usize)| {
        let (one, other) = (&bins[at], &bins[later]);
        let scale = (1.0 / one.rows + 1.0 / other.rows).sqrt();
        (other.mean() - one.mean()).0.abs() / scale
    };
    let rippled = |at: &usize| ripples.iter().any(|ripple| ripple.rows.contains(at));
    let plain = (0..bins.len().saturating_sub(1)).filter(|at| !rippled(at)).map(|at| (at, at + 1));
    let within = |ripple: &Ripple| (ripple.rows.start..ripple.rows.end - ripple.period, ripple.period);
    let periods = ripples.iter().map(within).flat_map(|(rows, period)| rows.map(move |at| (at, at + period)));
    let mut changes: Vec<f64> = plain.chain(periods).map(change).collect();
    let means = || bins.iter().map(|bin| bin.mean().0);
    let range = means().fold(f64::MIN, f64::max) - means().fold(f64::MAX, f64::min);
    // Without noise, rounding must not look like shifts.
    (median(&mut changes).unwrap_or(0.0) * MAD_TO_DEVIATION).max(1e-6 * range.max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Joules;

    fn bins(levels: &[(usize, f64)], noise: impl Fn(usize) -> f64) -> Vec<Bin> {
        let currents = levels.iter().flat_map(|(count, level)| std::iter::repeat_n(*level, *count));
        let bin = |(index, level): (usize, f64)| {
            let (current, span) = (Amps(level + noise(index)), Seconds(0.001));
            Bin { span, charge: current * span, energy: Joules(0.0), sum: current, rows: 1.0, peak: current }
        };
        currents.enumerate().map(bin).collect()
    }

    fn counts(steps: &[Plateau]) -> Vec<usize> {
        steps.iter().map(|step| (step.duration.0 * 1000.0).round() as usize).collect()
    }

    /// Noise from a fixed sequence, roughly uniform with deviation 0.06.
    fn noise(index: usize) -> f64 {
        ((index as f64 * 0.754_877_666).fract() - 0.5) * 0.2
    }

    #[test]
    fn short_phases_before_a_long_drive_are_found() {
        let levels = [(43, 2.1), (12, 1.1), (22, 3.7), (11, 2.1), (45, 5.6), (2100, 4.2), (30, 1.4)];
        for quiet in [true, false] {
            let steps = steps(&bins(&levels, |index| if quiet { 0.0 } else { noise(index) }), Amps(0.0));
            assert_eq!(counts(&steps), levels.map(|(count, _)| count).to_vec());
            for (step, (_, level)) in steps.iter().zip(levels) {
                assert!((step.current.0 - level).abs() < 0.03, "{step:?} {level}");
            }
        }
    }

    #[test]
    fn a_rippled_drive_hides_no_phase() {
        let levels = [(51, 2.1), (13, 1.0), (23, 3.7), (12, 2.1), (46, 5.4), (6000, 4.4), (31, 1.4)];
        let ripple = |index: usize| {
            if (145..6145).contains(&index) {
                0.13 * (index as f64 / 20.0 * std::f64::consts::TAU).sin()
            } else {
                0.02 * noise(index)
            }
        };
        assert_eq!(counts(&steps(&bins(&levels, ripple), Amps(0.0))), levels.map(|(count, _)| count).to_vec());
    }

    #[test]
    fn noise_alone_is_one_step() {
        assert_eq!(counts(&steps(&bins(&[(3000, 4.0)], noise), Amps(1.0))), [3000]);
    }

    #[test]
    fn a_spike_is_no_phase() {
        assert_eq!(counts(&steps(&bins(&[(100, 2.0), (2, 9.0), (300, 4.0)], noise), Amps(0.0))), [100, 302]);
    }

    #[test]
    fn one_row_is_one_step() {
        assert_eq!(counts(&steps(&bins(&[(1, 2.0)], noise), Amps(0.0))), [1]);
        assert!(steps(&[], Amps(0.0)).is_empty());
    }
}

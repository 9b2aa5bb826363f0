//! Frame ripple: a current that swings the same way in every frame of a drive. It is smoothed at its own period before the
//! update is cut, so that neither swings nor the first spike of a drive are taken for phases.
//!
//! The period is found in blocks at every scale by the cumulative mean normalised difference (A. de Cheveigné and
//! H. Kawahara, "YIN, a fundamental frequency estimator", J. Acoust. Soc. Am. 111 (2002) 1917-1930), which neither noise
//! nor a slow change passes. Not for levels that repeat a few times only: see [`super::repeats`].

use std::ops::Range;

/// Bins of a block, and periods that are looked for in it.
const BLOCK: usize = 512;
const PERIODS: usize = BLOCK / 4;
/// Blocks of one scale at most.
const MOST_BLOCKS: usize = 16;
/// A normalised difference below this is a period: what is left of it beside noise is this share of the swing.
const PERIODIC: f64 = 0.2;
/// A ripple swings at least by this share of its mean, on average: less parts no phases.
const LEAST_SWING: f64 = 0.02;
/// A ripple lasts for so many periods at least.
const LEAST_PERIODS: usize = 5;
/// Neighbouring rows that differ by more than this share of a period's range have an edge between them.
const EDGE: f64 = 0.5;
/// Two periods are alike where their rows differ by less than this share of the swing, on average.
const ALIKE: f64 = 0.6;

/// A stretch with a ripple.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ripple {
    /// Its rows.
    pub rows: Range<usize>,
    /// Rows of a period.
    pub period: usize,
}

/// The ripples of a current in rows, in order; no two share a row.
pub fn ripples(current: &[f64]) -> Vec<Ripple> {
    let mut found: Vec<Ripple> = Vec::new();
    let mut coarse = current.to_vec();
    let mut grain = 1;
    while coarse.len() >= 2 * LEAST_PERIODS {
        let length = coarse.len().min(BLOCK);
        let count = (2 * coarse.len()).div_ceil(BLOCK).clamp(1, MOST_BLOCKS);
        for index in 0..count {
            let from = (coarse.len() - length) * index / (count - 1).max(1);
            let rows = from * grain..(from + length) * grain;
            let middle = (rows.start + rows.end) / 2;
            if found.iter().any(|ripple| ripple.rows.contains(&middle)) {
                continue;
            }
            // Shorter periods were looked for at a finer scale.
            let least = if grain == 1 { 2 } else { PERIODS / 4 };
            let period = period(&coarse[from..from + length], least);
            let ripple = period.and_then(|period| grown(current, rows, period * grain, grain));
            found.extend(ripple.and_then(|ripple| beside(ripple, &found)));
        }
        coarse = coarse.chunks_exact(2).map(|pair| 0.5 * (pair[0] + pair[1])).collect();
        grain *= 2;
    }
    found.sort_by_key(|ripple| ripple.rows.start);
    found
}

/// A new ripple without the rows that others hold already; `None` where too little is left of it.
fn beside(mut new: Ripple, found: &[Ripple]) -> Option<Ripple> {
    for old in found.iter().map(|old| &old.rows) {
        if old.contains(&new.rows.start) {
            new.rows.start = old.end;
        } else if new.rows.contains(&old.start) {
            new.rows.end = old.start;
        }
    }
    (new.rows.len() >= LEAST_PERIODS * new.period).then_some(new)
}

/// The shortest period of a block, of at least so many bins.
fn period(block: &[f64], least: usize) -> Option<usize> {
    let longest = (block.len() / LEAST_PERIODS).min(PERIODS);
    let mut sum = 0.0;
    let mut normal = vec![1.0];
    for lag in 1..=longest {
        let squares = block.iter().zip(&block[lag..]).map(|(one, other)| (one - other).powi(2));
        let difference = squares.sum::<f64>() / (block.len() - lag) as f64;
        sum += difference;
        normal.push(if sum > 0.0 { difference * lag as f64 / sum } else { 1.0 });
    }
    let first = (least..normal.len()).find(|lag| normal[*lag] < PERIODIC)?;
    // Down to the bottom of that valley.
    (first..normal.len() - 1).find(|lag| normal[lag + 1] >= normal[*lag])
}

/// The stretch around a block in which rows a period apart are alike; the period is known to `grain` rows.
fn grown(current: &[f64], block: Range<usize>, period: usize, grain: usize) -> Option<Ripple> {
    let middle = (block.start + block.end) / 2;
    let apart = |row: usize, period: usize| (current[row] - current[row + period]).abs();
    let around = |period: usize| {
        let rows = block.start..block.end.min(current.len() - period);
        let count = rows.len().max(1) as f64;
        rows.map(|row| apart(row, period)).sum::<f64>() / count
    };
    let near = (period + 1).saturating_sub(grain).max(2)..(period + grain).min(current.len() / 2);
    let period = near.min_by(|a, b| around(*a).total_cmp(&around(*b)))?;
    let start = middle.saturating_sub(period / 2);
    let one = current.get(start..start + period)?;
    let mean = one.iter().sum::<f64>() / period as f64;
    let swing = one.iter().map(|value| (value - mean).abs()).sum::<f64>() / period as f64;
    if swing < LEAST_SWING * mean.abs() {
        return None;
    }
    // Differences summed up from the first row, for the mean of any run of them in one step.
    let sums: Vec<f64> = std::iter::once(0.0)
        .chain((0..current.len() - period).scan(0.0, |sum, row| {
            *sum += apart(row, period);
            Some(*sum)
        }))
        .collect();
    let alike = |row: usize| sums[row + period] - sums[row] <= ALIKE * swing * period as f64;
    let last = current.len().checked_sub(2 * period)?;
    let first = (0..=start.min(last)).rev().take_while(|row| alike(*row)).last()?;
    let end = (start.min(last)..=last).take_while(|row| alike(*row)).last()? + 2 * period;
    // The first and the last period may hold rows of what lies beside: these differ by more than rows of the ripple do.
    let usual = (sums[start.min(last) + period] - sums[start.min(last)]) / period as f64;
    let much = (3.0 * usual).clamp(0.1 * swing, swing);
    let (low, high) =
        one.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(*value), high.max(*value)));
    // How far a row is from the row a period apart, or from what that row and its next span: frames do not begin at the same
    // place between two rows. Over an edge that is no span, and the row is like the one or like the other.
    let far = |&(row, other): &(usize, usize), by: isize| {
        let value = current[row];
        let there = other.checked_add_signed(by).and_then(|next| current.get(next)).unwrap_or(&current[other]);
        let span = (current[other].min(*there), current[other].max(*there));
        match span.1 - span.0 <= EDGE * (high - low) {
            true => (span.0 - value).max(value - span.1).max(0.0),
            false => (value - span.0).abs().min((value - span.1).abs()),
        }
    };
    let trimmed_by = |pairs: &[(usize, usize)], by: isize| {
        let (mut sum, mut best, mut cut) = (0.0, 0.0, 0);
        for (count, pair) in pairs.iter().enumerate() {
            sum += far(pair, by) - much;
            if sum > best {
                (best, cut) = (sum, count + 1);
            }
        }
        cut
    };
    let trimmed = |pairs: &[(usize, usize)]| trimmed_by(pairs, 0).min(trimmed_by(pairs, -1)).min(trimmed_by(pairs, 1));
    let head = trimmed(&(first..first + period).map(|row| (row, row + period)).collect::<Vec<_>>());
    let tail = trimmed(&(end - period..end).rev().map(|row| (row, row - period)).collect::<Vec<_>>());
    let rows = first + head..end - tail;
    (rows.len() >= LEAST_PERIODS * period).then_some(Ripple { rows, period })
}

/// The current with every row of a ripple at the mean of the period around it.
pub fn smooth(current: &[f64], ripples: &[Ripple]) -> Vec<f64> {
    let mut smooth = current.to_vec();
    for Ripple { rows, period } in ripples {
        let mut sum: f64 = current[rows.start..rows.start + period].iter().sum();
        let mut from = rows.start;
        for row in rows.clone() {
            let wanted = row.saturating_sub(period / 2).clamp(rows.start, rows.end - period);
            while from < wanted {
                sum += current[from + period] - current[from];
                from += 1;
            }
            smooth[row] = sum / *period as f64;
        }
    }
    smooth
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Noise from a fixed sequence, roughly uniform with deviation 0.06.
    fn noise(index: usize) -> f64 {
        ((index as f64 * 0.754_877_666).fract() - 0.5) * 0.2
    }

    fn spike(row: usize, period: f64) -> f64 {
        4.0 * (1.0 + 2.0 * (-(row as f64 % period) / (0.15 * period)).exp())
    }

    #[test]
    fn a_ripple_is_found_from_its_first_row_to_its_last() {
        for (period, rows) in [
            (20.0, 2000),
            (200.0, 20_000),
            (33.3, 2000),
            (500.0, 6000),
            (125.8, 20_000),
            (127.35, 10_000),
            (290.4, 20_000),
        ] {
            let mut current = vec![2.0; 50];
            current.extend((0..rows).map(|row| spike(row, period)));
            current.extend([1.5; 30]);
            current.iter_mut().enumerate().for_each(|(row, value)| *value += noise(row));
            let found = ripples(&current);
            assert_eq!(found.len(), 1, "{found:?}");
            // To two rows: where a period is no whole number of rows a spike may fall on either side of one.
            assert!(found[0].rows.start.abs_diff(50) <= 2 && found[0].rows.end.abs_diff(50 + rows) <= 2, "{found:?}");
            let periods = found[0].period as f64 / period;
            assert!((periods - periods.round()).abs() < 0.03 && periods < 4.0, "{found:?}");
            // The mean of a period: that of the closed form over the whole stretch.
            let mean = current[50..50 + rows].iter().sum::<f64>() / rows as f64;
            let smooth = smooth(&current, &found);
            assert!(smooth[52..48 + rows].iter().all(|value| (value / mean - 1.0).abs() < 0.04), "{period}");
            assert_eq!((smooth[..49].to_vec(), smooth.len()), (current[..49].to_vec(), current.len()));
        }
    }

    #[test]
    fn noise_steps_and_slow_changes_are_no_ripple() {
        let flat: Vec<f64> = (0..3000).map(|row| 4.0 + noise(row * 7919 % 100_003)).collect();
        let slow: Vec<f64> = (0..3000).map(|row| 4.0 - row as f64 / 1000.0).collect();
        let steps: Vec<f64> = (0..3000).map(|row| [2.0, 6.0, 4.0][row / 1000]).collect();
        for current in [flat, slow, steps, vec![1.0; 4], Vec::new()] {
            assert_eq!(ripples(&current), []);
        }
    }
}

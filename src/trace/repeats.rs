//! Levels that repeat inside one drive: frame ripple, and waveforms of several levels for each frame.
//!
//! A pattern of two to four levels that comes three times or more in a row, each time as long and as high, is one part of
//! the update at its mean. Not for levels that come once: those are phases.

use super::Plateau;
use crate::units::{Amps, Seconds};

/// Levels of a pattern, at most.
const LONGEST: usize = 4;
/// How often a pattern comes at least.
const LEAST: usize = 3;
/// Shares by which levels and lengths of a pattern may differ: the ends of a part are found to a row or two.
const LEVEL: f64 = 0.12;
const LENGTH: f64 = 0.35;

/// The parts with patterns joined.
pub fn joined(parts: Vec<Plateau>) -> Vec<Plateau> {
    let mut out = Vec::with_capacity(parts.len());
    let mut at = 0;
    while at < parts.len() {
        let found = (2..=LONGEST).find_map(|period| {
            let repeats = (at..parts.len().saturating_sub(period))
                .take_while(|index| alike(&parts[*index], &parts[index + period]))
                .count();
            (repeats + period >= LEAST * period).then_some(repeats + period)
        });
        match found {
            Some(length) => {
                out.push(whole(&parts[at..at + length]));
                at += length;
            }
            None => {
                out.push(parts[at]);
                at += 1;
            }
        }
    }
    out
}

fn alike(one: &Plateau, other: &Plateau) -> bool {
    let near = |a: f64, b: f64, share: f64| (a - b).abs() <= share * a.abs().max(b.abs());
    near(one.current.0, other.current.0, LEVEL) && near(one.duration.0, other.duration.0, LENGTH)
}

/// Several parts as one at their mean.
pub fn whole(parts: &[Plateau]) -> Plateau {
    let start = parts.first().map_or(Seconds(0.0), |first| first.start);
    let duration: Seconds = parts.iter().map(|part| part.duration).sum();
    let charge: f64 = parts.iter().map(|part| part.charge().0).sum();
    let current = Amps(if duration.0 > 0.0 { charge / duration.0 } else { 0.0 });
    let peak = Amps(parts.iter().map(|part| part.peak.0).fold(0.0, f64::max));
    Plateau { start, duration, current, peak }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts(of: &[(f64, f64)]) -> Vec<Plateau> {
        let mut start = Seconds(0.0);
        let part = |(duration, level): &(f64, f64)| {
            let part = Plateau { start, duration: Seconds(*duration), current: Amps(*level), peak: Amps(*level) };
            start += part.duration;
            part
        };
        of.iter().map(part).collect()
    }

    /// By hand: four times 0.2 s at 4 and 0.3 s at 6 are 2 s at 5.2.
    #[test]
    fn a_pattern_that_repeats_is_one_part_at_its_mean() {
        let mut all = vec![(0.05, 2.0), (0.045, 8.0)];
        all.extend([(0.2, 4.0), (0.3, 6.0)].repeat(4));
        all.push((0.03, 1.5));
        let found = joined(parts(&all));
        assert_eq!(found.len(), 4);
        assert!((found[2].duration.0 - 2.0).abs() < 1e-12 && (found[2].current.0 - 5.2).abs() < 1e-12, "{found:?}");
        assert_eq!(found[2].peak, Amps(6.0));
        assert!((found[3].start.0 - (0.05 + 0.045 + 2.0)).abs() < 1e-12, "{found:?}");
    }

    #[test]
    fn three_levels_repeat_too_and_a_pattern_may_end_within() {
        let mut all = [(0.1, 4.0), (0.1, 6.0), (0.05, 9.0)].repeat(3);
        all.push((0.1, 4.0));
        all.push((0.03, 1.5));
        assert_eq!(joined(parts(&all)).len(), 2);
    }

    #[test]
    fn phases_that_differ_stay() {
        let all = [(0.05, 2.0), (0.014, 1.1), (0.022, 3.7), (0.045, 5.6), (2.0, 4.2), (0.03, 1.4)];
        assert_eq!(joined(parts(&all)), parts(&all));
        // Twice is no pattern.
        let all = [(0.05, 2.0), (0.05, 4.0), (0.05, 2.0), (0.05, 4.0)];
        assert_eq!(joined(parts(&all)), parts(&all));
    }
}

//! Which measured parts belong to which predicted phases, in order.
//!
//! Phases with like currents cannot be told apart in a measurement, and a measured phase may show more levels than one.
//! So runs of the one are matched with runs of the other, one of the two being single; of all ways that cover both, the
//! one with the least difference is found exactly, by dynamic programming as in dynamic time warping (H. Sakoe and
//! S. Chiba, IEEE Trans. ASSP 26 (1978) 43-49).

use crate::units::{Amps, Seconds};
use std::ops::Range;

/// A part with its level.
#[derive(Clone, Copy, Debug)]
pub struct AlignedPart {
    /// How long it lasts.
    pub duration: Seconds,
    /// Its mean current.
    pub current: Amps,
}

/// A run of predicted phases and the run of measured parts that it is.
pub type Match = (Range<usize>, Range<usize>);

/// What joining one part more into a run costs: as much as a level that is off by a quarter.
const JOIN: f64 = 0.05;

/// Matches all predicted phases with all measured parts. Empty where either is empty.
pub fn align(predicted: &[AlignedPart], measured: &[AlignedPart]) -> Vec<Match> {
    let (rows, columns) = (predicted.len(), measured.len());
    if rows == 0 || columns == 0 {
        return Vec::new();
    }
    // Least cost to have matched so many of each, and the lengths of the last runs.
    let mut least = vec![vec![(f64::INFINITY, 0, 0); columns + 1]; rows + 1];
    least[0][0].0 = 0.0;
    for row in 1..=rows {
        for column in 1..=columns {
            let long = (1..=row).map(|run| (run, 1)).chain((2..=column).map(|run| (1, run)));
            for (up, left) in long {
                let before = least[row - up][column - left].0;
                let cost = before + difference(&predicted[row - up..row], &measured[column - left..column]);
                if cost < least[row][column].0 {
                    least[row][column] = (cost, up, left);
                }
            }
        }
    }
    let mut matches = Vec::new();
    let (mut row, mut column) = (rows, columns);
    while row > 0 && column > 0 {
        let (_, up, left) = least[row][column];
        matches.push((row - up..row, column - left..column));
        (row, column) = (row - up, column - left);
    }
    matches.reverse();
    matches
}

/// Squared logarithms of the ratios of time and current, and of the currents within a run to its mean.
fn difference(predicted: &[AlignedPart], measured: &[AlignedPart]) -> f64 {
    let (p, m) = (whole(predicted), whole(measured));
    let square = |ratio: f64| ratio.max(1e-6).ln().powi(2);
    let level = 2.0 * square(p.current / m.current);
    let uneven = |parts: &[AlignedPart], all: AlignedPart| -> f64 {
        parts.iter().map(|part| part.duration / all.duration * square(part.current / all.current)).sum()
    };
    let joined = (predicted.len() + measured.len() - 2) as f64;
    square(p.duration / m.duration) + level + 2.0 * (uneven(predicted, p) + uneven(measured, m)) + JOIN * joined
}

/// Several parts as one, with their mean current.
pub fn whole(parts: &[AlignedPart]) -> AlignedPart {
    let duration: Seconds = parts.iter().map(|part| part.duration).sum();
    let charge = parts.iter().map(|part| part.current * part.duration).sum::<crate::units::Coulombs>();
    let current = if duration.0 > 0.0 { charge / duration } else { Amps(0.0) };
    AlignedPart { duration, current }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts(of: &[(f64, f64)]) -> Vec<AlignedPart> {
        of.iter()
            .map(|(duration, current)| AlignedPart { duration: Seconds(*duration), current: Amps(*current) })
            .collect()
    }

    #[test]
    fn phases_that_look_alike_are_one_run() {
        let predicted = parts(&[
            (0.6, 2.1),
            (43.0, 2.1),
            (12.0, 1.1),
            (22.0, 3.7),
            (11.0, 2.1),
            (45.0, 5.6),
            (2100.0, 4.2),
            (30.0, 1.4),
        ]);
        let measured =
            parts(&[(45.0, 2.0), (13.0, 1.0), (22.0, 3.5), (19.0, 2.2), (44.0, 5.5), (2200.0, 4.6), (31.0, 1.4)]);
        let expected: Vec<Match> =
            [(0..2, 0..1), (2..3, 1..2), (3..4, 2..3), (4..5, 3..4), (5..6, 4..5), (6..7, 5..6), (7..8, 6..7)].into();
        assert_eq!(align(&predicted, &measured), expected);
    }

    #[test]
    fn a_phase_with_several_levels_is_one_phase() {
        let predicted = parts(&[(50.0, 2.0), (2000.0, 4.0), (30.0, 1.0)]);
        let measured = parts(&[(52.0, 2.1), (900.0, 4.4), (1100.0, 3.8), (29.0, 1.0)]);
        assert_eq!(align(&predicted, &measured), [(0..1, 0..1), (1..2, 1..3), (2..3, 3..4)]);
    }

    #[test]
    fn nothing_matches_nothing() {
        assert!(align(&[], &parts(&[(1.0, 1.0)])).is_empty());
    }
}

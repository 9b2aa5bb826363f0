//! The mean of several loads that vary with the terminal voltage, each at the voltage that it leaves itself of one source: as
//! a series over the source's resistance `R`, whose factors are polynomials of its voltage `E`.
//!
//! A load takes `I = a(E - R I)`. With `r` and `b` the first factors of `a` around `E` that is, by putting it into itself,
//! `I = a - R a r + R^2 (a r^2 + a^2 b)` and beyond that of the order of `R^3`; its power is `(E - R I) I`. So one
//! evaluation serves for all loads. Only where the fall of every load is small: see [`Varying::settle`] for the rest.

use super::load::Draw;
use super::polynomial::Polynomials;
use super::varying::Varying;
use crate::units::{Amps, Ohms, Volts, Watts};

/// A relative fall of the voltage whose third order is far below what a piece of a load may miss.
pub(super) const SECOND: f64 = 3e-3;
/// How far what was found at the points of a polynomial may be passed between them: a current, and a slope.
const BETWEEN: [f64; 2] = [1.1, 1.25];

/// The mean of some loads, piece by piece.
#[derive(Clone, Debug)]
pub(super) struct Series(Vec<Piece>);

/// Between two voltages.
#[derive(Clone, Copy, Debug)]
struct Piece {
    low: f64,
    high: f64,
    /// What turns volts beyond `low` into twice a share of the way.
    scale: f64,
    /// No load takes a larger current.
    most: f64,
    /// The largest relative fall of a load, or change of its current over a fall, for each ohm.
    steepest: f64,
    /// Of the mean current the factors of 1, `R` and `R^2`; of the mean squared current those of 1 and `R`.
    factors: Polynomials<5>,
}

impl Series {
    /// Of loads with their weights in the mean.
    pub(super) fn of(loads: &[(f64, &Varying)]) -> Self {
        let mut edges: Vec<f64> = loads.iter().flat_map(|(_, load)| load.edges()).collect();
        edges.sort_by(f64::total_cmp);
        edges.dedup();
        Self(edges.windows(2).filter_map(|pair| Piece::between(loads, pair[0], pair[1])).collect())
    }

    /// Mean current and power beside a source, where the series tells them.
    #[inline]
    pub(super) fn mean(&self, ocv: Volts, ohms: Ohms) -> Option<Draw> {
        let (volts, ohms) = (ocv.0, ohms.0);
        let piece = self.0.iter().rev().find(|piece| piece.low <= volts).filter(|piece| volts <= piece.high)?;
        if volts - ohms * piece.most < piece.low || ohms * piece.steepest > SECOND {
            return None;
        }
        let [amps, first, second, square, less] = piece.factors.at((volts - piece.low) * piece.scale - 1.0);
        let amps = amps + ohms * (first + ohms * second);
        Some((Amps(amps), Watts(volts * amps - ohms * (square + ohms * less))))
    }
}

impl Piece {
    /// `None` where a load is not told by a polynomial there.
    fn between(loads: &[(f64, &Varying)], low: f64, high: f64) -> Option<Self> {
        let (mut told, mut most, mut steepest) = (true, 0.0_f64, 0.0_f64);
        let at = |x: f64| {
            let volts = low + 0.5 * (x + 1.0) * (high - low);
            let mut sums = [0.0; 5];
            for (weight, load) in loads {
                let Some([a, r, b]) = load.whole_around(Volts(volts)) else {
                    told = false;
                    continue;
                };
                most = most.max(a);
                steepest = steepest.max(a / volts).max(r.abs()).max((a * b).abs().sqrt());
                let (first, second) = (-a * r, a * (r * r + a * b));
                let parts = [a, first, second, a * a, 2.0 * a * first];
                sums.iter_mut().zip(parts).for_each(|(sum, part)| *sum += weight * part);
            }
            sums
        };
        let factors = Polynomials::through(at);
        let (most, steepest, scale) = (BETWEEN[0] * most, BETWEEN[1] * steepest, 2.0 / (high - low));
        told.then_some(Self { low, high, scale, most, steepest, factors })
    }
}

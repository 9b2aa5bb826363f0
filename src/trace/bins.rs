//! The currents of one update at a resolution that gets coarser as it gets longer, so that memory stays bounded.

use crate::units::{Amps, Coulombs, Joules, Seconds};

/// Some neighbouring rows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bin {
    /// The time they stand for.
    pub span: Seconds,
    /// Integral of the current over it.
    pub charge: Coulombs,
    /// Integral of current and voltage over it; 0 where no voltage is known.
    pub energy: Joules,
    /// Sum of the currents.
    pub sum: Amps,
    /// Number of rows.
    pub rows: f64,
    /// Largest current.
    pub peak: Amps,
}

impl Bin {
    /// The mean of its rows.
    pub fn mean(&self) -> Amps {
        self.sum / self.rows
    }

    fn join(&mut self, other: &Self) {
        self.span += other.span;
        self.charge += other.charge;
        self.energy += other.energy;
        self.sum += other.sum;
        self.rows += other.rows;
        self.peak = Amps(self.peak.0.max(other.peak.0));
    }
}

/// Bins at most; with more, neighbours are joined.
const MOST: usize = 32_768;

/// Bins in order.
#[derive(Clone, Debug)]
pub struct Bins {
    bins: Vec<Bin>,
    /// Rows that one bin holds.
    grain: f64,
    /// The time that all stand for.
    span: Seconds,
}

impl Default for Bins {
    fn default() -> Self {
        Self { bins: Vec::new(), grain: 1.0, span: Seconds(0.0) }
    }
}

impl Bins {
    /// The bins.
    pub fn bins(&self) -> &[Bin] {
        &self.bins
    }

    /// The time that all stand for.
    pub fn span(&self) -> Seconds {
        self.span
    }

    /// Empties it.
    pub fn clear(&mut self) {
        self.bins.clear();
        (self.grain, self.span) = (1.0, Seconds(0.0));
    }

    /// Adds what comes next.
    pub fn add(&mut self, bin: Bin) {
        self.span += bin.span;
        match self.bins.last_mut() {
            Some(last) if last.rows + bin.rows <= self.grain => last.join(&bin),
            _ => self.bins.push(bin),
        }
        if self.bins.len() >= MOST {
            let pairs = self.bins.chunks(2).map(|pair| {
                let mut joined = pair[0];
                pair[1..].iter().for_each(|bin| joined.join(bin));
                joined
            });
            self.bins = pairs.collect();
            self.grain *= 2.0;
        }
    }

    /// Moves everything of another to the end.
    pub fn take(&mut self, other: &mut Self) {
        other.bins.iter().for_each(|bin| self.add(*bin));
        other.clear();
    }

    /// All in one.
    pub fn total(&self) -> Option<Bin> {
        let (first, rest) = self.bins.split_first()?;
        let mut total = *first;
        rest.iter().for_each(|bin| total.join(bin));
        Some(total)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_updates_lose_resolution_but_no_charge() {
        let mut bins = Bins::default();
        for n in 0..100_000 {
            let current = Amps(f64::from(n % 7));
            let span = Seconds(0.5);
            bins.add(Bin { span, charge: current * span, energy: Joules(0.0), sum: current, rows: 1.0, peak: current });
            assert!(bins.bins().len() <= MOST);
        }
        let total = bins.total().unwrap();
        assert_eq!((total.rows, total.span, total.peak), (100_000.0, Seconds(50_000.0), Amps(6.0)));
        let charge: f64 = (0..100_000).map(|n| f64::from(n % 7) * 0.5).sum();
        assert!((total.charge.0 - charge).abs() < 1e-6);
        assert!(bins.bins().len() > MOST / 4);
    }
}

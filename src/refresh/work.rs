//! The work of updates as plain amounts that add up: so many bytes, so many seconds of drive at such temperatures.
//!
//! Where the microcontroller clocks the panel, whole frames are counted on each device by its own clock and stages, so it is
//! kept how many drives were made at which temperature: see [`Shares`]. What one amount costs is [`crate::cost::phases`];
//! the work of a year is the sum of the works of its updates.

use crate::units::Seconds;
use std::ops::AddAssign;

/// Drive in one segment of a temperature table, as sums from which mean time, current and charge follow exactly:
/// with time `t0 + s dt` and current `i0 + s di` at the share `s` between two rows, their product needs the sums of
/// `1`, `s` and `s^2`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Moments {
    /// Number of drives.
    pub count: f64,
    /// Sum of the shares.
    pub share: f64,
    /// Sum of the squared shares.
    pub square: f64,
    /// Where in the segment those drives are that the microcontroller clocks; none where a controller makes the waveform.
    pub clocked: Shares,
}

/// Where drives lie in a segment of a temperature table. Those within a 64th of the segment count at their mean: a factor
/// that grows by six from one row to the next grows by a tenth in such a place, some part of a frame that falls now on this
/// and now on that side of a whole one.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shares(Vec<(u32, f64, f64)>);

impl Shares {
    /// Places of a segment.
    const PLACES: f64 = 64.0;

    /// One drive at a share.
    pub fn one(share: f64) -> Self {
        Self(vec![((share * Self::PLACES) as u32, 1.0, share)])
    }

    /// Numbers of drives with their mean share.
    pub fn all(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.0.iter().map(|(_, count, sum)| (*count, sum / count))
    }
}

impl AddAssign<&Self> for Shares {
    fn add_assign(&mut self, other: &Self) {
        for (place, count, share) in &other.0 {
            match self.0.binary_search_by_key(place, |known| known.0) {
                Ok(at) => {
                    self.0[at].1 += count;
                    self.0[at].2 += share;
                }
                Err(at) => self.0.insert(at, (*place, *count, *share)),
            }
        }
    }
}

/// Drives with one waveform, for each segment of its table. Those of one update lie in one segment.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Drives {
    /// None.
    #[default]
    None,
    /// All in this segment.
    One(usize, Moments),
    /// In several: for each segment from the first.
    Many(Vec<Moments>),
}

impl Drives {
    /// Segments with what is driven in them; segments without drives may be among them.
    pub fn segments(&self) -> impl Iterator<Item = (usize, &Moments)> {
        let (first, all) = match self {
            Self::None => (0, &[][..]),
            Self::One(segment, moments) => (*segment, std::slice::from_ref(moments)),
            Self::Many(all) => (0, all.as_slice()),
        };
        (first..).zip(all)
    }
}

/// Amounts of work.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Work {
    /// Updates: each wakes the microcontroller, starts the panel and its booster once.
    pub updates: f64,
    /// Updates among them that found the booster still on: neither start-up nor booster for them.
    pub warm: f64,
    /// Time for which the booster is kept on after updates.
    pub held: Seconds,
    /// Cycles in which the microcontroller draws.
    pub cycles: f64,
    /// Bytes over the bus to the panel, window commands included.
    pub panel_bytes: f64,
    /// Bytes over the bus to and from the external memory.
    pub memory_bytes: f64,
    /// Drives with the full waveform.
    pub full: Drives,
    /// Drives with the short waveform.
    pub partial: Drives,
}

impl AddAssign<&Work> for Work {
    fn add_assign(&mut self, other: &Self) {
        self.updates += other.updates;
        self.warm += other.warm;
        self.held += other.held;
        self.cycles += other.cycles;
        self.panel_bytes += other.panel_bytes;
        self.memory_bytes += other.memory_bytes;
        self.full += &other.full;
        self.partial += &other.partial;
    }
}

impl AddAssign<&Self> for Drives {
    fn add_assign(&mut self, other: &Self) {
        for (segment, more) in other.segments() {
            match self {
                Self::None => *self = Self::One(segment, more.clone()),
                Self::One(only, sum) if *only == segment => *sum += more,
                Self::One(only, sum) => {
                    let mut all = vec![Moments::default(); segment.max(*only) + 1];
                    (all[*only], all[segment]) = (std::mem::take(sum), more.clone());
                    *self = Self::Many(all);
                }
                Self::Many(all) => {
                    all.resize(all.len().max(segment + 1), Moments::default());
                    all[segment] += more;
                }
            }
        }
    }
}

impl AddAssign<&Self> for Moments {
    fn add_assign(&mut self, other: &Self) {
        self.count += other.count;
        self.share += other.share;
        self.square += other.square;
        self.clocked += &other.clocked;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn drives_add_up_segment_by_segment_in_any_order() {
        let one =
            |segment: usize, count: f64| Drives::One(segment, Moments { count, share: 0.5, ..Moments::default() });
        let sum = |all: &[Drives]| {
            let mut sum = Drives::None;
            all.iter().for_each(|drives| sum += drives);
            sum
        };
        assert_eq!(
            sum(&[one(2, 1.0), one(2, 3.0)]).segments().map(|(at, sum)| (at, sum.count)).collect::<Vec<_>>(),
            [(2, 4.0)]
        );
        let all = [one(2, 1.0), one(0, 2.0), one(2, 4.0), one(3, 8.0)];
        let mixed = sum(&all);
        let counts: Vec<_> = mixed.segments().map(|(at, sum)| (at, sum.count, sum.share)).collect();
        assert_eq!(counts, [(0, 2.0, 0.5), (1, 0.0, 0.0), (2, 5.0, 1.0), (3, 8.0, 0.5)]);
        let backwards: Vec<Drives> = all.iter().rev().cloned().collect();
        assert_eq!(mixed, sum(&backwards));
        assert_eq!(sum(&[mixed.clone(), Drives::None, mixed]).segments().map(|(_, sum)| sum.count).sum::<f64>(), 30.0);
    }
}

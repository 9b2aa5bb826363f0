//! The work of updates as plain amounts that add up: so many bytes, so many seconds of drive at such temperatures.
//!
//! Frames are those of the typical device: on another one the stretched time follows its inputs, and what whole frames add
//! stays as many frames. What one amount costs is [`crate::cost::phases`]; the work of a year is the sum of the works of its updates.

use crate::units::Seconds;
use std::ops::AddAssign;

/// Drive in one segment of a temperature table, as sums from which mean time, current and charge follow exactly:
/// with time `t0 + s dt` and current `i0 + s di` at the share `s` between two rows, their product needs the sums of
/// `1`, `s` and `s^2`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Moments {
    /// Number of drives.
    pub count: f64,
    /// Sum of the shares.
    pub share: f64,
    /// Sum of the squared shares.
    pub square: f64,
    /// Frames that the microcontroller clocks; 0 where a controller makes the waveform.
    pub frames: f64,
    /// Frames by which whole numbers of them exceed the stretched time of the stages.
    pub beyond: f64,
    /// Sum of those, each times its share.
    pub beyond_share: f64,
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
    /// Pixels drawn by the microcontroller.
    pub pixels: f64,
    /// Bytes over the bus to the panel, window commands included.
    pub panel_bytes: f64,
    /// Bytes over the bus to and from the external memory.
    pub memory_bytes: f64,
    /// Drives with the full waveform, for each segment of its table.
    pub full: Vec<Moments>,
    /// Drives with the short waveform, for each segment of its table.
    pub partial: Vec<Moments>,
}

impl AddAssign<&Work> for Work {
    fn add_assign(&mut self, other: &Self) {
        self.updates += other.updates;
        self.warm += other.warm;
        self.held += other.held;
        self.pixels += other.pixels;
        self.panel_bytes += other.panel_bytes;
        self.memory_bytes += other.memory_bytes;
        add(&mut self.full, &other.full);
        add(&mut self.partial, &other.partial);
    }
}

fn add(all: &mut Vec<Moments>, more: &[Moments]) {
    if all.len() < more.len() {
        all.resize(more.len(), Moments::default());
    }
    for (sum, part) in all.iter_mut().zip(more) {
        sum.count += part.count;
        sum.share += part.share;
        sum.square += part.square;
        sum.frames += part.frames;
        sum.beyond += part.beyond;
        sum.beyond_share += part.beyond_share;
    }
}

//! What the running device has spent, and how long the battery would last if it went on like that.

use super::Session;
use crate::budget::life::{Habits, life, mean_load};
use crate::machine::seconds;
use crate::units::{DAY, Joules, Seconds};

/// The shortest time that counts as a pace: after one press in the first second, nobody goes on like that.
const LEAST: Seconds = Seconds(60.0);

/// The shortest time that is told as a pace: what was tried out in the minutes before is no use of a device.
const HISTORY: Seconds = Seconds(1800.0);

/// What was spent since the counts began.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spending {
    /// How long the device has run.
    pub time: Seconds,
    /// Energy of the refreshes at the battery.
    pub refreshes: Joules,
    /// Energy of everything at the battery: refreshes, events, always-on loads.
    pub all: Joules,
    /// The device has run long enough for its pace to mean something.
    pub paced: bool,
    /// Life of a new battery at this pace, counted over at least a minute; `None` outside the cell's tables.
    pub life: Option<Seconds>,
}

impl Session {
    /// What was spent since the counts began.
    pub fn spending(&self) -> Spending {
        let time = seconds(self.live.machine.now() - self.began);
        let voltage = self.device.battery.nominal();
        let mut counts = self.counts.clone();
        counts.days = (time / DAY).max(1e-9);
        let all = voltage
            * mean_load(&self.device, self.live.parameters(), &counts, 1.0, self.device.battery.nominal()).at(voltage)
            * time;
        counts.days = (time / DAY).max(LEAST / DAY);
        let life = life(&self.device, self.live.parameters(), &counts, Habits::USUAL).map(|life| life.time).ok();
        Spending { time, refreshes: self.counts.energy, all, paced: time >= HISTORY, life }
    }
}

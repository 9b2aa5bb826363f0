//! What a simulation counts.

use crate::refresh::schedule::Step;
use crate::refresh::update::Mode;
use crate::refresh::work::Work;
use crate::units::{Joules, Seconds};

/// Who caused an update.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// A press, or a timer that a press started.
    Person,
    /// A field, an event, a scheduled full refresh.
    Device,
}

/// What a simulation counts.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    /// Days simulated.
    pub days: f64,
    /// Full refreshes.
    pub full: u64,
    /// Partial refreshes.
    pub partial: u64,
    /// Of the full ones, those that showed nothing new.
    pub idle_full: u64,
    /// Work caused by people.
    pub by_people: Work,
    /// Work the device does by itself.
    pub by_itself: Work,
    /// Windows sent by partial refreshes.
    pub windows: u64,
    /// Pixels that changed.
    pub changed_pixels: u64,
    /// Presses made.
    pub presses: u64,
    /// Presses lost because the panel was busy.
    pub lost_presses: u64,
    /// Presses that met a key without meaning.
    pub idle_presses: u64,
    /// From each press to its picture.
    pub latencies: Vec<Seconds>,
    /// How often each event happened.
    pub events: Vec<u64>,
    /// Updates that could not be shown: outside every temperature table.
    pub refused: u64,
    /// Full refreshes that a person saw flash.
    pub flashes_seen: u64,
    /// The updates in order with the cost of each mode, for the cheapest schedule.
    pub steps: Vec<Step<Joules>>,
    /// Energy of the refreshes as the policy chose them.
    pub energy: Joules,
    /// The simulation stopped at its limit of updates.
    pub stopped_early: bool,
}

impl Tally {
    /// Notes a refresh.
    pub fn note(&mut self, mode: Mode, work: &Work, origin: Origin, watched: bool) {
        match mode {
            Mode::Full => self.full += 1,
            Mode::Partial => self.partial += 1,
        }
        if mode == Mode::Full && watched {
            self.flashes_seen += 1;
        }
        match origin {
            Origin::Person => self.by_people += work,
            Origin::Device => self.by_itself += work,
        }
    }

    /// A count as a daily mean.
    pub fn per_day(&self, count: u64) -> f64 {
        count as f64 / self.days
    }

    /// The latency that a share of the presses stays within; `None` without presses.
    pub fn latency(&self, share: f64) -> Option<Seconds> {
        let mut sorted: Vec<f64> = self.latencies.iter().map(|latency| latency.0).collect();
        sorted.sort_by(f64::total_cmp);
        let last = sorted.len().checked_sub(1)?;
        sorted.get(((share * last as f64).round() as usize).min(last)).map(|latency| Seconds(*latency))
    }
}

//! What a simulation counts.

use crate::cost::always_on::Rates;
use crate::cost::battery_state::Charges;
use crate::device::Device;
use crate::refresh::activity::Activity;
use crate::refresh::policy::Reason;
use crate::refresh::residue::{Residue, Worst};
use crate::refresh::schedule::Planned;
use crate::refresh::update::{Mode, upright};
use crate::refresh::windows::Window;
use crate::refresh::work::Work;
use crate::screen::ScreenId;
use crate::units::{DAY, Joules, Ratio, Seconds};
use crate::usage::person::Journeys;

pub use crate::machine::Origin;

/// From a press to its picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Answer {
    /// The key pressed, the first being 0.
    pub key: usize,
    /// How long it took.
    pub latency: Seconds,
}

/// Presses of one key.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Presses {
    /// Made.
    pub made: u64,
    /// Lost because the panel was busy.
    pub lost: u64,
    /// Met a screen where the key has no meaning.
    pub idle: u64,
}

/// One refresh, for the counts.
#[derive(Clone, Copy, Debug)]
pub struct Refresh<'a> {
    /// The waveform.
    pub mode: Mode,
    /// Why it had to be full, if it had to.
    pub reason: Option<Reason>,
    /// What it takes.
    pub work: &'a Work,
    /// Its windows in the controller's orientation; a full refresh has none.
    pub windows: &'a [Window],
    /// Who caused it.
    pub origin: Origin,
    /// Somebody was looking.
    pub watched: bool,
    /// When it begins.
    pub time: Seconds,
    /// The screen that it leads to.
    pub screen: ScreenId,
}

/// What a simulation counts.
#[derive(Clone, Debug, Default)]
pub struct Counts {
    /// Days simulated.
    pub days: f64,
    /// Full refreshes.
    pub full: u64,
    /// Full refreshes by why they had to be, in the order of [`Reason::ALL`].
    pub reasons: [u64; Reason::ALL.len()],
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
    /// How often each region of the panel was driven.
    pub activity: Activity,
    /// What partial refreshes add up to between full ones, where the panel states what one leaves.
    pub residue: Option<Residue>,
    /// The worst of it over the whole simulation.
    pub residue_worst: Option<Worst>,
    /// Presses made.
    pub presses: u64,
    /// Presses lost because the panel was busy.
    pub lost_presses: u64,
    /// Presses that met a key without meaning.
    pub idle_presses: u64,
    /// Presses of each key.
    pub keys: Vec<Presses>,
    /// From each press to its picture.
    pub answers: Vec<Answer>,
    /// Time that each screen was the one to be shown.
    pub shown: Vec<Seconds>,
    /// How often each screen was entered.
    pub entries: Vec<u64>,
    /// How often each event happened.
    pub events: Vec<u64>,
    /// How often a field was renewed.
    pub samples: u64,
    /// For each load of the board, how long it was allowed to draw.
    pub held: Vec<Seconds>,
    /// For each load of the board, how often that began; not when it was so from the beginning on.
    pub begun: Vec<u64>,
    /// What the charges came to, where the usage has any.
    pub charges: Option<Charges>,
    /// Updates that could not be shown: outside every temperature table.
    pub refused: u64,
    /// Full refreshes that a person saw flash.
    pub flashes_seen: u64,
    /// The updates in order with the cost of each mode, for the cheapest schedule.
    pub steps: Vec<Planned<Joules>>,
    /// Energy of the refreshes as the policy chose them.
    pub energy: Joules,
    /// What became of each journey.
    pub journeys: Vec<Journeys>,
    /// The simulation stopped at its limit of updates.
    pub stopped_early: bool,
    /// State of charge below which the device does otherwise, with what it does then; the fullest first.
    pub below: Vec<(Ratio, Counts)>,
}

/// Every stretch of the charge with its counts, the fullest first: the state of charge at which it ends.
pub fn regimes(counts: &Counts) -> impl Iterator<Item = (Ratio, &Counts)> {
    let ends = counts.below.iter().map(|(end, _)| *end).chain([Ratio(0.0)]);
    let of_each = std::iter::once(counts).chain(counts.below.iter().map(|(_, counts)| counts));
    ends.zip(of_each)
}

impl Counts {
    /// Nothing counted yet.
    pub fn new(device: &Device, days: f64) -> Self {
        Self {
            days,
            activity: Activity::new(device.panel.size()),
            residue: device.panel.residue.map(|_| Residue::new(device.panel.size())),
            keys: vec![Presses::default(); device.display.keys.len()],
            shown: vec![Seconds(0.0); device.screens.len()],
            entries: vec![0; device.screens.len()],
            events: vec![0; device.events.len()],
            held: vec![Seconds(0.0); device.board.loads.len()],
            begun: vec![0; device.board.loads.len()],
            ..Self::default()
        }
    }

    /// Notes a refresh.
    pub fn note(&mut self, device: &Device, refresh: &Refresh<'_>) {
        match refresh.mode {
            Mode::Full => {
                self.full += 1;
                self.activity.full();
                self.residue.iter_mut().for_each(|residue| residue.full(refresh.time));
            }
            Mode::Partial => {
                self.partial += 1;
                self.windows += refresh.windows.len() as u64;
                let windows = || refresh.windows.iter().map(|window| upright(device, window));
                self.activity.partial(windows());
                if let Some(residue) = &mut self.residue {
                    residue.partial(windows(), refresh.screen, refresh.time);
                }
            }
        }
        if let Some(reason) = refresh.reason {
            self.reasons[reason as usize] += 1;
        }
        if refresh.mode == Mode::Full && refresh.watched {
            self.flashes_seen += 1;
        }
        match refresh.origin {
            Origin::Person => self.by_people += refresh.work,
            Origin::Device => self.by_itself += refresh.work,
        }
    }

    /// Notes a press.
    pub fn press(&mut self, key: usize) {
        self.presses += 1;
        self.key(key, |presses| &mut presses.made);
    }

    /// Notes that a press was lost.
    pub fn lose(&mut self, key: usize) {
        self.lost_presses += 1;
        self.key(key, |presses| &mut presses.lost);
    }

    /// Notes that a press met a screen where its key has no meaning.
    pub fn idle(&mut self, key: usize) {
        self.idle_presses += 1;
        self.key(key, |presses| &mut presses.idle);
    }

    fn key(&mut self, key: usize, count: impl Fn(&mut Presses) -> &mut u64) {
        if let Some(presses) = self.keys.get_mut(key) {
            *count(presses) += 1;
        }
    }

    /// Journeys that were not carried out as they are written.
    pub fn derailed(&self) -> u64 {
        self.journeys.iter().map(Journeys::derailed).sum()
    }

    /// How often things happen that cost something beside the drawing, in a mean day.
    pub fn rates(&self) -> Rates {
        let all = DAY * self.days;
        Rates {
            events: self.events.iter().map(|count| self.per_day(*count)).collect(),
            keys: self.per_day(self.presses),
            samples: self.per_day(self.samples),
            held: self.held.iter().map(|time| Ratio(*time / all)).collect(),
            begun: self.begun.iter().map(|count| self.per_day(*count)).collect(),
        }
    }

    /// A count as a daily mean.
    pub fn per_day(&self, count: u64) -> f64 {
        count as f64 / self.days
    }

    /// The latency that a share of the presses stays within; `None` without presses.
    pub fn latency(&self, share: f64) -> Option<Seconds> {
        within(self.answers.iter(), share)
    }

    /// The latency that a share of one key's presses stays within; `None` without presses.
    pub fn latency_of(&self, key: usize, share: f64) -> Option<Seconds> {
        within(self.answers.iter().filter(|answer| answer.key == key), share)
    }
}

fn within<'a>(answers: impl Iterator<Item = &'a Answer>, share: f64) -> Option<Seconds> {
    let mut sorted: Vec<f64> = answers.map(|answer| answer.latency.0).collect();
    sorted.sort_by(f64::total_cmp);
    let last = sorted.len().checked_sub(1)?;
    sorted.get(((share * last as f64).round() as usize).min(last)).map(|latency| Seconds(*latency))
}

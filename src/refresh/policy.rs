//! Which waveform an update gets: the panel's limits first, the project's policy after.

use super::update::Mode;
use crate::behaviour::policy::Policy;
use crate::device::Device;
use crate::screen::ScreenId;
use crate::units::{Celsius, Seconds};

/// What the policy remembers of the panel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Memory {
    /// Partial refreshes since the last full one.
    pub partials: u32,
    /// When the last full refresh was; `None` before the first.
    pub last_full: Option<Seconds>,
}

impl Memory {
    /// A panel that was never refreshed.
    pub const NEW: Self = Self { partials: 0, last_full: None };

    /// Notes a refresh.
    pub fn note(&mut self, mode: Mode, time: Seconds) {
        match mode {
            Mode::Full => *self = Self { partials: 0, last_full: Some(time) },
            Mode::Partial => self.partials += 1,
        }
    }
}

/// Why an update must be a full refresh.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reason {
    /// The panel has no short waveform.
    NoPartial,
    /// Nothing is on the panel yet.
    FirstPicture,
    /// The temperature is below the partial waveform's table.
    TooCold,
    /// The temperature is above the partial waveform's table.
    TooWarm,
    /// The policy wants this screen's entry full.
    Screen,
    /// As many partials as the policy allows have been.
    Count,
    /// The last full refresh is too old.
    Age,
}

impl Reason {
    /// Every reason, in order.
    pub const ALL: [Self; 7] =
        [Self::NoPartial, Self::FirstPicture, Self::TooCold, Self::TooWarm, Self::Screen, Self::Count, Self::Age];

    /// Its stable name, for programs.
    pub fn id(self) -> &'static str {
        match self {
            Self::NoPartial => "no_partial_waveform",
            Self::FirstPicture => "first_refresh",
            Self::TooCold => "below_partial_range",
            Self::TooWarm => "above_partial_range",
            Self::Screen => "full_on_entry",
            Self::Count => "partial_limit",
            Self::Age => "full_interval",
        }
    }

    /// In words, after "full because".
    pub fn words(self) -> &'static str {
        match self {
            Self::NoPartial => "no partial waveform",
            Self::FirstPicture => "first refresh",
            Self::TooCold => "below the partial-refresh temperature range",
            Self::TooWarm => "above the partial-refresh temperature range",
            Self::Screen => "full on entry",
            Self::Count => "partial limit reached",
            Self::Age => "full refresh interval elapsed",
        }
    }
}

/// Whether an update must be full, and why. `entered` is the screen that is shown anew, if one is.
pub fn must_be_full(
    device: &Device,
    memory: Memory,
    time: Seconds,
    temperature: Celsius,
    entered: Option<ScreenId>,
) -> Option<Reason> {
    let policy = &device.policy;
    let Some(partial) = &device.panel.partial else { return Some(Reason::NoPartial) };
    if memory.last_full.is_none() {
        return Some(Reason::FirstPicture);
    }
    if !partial.covers(temperature) {
        return Some(if partial.is_below(temperature) { Reason::TooCold } else { Reason::TooWarm });
    }
    if entered.is_some_and(|screen| policy.full_on[screen.0]) {
        return Some(Reason::Screen);
    }
    if limit_reached(memory.partials, policy.max_partials) {
        return Some(Reason::Count);
    }
    full_due(policy, memory).filter(|due| time >= *due).map(|_| Reason::Age)
}

/// Whether as many partials as `limit` allows have been, so that the next refresh must be full.
pub fn limit_reached(partials: u32, limit: u32) -> bool {
    partials >= limit
}

/// When the last full refresh is so old that the next one must be full; `None` where age asks for nothing. In whole
/// microseconds, as the machine counts: the refresh that is due at an age is one of that age.
pub fn full_due(policy: &Policy, memory: Memory) -> Option<Seconds> {
    let (every, last) = policy.full_every.zip(memory.last_full)?;
    Some((last + every).to_microseconds())
}

/// The waveform that the policy picks.
pub fn pick(device: &Device, memory: Memory, time: Seconds, temperature: Celsius, entered: Option<ScreenId>) -> Mode {
    match must_be_full(device, memory, time, temperature, entered) {
        Some(_) => Mode::Full,
        None => Mode::Partial,
    }
}

//! Which waveform an update gets: the panel's limits first, the project's policy after.

use super::update::Mode;
use crate::device::Device;
use crate::screen::ScreenId;
use crate::units::{Celsius, Seconds};

/// What the policy remembers of the glass.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Memory {
    /// Partial refreshes since the last full one.
    pub partials: u32,
    /// When the last full refresh was; `None` before the first.
    pub last_full: Option<Seconds>,
}

impl Memory {
    /// A glass that was never refreshed.
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
    /// Nothing is on the glass yet.
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
    let Some(last_full) = memory.last_full else { return Some(Reason::FirstPicture) };
    if !partial.covers(temperature) {
        return Some(if partial.is_below(temperature) { Reason::TooCold } else { Reason::TooWarm });
    }
    if entered.is_some_and(|screen| policy.full_on[screen.0]) {
        return Some(Reason::Screen);
    }
    if memory.partials >= policy.max_partials {
        return Some(Reason::Count);
    }
    // In whole microseconds, as the machine counts: the refresh that is due at an age is one of that age.
    let whole = |time: Seconds| (time.0 * 1e6).round() as i64;
    policy.full_every.filter(|every| whole(time) - whole(last_full) >= whole(*every)).map(|_| Reason::Age)
}

/// The waveform that the policy picks.
pub fn pick(device: &Device, memory: Memory, time: Seconds, temperature: Celsius, entered: Option<ScreenId>) -> Mode {
    match must_be_full(device, memory, time, temperature, entered) {
        Some(_) => Mode::Full,
        None => Mode::Partial,
    }
}

//! Brings the glass up to date: which waveform, what it costs, how long the panel is busy.

use super::Session;
use super::glass::Drive;
use super::queue::{Happening, Micros, micros, seconds};
use crate::behaviour::EventId;
use crate::cost::phases::{self, Phase, duration, latency, phases, total};
use crate::device::Device;
use crate::refresh::policy::{Reason, must_be_full};
use crate::refresh::update::{Change, Mode, upright, work};
use crate::refresh::work::Work;
use crate::screen::ScreenId;
use crate::screen::values::FieldId;
use crate::simulate::tally::{Answer, Origin, Refresh};
use crate::units::{Joules, Seconds, plain_time};
use embedded_graphics::primitives::Rectangle;

/// What made an update necessary.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cause {
    /// A soft key, the first being 0.
    Key(usize),
    /// A timer of the screen.
    Timer(Seconds),
    /// An event.
    Event(EventId),
    /// A field that was renewed.
    Field(FieldId),
    /// The first picture.
    PowerUp,
    /// The full refresh that the policy wants every so often.
    Schedule,
}

impl Cause {
    /// In words: `key 1`, `after 30 s`, `event frost`.
    pub fn words(self, device: &Device) -> String {
        match self {
            Self::Key(key) => format!("key {}", key + 1),
            Self::Timer(wait) => format!("after {}", plain_time(wait)),
            Self::Event(event) => format!("event {}", device.events[event.0].name),
            Self::Field(field) => format!("field {}", device.fields[field.0].name),
            Self::PowerUp => "power up".into(),
            Self::Schedule => "full refresh due".into(),
        }
    }
}

/// One update of the glass.
#[derive(Clone, Debug)]
pub struct Update {
    /// When it began, after midnight of the first day.
    pub time: Seconds,
    /// What made it necessary.
    pub cause: Cause,
    /// The screen shown.
    pub screen: ScreenId,
    /// The waveform.
    pub mode: Mode,
    /// Why it had to be full, if it had to.
    pub reason: Option<Reason>,
    /// Pixels that changed.
    pub changed: u64,
    /// Windows sent, in the upright picture; none for a full refresh, which sends everything.
    pub windows: Vec<Rectangle>,
    /// From its begin to the visible picture.
    pub latency: Seconds,
    /// Longest wait of a press before it began.
    pub waited: Seconds,
    /// Until the panel is free again.
    pub duration: Seconds,
    /// Energy at the battery.
    pub energy: Joules,
}

/// Why an update is full, in few words.
pub fn reason_words(reason: Reason) -> &'static str {
    match reason {
        Reason::NoPartial => "panel has no partial",
        Reason::FirstPicture => "first picture",
        Reason::Temperature => "too cold or too warm",
        Reason::Screen => "screen asks for it",
        Reason::Count => "partials used up",
        Reason::Age => "full refresh due",
    }
}

impl Session {
    /// Brings the glass up to date where it may be and the panel is free.
    pub(super) fn look(&mut self) {
        if self.busy() {
            return;
        }
        while let Some((made, key)) = self.waiting.pop_front() {
            self.act(made, key);
        }
        let Some(origin) = self.stale else { return };
        let distance = micros(self.device.policy.min_interval);
        if let Some(last) = self.last_refresh
            && origin == Origin::Device
            && self.entered.is_none()
            && self.now < last + distance
        {
            self.queue.add(last + distance, Happening::Look);
            return;
        }
        self.stale = None;
        let cause = self.why.take().unwrap_or(Cause::Schedule);
        let entered = self.entered.take();
        let next = self.compose();
        let change = self.planner.change(&self.device, &self.glass, &next);
        if change.pixels == 0 && self.memory.last_full.is_some() {
            self.pressed.clear();
            return;
        }
        let temperature = self.temperature();
        let reason = must_be_full(&self.device, self.memory, seconds(self.now), temperature, entered);
        let mode = if reason.is_some() { Mode::Full } else { Mode::Partial };
        let Some(work) = work(&self.device, &change, mode, temperature) else {
            self.tally.refused += 1;
            self.refused = Some(temperature);
            return;
        };
        self.tally.changed_pixels += change.pixels;
        self.before = std::mem::replace(&mut self.glass, next);
        self.refresh(mode, reason, &work, &change, (origin, cause));
    }

    /// Counts one refresh and keeps the panel busy for its time.
    fn refresh(&mut self, mode: Mode, reason: Option<Reason>, work: &Work, change: &Change, why: (Origin, Cause)) {
        let (origin, cause) = why;
        let phases = phases(&self.device, &self.point, work);
        let energy = total(&phases).energy_at(self.device.battery.nominal());
        self.tally.energy += energy;
        let sent = if mode == Mode::Partial { change.windows.as_slice() } else { &[] };
        let counted = Refresh { mode, reason, work, windows: sent, origin, watched: true };
        self.tally.note(&self.device, &counted);
        let visible = self.now + micros(latency(&phases));
        let waited = self.pressed.iter().map(|(made, _)| self.now - made).max().unwrap_or(0);
        let answers = self.pressed.drain(..).map(|(made, key)| Answer { key, latency: seconds(visible - made) });
        self.tally.answers.extend(answers);
        self.memory.note(mode, seconds(self.now));
        self.last_refresh = Some(self.now);
        self.busy_until = self.now + micros(duration(&phases));
        self.drive = Some(Drive { mode, from: self.now + micros(before_drive(&phases)), to: visible });
        self.refused = None;
        self.queue.add(self.busy_until, Happening::Look);
        if let (Mode::Full, Some(every)) = (mode, self.device.policy.full_every) {
            self.queue.add(self.now + micros(every), Happening::FullDue);
        }
        self.update = Some(Update {
            time: seconds(self.now),
            cause,
            screen: self.state.screen,
            mode,
            reason,
            changed: change.pixels,
            windows: sent.iter().map(|window| upright(&self.device, window)).collect(),
            latency: latency(&phases),
            waited: seconds(waited),
            duration: duration(&phases),
            energy,
        });
    }

    /// Refreshes the standing picture when the last full refresh is too old.
    pub(super) fn full_due(&mut self) {
        let (Some(every), Some(last)) = (self.device.policy.full_every, self.memory.last_full) else { return };
        let early: Micros = 1_000;
        if self.now + early < micros(last + every) {
            return;
        }
        if self.busy() {
            self.queue.add(self.busy_until, Happening::FullDue);
            return;
        }
        let nothing = Change::NONE;
        let temperature = self.temperature();
        match work(&self.device, &nothing, Mode::Full, temperature) {
            Some(work) => {
                self.tally.idle_full += 1;
                self.before = self.glass.clone();
                self.refresh(Mode::Full, Some(Reason::Age), &work, &nothing, (Origin::Device, Cause::Schedule));
            }
            None => {
                self.tally.refused += 1;
                self.refused = Some(temperature);
            }
        }
    }
}

/// Time until the glass is driven.
fn before_drive(phases: &[Phase]) -> Seconds {
    let before = phases.iter().filter(|phase| phase.before_visible && phase.cause != phases::Cause::Drive);
    before.map(|phase| phase.time).sum()
}

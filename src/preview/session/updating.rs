//! Brings the panel up to date: which waveform, what it costs, how long the panel is busy.

use super::Session;
use crate::hardware::panel::Drive;
use crate::machine::{Note, UpdateCause, micros, seconds};
use crate::refresh::policy::Reason;
use crate::refresh::update::{Mode, upright};
use crate::screen::ScreenId;
use crate::simulate::counts::{Answer, Refresh};
use crate::simulate::live::Looked;
use crate::units::{Celsius, Joules, Seconds};
use embedded_graphics::primitives::Rectangle;

/// One update of the panel.
#[derive(Clone, Debug)]
pub struct Update {
    /// When it began, after midnight of the first day.
    pub time: Seconds,
    /// What made it necessary.
    pub cause: UpdateCause,
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
        Reason::NoPartial => "no partial waveform",
        Reason::FirstPicture => "first refresh",
        Reason::TooCold => "below partial range",
        Reason::TooWarm => "above partial range",
        Reason::Screen => "full on entry",
        Reason::Count => "partial limit reached",
        Reason::Age => "full refresh interval elapsed",
    }
}

/// On which side of a waveform's table a temperature lies: `below its table`.
pub fn beyond(drive: &Drive, temperature: Celsius, table: &str) -> String {
    let below = drive.knots.first().is_some_and(|first| temperature < first.at);
    format!("{} {table}", if below { "below" } else { "above" })
}

impl Session {
    /// Brings the panel up to date where it may be and is free, and counts what happened.
    pub(super) fn look(&mut self) {
        let temperature = self.temperature();
        let looked = self.live.look(&self.device, temperature);
        for note in self.live.take_notes() {
            match note {
                Note::Event(event) => self.counts.events[event.0] += 1,
                Note::Unassigned { key, .. } => self.counts.idle(key),
                Note::Dropped(key) => self.counts.lose(key),
                Note::Entered(_) | Note::Acted(_) => {}
            }
        }
        let (update, took) = match looked {
            Looked::Nothing => return,
            Looked::Refused => {
                self.counts.refused += 1;
                self.refused = Some(temperature);
                return;
            }
            Looked::Sent(update, took) => (update, took),
        };
        let now = self.live.machine.now();
        self.refused = None;
        self.counts.idle_full += u64::from(update.cause == UpdateCause::Schedule);
        self.counts.energy += took.energy;
        self.counts.changed_pixels += update.change.pixels;
        let windows = if update.mode == Mode::Partial { update.change.windows.as_slice() } else { &[] };
        let (mode, reason, origin) = (update.mode, update.reason, update.origin);
        let (time, screen) = (seconds(now), self.live.machine.state.front());
        let counted = Refresh { mode, reason, work: &update.work, windows, origin, watched: true, time, screen };
        self.counts.note(&self.device, &counted);
        let visible = now + micros(took.latency);
        let waited = update.answers.iter().map(|(made, _)| now - made).max().unwrap_or(0);
        let answers = update.answers.iter().map(|(made, key)| Answer { key: *key, latency: seconds(visible - made) });
        self.counts.answers.extend(answers);
        self.update = Some(Update {
            time: seconds(now),
            cause: update.cause,
            screen: self.live.machine.state.screen,
            mode,
            reason,
            changed: update.change.pixels,
            windows: windows.iter().map(|window| upright(&self.device, window)).collect(),
            latency: took.latency,
            waited: seconds(waited),
            duration: took.duration,
            energy: took.energy,
        });
    }
}

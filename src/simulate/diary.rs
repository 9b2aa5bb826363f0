//! What happened in a stretch of a simulation, moment by moment: for whoever shows a day. Not for counts: those are the
//! [`super::counts`]'s.

use crate::behaviour::EventId;
use crate::device::Device;
use crate::hardware::rail::Draw;
use crate::machine::{Micros, seconds};
use crate::refresh::update::Mode;
use crate::screen::ScreenId;
use crate::screen::values::Values;
use crate::units::{Ratio, Seconds};

/// Something that happened at one time and took its price.
#[derive(Clone, Copy, Debug)]
pub enum What {
    /// A refresh: its waveform and what it took from the battery.
    Refresh(Mode, Draw),
    /// An event.
    Event(EventId),
    /// A press of a key.
    Press,
    /// A field was sampled.
    Sample,
}

/// A stretch of time in which nothing that lasts changed.
#[derive(Clone, Debug, PartialEq)]
pub struct Span {
    /// When it began.
    pub from: Seconds,
    /// When it ended.
    pub to: Seconds,
    /// The screen to be shown, boxes over it apart.
    pub screen: ScreenId,
    /// For each load of the board, whether its conditions held.
    pub held: Vec<bool>,
}

/// The record of a stretch of a simulation; times count from its first midnight.
#[derive(Clone, Debug, Default)]
pub struct Diary {
    ends: [Micros; 2],
    /// What was shown and what was on, without gaps.
    pub spans: Vec<Span>,
    /// What happened, in order.
    pub moments: Vec<(Seconds, What)>,
    /// The state of charge whenever it was looked at, where the device is charged now and then.
    pub charge: Vec<(Seconds, Ratio)>,
}

impl Diary {
    /// An empty record of a stretch: what happens at its end belongs to the next.
    pub fn new(from: Micros, to: Micros) -> Self {
        Self { ends: [from, to], ..Self::default() }
    }

    fn holds(&self, now: Micros) -> bool {
        (self.ends[0]..self.ends[1]).contains(&now)
    }

    /// Notes what happens.
    pub fn note(&mut self, now: Micros, what: What) {
        if self.holds(now) {
            self.moments.push((seconds(now), what));
        }
    }

    /// Notes the state of charge.
    pub fn note_charge(&mut self, now: Micros, charge: Ratio) {
        if self.holds(now) && self.charge.last().is_none_or(|(_, last)| *last != charge) {
            self.charge.push((seconds(now), charge));
        }
    }

    /// Notes that time passed with a screen and values that did not change.
    pub fn pass(&mut self, device: &Device, [from, to]: [Micros; 2], screen: ScreenId, values: &Values) {
        let [from, to] = [from.max(self.ends[0]), to.min(self.ends[1])];
        if from >= to {
            return;
        }
        let held: Vec<bool> = device.load_only.iter().map(|only| only.iter().all(|one| one.holds(values))).collect();
        let [from, to] = [from, to].map(seconds);
        match self.spans.last_mut().filter(|span| span.screen == screen && span.held == held) {
            Some(span) => span.to = to,
            None => self.spans.push(Span { from, to, screen, held }),
        }
    }
}

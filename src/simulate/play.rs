//! A script played on a running device without anybody who looks: what is in front after each input, what is sent to the
//! panel, and which expectations of the script fail. For tests of a design, and for whoever wants figures of a script.

use super::live::{Live, Looked};
use crate::device::Device;
use crate::machine::{Machine, Micros, UpdateCause, micros};
use crate::refresh::update::Mode;
use crate::screen::ScreenId;
use crate::units::{Joules, Seconds};
use crate::usage::script::{Input, Player, Script, Timed};

/// An expectation that failed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Missed {
    /// The script's line.
    pub line: usize,
    /// What was to be in front.
    pub expected: ScreenId,
    /// What was.
    pub found: ScreenId,
}

impl Missed {
    /// In words.
    pub fn words(&self, device: &Device, name: &str) -> String {
        let id = |screen: ScreenId| &device.screens[screen.0].id;
        format!("{name}:{}: expected `{}`, found `{}`", self.line, id(self.expected), id(self.found))
    }
}

/// An update that was sent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sent {
    /// When, after midnight of the first day.
    pub at: Micros,
    /// What made it necessary.
    pub cause: UpdateCause,
    /// The waveform.
    pub mode: Mode,
    /// Pixels that changed.
    pub changed: u64,
    /// Energy at the battery.
    pub energy: Joules,
    /// From its begin to the visible picture.
    pub latency: Seconds,
}

/// What came of a script.
#[derive(Clone, Debug, Default)]
pub struct Played {
    /// What was in front after each input.
    pub fronts: Vec<ScreenId>,
    /// Updates in their order.
    pub sent: Vec<Sent>,
    /// Expectations that failed.
    pub missed: Vec<Missed>,
}

/// Happenings of one script at most.
const MOST: usize = 1_000_000;

/// Plays a script in a locale, at the usage's mean temperature, beginning with its screen on the panel.
pub fn play(device: &Device, locale: usize, script: &Script) -> Played {
    let mut machine = Machine::new(device, script.from, micros(script.begin));
    machine.set_locale(device, locale);
    machine.show_at_once(device);
    let mut live = Live::new(device, machine);
    let mut player = Player::new(script);
    let mut played = Played::default();
    for _ in 0..MOST {
        let Some(input) = player.next() else { break };
        let next = live.wake(device).map_or(input, |wake| wake.min(input));
        live.pass(next);
        live.outside(device);
        while let Some(timed) = player.take(next) {
            played.missed.extend(carry_out(device, &mut live, &timed));
            played.fronts.push(live.machine.state.front());
        }
        live.run(device);
        if let Looked::Sent(update, took) = live.look(device, device.usage.climate.mean()) {
            let (cause, mode, changed) = (update.cause, update.mode, update.change.pixels);
            played.sent.push(Sent { at: next, cause, mode, changed, energy: took.energy, latency: took.latency });
        }
    }
    played
}

/// Carries out one input; an expectation that fails is given back.
pub fn carry_out(device: &Device, live: &mut Live, timed: &Timed) -> Option<Missed> {
    match timed.input {
        Input::Key(key) => {
            live.key(device, key);
        }
        Input::Event(event) => live.happen(device, event),
        Input::Value(field, value) => live.put(device, field, value),
        Input::Expect(expected) => {
            let found = live.machine.state.front();
            return (found != expected).then_some(Missed { line: timed.line, expected, found });
        }
        Input::Rest => {}
    }
    None
}

//! How time passes for a running device: fields, events, timers and presses, by the rules of [`crate::simulate`].

use super::{Reply, Session};
use crate::behaviour::EventId;
use crate::behaviour::states::DeviceState;
use crate::machine::{Key, Micros, Taken};
use crate::preview::command::Turn;
use std::time::Duration;

/// Happenings that one call handles at most; what is too much for the computer lets time go slower.
const HAPPENINGS: usize = 5_000;
/// Real time that one call covers at most, so that a computer that slept does not catch up for hours.
const LONGEST: Duration = Duration::from_secs(2);
/// While the panel refreshes, time goes at most this share of the chosen speed, so that refreshes can be seen.
const WHILE_BUSY: f64 = 0.1;

/// Percent of the charge that one key changes.
const CHARGE_STEP: f64 = 5.0;

impl Session {
    /// Seconds of the device in one of the viewer. A refresh is shown in real time, or a tenth of the chosen speed
    /// where that is faster; it goes on while all else is paused.
    pub fn rate(&self) -> f64 {
        if self.busy() { (self.speed * WHILE_BUSY).max(1.0) } else { self.speed }
    }

    /// Lets real time pass. Gives whether anything happened.
    pub fn advance(&mut self, real: Duration) -> bool {
        let mut left = real.min(LONGEST).as_secs_f64() * 1e6;
        let mut handled = 0;
        loop {
            let rate = self.rate();
            if rate <= 0.0 {
                return handled > 0;
            }
            let stop = self.next_stop();
            let need = stop.map_or(f64::INFINITY, |stop| (stop - self.live.machine.now()) as f64 - self.owed);
            if need > left * rate {
                let gone = left * rate + self.owed;
                self.owed = gone.fract();
                let now = self.live.machine.now();
                self.live.pass(now + gone as Micros);
                return handled > 0;
            }
            left -= (need / rate).max(0.0);
            self.owed = 0.0;
            let stop = stop.unwrap_or(self.live.machine.now());
            self.run_to(stop, &[]);
            handled += 1;
            if handled > HAPPENINGS {
                return true;
            }
        }
    }

    /// The next time at which something happens or the rate changes.
    fn next_stop(&self) -> Option<Micros> {
        let free = self.busy().then_some(self.live.machine.busy_until());
        [free, self.live.wake(&self.device)].into_iter().flatten().min()
    }

    /// Real time until what is seen may change; `None` while nothing will by itself.
    pub fn next_change(&self) -> Option<Duration> {
        let rate = self.rate();
        if rate <= 0.0 {
            return None;
        }
        let shown = self.live.drive.as_ref().and_then(|drive| drive.next_turn(self.live.machine.now()));
        let soonest = self.next_stop().into_iter().chain(shown).min()?;
        let real = soonest.saturating_sub(self.live.machine.now()) as f64 * 1e-6 / rate;
        Some(Duration::from_secs_f64(real.clamp(0.0, 86_400.0)) + Duration::from_micros(1))
    }

    /// When something happens next by itself.
    pub fn wake(&self) -> Option<Micros> {
        self.live.wake(&self.device)
    }

    /// Lets time pass to a moment, passing over nothing (see [`Session::wake`]), with these keys at it; everything that
    /// is due then happens.
    pub fn run_to(&mut self, now: Micros, keys: &[Key]) {
        self.live.pass(now);
        self.live.outside(&self.device);
        for key in keys {
            if let Key::Down(number) = key {
                self.counts.press(*number);
            }
            self.live.key(&self.device, *key);
        }
        self.live.run(&self.device);
        self.look();
    }

    /// Makes an event happen now, whatever its times are.
    pub fn inject(&mut self, event: EventId) {
        if event.0 < self.device.events.len() {
            self.live.happen(&self.device, event);
            self.look();
        }
    }

    /// Changes a state of the device; gives whether a field holds it.
    pub fn turn(&mut self, turn: Turn) -> bool {
        let now = |state| Some(self.live.machine.state.values.of(self.device.states.field(state)?));
        let other = |state| now(state).map(|value| if value > 0.5 { 0.0 } else { 1.0 });
        let charge = |by: f64| now(DeviceState::Charge).map(|value| value + by);
        let (state, value) = match turn {
            Turn::Usb => (DeviceState::Usb, other(DeviceState::Usb)),
            Turn::Charging => (DeviceState::Charging, other(DeviceState::Charging)),
            Turn::Link => (DeviceState::Link, other(DeviceState::Link)),
            Turn::Fuller => (DeviceState::Charge, charge(CHARGE_STEP)),
            Turn::Emptier => (DeviceState::Charge, charge(-CHARGE_STEP)),
        };
        let Some(value) = value else { return false };
        self.report(state, value);
        if turn == Turn::Usb {
            self.report(DeviceState::Charging, value);
        }
        self.look();
        true
    }

    fn report(&mut self, state: DeviceState, value: f64) {
        if let Some(field) = self.device.states.field(state) {
            self.live.put(&self.device, field, value);
        }
    }

    /// A key is pressed and let go at once, the first being 0.
    pub fn press(&mut self, key: usize) -> Reply {
        let down = self.key(Key::Down(key));
        let up = self.key(Key::Up(key));
        if down == Reply::Idle { up } else { down }
    }

    /// Whether a key does something here later than on being pressed: when it is held or let go.
    pub fn holds(&self, key: usize) -> bool {
        let rule = self.device.wirings[self.front().0].keys.get(key);
        rule.is_some_and(|rule| rule.hold.is_some() || rule.release.acts())
    }

    /// A key goes down or up, the first being 0. A key with a hold does something only later.
    pub fn key(&mut self, key: Key) -> Reply {
        let (Key::Down(number) | Key::Up(number)) = key;
        if number >= self.device.keys() {
            return Reply::Idle;
        }
        if matches!(key, Key::Down(_)) {
            self.counts.press(number);
        }
        let taken = self.live.key(&self.device, key);
        self.look();
        match taken {
            Taken::Acted => Reply::Acted,
            Taken::Nothing => Reply::Idle,
            Taken::Queued => Reply::Queued,
            Taken::Dropped => Reply::Lost,
        }
    }
}

//! How time passes for a running device: fields, events, timers and presses, by the rules of [`crate::simulate`].

use super::queue::{Happening, Micros, micros, seconds};
use super::{Cause, Reply, Session};
use crate::behaviour::field::Renewal;
use crate::behaviour::policy::BusyPresses;
use crate::behaviour::{EventId, Times};
use crate::machine::state::Pressed;
use crate::screen::ScreenId;
use crate::screen::values::FieldId;
use crate::simulate::tally::Origin;
use crate::units::{DAY, Seconds};
use rand::RngExt;
use std::time::Duration;

/// Happenings that one call handles at most; what is too much for the computer lets time go slower.
const HAPPENINGS: usize = 5_000;
/// Real time that one call covers at most, so that a computer that slept does not catch up for hours.
const LONGEST: Duration = Duration::from_secs(2);
/// While the panel refreshes, time goes at most this share of the chosen speed, so that refreshes can be seen.
const WHILE_BUSY: f64 = 0.1;

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
            let need = stop.map_or(f64::INFINITY, |stop| (stop - self.now) as f64 - self.owed);
            if need > left * rate {
                let gone = left * rate + self.owed;
                self.owed = gone.fract();
                self.now += gone as Micros;
                return handled > 0;
            }
            left -= (need / rate).max(0.0);
            self.owed = 0.0;
            self.now = stop.unwrap_or(self.now);
            handled += self.run_due();
            if handled > HAPPENINGS {
                return true;
            }
        }
    }

    /// The next time at which something happens or the rate changes.
    fn next_stop(&self) -> Option<Micros> {
        let free = self.busy().then_some(self.busy_until);
        let next = self.queue.next_time().map(|time| time.max(self.now));
        match (free, next) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        }
    }

    /// Real time until what is seen may change; `None` while nothing will by itself.
    pub fn next_change(&self) -> Option<Duration> {
        let rate = self.rate();
        if rate <= 0.0 {
            return None;
        }
        let shown = self.drive.as_ref().and_then(|drive| drive.next_step(self.now));
        let soonest = self.next_stop().into_iter().chain(shown).min()?;
        let real = soonest.saturating_sub(self.now) as f64 * 1e-6 / rate;
        Some(Duration::from_secs_f64(real.clamp(0.0, 86_400.0)) + Duration::from_micros(1))
    }

    fn run_due(&mut self) -> usize {
        let mut handled = 0;
        while let Some(what) = self.queue.take_due(self.now) {
            self.handle(what);
            self.look();
            handled += 1;
            if handled > HAPPENINGS {
                break;
            }
        }
        handled
    }

    pub(super) fn schedule_all(&mut self) {
        self.queue.add(self.now, Happening::Look);
        for index in 0..self.device.fields.len() {
            if let Renewal::Every(interval) = self.device.fields[index].renewal {
                self.queue.add(self.next_beat(interval), Happening::Renew(index));
            }
        }
        for index in 0..self.device.events.len() {
            self.schedule_event(index);
        }
        self.start_timers();
        if let (Some(every), Some(last)) = (self.device.policy.full_every, self.memory.last_full) {
            self.queue.add(micros(last + every), Happening::FullDue);
        }
    }

    /// The next whole multiple of an interval after midnight.
    fn next_beat(&self, interval: Seconds) -> Micros {
        let interval = micros(interval).max(1);
        (self.now / interval + 1) * interval
    }

    fn schedule_event(&mut self, index: usize) {
        match self.device.events[index].times {
            Times::Every(interval, _) => self.queue.add(self.next_beat(interval), Happening::Event(index)),
            // Times between the events of a Poisson process follow an exponential law. It runs all day long at the
            // rate that holds within the hours; what falls outside them is passed over.
            Times::PerDay(per_day, hours) if per_day > 0.0 && hours.length.0 > 0.0 => {
                let mean = hours.length / per_day;
                let wait = mean * -(1.0 - self.random.random::<f64>()).ln();
                self.queue.add(self.now + micros(wait).clamp(1, micros(DAY * 3650.0)), Happening::Event(index));
            }
            Times::PerDay(..) | Times::When(_) => {}
        }
    }

    fn handle(&mut self, what: Happening) {
        match what {
            Happening::Look => {}
            Happening::Renew(field) => {
                self.state.renew(&self.device, FieldId(field), seconds(self.now), &mut self.random);
                self.mark(Origin::Device, Cause::Field(FieldId(field)));
                if let Renewal::Every(interval) = self.device.fields[field].renewal {
                    self.queue.add(self.now + micros(interval).max(1), Happening::Renew(field));
                }
                self.rise();
            }
            Happening::Event(event) => {
                self.schedule_event(event);
                if let Times::Every(_, hours) | Times::PerDay(_, hours) = self.device.events[event].times
                    && !hours.hold(seconds(self.now))
                {
                    return;
                }
                self.happen(EventId(event));
                self.rise();
            }
            Happening::Timer(generation, timer) => {
                if generation == self.generation {
                    let timer = self.device.wirings[self.state.screen.0].timers[timer];
                    self.state.enter(&self.device, timer.go);
                    self.mark(Origin::Person, Cause::Timer(timer.wait));
                    self.enter(timer.go);
                }
            }
            Happening::FullDue => self.full_due(),
        }
    }

    fn mark(&mut self, origin: Origin, cause: Cause) {
        if self.stale != Some(Origin::Person) {
            if self.stale != Some(origin) {
                self.why = Some(cause);
            }
            self.stale = Some(origin);
        }
    }

    fn enter(&mut self, screen: ScreenId) {
        self.entered = Some(screen);
        self.generation += 1;
        self.start_timers();
    }

    pub(super) fn start_timers(&mut self) {
        for (index, timer) in self.device.wirings[self.state.screen.0].timers.iter().enumerate() {
            self.queue.add(self.now + micros(timer.wait), Happening::Timer(self.generation, index));
        }
    }

    fn happen(&mut self, event: EventId) {
        self.tally.events[event.0] += 1;
        let led = self.state.happen(&self.device, event, seconds(self.now), &mut self.random);
        self.mark(Origin::Device, Cause::Event(event));
        if let Some(screen) = led {
            self.enter(screen);
        }
    }

    /// Events whose condition became true; each may make others true, so there is a bound.
    fn rise(&mut self) {
        for _ in 0..=self.device.events.len() {
            let risen = self.state.risen(&self.device);
            if risen.is_empty() {
                return;
            }
            risen.into_iter().for_each(|event| self.happen(event));
        }
    }

    /// Makes an event happen now, whatever its times are.
    pub fn inject(&mut self, event: EventId) {
        if event.0 < self.device.events.len() {
            self.happen(event);
            self.rise();
            self.look();
        }
    }

    /// A soft key is pressed, the first being 0.
    pub fn press(&mut self, key: usize) -> Reply {
        if key >= self.device.glass.keys.len() {
            return Reply::Idle;
        }
        self.tally.press(key);
        if self.busy() {
            return match self.device.policy.busy_presses {
                BusyPresses::Queue => {
                    self.waiting.push_back((self.now, key));
                    Reply::Queued
                }
                BusyPresses::Drop => {
                    self.tally.lose(key);
                    Reply::Lost
                }
            };
        }
        let acted = self.act(self.now, key);
        self.look();
        if acted { Reply::Acted } else { Reply::Idle }
    }

    pub(super) fn act(&mut self, made: Micros, key: usize) -> bool {
        match self.state.press(&self.device, key) {
            Pressed::Nothing => {
                self.tally.idle(key);
                return false;
            }
            Pressed::Changed => {
                self.mark(Origin::Person, Cause::Key(key));
                self.generation += 1;
                self.start_timers();
            }
            Pressed::Entered(screen) => {
                self.mark(Origin::Person, Cause::Key(key));
                self.enter(screen);
            }
        }
        self.pressed.push((made, key));
        self.rise();
        true
    }
}

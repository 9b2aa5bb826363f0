//! Runs a device through days of use: a machine, the people who use it, the world that it measures, and what all of it
//! costs. Every update redraws the real pixels. Not for the rules of a running device: those are [`crate::machine`]'s.

pub mod live;
pub mod play;
pub mod stationary;
pub mod tally;

use crate::behaviour::states::DeviceState;
use crate::cost::battery_state::BatteryState;
use crate::cost::energy::window_cost;
use crate::cost::prices::{Cost, Prices};
use crate::cost::standing::event_taken;
use crate::device::Device;
use crate::hardware::rail::Draw;
use crate::limits;
use crate::machine::{Cause, Key, Look, Machine, Micros, Note, Update, World, micros, seconds};
use crate::parameters::Point;
use crate::refresh::policy::Reason;
use crate::refresh::schedule::Step;
use crate::refresh::update::{Mode, Planner, work};
use crate::screen::values::{FieldId, Values};
use crate::units::{DAY, Joules, Seconds, Volts};
use crate::usage::motions::Motions;
use crate::usage::outside::{Happening, Outside};
use crate::usage::person::Person;
use tally::{Answer, Refresh, Tally};

/// Simulates a device from its usage, at one point of its inputs.
pub fn simulate(device: &Device, point: &Point) -> Tally {
    simulate_watched(device, point, |_, _| ())
}

/// As [`simulate`]; `watch` sees the machine with each update that is sent.
pub fn simulate_watched(device: &Device, point: &Point, mut watch: impl FnMut(&Machine, &Update)) -> Tally {
    let mut run = Run::new(device, point);
    run.go(&mut watch);
    run.around.tally.journeys = run.around.person.journeys;
    run.around.tally
}

struct Run<'a> {
    device: &'a Device,
    machine: Machine,
    planner: Planner,
    prices: Prices<'a>,
    outside: Outside,
    around: Around<'a>,
    end: Micros,
}

/// Everything around the machine.
struct Around<'a> {
    device: &'a Device,
    point: &'a Point,
    voltage: Volts,
    motions: Motions,
    person: Person,
    /// The battery, where the device is charged now and then.
    store: Option<BatteryState>,
    now: Micros,
    tally: Tally,
}

impl World for Around<'_> {
    fn sample(&mut self, device: &Device, field: FieldId, time: Seconds, values: &Values) -> f64 {
        self.motions.sample(device, field, time, values)
    }

    fn note(&mut self, note: Note) {
        match note {
            Note::Event(event) => {
                self.tally.events[event.0] += 1;
                if self.store.is_some() {
                    let taken = event_taken(self.device, self.point, &self.device.events[event.0], self.voltage);
                    self.spend(taken);
                }
            }
            Note::Entered(screen) => self.tally.entries[screen.0] += 1,
            Note::Acted(_) => {}
            Note::Unassigned(key) => {
                self.tally.idle(key);
                self.person.puzzled();
            }
            Note::Dropped(key) => self.tally.lose(key),
        }
    }
}

impl Around<'_> {
    /// The battery gives what an event or a refresh takes.
    fn spend(&mut self, taken: Draw) {
        if let Some(store) = &mut self.store {
            store.spend(taken.charge_at(self.voltage), seconds(self.now));
        }
    }
}

impl<'a> Run<'a> {
    fn new(device: &'a Device, point: &'a Point) -> Self {
        let end = micros(DAY * f64::from(device.usage.days));
        Self {
            device,
            machine: Machine::new(device, device.usage.home, 0),
            planner: Planner::new(window_cost(device, point)),
            prices: Prices::of(device, point),
            outside: Outside::new(device, 0, Some(end), true),
            around: Around {
                device,
                point,
                voltage: device.battery.nominal(),
                motions: Motions::new(device),
                person: Person::new(device),
                store: device.usage.charging.and_then(|_| BatteryState::new(device, point)),
                now: 0,
                tally: Tally::new(device, f64::from(device.usage.days)),
            },
            end,
        }
    }

    fn go(&mut self, watch: &mut impl FnMut(&Machine, &Update)) {
        self.look(watch);
        let mut happenings = 0;
        while let Some(time) = self.next().filter(|time| *time <= self.end) {
            self.pass_to(time);
            self.step();
            if time == self.end {
                // Its picture belongs to the day after, as the first picture of all does to this one.
                break;
            }
            self.look(watch);
            happenings += 1;
            let tally = &mut self.around.tally;
            if tally.full + tally.partial >= limits::UPDATES || happenings >= limits::HAPPENINGS {
                tally.stopped_early = true;
                tally.days = seconds(time) / DAY;
                self.end = time;
                break;
            }
        }
        self.pass_to(self.end);
        if let Some(store) = &mut self.around.store {
            store.end(seconds(self.end));
            self.around.tally.charges = Some(store.charges);
        }
    }

    /// When something happens next.
    fn next(&self) -> Option<Micros> {
        let all = [self.machine.wake(self.device), self.outside.next(), self.around.person.next()];
        all.into_iter().flatten().min()
    }

    fn pass_to(&mut self, time: Micros) {
        let gone = time.saturating_sub(self.around.now);
        self.around.tally.shown[self.machine.state.screen.0] += seconds(gone);
        self.around.now = time;
        self.machine.pass(time);
    }

    /// The device's own state changes, where a field holds it.
    fn report(&mut self, state: DeviceState, value: f64) {
        if let Some(field) = self.device.states.field(state) {
            self.machine.put(self.device, field, value, &mut self.around);
        }
    }

    /// Everything that happens now, the panel excepted.
    fn step(&mut self) {
        let (device, now) = (self.device, self.around.now);
        while let Some(what) = self.outside.take(device, now) {
            match what {
                Happening::Journey(journey) => self.around.person.begin(journey, now),
                Happening::Event(event) => {
                    if device.events[event.0].allowed(&self.machine.state.values) {
                        self.machine.happen(device, event, &mut self.around);
                    }
                }
                Happening::Plug(_) => {
                    self.around.store.iter_mut().for_each(|store| store.plug(seconds(now)));
                    self.report(DeviceState::Usb, 1.0);
                    self.report(DeviceState::Charging, 1.0);
                }
                Happening::Unplug => {
                    self.around.store.iter_mut().for_each(|store| store.unplug(seconds(now)));
                    self.report(DeviceState::Usb, 0.0);
                    self.report(DeviceState::Charging, 0.0);
                }
                Happening::Day(_) => {}
            }
        }
        if now < self.end {
            while let Some(key) = self.around.person.act(device, &self.machine) {
                if let Key::Down(number) = key {
                    self.around.tally.press(number);
                }
                self.machine.key(device, key, &mut self.around);
            }
        }
        self.machine.run(device, now, &mut self.around);
        // Whole percents, as a gauge tells them.
        if let Some(charge) = self.around.store.as_ref().map(|store| store.state_of_charge().0) {
            self.report(DeviceState::Charge, (charge * 100.0).round());
        }
    }

    /// Brings the panel up to date where it may be and is free.
    fn look(&mut self, watch: &mut impl FnMut(&Machine, &Update)) {
        let temperature = self.device.usage.climate.at(seconds(self.around.now));
        match self.machine.look(self.device, temperature, &mut self.planner, &mut self.around) {
            Look::Nothing => {}
            Look::Refused => self.around.tally.refused += 1,
            Look::Send(update) => {
                watch(&self.machine, &update);
                self.send(*update);
            }
        }
    }

    /// Counts one refresh and keeps the panel busy for its time.
    fn send(&mut self, update: Update) {
        let now = self.around.now;
        let cost = self.prices.cost(&update.work);
        if update.cause == Cause::Schedule {
            self.around.tally.idle_full += 1;
        } else {
            self.note_step(&update, cost);
        }
        self.around.spend(cost.draw);
        let tally = &mut self.around.tally;
        tally.energy += cost.draw.energy_at(self.around.voltage);
        tally.changed_pixels += update.change.pixels;
        let watched = now < self.around.person.watches_until;
        let windows = if update.mode == Mode::Partial { update.change.windows.as_slice() } else { &[] };
        let Update { mode, reason, work, origin, .. } = &update;
        let refresh = Refresh { mode: *mode, reason: *reason, work, windows, origin: *origin, watched };
        tally.note(self.device, &refresh);
        let visible = now + micros(cost.latency);
        let answer = |(made, key): &(Micros, usize)| Answer { key: *key, latency: seconds(visible - made) };
        tally.answers.extend(update.answers.iter().map(answer));
        self.machine.sent(now + micros(cost.duration));
    }

    /// The update with the cost of both waveforms, for the minimum-energy schedule.
    fn note_step(&mut self, update: &Update, cost: Cost) {
        let temperature = self.device.usage.climate.at(seconds(self.around.now));
        let energy = |mode| {
            let work = work(self.device, &update.change, mode, temperature);
            work.map(|work| self.prices.cost(&work).draw.energy_at(self.around.voltage))
        };
        let own = Some(cost.draw.energy_at(self.around.voltage));
        let (full, partial) = match update.mode {
            Mode::Full => (own, energy(Mode::Partial)),
            Mode::Partial => (energy(Mode::Full), own),
        };
        self.around.tally.steps.push(Step {
            full: full.unwrap_or(Joules(0.0)),
            partial,
            must_full: matches!(update.reason, Some(Reason::Screen | Reason::NoPartial | Reason::FirstPicture)),
            time: seconds(self.around.now),
        });
    }
}

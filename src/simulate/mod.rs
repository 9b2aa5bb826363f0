//! Runs a device through days of use: a discrete-event simulation in which every update redraws the real pixels.
//!
//! Time moves from one happening to the next. The panel is busy for as long as its phases take; presses meanwhile are
//! queued or lost as the project says, and changes of fields wait and are drawn together.

pub mod stationary;
pub mod tally;

use crate::behaviour::field::Renewal;
use crate::behaviour::policy::BusyPresses;
use crate::behaviour::{EventId, Hours, Times};
use crate::cost::battery_state::BatteryState;
use crate::cost::energy::window_cost;
use crate::cost::prices::{Cost, Prices};
use crate::cost::standing::event_taken;
use crate::device::Device;
use crate::hardware::rail::Draw;
use crate::limits;
use crate::machine::canvas::Canvas;
use crate::machine::state::{Pressed, State};
use crate::parameters::Point;
use crate::refresh::policy::{Memory, Reason, must_be_full};
use crate::refresh::schedule::Step;
use crate::refresh::update::{Change, Mode, Planner, work};
use crate::refresh::windows::Window;
use crate::refresh::work::Work;
use crate::screen::ScreenId;
use crate::screen::values::FieldId;
use crate::units::{DAY, Joules, Seconds, Volts};
use crate::usage::draws::poisson;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::cmp::Reverse;
use std::collections::{BinaryHeap, VecDeque};
use tally::{Answer, Origin, Refresh, Tally};

/// Microseconds after the start: whole numbers, so that the order of happenings is beyond doubt.
type Micros = u64;

fn micros(time: Seconds) -> Micros {
    (time.0.max(0.0) * 1e6).round() as Micros
}

fn seconds(time: Micros) -> Seconds {
    Seconds(time as f64 * 1e-6)
}

/// Something that happens at its time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Happening {
    /// A field is renewed.
    Renew(usize),
    /// An event happens.
    Event(usize),
    /// A step of a journey is done.
    Journey(usize, usize),
    /// A screen's timer ends, unless something was pressed or entered since (by its number).
    Timer(u64, usize),
    /// The panel is free again, or may redraw.
    Look,
    /// The last full refresh is as old as the policy allows.
    FullDue,
    /// The device comes to its charger on this day.
    Plug(u32),
    /// It is taken away.
    Unplug,
    /// A day begins: its random journeys and events are drawn.
    Day(u32),
}

/// Simulates a device from its usage, at one point of its inputs.
pub fn simulate(device: &Device, point: &Point) -> Tally {
    let mut run = Run::new(device, point);
    run.go();
    run.tally
}

struct Run<'a> {
    device: &'a Device,
    point: &'a Point,
    random: ChaCha8Rng,
    queue: BinaryHeap<Reverse<(Micros, u64, Happening)>>,
    number: u64,
    now: Micros,
    end: Micros,
    state: State,
    canvas: Canvas,
    memory: Memory,
    prices: Prices<'a>,
    voltage: Volts,
    planner: Planner,
    busy_until: Micros,
    /// When the panel was or will be free again and be looked at, the last time that something waited for it.
    looks_at: Micros,
    last_refresh: Option<Micros>,
    /// [`Happening::FullDue`] is still to come.
    full_awaited: bool,
    /// The picture may be out of date, because of a person or of the device itself.
    stale: Option<Origin>,
    /// A screen was entered since the last picture.
    entered: Option<ScreenId>,
    waiting: VecDeque<(Micros, usize)>,
    /// Presses whose picture is still to come: when and which key.
    pressed: Vec<(Micros, usize)>,
    /// The battery, where the device is charged now and then.
    store: Option<BatteryState>,
    generation: u64,
    /// Somebody is looking until then.
    watched_until: Micros,
    tally: Tally,
}

impl<'a> Run<'a> {
    fn new(device: &'a Device, point: &'a Point) -> Self {
        Self {
            device,
            point,
            random: ChaCha8Rng::seed_from_u64(device.usage.seed),
            queue: BinaryHeap::new(),
            number: 0,
            now: 0,
            end: micros(DAY * f64::from(device.usage.days)),
            state: State::new(device),
            canvas: Canvas::new(device),
            memory: Memory::NEW,
            prices: Prices::of(device, point),
            voltage: device.battery.nominal(),
            planner: Planner::new(window_cost(device, point)),
            busy_until: 0,
            looks_at: 0,
            last_refresh: None,
            full_awaited: false,
            stale: Some(Origin::Device),
            entered: Some(device.usage.home),
            waiting: VecDeque::new(),
            pressed: Vec::new(),
            generation: 0,
            watched_until: 0,
            store: device.usage.charging.and_then(|_| BatteryState::new(device, point)),
            tally: Tally::new(device, f64::from(device.usage.days)),
        }
    }

    fn at(&mut self, time: Micros, what: Happening) {
        // An event at the very end counts, so that whole days hold as many as their intervals.
        if time < self.end || (time == self.end && matches!(what, Happening::Event(_))) {
            self.number += 1;
            self.queue.push(Reverse((time, self.number, what)));
        }
    }

    fn go(&mut self) {
        self.at(0, Happening::Day(0));
        self.at(0, Happening::Look);
        for (index, field) in self.device.fields.iter().enumerate() {
            if let Renewal::Every(interval) = field.renewal {
                self.at(micros(interval), Happening::Renew(index));
            }
        }
        for (index, event) in self.device.events.iter().enumerate() {
            if let Times::Every(interval, _) = event.times {
                self.at(micros(interval), Happening::Event(index));
            }
        }
        if let Some(charging) = self.device.usage.charging {
            self.at(micros(charging.at), Happening::Plug(0));
        }
        self.start_timers();
        while let Some(Reverse((time, _, what))) = self.queue.pop() {
            self.pass_to(time);
            self.handle(what);
            if time == self.end {
                // Its picture belongs to the day after, as the first picture of all does to this one.
                continue;
            }
            self.look();
            if self.tally.full + self.tally.partial >= limits::UPDATES {
                self.tally.stopped_early = true;
                self.tally.days = seconds(self.now) / DAY;
                self.end = self.now;
                break;
            }
        }
        self.pass_to(self.end);
        if let Some(store) = &mut self.store {
            store.end(seconds(self.now));
            self.tally.charges = Some(store.charges);
        }
    }

    fn pass_to(&mut self, time: Micros) {
        self.tally.shown[self.state.screen.0] += seconds(time - self.now);
        self.now = time;
    }

    /// The battery gives what an event or a refresh takes.
    fn spend(&mut self, charge: impl FnOnce(&Self) -> Draw) {
        if self.store.is_some() {
            let charge = charge(self).charge_at(self.voltage);
            let now = seconds(self.now);
            if let Some(store) = &mut self.store {
                store.spend(charge, now);
            }
        }
    }

    fn handle(&mut self, what: Happening) {
        match what {
            Happening::Look => {}
            Happening::Day(day) => self.begin_day(day),
            Happening::Renew(field) => {
                self.state.renew(self.device, FieldId(field), seconds(self.now), &mut self.random);
                self.mark(Origin::Device);
                if let Renewal::Every(interval) = self.device.fields[field].renewal {
                    self.at(self.now + micros(interval), Happening::Renew(field));
                }
                self.rise();
            }
            Happening::Event(event) => {
                if let Times::Every(interval, hours) = self.device.events[event].times {
                    self.at(self.now + micros(interval), Happening::Event(event));
                    if !hours.hold(seconds(self.now)) {
                        return;
                    }
                }
                self.happen(EventId(event));
                self.rise();
            }
            Happening::Journey(journey, step) => self.journey(journey, step),
            Happening::Timer(generation, timer) => {
                if generation == self.generation {
                    let screen = self.device.wirings[self.state.screen.0].timers[timer].go;
                    self.state.enter(self.device, screen);
                    self.enter(screen, Origin::Person);
                }
            }
            Happening::FullDue => self.full_due(),
            Happening::Plug(day) => self.plug(day),
            Happening::Unplug => {
                if let Some(store) = &mut self.store {
                    store.unplug(seconds(self.now));
                }
            }
        }
    }

    fn plug(&mut self, day: u32) {
        let (Some(charging), Some(store)) = (self.device.usage.charging, &mut self.store) else { return };
        store.plug(seconds(self.now));
        self.at(self.now + micros(charging.length), Happening::Unplug);
        let next = day + charging.every;
        self.at(micros(DAY * f64::from(next) + charging.at), Happening::Plug(next));
    }

    /// Draws the day's random journeys and events: a Poisson number of each, at even times within its hours.
    fn begin_day(&mut self, day: u32) {
        let midnight = DAY * f64::from(day);
        for (index, journey) in self.device.usage.journeys.iter().enumerate() {
            for time in self.times(journey.per_day, journey.hours, midnight) {
                self.at(time, Happening::Journey(index, 0));
            }
        }
        for (index, event) in self.device.events.iter().enumerate() {
            if let Times::PerDay(rate, hours) = event.times {
                for time in self.times(rate, hours, midnight) {
                    self.at(time, Happening::Event(index));
                }
            }
        }
        self.at(micros(midnight + DAY), Happening::Day(day + 1));
    }

    fn times(&mut self, rate: f64, hours: Hours, midnight: Seconds) -> Vec<Micros> {
        let count = poisson(rate, &mut self.random);
        (0..count).map(|_| micros(midnight + hours.from + hours.length * self.random.random::<f64>())).collect()
    }

    fn mark(&mut self, origin: Origin) {
        if self.stale != Some(Origin::Person) {
            self.stale = Some(origin);
        }
    }

    fn enter(&mut self, screen: ScreenId, origin: Origin) {
        self.entered = Some(screen);
        self.tally.entries[screen.0] += 1;
        self.generation += 1;
        self.mark(origin);
        self.start_timers();
    }

    fn start_timers(&mut self) {
        for (index, timer) in self.device.wirings[self.state.screen.0].timers.iter().enumerate() {
            self.at(self.now + micros(timer.wait), Happening::Timer(self.generation, index));
        }
    }

    fn happen(&mut self, event: EventId) {
        self.tally.events[event.0] += 1;
        self.spend(|run| event_taken(run.device, run.point, &run.device.events[event.0], run.voltage));
        let led = self.state.happen(self.device, event, seconds(self.now), &mut self.random);
        self.mark(Origin::Device);
        if let Some(screen) = led {
            self.enter(screen, Origin::Device);
        }
    }

    /// Events whose condition became true; each may make others true, so there is a bound.
    fn rise(&mut self) {
        for _ in 0..=self.device.events.len() {
            let risen = self.state.risen(self.device);
            if risen.is_empty() {
                return;
            }
            risen.into_iter().for_each(|event| self.happen(event));
        }
    }

    fn journey(&mut self, journey: usize, index: usize) {
        let steps = &self.device.usage.journeys[journey].steps;
        let Some(step) = steps.get(index) else { return };
        if let Some(key) = step.press {
            self.tally.press(key);
            if self.now < self.busy_until {
                match self.device.policy.busy_presses {
                    BusyPresses::Queue => self.waiting.push_back((self.now, key)),
                    BusyPresses::Drop => self.tally.lose(key),
                }
            } else {
                self.press(self.now, key);
            }
        }
        self.watched_until = self.watched_until.max(self.now + micros(step.look));
        self.at(self.now + micros(step.look), Happening::Journey(journey, index + 1));
    }

    fn press(&mut self, made: Micros, key: usize) {
        match self.state.press(self.device, key) {
            Pressed::Nothing => {
                self.tally.idle(key);
                return;
            }
            Pressed::Changed => {
                self.mark(Origin::Person);
                self.generation += 1;
                self.start_timers();
            }
            Pressed::Entered(screen) => self.enter(screen, Origin::Person),
        }
        self.pressed.push((made, key));
        self.rise();
    }

    /// Brings the glass up to date where it may be and the panel is free.
    fn look(&mut self) {
        if self.now < self.busy_until {
            if self.looks_at < self.busy_until && (self.stale.is_some() || !self.waiting.is_empty()) {
                self.looks_at = self.busy_until;
                self.at(self.busy_until, Happening::Look);
            }
            return;
        }
        while let Some((made, key)) = self.waiting.pop_front() {
            self.press(made, key);
        }
        let Some(origin) = self.stale else { return };
        let distance = micros(self.device.policy.min_interval);
        if let Some(last) = self.last_refresh
            && origin == Origin::Device
            && self.entered.is_none()
            && self.now < last + distance
        {
            self.at(last + distance, Happening::Look);
            return;
        }
        self.stale = None;
        let entered = self.entered.take();
        self.canvas.draw(self.device, &self.state);
        let change = self.canvas.change(self.device, &mut self.planner);
        if change.pixels == 0 && self.memory.last_full.is_some() {
            self.canvas.shown();
            self.pressed.clear();
            return;
        }
        self.update(&change, entered, origin);
    }

    fn update(&mut self, change: &Change, entered: Option<ScreenId>, origin: Origin) {
        let (device, time) = (self.device, seconds(self.now));
        let temperature = device.usage.climate.at(time);
        let reason = must_be_full(device, self.memory, time, temperature, entered);
        let mode = if reason.is_some() { Mode::Full } else { Mode::Partial };
        let reckon = |mode: Mode| {
            let work = work(device, change, mode, temperature)?;
            Some((self.prices.cost(&work), work))
        };
        let (full, partial) = (reckon(Mode::Full), reckon(Mode::Partial));
        let energy = |of: &Option<(Cost, Work)>| of.as_ref().map(|(cost, _)| cost.draw.energy_at(self.voltage));
        let (full_energy, partial_energy) = (energy(&full), energy(&partial));
        let Some((cost, work)) = (if mode == Mode::Full { full } else { partial }) else {
            self.tally.refused += 1;
            return;
        };
        self.tally.steps.push(Step {
            full: full_energy.unwrap_or(Joules(0.0)),
            partial: partial_energy,
            must_full: matches!(reason, Some(Reason::Screen | Reason::NoPartial | Reason::FirstPicture)),
            time,
        });
        self.tally.changed_pixels += change.pixels;
        self.refresh((mode, reason), (&cost, &work), &change.windows, origin);
        self.canvas.shown();
    }

    /// Counts one refresh and keeps the panel busy for its time.
    fn refresh(
        &mut self,
        (mode, reason): (Mode, Option<Reason>),
        (cost, work): (&Cost, &Work),
        windows: &[Window],
        origin: Origin,
    ) {
        self.tally.energy += cost.draw.energy_at(self.voltage);
        self.spend(|_| cost.draw);
        let watched = self.now < self.watched_until;
        let windows = if mode == Mode::Partial { windows } else { &[] };
        self.tally.note(self.device, &Refresh { mode, reason, work, windows, origin, watched });
        let visible = self.now + micros(cost.latency);
        let answers = self.pressed.drain(..).map(|(made, key)| Answer { key, latency: seconds(visible - made) });
        self.tally.answers.extend(answers);
        self.memory.note(mode, seconds(self.now));
        self.last_refresh = Some(self.now);
        self.busy_until = self.now + micros(cost.duration);
        if let (Mode::Full, false, Some(every)) = (mode, self.full_awaited, self.device.policy.full_every) {
            self.full_awaited = true;
            self.at(self.now + micros(every), Happening::FullDue);
        }
    }

    /// Refreshes the standing picture when the last full refresh is too old.
    fn full_due(&mut self) {
        let (Some(every), Some(last)) = (self.device.policy.full_every, self.memory.last_full) else { return };
        let due = micros(last + every);
        if self.now < due || self.now < self.busy_until {
            self.at(due.max(self.busy_until), Happening::FullDue);
            return;
        }
        self.full_awaited = false;
        let nothing = Change::NONE;
        let temperature = self.device.usage.climate.at(seconds(self.now));
        match work(self.device, &nothing, Mode::Full, temperature) {
            Some(work) => {
                self.tally.idle_full += 1;
                let cost = self.prices.cost(&work);
                self.refresh((Mode::Full, Some(Reason::Age)), (&cost, &work), &[], Origin::Device);
            }
            None => self.tally.refused += 1,
        }
    }
}

//! Runs a device through days of use: a machine, the people who use it, the world that it measures, and what all of it
//! costs. Every update redraws the real pixels. Not for the rules of a running device: those are [`crate::machine`]'s.

pub mod counts;
pub mod diary;
pub mod live;
pub mod play;
pub mod stationary;
pub mod switches;

use crate::behaviour::states::DeviceState;
use crate::cost::always_on::Occasions;
use crate::cost::battery_state::BatteryState;
use crate::cost::energy::window_cost;
use crate::cost::unit_costs::{Cost, UnitCosts};
use crate::device::Device;
use crate::hardware::rail::Draw;
use crate::limits;
use crate::machine::{Key, Machine, Micros, Note, PanelStep, Update, UpdateCause, World, micros, seconds};
use crate::parameters::ParameterSample;
use crate::refresh::policy::Reason;
use crate::refresh::schedule::Planned;
use crate::refresh::update::{Mode, Planner, work};
use crate::screen::values::{FieldId, Values};
use crate::units::{Celsius, DAY, Joules, Ratio, Seconds, Volts};
use crate::usage::motions::Motions;
use crate::usage::outside::{Happening, Outside};
use crate::usage::person::Person;
use counts::{Answer, Counts, Refresh};
use diary::{Diary, What};
use switches::switches;

/// Simulates a device from its usage, at one point of its inputs; where it does otherwise below a state of charge, each
/// stretch of the charge for itself.
pub fn simulate(device: &Device, parameters: &ParameterSample) -> Counts {
    let switches = switches(device);
    let middles = middles(&switches);
    let mut counts = simulate_watched(device, parameters, |_, _| ());
    for (number, switch) in switches.iter().enumerate() {
        let mut run = Run::new(device, parameters, &middles[..number + 2]);
        run.go(&mut |_, _| ());
        run.around.counts.journeys = run.around.person.journeys;
        counts.stopped_early |= run.around.counts.stopped_early;
        counts.below.push((Ratio(switch / 100.0), run.around.counts));
    }
    counts
}

/// A state of charge within each stretch, the fullest first; none where there is only one stretch.
fn middles(switches: &[f64]) -> Vec<f64> {
    if switches.is_empty() {
        return Vec::new();
    }
    let ends: Vec<f64> = [100.0].into_iter().chain(switches.iter().copied()).chain([0.0]).collect();
    ends.windows(2).map(|pair| (pair[0] + pair[1]) / 2.0).collect()
}

/// As [`simulate`]; `watch` sees the machine with each update that is sent.
pub fn simulate_watched(
    device: &Device,
    parameters: &ParameterSample,
    mut watch: impl FnMut(&Machine, &Update),
) -> Counts {
    let middles = middles(&switches(device));
    let mut run = Run::new(device, parameters, &middles[..middles.len().min(1)]);
    run.go(&mut watch);
    run.around.counts.journeys = run.around.person.journeys;
    run.around.counts
}

/// As [`simulate`] of a full battery; what happens from one time up to another is recorded. Times are those of the
/// simulation, from its first midnight.
pub fn simulate_recorded(device: &Device, parameters: &ParameterSample, [from, to]: [Seconds; 2]) -> (Counts, Diary) {
    let middles = middles(&switches(device));
    let mut run = Run::new(device, parameters, &middles[..middles.len().min(1)]);
    run.around.diary = Some(Diary::new(micros(from), micros(to)));
    run.go(&mut |_, _| ());
    run.around.counts.journeys = run.around.person.journeys;
    (run.around.counts, run.around.diary.unwrap_or_default())
}

struct Run<'a> {
    device: &'a Device,
    machine: Machine,
    planner: Planner,
    unit_costs: UnitCosts<'a>,
    outside: Outside,
    around: Around,
    end: Micros,
}

/// Everything around the machine.
struct Around {
    voltage: Volts,
    motions: Motions,
    person: Person,
    /// The battery, where the device is charged now and then.
    battery_state: Option<BatteryState>,
    /// What it gives whenever something happens.
    occasions: Occasions,
    /// For each load of the board, whether it was allowed to draw in the beginning and just before; unknown until time has
    /// passed.
    held: Vec<Option<[bool; 2]>>,
    now: Micros,
    counts: Counts,
    /// The record, where one is kept.
    diary: Option<Diary>,
}

impl World for Around {
    fn sample(&mut self, device: &Device, field: FieldId, time: Seconds, values: &Values) -> f64 {
        self.counts.samples += 1;
        self.spend(self.occasions.sample);
        self.write(What::Sample);
        self.motions.sample(device, field, time, values)
    }

    fn note(&mut self, note: Note) {
        match note {
            Note::Event(event) => {
                self.counts.events[event.0] += 1;
                self.write(What::Event(event));
                self.spend(self.occasions.events[event.0]);
            }
            Note::Entered(screen) => self.counts.entries[screen.0] += 1,
            Note::Acted(_) => {}
            Note::Unassigned { key, made } => {
                self.counts.idle(key);
                self.person.puzzled(key, made);
            }
            Note::Dropped(key) => self.counts.lose(key),
        }
    }
}

impl Around {
    /// Writes what happens now into the record.
    fn write(&mut self, what: What) {
        let now = self.now;
        self.diary.iter_mut().for_each(|diary| diary.note(now, what));
    }

    /// A load was there for so long, up to a time, or was not.
    fn hold(&mut self, load: usize, holds: bool, [gone, until]: [Seconds; 2]) {
        let [first, before] = self.held[load].unwrap_or([holds; 2]);
        self.held[load] = Some([first, holds]);
        if !holds {
            return;
        }
        if !before {
            self.begin(load);
        }
        self.counts.held[load] += gone;
        if let (Some(battery_state), Some(held)) = (&mut self.battery_state, self.occasions.held[load]) {
            battery_state.spend(held.at(self.voltage) * gone, until);
        }
    }

    /// The conditions of a load begin to hold.
    fn begin(&mut self, load: usize) {
        self.counts.begun[load] += 1;
        self.spend(self.occasions.begun[load]);
    }

    /// The days stand for many alike, so what held in their beginning and holds no more at their end began too: as often as
    /// it ended. What holds all the time begins once in a life, and is not counted.
    fn close(&mut self) {
        for load in 0..self.held.len() {
            if self.held[load] == Some([true, false]) {
                self.begin(load);
            }
        }
    }

    /// The battery gives what something that happens takes.
    fn spend(&mut self, taken: Draw) {
        if let Some(battery_state) = &mut self.battery_state {
            battery_state.spend(taken.charge_at(self.voltage), seconds(self.now));
        }
    }
}

impl<'a> Run<'a> {
    /// A run from midnight of the first day. The charge goes through these percents at once, the last one stays: what
    /// happens on the way down has happened then.
    fn new(device: &'a Device, parameters: &'a ParameterSample, charges: &[f64]) -> Self {
        let end = micros(DAY * f64::from(device.usage.days));
        let mut run = Self {
            device,
            machine: Machine::new(device, device.usage.start_up, 0),
            planner: Planner::new(window_cost(device, parameters)),
            unit_costs: UnitCosts::of(device, parameters),
            outside: Outside::new(device, 0, Some(end), true),
            around: Around {
                voltage: device.battery.nominal(),
                motions: Motions::new(device),
                person: Person::new(device),
                battery_state: device.usage.charging.and_then(|_| BatteryState::new(device, parameters)),
                occasions: Occasions::of(device, parameters, device.battery.nominal()),
                held: vec![None; device.board.loads.len()],
                now: 0,
                counts: Counts::new(device, f64::from(device.usage.days)),
                diary: None,
            },
            end,
        };
        if let Some((field, (first, rest))) = device.states.field(DeviceState::Charge).zip(charges.split_first()) {
            run.machine.state.values.put(field, *first);
            run.machine.state.settle(device);
            rest.iter().for_each(|charge| run.report(DeviceState::Charge, *charge));
        }
        run
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
            let counts = &mut self.around.counts;
            if counts.full + counts.partial >= limits::UPDATES || happenings >= limits::HAPPENINGS {
                counts.stopped_early = true;
                counts.days = seconds(time) / DAY;
                self.end = time;
                break;
            }
        }
        self.pass_to(self.end);
        self.around.close();
        let counts = &mut self.around.counts;
        counts.residue_worst = counts.residue.as_ref().and_then(|residue| residue.until(seconds(self.end)));
        if let Some(battery_state) = &mut self.around.battery_state {
            let charging = self.device.usage.charging.filter(|charging| f64::from(charging.every) >= counts.days);
            battery_state
                .end(seconds(self.end), charging.map(|charging| DAY * f64::from(charging.every) - charging.length));
            self.around.counts.charges = Some(battery_state.charges);
        }
    }

    /// When something happens next.
    fn next(&self) -> Option<Micros> {
        let all = [self.machine.wake(self.device), self.outside.next(), self.around.person.next()];
        all.into_iter().flatten().min()
    }

    fn pass_to(&mut self, time: Micros) {
        let gone = time.saturating_sub(self.around.now);
        self.around.counts.shown[self.machine.state.screen.0] += seconds(gone);
        for (index, only) in self.device.load_only.iter().enumerate().filter(|_| gone > 0) {
            let holds = only.iter().all(|condition| condition.holds(&self.machine.state.values));
            self.around.hold(index, holds, [gone, time].map(seconds));
        }
        let now = self.around.now;
        if let Some(diary) = &mut self.around.diary {
            diary.pass(self.device, [now, time], self.machine.state.screen, &self.machine.state.values);
        }
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
                Happening::Event(event) => self.machine.come(device, event, &mut self.around),
                Happening::Plug(_) => {
                    self.around.battery_state.iter_mut().for_each(|battery_state| battery_state.plug(seconds(now)));
                    self.report(DeviceState::Usb, 1.0);
                    self.report(DeviceState::Charging, 1.0);
                }
                Happening::Unplug => {
                    self.around.battery_state.iter_mut().for_each(|battery_state| battery_state.unplug(seconds(now)));
                    self.report(DeviceState::Usb, 0.0);
                    self.report(DeviceState::Charging, 0.0);
                }
                Happening::Day(_) => {}
            }
        }
        if now < self.end {
            while let Some(key) = self.around.person.act(device, &self.machine) {
                if let Key::Down(number) = key {
                    self.around.counts.press(number);
                    self.around.spend(self.around.occasions.key);
                    self.around.write(What::Press);
                }
                self.machine.key(device, key, &mut self.around);
            }
        }
        self.machine.run(device, now, &mut self.around);
        // Whole percents, as a gauge tells them.
        if let Some(charge) = self.around.battery_state.as_ref().map(|battery_state| battery_state.state_of_charge().0)
        {
            self.around.diary.iter_mut().for_each(|diary| diary.note_charge(now, Ratio(charge)));
            self.report(DeviceState::Charge, (charge * 100.0).round());
        }
    }

    /// Brings the panel up to date where it may be and is free.
    fn look(&mut self, watch: &mut impl FnMut(&Machine, &Update)) {
        let temperature = self.device.usage.climate.at(seconds(self.around.now));
        match self.machine.look(self.device, temperature, &mut self.planner, &mut self.around) {
            PanelStep::Nothing => {}
            PanelStep::Refused => self.around.counts.refused += 1,
            PanelStep::Send(update) => {
                watch(&self.machine, &update);
                self.send(*update, temperature);
            }
        }
    }

    /// Counts one refresh and keeps the panel busy for its time.
    fn send(&mut self, update: Update, temperature: Celsius) {
        let now = self.around.now;
        let cost = self.unit_costs.cost(&update.work);
        if update.cause == UpdateCause::Schedule {
            self.around.counts.idle_full += 1;
        } else {
            self.note_step(&update, cost, temperature);
        }
        self.around.spend(cost.draw);
        self.around.write(What::Refresh(update.mode, cost.draw));
        let counts = &mut self.around.counts;
        counts.energy += cost.draw.energy_at(self.around.voltage);
        counts.changed_pixels += update.change.pixels;
        let watched = now < self.around.person.watches_until;
        let windows = if update.mode == Mode::Partial { update.change.windows.as_slice() } else { &[] };
        let Update { mode, reason, work, origin, .. } = &update;
        let screen = self.machine.state.front();
        let refresh = Refresh {
            mode: *mode,
            reason: *reason,
            work,
            windows,
            origin: *origin,
            watched,
            time: seconds(now),
            screen,
        };
        counts.note(self.device, &refresh);
        let visible = now + micros(cost.latency);
        let answer = |(made, key): &(Micros, usize)| Answer { key: *key, latency: seconds(visible - made) };
        counts.answers.extend(update.answers.iter().map(answer));
        self.machine.sent(now + micros(cost.duration));
    }

    /// The update with the cost of both waveforms, for the minimum-energy schedule.
    fn note_step(&mut self, update: &Update, cost: Cost, temperature: Celsius) {
        let energy = |mode| {
            let work = work(self.device, self.device.policy.buffer, &update.change, &update.scenes, mode, temperature);
            work.map(|mut work| {
                (work.warm, work.held) = (update.work.warm, update.work.held);
                self.unit_costs.cost(&work).draw.energy_at(self.around.voltage)
            })
        };
        let own = Some(cost.draw.energy_at(self.around.voltage));
        let (full, partial) = match update.mode {
            Mode::Full => (own, energy(Mode::Partial)),
            Mode::Partial => (energy(Mode::Full), own),
        };
        self.around.counts.steps.push(Planned {
            full: full.unwrap_or(Joules(0.0)),
            partial,
            must_full: matches!(update.reason, Some(Reason::Screen | Reason::NoPartial | Reason::FirstPicture)),
            time: seconds(self.around.now),
        });
    }
}

//! The rules of a running device, once: whoever runs one (simulation, preview, filmstrip, budget, report) drives this
//! machine. No randomness, no energy and no clock of its own: time and inputs come in, updates of the panel and the time
//! of the next wake-up come out, and whoever wants to may watch through [`World::note`].
//!
//! # Semantics
//!
//! **One input at a time, run to completion.** An input is a key that goes down or up, an event, the sample of a field,
//! a value that arrives, or a timer that ends. Its reaction is carried out whole, action by action, before the next input is taken; then
//! every event whose condition has become true happens, which may make others true. (Run to completion: Harel, Science
//! of Computer Programming 8 (1987) 231-274; W3C SCXML 1.0, appendix D.)
//!
//! **Order at equal times:** keys from outside, events from outside, times after something that are over, holds and
//! repetitions, periodic events and then samples by their positions, timers by theirs, and the panel last: whatever
//! happens at one time is drawn once.
//!
//! **Keys.** A press is carried out when the key goes down; where the key also has a hold, when it is let go before the
//! hold's time is over. Repetitions follow while it stays down; once it was let go there are no more, nor a hold, even
//! while that waits for the panel. What a key that is down still does belongs to what was in
//! front when it went down: when something else comes to the front, it does nothing more until it is pressed again; but
//! when it is let go, its release still changes the fields that it changes, and leads nowhere. A key that goes down again
//! was let go before, so that no hold outlasts the next press.
//!
//! **Screens and boxes.** Keys and timers are those of what is in front. An event takes the rule of the front, else of
//! the layer below. Going to a screen closes all boxes and remembers where from; going to a screen that is on the way
//! back already shortens the way. Entering sets the states that conditions ask for, then remembers the edited fields.
//! Four boxes may lie over one another, and no box over itself: another does not open. The way back remembers 16 screens
//! and forgets the oldest.
//!
//! **Timers** count from the entry of what is in front or from the last press that did something there, as stated; each
//! ends once. Closing a box starts the timers below again.
//!
//! **Times after something** begin when a key goes down (also where it means nothing, and again when it does something by
//! staying down or being let go), when a screen is entered or a box opens, when an event happens; and again each time. What
//! holds only for such a time does so up to its end and not at it. Closing a box enters nothing.
//!
//! **Panel.** While it is busy, keys wait in order (or are dropped, as the policy says); all else goes on. When it is free,
//! waiting keys are carried out, then the image is compared with what the panel shows. Updates that only the device
//! itself caused and that enter no screen keep the policy's distance from the refresh before. The waveform follows
//! [`crate::refresh::policy`].

mod behind;
pub mod canvas;
pub mod explore;
mod keys;
pub mod note;
mod panel;
mod schedule;
pub mod state;
pub mod time;
pub mod ways;

pub use note::{Note, Origin, PanelStep, Update, UpdateCause, World};
pub use state::State;
pub use time::{Micros, micros, seconds};

use crate::behaviour::{EventId, Since, Times};
use crate::device::Device;
use crate::refresh::policy::Memory;
use crate::screen::ScreenId;
use crate::screen::values::{FieldId, Values};
use canvas::Canvas;
use keys::Down;
use schedule::{Beat, Schedule};
use state::Outcome;
use std::collections::VecDeque;

/// A running device.
#[derive(Debug)]
pub struct Machine {
    /// What it shows and holds.
    pub state: State,
    /// Its panel and the picture for it.
    pub canvas: Canvas,
    /// Values to draw in place of the state's own.
    pub instead: Option<Values>,
    now: Micros,
    schedule: Schedule,
    down: Vec<Option<Down>>,
    /// When each timer of the front ends; `None` once it has.
    timers: Vec<Option<Micros>>,
    /// When each time after something is over; `None` where none runs.
    recent: Vec<Option<Micros>>,
    /// Inputs of keys that wait for the panel: when they were made.
    waiting: VecDeque<(Micros, Key)>,
    /// Presses whose picture is still to come: when and which key.
    pressed: Vec<(Micros, usize)>,
    memory: Memory,
    busy_until: Micros,
    last_refresh: Option<Micros>,
    /// A full refresh is awaited at its age.
    full_awaited: bool,
    /// What made the picture stale: the first of a person's causes, else the first.
    stale: Option<UpdateCause>,
    /// A screen was entered since the last picture.
    entered: Option<ScreenId>,
}

/// A key that goes down or up, the first being 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Key {
    /// Down.
    Down(usize),
    /// Up.
    Up(usize),
}

/// What became of an input of a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Taken {
    /// It did something.
    Acted,
    /// It did nothing here; a key with a hold may still do something.
    Nothing,
    /// The panel is busy; it waits.
    Queued,
    /// The panel is busy; it is lost.
    Dropped,
}

impl Machine {
    /// A device that begins at a time with a screen; the panel shows nothing yet.
    pub fn new(device: &Device, screen: ScreenId, now: Micros) -> Self {
        let mut machine = Self {
            state: State::new(device, screen),
            canvas: Canvas::new(device),
            instead: None,
            now,
            schedule: Schedule::new(device, now),
            down: vec![None; device.keys()],
            timers: Vec::new(),
            recent: vec![None; device.flow_state.recent.len()],
            waiting: VecDeque::new(),
            pressed: Vec::new(),
            memory: Memory::NEW,
            busy_until: now,
            last_refresh: None,
            full_awaited: false,
            stale: Some(UpdateCause::PowerUp),
            entered: Some(screen),
        };
        machine.start_timers(device, true);
        machine.start_recent(device);
        machine
    }

    /// As [`Machine::new`], with the picture on the panel already, as if the device had run for a while.
    pub fn shown(device: &Device, screen: ScreenId, now: Micros) -> Self {
        let mut machine = Self::new(device, screen, now);
        machine.show_at_once(device);
        machine
    }

    /// Puts the picture of the moment on the panel without a refresh, as after a full one: for a designer's changes.
    pub fn show_at_once(&mut self, device: &Device) {
        self.canvas.forget();
        self.canvas.draw(device, &self.state, self.instead.as_ref());
        self.canvas.adopt();
        self.memory = Memory { partials: 0, last_full: Some(seconds(self.now)) };
        self.full_awaited = device.policy.full_every.is_some();
        (self.stale, self.entered) = (None, None);
        self.pressed.clear();
        self.busy_until = self.now;
    }

    /// Shows another locale from now on; where a field chooses it, the field changes.
    pub fn set_locale(&mut self, device: &Device, locale: usize) {
        if let Some(field) = device.language {
            self.state.values.put(field, locale as f64);
        }
        self.canvas.set_locale(locale);
    }

    /// Shows a screen that no key leads to, for a designer's choice.
    pub fn jump(&mut self, device: &Device, screen: ScreenId) {
        self.state.jump(device, screen);
        self.start_recent(device);
        self.fronted(device);
        self.show_at_once(device);
    }

    /// The time.
    pub fn now(&self) -> Micros {
        self.now
    }

    /// Whether the panel refreshes.
    pub fn busy(&self) -> bool {
        self.now < self.busy_until
    }

    /// When a timer of the front ends; `None` once it has.
    pub fn timer_ends(&self, timer: usize) -> Option<Micros> {
        self.timers.get(timer).copied().flatten()
    }

    /// When the panel is free again, or was last.
    pub fn busy_until(&self) -> Micros {
        self.busy_until
    }

    /// Presses that wait for the panel.
    pub fn waiting(&self) -> usize {
        self.waiting.iter().filter(|(_, key)| matches!(key, Key::Down(_))).count()
    }

    /// What the refresh policy remembers.
    pub fn memory(&self) -> Memory {
        self.memory
    }

    /// The time of the next wake-up, if nothing comes from outside; `None` where nothing ever happens by itself.
    pub fn wake(&self, device: &Device) -> Option<Micros> {
        let keys = self.stays(device).map(|(time, ..)| time);
        let timers = self.timers.iter().flatten().min().copied();
        let recent = self.recent.iter().flatten().min().copied();
        [keys, self.schedule.next(), timers, recent, self.look_at(device)]
            .into_iter()
            .flatten()
            .min()
            .map(|at| at.max(self.now))
    }

    /// Lets time pass. Times at which something is due must not be passed over: see [`Machine::wake`].
    pub fn pass(&mut self, now: Micros) {
        self.now = self.now.max(now);
    }

    /// Lets time pass to `now` and carries out everything due then, the panel excepted.
    pub fn run(&mut self, device: &Device, now: Micros, world: &mut impl World) {
        self.now = self.now.max(now);
        self.end_recent(device, world);
        while let Some((_, key, stays)) = self.stays(device).filter(|(time, ..)| *time <= self.now) {
            self.stay(device, key, stays, world);
        }
        while let Some(beat) = self.schedule.take(device, self.now) {
            self.beat(device, beat, world);
        }
        while let Some(timer) = self.timers.iter().position(|due| due.is_some_and(|due| due <= self.now)) {
            self.timers[timer] = None;
            self.timer(device, timer, world);
        }
    }

    fn beat(&mut self, device: &Device, beat: Beat, world: &mut impl World) {
        match beat {
            Beat::Event(event) => {
                let Times::Every(_, hours) = device.events[event.0].times else { return };
                if hours.hold(seconds(self.now)) {
                    self.come(device, event, world);
                }
            }
            Beat::Renew(field) => {
                if device.fields[field.0].sampled(&self.state.values) {
                    self.renew(device, field, world);
                    self.mark(UpdateCause::Field(field));
                    self.rise(device, world);
                }
            }
        }
    }

    fn renew(&mut self, device: &Device, field: FieldId, world: &mut impl World) {
        let value = world.sample(device, field, seconds(self.now), &self.state.values);
        self.state.values.set(field, value);
        self.state.keep_within(device, field);
    }

    /// An event comes, from outside or as its time says: it happens where its conditions hold.
    pub fn come(&mut self, device: &Device, event: EventId, world: &mut impl World) {
        if device.events[event.0].allowed(&self.state.values) {
            self.happen(device, event, world);
        }
    }

    /// An event happens, whatever its conditions.
    pub fn happen(&mut self, device: &Device, event: EventId, world: &mut impl World) {
        self.happen_once(device, event, world);
        self.rise(device, world);
    }

    fn happen_once(&mut self, device: &Device, event: EventId, world: &mut impl World) {
        world.note(Note::Event(event));
        for index in 0..self.state.renewals(event).len() {
            self.renew(device, self.state.renewals(event)[index], world);
        }
        self.mark(UpdateCause::Event(event));
        let outcome = self.state.happen(device, event);
        self.follow(device, outcome, false, world);
    }

    /// Events whose condition became true.
    fn rise(&mut self, device: &Device, world: &mut impl World) {
        state::complete(
            self,
            device,
            |machine| &mut machine.state,
            |machine, event| {
                machine.happen_once(device, event, world);
            },
        );
    }

    /// What follows from what a reaction did.
    fn follow(&mut self, device: &Device, outcome: Outcome, pressed: bool, world: &mut impl World) {
        self.start_recent(device);
        if outcome.entered {
            self.entered = Some(self.state.screen);
            world.note(Note::Entered(self.state.screen));
        }
        if outcome.fronted {
            self.fronted(device);
        } else if pressed && outcome.acted {
            self.start_timers(device, false);
        }
    }

    /// Times after something that begin now, and whether any does.
    fn start_recent(&mut self, device: &Device) -> bool {
        let mut begins = false;
        for index in self.state.begun() {
            begins = true;
            if let (Some(ends), Some(recent)) = (self.recent.get_mut(index), device.flow_state.recent.get(index)) {
                *ends = Some(self.now + micros(recent.lasts));
            }
        }
        begins
    }

    /// Times after something that are over.
    fn end_recent(&mut self, device: &Device, world: &mut impl World) {
        let mut over = false;
        for (index, ends) in self.recent.iter_mut().enumerate() {
            if ends.is_some_and(|ends| ends <= self.now) {
                *ends = None;
                device.flow_state.end(&mut self.state.values, index);
                over = true;
            }
        }
        if over {
            self.rise(device, world);
        }
    }

    fn fronted(&mut self, device: &Device) {
        self.down.iter_mut().flatten().for_each(|down| down.stale = true);
        self.start_timers(device, true);
    }

    /// Starts the timers of the front: all of them on its entry, those that count from the last press on a press.
    fn start_timers(&mut self, device: &Device, entry: bool) {
        let timers = &device.wirings[self.state.front().0].timers;
        let due = |timer: &crate::behaviour::Timer| Some(self.now + micros(timer.wait));
        if entry {
            self.timers.clear();
            self.timers.extend(timers.iter().map(due));
        } else {
            for (ends, timer) in self.timers.iter_mut().zip(timers).filter(|(_, timer)| timer.since == Since::Press) {
                *ends = due(timer);
            }
        }
    }

    fn timer(&mut self, device: &Device, timer: usize, world: &mut impl World) {
        let front = self.state.front();
        let Some(rule) = device.wirings[front.0].timers.get(timer) else { return };
        let outcome = self.state.react(device, &rule.reaction, 1.0);
        if outcome.acted {
            self.mark(UpdateCause::Timer(front, timer));
        }
        self.follow(device, outcome, false, world);
        self.rise(device, world);
    }

    /// The picture may be out of date. A person's cause counts before the device's own, the first before later ones.
    fn mark(&mut self, cause: UpdateCause) {
        let by_person = |cause: UpdateCause| cause.origin() == Origin::Person;
        if self.stale.is_none_or(|known| by_person(cause) && !by_person(known)) {
            self.stale = Some(cause);
        }
    }

    /// A value arrives from outside: the field holds it, kept to its range.
    pub fn put(&mut self, device: &Device, field: FieldId, value: f64, world: &mut impl World) {
        let [low, high] = device.fields[field.0].range;
        let value = value.clamp(low, high);
        if self.state.values.of(field) != value {
            self.state.values.set(field, value);
            self.state.keep_within(device, field);
            self.mark(UpdateCause::Field(field));
            self.rise(device, world);
        }
    }
}

//! A machine that somebody watches: its world moves by itself, people are outside. The preview and the filmstrip drive
//! one and look at its panel; the rules are the machine's, the times and energies the cost's.

use crate::behaviour::EventId;
use crate::cost::energy::window_cost;
use crate::cost::phases::{self, Phase, duration, latency, phases, total};
use crate::device::Device;
use crate::machine::{Key, Machine, Micros, Note, PanelStep, Taken, Update, UpdateCause, World, micros};
use crate::parameters::ParameterSample;
use crate::refresh::seen::{Drive, Seen};
use crate::refresh::update::Planner;
use crate::screen::values::{FieldId, Values};
use crate::units::{Celsius, Joules, Seconds, plain_time};
use crate::usage::motions::Motions;
use crate::usage::outside::{Happening, Outside};

/// A running device that somebody watches.
#[derive(Debug)]
pub struct Live {
    /// The machine.
    pub machine: Machine,
    /// The refresh under way, or the last one.
    pub drive: Option<Drive>,
    parameters: ParameterSample,
    planner: Planner,
    outside: Outside,
    around: Around,
}

/// What is around the machine.
#[derive(Debug)]
struct Around {
    motions: Motions,
    notes: Vec<Note>,
}

impl World for Around {
    fn sample(&mut self, device: &Device, field: FieldId, time: Seconds, values: &Values) -> f64 {
        self.motions.sample(device, field, time, values)
    }

    fn note(&mut self, note: Note) {
        self.notes.push(note);
    }
}

/// What an update takes.
#[derive(Clone, Copy, Debug)]
pub struct Took {
    /// From its begin to the visible picture.
    pub latency: Seconds,
    /// Until the panel is free again.
    pub duration: Seconds,
    /// Energy at the battery.
    pub energy: Joules,
}

impl Live {
    /// A machine with its world from now on; `seed` is that of the world's draws.
    pub fn new(device: &Device, machine: Machine) -> Self {
        let parameters = device.inputs.typical();
        Self {
            planner: Planner::new(window_cost(device, &parameters)),
            parameters,
            outside: Outside::new(device, machine.now(), None, false),
            around: Around { motions: Motions::new(device), notes: Vec::new() },
            machine,
            drive: None,
        }
    }

    /// The typical inputs that costs are taken at.
    pub fn parameters(&self) -> &ParameterSample {
        &self.parameters
    }

    /// When something happens next by itself.
    pub fn wake(&self, device: &Device) -> Option<Micros> {
        let outside = self.outside.next().map(|time| time.max(self.machine.now()));
        [self.machine.wake(device), outside].into_iter().flatten().min()
    }

    /// Lets time pass to `now`, which passes over nothing: see [`Live::wake`].
    pub fn pass(&mut self, now: Micros) {
        self.machine.pass(now);
    }

    /// Events from outside that are due.
    pub fn outside(&mut self, device: &Device) {
        while let Some(what) = self.outside.take(device, self.machine.now()) {
            if let Happening::Event(event) = what {
                self.machine.come(device, event, &mut self.around);
            }
        }
    }

    /// Everything that the machine itself has to do now, the panel excepted.
    pub fn run(&mut self, device: &Device) {
        self.machine.run(device, self.machine.now(), &mut self.around);
    }

    /// An event happens now.
    pub fn happen(&mut self, device: &Device, event: EventId) {
        self.machine.happen(device, event, &mut self.around);
    }

    /// A value arrives.
    pub fn put(&mut self, device: &Device, field: FieldId, value: f64) {
        self.machine.put(device, field, value, &mut self.around);
    }

    /// A key goes down or up.
    pub fn key(&mut self, device: &Device, key: Key) -> Taken {
        self.machine.key(device, key, &mut self.around)
    }

    /// A key goes down and up at once.
    pub fn press(&mut self, device: &Device, key: usize) -> Taken {
        self.machine.press(device, key, &mut self.around)
    }

    /// What happened since the last call.
    pub fn take_notes(&mut self) -> Vec<Note> {
        std::mem::take(&mut self.around.notes)
    }

    /// Brings the panel up to date where it may be and is free; gives the update and what it takes.
    pub fn look(&mut self, device: &Device, temperature: Celsius) -> Looked {
        if self.machine.busy() {
            return Looked::Nothing;
        }
        let before = self.machine.canvas.shown.clone();
        match self.machine.look(device, temperature, &mut self.planner, &mut self.around) {
            PanelStep::Nothing => Looked::Nothing,
            PanelStep::Refused => Looked::Refused,
            PanelStep::Send(update) => {
                let phases = phases(device, &self.parameters, &update.work, device.battery.nominal());
                let took = Took {
                    latency: latency(&phases),
                    duration: duration(&phases),
                    energy: total(&phases).energy_at(device.battery.nominal()),
                };
                let now = self.machine.now();
                let (from, to) = (now + micros(before_drive(&phases)), now + micros(took.latency));
                self.drive = Some(Drive { mode: update.mode, from, to, before });
                self.machine.sent(now + micros(took.duration));
                Looked::Sent(update, took)
            }
        }
    }

    /// What is seen of the panel at a time.
    pub fn seen(&self, now: Micros) -> Seen {
        let panel = &self.machine.canvas.shown;
        match &self.drive {
            Some(drive) => drive.seen(now, panel),
            None => Seen { frame: panel.clone(), settling: None },
        }
    }

    /// The panel shows what the designer wants at once.
    pub fn show_at_once(&mut self, device: &Device) {
        self.machine.show_at_once(device);
        self.drive = None;
    }
}

/// What a look at the panel came to.
#[derive(Debug)]
pub enum Looked {
    /// Nothing was to be done.
    Nothing,
    /// An update was sent.
    Sent(Box<Update>, Took),
    /// The picture is new and cannot be shown: outside every table of the panel.
    Refused,
}

/// Time until the panel is driven.
fn before_drive(phases: &[Phase]) -> Seconds {
    let before = phases.iter().filter(|phase| phase.before_visible && phase.cause != phases::Cause::Drive);
    before.map(|phase| phase.time).sum()
}

/// What made an update necessary, in words: `key 1`, `after 30 s`, `event frost`.
pub fn cause_words(cause: UpdateCause, device: &Device) -> String {
    match cause {
        UpdateCause::Key(key) => format!("key {}", key + 1),
        UpdateCause::Timer(screen, timer) => {
            let wait = device.wirings[screen.0].timers.get(timer).map_or(Seconds(0.0), |timer| timer.wait);
            format!("after {}", plain_time(wait))
        }
        UpdateCause::Event(event) => format!("event {}", device.events[event.0].name),
        UpdateCause::Field(field) => format!("field {}", device.fields[field.0].name),
        UpdateCause::PowerUp => "power up".into(),
        UpdateCause::Schedule => "full refresh interval elapsed".into(),
    }
}

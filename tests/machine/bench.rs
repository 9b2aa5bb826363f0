//! A device on the bench: keys and time go in by hand, the panel is never busy, what happens is noted.

use crate::plain::{device, try_device};
use inkjoule::cost::energy::window_cost;
use inkjoule::device::Device;
use inkjoule::machine::{Key, Machine, Note, Taken, World, micros};
use inkjoule::refresh::update::Planner;
use inkjoule::screen::values::{FieldId, Values};
use inkjoule::units::{Celsius, Seconds};

pub(crate) const FIELDS: &str = "[fields.n]\nrange = [0, 99]\n[fields.cursor]\nrange = [0, 1]\n[fields.row]\nrange = [0, 2]\n\
                      [fields.temp]\nrange = [-5, 5]\ndecimals = 1\nsample = 0\n";
pub(crate) const USAGE: &str = "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\n\
                     temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";

pub(crate) fn with(more: &str, screens: &[(&str, &str)]) -> Device {
    device(&format!("{FIELDS}{more}{USAGE}"), screens)
}

pub(crate) fn refused(more: &str, screens: &[(&str, &str)]) -> String {
    try_device(&format!("{FIELDS}{more}{USAGE}"), screens).expect_err("it must be refused")
}

/// Notes what happens; sampled fields keep their values.
#[derive(Default)]
pub(crate) struct Watch(pub(crate) Vec<Note>);

impl World for Watch {
    fn sample(&mut self, _: &Device, field: FieldId, _: Seconds, values: &Values) -> f64 {
        values.of(field)
    }

    fn note(&mut self, note: Note) {
        self.0.push(note);
    }
}

pub(crate) struct Bench<'d> {
    device: &'d Device,
    pub(crate) machine: Machine,
    pub(crate) watch: Watch,
}

impl<'d> Bench<'d> {
    pub(crate) fn new(device: &'d Device) -> Self {
        Self { device, machine: Machine::shown(device, device.usage.home, 0), watch: Watch::default() }
    }

    pub(crate) fn run(&mut self, seconds: f64) {
        let end = micros(Seconds(seconds));
        while let Some(wake) = self.machine.wake(self.device).filter(|wake| *wake <= end && *wake > self.machine.now())
        {
            self.machine.run(self.device, wake, &mut self.watch);
            self.look();
        }
        self.machine.run(self.device, end, &mut self.watch);
        self.look();
    }

    /// Looks at a panel that is never busy.
    pub(crate) fn look(&mut self) {
        let parameters = self.device.inputs.typical();
        let mut planner = Planner::new(window_cost(self.device, &parameters));
        self.machine.look(self.device, Celsius(20.0), &mut planner, &mut self.watch);
    }

    pub(crate) fn press(&mut self, key: usize) -> Taken {
        let taken = self.machine.press(self.device, key, &mut self.watch);
        self.look();
        taken
    }

    pub(crate) fn key(&mut self, key: Key) -> Taken {
        let taken = self.machine.key(self.device, key, &mut self.watch);
        self.look();
        taken
    }

    pub(crate) fn front(&self) -> &str {
        &self.device.screens[self.machine.state.front().0].id
    }

    pub(crate) fn field(&self, name: &str) -> f64 {
        self.machine.state.values.of(self.device.field(name).expect("a field"))
    }
}

pub(crate) fn text(keys: &str) -> String {
    format!("content = [ {{ text = \"{{n}}\" }} ]\n{keys}")
}

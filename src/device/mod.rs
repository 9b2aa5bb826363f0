//! The resolved model of one product: everything the outputs need, nothing left to look up or open.

pub mod climate;
pub mod consumers;
pub mod drawing;
pub mod party;
pub mod usage;
pub mod waking;

use crate::behaviour::field::Field;
use crate::behaviour::policy::Policy;
use crate::behaviour::{Event, Wiring};
use crate::cell::peak::LoadCurrent;
use crate::frame::Frame;
use crate::hardware::battery::Battery;
use crate::hardware::board::Board;
use crate::hardware::board::DuringRefresh;
use crate::hardware::display::Display;
use crate::hardware::load::Shape;
use crate::hardware::panel::Panel;
use crate::hardware::rail::RailId;
use crate::parameters::{Inputs, ParameterSample};
use crate::screen::face::FaceUse;
use crate::screen::values::{Condition, FieldId, Values};
use crate::screen::{Role, Screen, ScreenId};
use crate::source::levels::Levels;
use crate::source::spans::Span;
use crate::units::{Amps, Bytes, Joules, Ratio, Seconds};
use drawing::{Passes, Strips};
use party::Party;
use rand::SeedableRng;
use std::sync::OnceLock;
use usage::Usage;

/// One product.
#[derive(Debug)]
pub struct Device {
    /// The product's name.
    pub name: String,
    /// What the project is; says so where its data are invented.
    pub note: String,
    /// Every uncertain number.
    pub inputs: Inputs,
    /// The panel.
    pub panel: Panel,
    /// How the panel sits in the instrument.
    pub display: Display,
    /// The board.
    pub board: Board,
    /// The battery.
    pub battery: Battery,
    /// Names of the locales; one unnamed locale where the project has no strings.
    pub locales: Vec<String>,
    /// The field that chooses the locale, where one does.
    pub language: Option<FieldId>,
    /// For each load of the board the conditions under which alone it draws.
    pub load_only: Vec<Vec<Condition>>,
    /// The largest sets of what may draw at one time, as stated exclusions leave them.
    pub coincident: Vec<Vec<Party>>,
    /// Live values.
    pub fields: Vec<Field>,
    /// Things that happen without a key.
    pub events: Vec<Event>,
    /// Screens.
    pub screens: Vec<Screen>,
    /// Fields that hold flow states for conditions.
    pub flow_state: crate::behaviour::flow_state::FlowState,
    /// Fields that hold states of the device.
    pub states: crate::behaviour::states::States,
    /// What keys, timers and events do on each screen.
    pub wirings: Vec<Wiring>,
    /// When to refresh fully, and what happens meanwhile.
    pub policy: Policy,
    /// How it is used.
    pub usage: Usage,
    /// What `check` enforces.
    pub limits: Limits,
    /// What screens take in flash.
    pub stock: Stock,
    /// Faces of the project and built-in faces in use, by name.
    pub faces: Vec<FaceUse>,
    /// Levels of the lints.
    pub levels: Levels,
    /// Cycles of passes over each screen in each locale, once they were asked for.
    pub passes: Vec<OnceLock<Passes>>,
    /// How the frame is drawn in strips, once it was asked for.
    pub strips: OnceLock<Strips>,
}

/// A limit and where it stands.
#[derive(Clone, Debug)]
pub struct Limit<T> {
    /// The limit.
    pub value: T,
    /// Its place in the project.
    pub span: Span,
}

/// What `check` enforces; what is `None` is not limited.
#[derive(Clone, Debug, Default)]
pub struct Limits {
    /// RAM for the frame or band.
    pub ram: Option<Limit<Bytes>>,
    /// Flash for images, faces and strings.
    pub flash: Option<Limit<Bytes>>,
    /// Energy of one update.
    pub update_energy: Option<Limit<Joules>>,
    /// Press to visible.
    pub latency: Option<Limit<Seconds>>,
    /// Life that nine of ten devices reach.
    pub life: Option<Limit<Seconds>>,
    /// Refreshes a day.
    pub refreshes_per_day: Option<Limit<f64>>,
    /// Worst ghosting residue.
    pub residue: Option<Limit<Ratio>>,
}

/// What screens take in flash, in bytes.
#[derive(Clone, Copy, Debug, Default)]
pub struct Stock {
    /// Icons and images.
    pub images: u64,
    /// Glyphs that are used.
    pub fonts: u64,
    /// Texts of all locales.
    pub strings: u64,
}

impl Stock {
    /// All of it.
    pub fn total(&self) -> u64 {
        self.images + self.fonts + self.strings
    }
}

impl Device {
    /// Whether the device is off or empty where this is in front.
    pub fn ends_use(&self, screen: ScreenId) -> bool {
        self.screens[screen.0].role.is_some_and(Role::ends_use)
    }

    /// The values in sample pictures, with histories that end in them.
    pub fn sample(&self) -> Values {
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(self.usage.seed);
        let now: Vec<f64> = self.fields.iter().map(|field| field.sample).collect();
        let moment = self.usage.sample_at;
        let history = |field: &Field| field.sample_history(self.interval(field), moment, &mut random);
        let past = self.fields.iter().map(history).collect::<Vec<_>>().into();
        Values { start: self.usage.start, version: vec![0; now.len()], now, past }
    }

    /// The sample values for a picture in a locale: a field that chooses the language names it.
    pub fn sample_in(&self, locale: usize) -> Values {
        self.spoken(self.sample(), locale)
    }

    /// Values for a picture in a locale, where some field chooses the language.
    pub fn spoken(&self, mut values: Values, locale: usize) -> Values {
        self.language.into_iter().for_each(|field| values.put(field, locale as f64));
        values
    }

    /// The values whose texts are widest: for each number the end of its range that takes more characters.
    pub fn worst(&self) -> Values {
        let mut values = self.sample();
        for (index, field) in self.fields.iter().enumerate() {
            let length = |value: f64| {
                let mut trial = values.clone();
                trial.now[index] = value;
                field
                    .pieces
                    .iter()
                    .map(|piece| {
                        crate::screen::template::Template { pieces: vec![piece.clone()] }.text(&trial).chars().count()
                    })
                    .max()
            };
            let candidates = match &field.pieces[..] {
                [crate::screen::template::Piece::Choice { texts, .. }, ..] => {
                    (0..texts.len()).map(|n| n as f64).collect()
                }
                [crate::screen::template::Piece::Clock { .. }, ..] => vec![field.sample],
                _ => vec![field.range[1], field.range[0]],
            };
            let widest = candidates.into_iter().max_by_key(|value| length(*value));
            values.now[index] = widest.unwrap_or(field.sample);
        }
        values
    }

    /// Time between a field's renewals, for the time axis of its history.
    pub fn interval(&self, field: &Field) -> Seconds {
        field.interval(&self.events)
    }

    /// A screen drawn in a locale with given values.
    pub fn draw(&self, screen: ScreenId, locale: usize, values: &Values) -> Frame {
        let size = self.panel.size();
        let mut frame = Frame::new(size.width, size.height);
        self.screens[screen.0].draw(locale, values, &mut frame);
        frame
    }

    /// Number of keys, those beside the display first.
    pub fn keys(&self) -> usize {
        self.display.keys.len()
    }

    /// The locale that a field chooses, where one does.
    pub fn locale_of(&self, values: &Values) -> Option<usize> {
        // The cast makes 0 of a missing value.
        self.language.map(|field| (values.of(field).round() as usize).min(self.locales.len().saturating_sub(1)))
    }

    /// The position of a screen by its id.
    pub fn screen(&self, id: &str) -> Option<ScreenId> {
        self.screens.iter().position(|screen| screen.id == id).map(ScreenId)
    }

    /// The position of a field by its name.
    pub fn field(&self, name: &str) -> Option<FieldId> {
        self.fields.iter().position(|field| field.name == name).map(FieldId)
    }

    /// What flows on a rail while nothing happens: sleep currents, and loads that are on all the time. A power is taken at
    /// the rail's output voltage, or that of the half-full battery.
    pub fn asleep(&self, parameters: &ParameterSample, rail: RailId) -> Amps {
        let volts = self.board.rails[rail.0].output().unwrap_or_else(|| self.battery.nominal());
        self.at_rest(parameters, rail).at(volts)
    }

    /// As [`Device::asleep`], currents and powers apart.
    pub fn at_rest(&self, parameters: &ParameterSample, rail: RailId) -> LoadCurrent {
        let board = &self.board;
        let parts = [Some((board.mcu.rail, board.mcu.sleep)), Some((self.panel.rail, self.panel.sleep))];
        let memory = board.memory.as_ref().map(|memory| (memory.rail, memory.standby));
        let parts = parts.into_iter().chain([memory]).flatten();
        let parts = parts.map(|(on, current)| (on, LoadCurrent::current(parameters.of(current))));
        let loads = board.loads.iter().zip(&self.load_only).filter(|(_, only)| only.is_empty());
        let loads = loads.filter_map(|(load, _)| match load.shape {
            Shape::Always(drawn) => Some((load.rail, drawn.load_current(parameters))),
            Shape::Pulses { .. } => None,
        });
        parts.chain(loads).filter(|(on, _)| *on == rail).map(|(_, load_current)| load_current).sum()
    }

    /// Whether the microcontroller runs while the panel drives.
    pub fn polls(&self) -> bool {
        self.board.mcu.during_refresh == DuringRefresh::Poll
    }
}

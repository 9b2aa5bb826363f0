//! The resolved model of one product: everything the outputs need, nothing left to look up or open.

use crate::design::hardware::WhileBusy;
use crate::design::project::{BufferSpec, BusyPresses};
use crate::design::source::Span;
use crate::flow::field::Field;
use crate::flow::{Event, Usage, Wiring};
use crate::frame::Frame;
use crate::hardware::battery::Battery;
use crate::hardware::board::Board;
use crate::hardware::panel::Panel;
use crate::hardware::rail::RailId;
use crate::inputs::{Inputs, Point};
use crate::lint::levels::Levels;
use crate::screen::face::Face;
use crate::screen::values::{FieldId, Values};
use crate::screen::{Screen, ScreenId};
use crate::units::{Amps, Bytes, Joules, Metres, Seconds};
use rand::SeedableRng;
use std::collections::BTreeSet;
use std::sync::Arc;

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
    pub glass: Glass,
    /// The board.
    pub board: Board,
    /// The battery.
    pub battery: Battery,
    /// Names of the locales; one unnamed locale where the project has no strings.
    pub locales: Vec<String>,
    /// Live values.
    pub fields: Vec<Field>,
    /// Things that happen without a key.
    pub events: Vec<Event>,
    /// Screens.
    pub screens: Vec<Screen>,
    /// Fields that hold flow states for conditions.
    pub recall: crate::flow::recall::Recall,
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
}

/// A face and what is needed of it.
#[derive(Clone, Debug)]
pub struct FaceUse {
    /// The face.
    pub face: Arc<Face>,
    /// The characters that the screens need in all locales.
    pub characters: BTreeSet<char>,
}

/// How the panel sits in the instrument.
#[derive(Clone, Debug)]
pub struct Glass {
    /// Distance of the eye.
    pub viewing_distance: Metres,
    /// The side along which the soft keys lie.
    pub side: crate::design::project::SideSpec,
    /// Soft keys in order.
    pub keys: Vec<KeyPlace>,
}

/// A physical key.
#[derive(Clone, Copy, Debug)]
pub struct KeyPlace {
    /// Centre along the side, from the start of the active area.
    pub centre: Metres,
    /// Width.
    pub width: Metres,
    /// Centre in pixels.
    pub centre_px: i32,
    /// Width in pixels.
    pub width_px: u32,
}

/// When to refresh fully, and what happens while the panel is busy.
#[derive(Clone, Debug)]
pub struct Policy {
    /// Partial refreshes in a row at most.
    pub max_partials: u32,
    /// A full refresh at least this often.
    pub full_every: Option<Seconds>,
    /// For each screen, whether its entry is drawn with a full refresh.
    pub full_on: Vec<bool>,
    /// Distance that redraws for changed fields keep from the refresh before.
    pub min_interval: Seconds,
    /// What happens to presses while the panel refreshes.
    pub busy_presses: BusyPresses,
    /// How the image is buffered.
    pub buffer: Buffer,
}

/// How the image is buffered before it goes to the panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Buffer {
    /// The whole frame in RAM.
    Ram,
    /// The whole frame in the external memory.
    Memory,
    /// A band of lines in RAM.
    Bands(u32),
}

impl From<BufferSpec> for Buffer {
    fn from(spec: BufferSpec) -> Self {
        match spec {
            BufferSpec::Ram => Self::Ram,
            BufferSpec::Memory => Self::Memory,
            BufferSpec::Bands(lines) => Self::Bands(lines),
        }
    }
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
    /// The values in sample pictures, with histories that end in them.
    pub fn sample(&self) -> Values {
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(self.usage.seed);
        let now: Vec<f64> = self.fields.iter().map(|field| field.sample).collect();
        let moment = self.usage.sample_at;
        let past =
            self.fields.iter().map(|field| field.sample_history(self.interval(field), moment, &mut random)).collect();
        Values { start: self.usage.start, version: vec![0; now.len()], now, past }
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

    /// The position of a screen by its id.
    pub fn screen(&self, id: &str) -> Option<ScreenId> {
        self.screens.iter().position(|screen| screen.id == id).map(ScreenId)
    }

    /// The position of a field by its name.
    pub fn field(&self, name: &str) -> Option<FieldId> {
        self.fields.iter().position(|field| field.name == name).map(FieldId)
    }

    /// What flows on a rail while nothing happens: sleep currents, and loads that are on all the time.
    pub fn asleep(&self, point: &Point, rail: RailId) -> Amps {
        let board = &self.board;
        let parts = [Some((board.mcu.rail, board.mcu.sleep)), Some((self.panel.rail, self.panel.sleep))];
        let memory = board.memory.as_ref().map(|memory| (memory.rail, memory.standby));
        let loads = board.loads.iter().filter(|load| load.blink.is_none()).map(|load| (load.rail, load.current));
        let all = parts.into_iter().chain([memory]).flatten().chain(loads);
        all.filter(|(on, _)| *on == rail).map(|(_, current)| point.of(current)).sum()
    }

    /// Whether the microcontroller runs while the panel drives.
    pub fn polls(&self) -> bool {
        self.board.mcu.while_busy == WhileBusy::Poll
    }
}

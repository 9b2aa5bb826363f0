//! What goes into a machine beside time and keys, and what it tells those who watch it.

use super::time::Micros;
use crate::behaviour::EventId;
use crate::device::Device;
use crate::device::drawing::Scenes;
use crate::refresh::policy::Reason;
use crate::refresh::update::{Change, Mode};
use crate::refresh::work::Work;
use crate::screen::ScreenId;
use crate::screen::values::{FieldId, Values};
use crate::units::Seconds;

/// The world around a machine: it gives the values of fields that are sampled, and may watch what happens.
pub trait World {
    /// The value that a field has at a time after midnight of the first day; `values` holds its last one.
    fn sample(&mut self, device: &Device, field: FieldId, time: Seconds, values: &Values) -> f64;

    /// Something happened.
    fn note(&mut self, _note: Note) {}
}

/// Something that happened in a machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Note {
    /// An event happened.
    Event(EventId),
    /// A screen was entered.
    Entered(ScreenId),
    /// A key did something.
    Acted(usize),
    /// A key has no meaning on what is in front.
    Unassigned {
        /// The key, the first being 0.
        key: usize,
        /// When it went down, which is earlier where it waited for the panel.
        made: Micros,
    },
    /// A press was lost because the panel was busy.
    Dropped(usize),
}

/// Who caused an update.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// A press, or a timer that a press started.
    Person,
    /// A field, an event, a scheduled full refresh.
    Device,
}

/// What made an update necessary.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UpdateCause {
    /// A key, the first being 0.
    Key(usize),
    /// A timer, by its position among those of its screen.
    Timer(ScreenId, usize),
    /// An event.
    Event(EventId),
    /// A field that was renewed.
    Field(FieldId),
    /// The first picture.
    PowerUp,
    /// The full refresh that the policy wants every so often.
    Schedule,
}

impl UpdateCause {
    /// Who that is.
    pub fn origin(self) -> Origin {
        match self {
            Self::Key(_) | Self::Timer(..) => Origin::Person,
            Self::Event(_) | Self::Field(_) | Self::PowerUp | Self::Schedule => Origin::Device,
        }
    }
}

/// An update of the panel: what is to be sent, and why.
#[derive(Debug)]
pub struct Update {
    /// What made it necessary.
    pub cause: UpdateCause,
    /// Who that was.
    pub origin: Origin,
    /// The waveform.
    pub mode: Mode,
    /// Why it must be full, if it must.
    pub reason: Option<Reason>,
    /// Pixels and windows.
    pub change: Change,
    /// What drawing its scenes takes.
    pub scenes: Scenes,
    /// The work it takes.
    pub work: Work,
    /// Presses that it answers: when they were made and which key.
    pub answers: Vec<(Micros, usize)>,
}

/// What a look at the panel came to.
#[derive(Debug)]
pub enum PanelStep {
    /// Nothing is to be done now.
    Nothing,
    /// This is to be sent; [`super::Machine::sent`] says when the panel is free again.
    Send(Box<Update>),
    /// The picture is new and cannot be shown: outside every table of the panel.
    Refused,
}

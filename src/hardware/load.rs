//! Loads with a shape: a steady draw, or steps that come again and again.
//!
//! Not for what they take from the battery: see [`crate::cost::always_on`] and [`crate::cost::moment`].

use super::rail::{RailId, Window};
use crate::cell::peak::LoadCurrent;
use crate::parameters::{Input, ParameterSample};
use crate::source::spans::Span;
use crate::units::{Amps, Seconds, Watts};

/// What is drawn from a rail.
#[derive(Clone, Copy, Debug)]
pub enum Drawn {
    /// A current, whatever the rail's voltage.
    Current(Input<Amps>),
    /// A power, whatever the rail's voltage.
    Power(Input<Watts>),
}

impl Drawn {
    /// On one device.
    pub fn load_current(self, parameters: &ParameterSample) -> LoadCurrent {
        match self {
            Self::Current(current) => LoadCurrent::current(parameters.of(current)),
            Self::Power(power) => LoadCurrent::power(parameters.of(power)),
        }
    }

    /// As a person reads it.
    pub fn words(self, parameters: &ParameterSample) -> String {
        match self {
            Self::Current(current) => parameters.of(current).to_string(),
            Self::Power(power) => parameters.of(power).to_string(),
        }
    }
}

/// One step of a profile.
#[derive(Clone, Copy, Debug)]
pub struct Step {
    /// How long it lasts.
    pub time: Input<Seconds>,
    /// What is drawn meanwhile.
    pub drawn: Drawn,
}

/// How a load draws.
#[derive(Clone, Debug)]
pub enum Shape {
    /// All the time.
    Always(Drawn),
    /// These steps in every period, one after the other; nothing in between.
    Pulses {
        /// The steps; at least one.
        steps: Vec<Step>,
        /// From the beginning of one to that of the next.
        period: Input<Seconds>,
    },
}

/// A load of the board.
#[derive(Clone, Debug)]
pub struct Load {
    /// Its name.
    pub name: String,
    /// Its table in the project.
    pub span: Span,
    /// Its rail.
    pub rail: RailId,
    /// How it draws.
    pub shape: Shape,
    /// How long the microcontroller runs for each pulse, its wake-up apart; `None` where it need not wake.
    pub awake: Option<Input<Seconds>>,
    /// The supply voltages at which it works, where they are stated.
    pub supply: Option<Window>,
    /// Whether the device works only as long as it does.
    pub needed: bool,
    /// Whether its rail is on just while it is and has another load for what the rail itself takes.
    pub with_rail: bool,
}

impl Load {
    /// Whether it draws only now and then.
    pub fn pulsed(&self) -> bool {
        matches!(self.shape, Shape::Pulses { .. })
    }
}

/// What an event takes beside its drawing.
#[derive(Clone, Debug)]
pub struct Taken {
    /// The rail.
    pub rail: RailId,
    /// How much.
    pub what: Amount,
}

/// How an event's draw is stated.
#[derive(Clone, Debug)]
pub enum Amount {
    /// As a charge, its current unknown.
    Charge(Input<crate::units::Coulombs>),
    /// As steps.
    Steps(Vec<Step>),
}

//! Everything on the board beside the panel: microcontroller, bus, memory, rails and always-on loads.

use super::core::DrawingTime;
use super::load::Load;
use super::rail::{Rail, RailId, Window};
use crate::parameters::Input;
use crate::units::{Amps, Bytes, Celsius, Hertz, Ratio, Seconds};
use schemars::JsonSchema;
use serde::Deserialize;

/// The board.
#[derive(Clone, Debug)]
pub struct Board {
    /// The microcontroller.
    pub mcu: Mcu,
    /// The serial bus to panel and memory.
    pub bus: Bus,
    /// The external memory, where there is one.
    pub memory: Option<Memory>,
    /// Supply rails.
    pub rails: Vec<Rail>,
    /// Loads beside panel, microcontroller and memory.
    pub loads: Vec<Load>,
    /// The charger, where there is one.
    pub charger: Option<Charger>,
}

/// The microcontroller.
#[derive(Clone, Debug)]
pub struct Mcu {
    /// Its rail.
    pub rail: RailId,
    /// RAM left for the display.
    pub ram: Bytes,
    /// Flash left for images, fonts and strings.
    pub flash: Bytes,
    /// Core clock.
    pub clock: Input<Hertz>,
    /// Current while it runs.
    pub active: Input<Amps>,
    /// Current while it sleeps.
    pub sleep: Input<Amps>,
    /// Time to wake.
    pub wake: Input<Seconds>,
    /// How long it runs for each press of a key, its wake-up apart; `None` where that costs nothing.
    pub key_time: Option<Input<Seconds>>,
    /// How long it runs for each update of a field, its wake-up apart; `None` where that costs nothing.
    pub sample_time: Option<Input<Seconds>>,
    /// How long it draws.
    pub drawing: DrawingTime,
    /// What it does while the panel drives.
    pub during_refresh: DuringRefresh,
    /// The supply voltages at which it works, where they are stated.
    pub supply: Option<Window>,
}

/// The serial bus.
#[derive(Clone, Debug)]
pub struct Bus {
    /// Bit clock.
    pub clock: Input<Hertz>,
    /// Gaps, as a share of the bits' time.
    pub overhead: Input<Ratio>,
}

/// The external memory.
#[derive(Clone, Debug)]
pub struct Memory {
    /// Its rail.
    pub rail: RailId,
    /// Its size.
    pub size: Bytes,
    /// Current while it is read or written.
    pub active: Input<Amps>,
    /// Current while it waits.
    pub standby: Input<Amps>,
    /// The supply voltages at which it works, where they are stated.
    pub supply: Option<Window>,
}

/// The charger.
#[derive(Clone, Debug)]
pub struct Charger {
    /// Constant current.
    pub current: Input<Amps>,
    /// Current at which charging ends.
    pub termination: Input<Amps>,
    /// Temperature at which it charges.
    pub temperature: Celsius,
}

/// What the microcontroller does while the panel drives.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DuringRefresh {
    /// Sleeps and is woken by the busy line.
    #[default]
    Sleep,
    /// Runs and asks again and again.
    Poll,
}

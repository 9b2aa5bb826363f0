//! An e-paper panel and what one of its refreshes consists of.

use super::board::Bus;
use super::clocked::Stages;
use super::rail::{RailId, Window};
use crate::cell::curve::{mix, place_by};
use crate::cell::peak::LoadCurrent;
use crate::frame::{Packing, Rotation, Turn};
use crate::parameters::{Input, ParameterSample};
use crate::units::{Amps, Celsius, Metres, Ratio, Seconds, Volts};
use embedded_graphics::prelude::Size;

/// A panel.
#[derive(Clone, Debug)]
pub struct Panel {
    /// What it is, in plain words.
    pub note: String,
    /// Pixels along the source (byte) axis and lines, as the controller addresses them.
    pub native: Size,
    /// How the controller's picture is turned to be upright in the instrument.
    pub mounted: Rotation,
    /// Seen mirrored.
    pub mirrored: bool,
    /// From the upright frame to the controller's bytes, mounting included.
    pub packing: Packing,
    /// Size of one pixel across and down the upright picture.
    pub pitch: [Metres; 2],
    /// The rail that feeds it.
    pub rail: RailId,
    /// The supply voltages at which it works, where they are stated.
    pub supply: Option<Window>,
    /// What a stated current stands for while the panel works.
    pub currents: Currents,
    /// Current in deep sleep.
    pub sleep: Input<Amps>,
    /// What it does between updates; `sleep` and `start` are those of that way.
    pub between: Between,
    /// Reset and initialisation.
    pub start: Fixed,
    /// Booster on.
    pub booster_on: Fixed,
    /// Booster off.
    pub booster_off: Fixed,
    /// The booster is kept on after updates, where it is.
    pub hold: Option<Hold>,
    /// Windows that one refresh can send.
    pub max_windows: usize,
    /// Bytes of commands for each window.
    pub window_bytes: u32,
    /// The full waveform.
    pub full: Drive,
    /// The short waveform, where the panel has one.
    pub partial: Option<Drive>,
    /// Refreshes the maker rates it for.
    pub rated_refreshes: Option<u64>,
    /// Share of the contrast that one partial refresh leaves of the older image, where it is stated.
    pub residue: Option<Input<Ratio>>,
}

/// What a stated current of the working panel stands for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Currents {
    /// A current at any voltage, as of a part behind a linear regulator of its own.
    AsTheyAre,
    /// The power at this voltage: panels are mostly boosters, which take more current from less voltage.
    At(Volts),
}

impl Currents {
    /// What a stated current draws.
    pub fn drawn(self, stated: Amps) -> LoadCurrent {
        match self {
            Self::AsTheyAre => LoadCurrent::current(stated),
            Self::At(volts) => LoadCurrent::power(volts * stated),
        }
    }
}

/// What the panel does between updates.
#[derive(Clone, Copy, Debug)]
pub enum Between {
    /// It sleeps; nothing is said of switching it off.
    Sleeps,
    /// It sleeps, and could be switched off instead.
    CouldBeOff(Resting),
    /// It is switched off, and could sleep instead.
    Off(Resting),
}

/// One way of resting: what is taken meanwhile, and the start after it.
#[derive(Clone, Copy, Debug)]
pub struct Resting {
    /// Current between updates.
    pub current: Input<Amps>,
    /// Reset and initialisation afterwards.
    pub start: Fixed,
}

/// The booster kept on after an update, so that the next one need not start it.
#[derive(Clone, Copy, Debug)]
pub struct Hold {
    /// For how long; the firmware's choice.
    pub time: Seconds,
    /// The panel's current meanwhile.
    pub current: Input<Amps>,
}

/// A phase of fixed length.
#[derive(Clone, Copy, Debug)]
pub struct Fixed {
    /// How long it takes.
    pub time: Input<Seconds>,
    /// The panel's current meanwhile.
    pub current: Input<Amps>,
}

/// One kind of refresh.
#[derive(Clone, Debug)]
pub struct Drive {
    /// Planes sent for each window.
    pub planes: u32,
    /// Time and current over temperature, coldest first.
    pub knots: Vec<Knot>,
    /// Who makes the waveform.
    pub by: DrivenBy,
}

/// Who makes the waveform.
#[derive(Clone, Debug)]
pub enum DrivenBy {
    /// The panel's controller, once it has the image: rows of the table state times.
    Controller,
    /// The microcontroller, frame by frame: rows of the table state factors on the time of the stages.
    Mcu(Stages),
}

/// What a row of the table says of the length of a drive.
#[derive(Clone, Copy, Debug)]
pub enum Length {
    /// Its time.
    Time(Input<Seconds>),
    /// A factor on the time of the stages.
    Factor(Input<Ratio>),
}

/// Drive at one temperature.
#[derive(Clone, Copy, Debug)]
pub struct Knot {
    /// The temperature.
    pub at: Celsius,
    /// How long the panel is driven.
    pub length: Length,
    /// Mean current meanwhile.
    pub current: Input<Amps>,
    /// Largest current meanwhile; the supply must bear it, energies do not know it.
    pub peak: Option<Input<Amps>>,
}

impl Drive {
    /// How far the current rises above its mean at a temperature: the more of the two rows around it. Nothing where no
    /// peak is stated.
    pub fn rise(&self, parameters: &ParameterSample, temperature: Celsius) -> Amps {
        let Some((below, _)) = self.share(temperature) else { return Amps(0.0) };
        let around = self.knots.iter().skip(below).take(2);
        let rises = around.filter_map(|knot| Some(parameters.of(knot.peak?) - parameters.of(knot.current)));
        rises.fold(Amps(0.0), |most, rise| if rise > most { rise } else { most })
    }

    /// Whether the table covers a temperature.
    pub fn covers(&self, temperature: Celsius) -> bool {
        self.share(temperature).is_some()
    }

    /// Whether a temperature lies below the table.
    pub fn is_below(&self, temperature: Celsius) -> bool {
        self.knots.first().is_some_and(|knot| temperature < knot.at)
    }

    /// The knot below a temperature and how far it lies towards the next, 0 to 1. `None` outside the table.
    pub fn share(&self, temperature: Celsius) -> Option<(usize, f64)> {
        let last = self.knots.len().checked_sub(1)?;
        if temperature < self.knots[0].at || temperature > self.knots[last].at {
            return None;
        }
        let (below, share) = place_by(self.knots.len(), |knot| self.knots[knot].at.0, temperature.0);
        // The last knot is the end of the segment before it.
        Some(if below == last && last > 0 { (last - 1, 1.0) } else { (below, share) })
    }

    /// Planes that are sent before the drive: none where every frame is sent during it.
    pub fn planes_sent(&self) -> u32 {
        match self.by {
            DrivenBy::Controller => self.planes,
            DrivenBy::Mcu(_) => 0,
        }
    }

    /// The length of a row: its time, or the time of all stages stretched by its factor and not yet in whole frames.
    pub fn length(&self, parameters: &ParameterSample, knot: &Knot) -> Seconds {
        match (knot.length, &self.by) {
            (Length::Time(time), _) => parameters.of(time),
            (Length::Factor(factor), DrivenBy::Mcu(stages)) => stages.time(parameters) * parameters.of(factor).0,
            (Length::Factor(_), DrivenBy::Controller) => Seconds(0.0),
        }
    }

    /// Drive time of a device at a temperature, linear between the table's rows and in whole frames where the
    /// microcontroller clocks them. `None` outside the table.
    pub fn time(&self, parameters: &ParameterSample, bus: &Bus, temperature: Celsius) -> Option<Seconds> {
        let (below, share) = self.share(temperature)?;
        let at = |knot: usize| self.length(parameters, &self.knots[knot.min(self.knots.len() - 1)]);
        let stretched = Seconds(mix(at(below).0, at(below + 1).0, share));
        Some(match self.clocked() {
            None => stretched,
            Some(stages) => {
                let clocking = stages.clocking(parameters, bus);
                stretched + clocking.frame * clocking.frames(self.factor(parameters, below, share)).beyond
            }
        })
    }

    /// The stages, where the microcontroller clocks them.
    pub fn clocked(&self) -> Option<&Stages> {
        match &self.by {
            DrivenBy::Controller => None,
            DrivenBy::Mcu(stages) => Some(stages),
        }
    }

    /// The factor on the stages at a share between a row of the table and the next.
    pub fn factor(&self, parameters: &ParameterSample, below: usize, share: f64) -> f64 {
        let at = |knot: usize| match self.knots[knot.min(self.knots.len() - 1)].length {
            Length::Factor(factor) => parameters.of(factor).0,
            Length::Time(_) => 1.0,
        };
        mix(at(below), at(below + 1), share)
    }
}

impl Panel {
    /// Width and height of the upright picture.
    pub fn size(&self) -> Size {
        match self.mounted {
            Rotation::None | Rotation::Half => self.native,
            Rotation::Quarter | Rotation::ThreeQuarter => Size::new(self.native.height, self.native.width),
        }
    }

    /// From the upright picture to the controller's.
    pub fn turn(&self) -> Turn {
        self.packing.turn()
    }

    /// Planes that must be kept or drawn: two where the panel wants old and new for some refresh.
    pub fn planes_kept(&self) -> u32 {
        self.partial.as_ref().map_or(self.full.planes, |partial| partial.planes.max(self.full.planes))
    }

    /// Bytes of one plane as it is packed: every line padded to whole bytes, or as long as the packing's stride.
    pub fn plane_bytes(&self) -> u64 {
        let size = self.size();
        // A packing that does not suit the panel is refused where it is read.
        let unpadded = u64::from(self.native.width.div_ceil(8)) * u64::from(self.native.height);
        self.packing.plane().size(size.width, size.height).map_or(unpadded, |bytes| bytes as u64)
    }

    /// Pixels per inch down the upright picture.
    pub fn ppi(&self) -> f64 {
        0.0254 / self.pitch[1].0
    }
}

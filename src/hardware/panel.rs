//! An e-paper panel and what one of its refreshes consists of.

use super::rail::{RailId, Window};
use crate::cell::curve::{mix, place_by};
use crate::frame::{Packing, Rotation, Turn};
use crate::parameters::{Input, ParameterSample};
use crate::units::{Amps, Celsius, Metres, Ratio, Seconds};
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
    /// Current in deep sleep.
    pub sleep: Input<Amps>,
    /// Reset and initialisation.
    pub start: Fixed,
    /// Charge pump on.
    pub booster_on: Fixed,
    /// Charge pump off.
    pub booster_off: Fixed,
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
}

/// Drive at one temperature.
#[derive(Clone, Copy, Debug)]
pub struct Knot {
    /// The temperature.
    pub at: Celsius,
    /// How long the glass is driven.
    pub time: Input<Seconds>,
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

    /// Drive time at a temperature, linear between the table's rows. `None` outside the table.
    pub fn time(&self, parameters: &ParameterSample, temperature: Celsius) -> Option<Seconds> {
        let (below, share) = self.share(temperature)?;
        let at = |knot: usize| parameters.of(self.knots[knot.min(self.knots.len() - 1)].time);
        Some(Seconds(mix(at(below).0, at(below + 1).0, share)))
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

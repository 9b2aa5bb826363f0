//! A panel without a controller: the microcontroller clocks every line of every frame.
//!
//! An update is a series of stages; each repeats frames for a time that a factor stretches with the temperature. A frame
//! takes `lines x (8 x bytes of a line / bus clock x (1 + overhead) + line time)`, so a stage has
//! `max(least, ceil(stage time x factor / frame time))` frames. Order of things from "COG Driver Interface Timing",
//! document 4P008-00, rev. 02 (2012). Not for what that takes: see [`crate::cost::phases`].

use super::board::Bus;
use crate::parameters::{Input, ParameterSample};
use crate::units::{Hertz, Seconds};

/// What is sent for one frame.
#[derive(Clone, Debug)]
pub struct Scan {
    /// Lines of a frame.
    pub lines: u32,
    /// Bytes of a line, those that select it included.
    pub line_bytes: f64,
    /// Time of a line beside its bytes.
    pub line_time: Input<Seconds>,
}

/// One stage of an update.
#[derive(Clone, Copy, Debug)]
pub struct Stage {
    /// How long its frames are repeated where the factor is 1.
    pub time: Input<Seconds>,
    /// The least number of frames.
    pub least: u32,
}

/// An update of a panel that the microcontroller clocks.
#[derive(Clone, Debug)]
pub struct Stages {
    /// What is sent for one frame.
    pub scan: Scan,
    /// The stages in their order.
    pub stages: Vec<Stage>,
}

/// Frame and stages of one device, which decide how many frames it sends.
#[derive(Clone, Debug)]
pub struct Clocking {
    /// Time of a frame.
    pub frame: Seconds,
    /// Times of the stages where the factor is 1, and their least numbers of frames.
    pub stages: Vec<(Seconds, u32)>,
}

/// Numbers of frames of one update.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Frames {
    /// All frames.
    pub all: f64,
    /// By how many frames whole numbers and least numbers exceed the stretched time of the stages.
    pub beyond: f64,
}

/// Below this share of a frame a time counts as whole frames: rounding of the division alone.
const GRAIN: f64 = 1e-9;

/// A number of frames with its last one whole; by way of an integer, since many devices do it for many updates.
fn whole(frames: f64) -> f64 {
    let below = (frames - GRAIN).max(0.0);
    // Numbers that no integer holds have no parts.
    let floor = if below < 1e15 { below as u64 as f64 } else { below };
    if floor < below { floor + 1.0 } else { floor }
}

impl Scan {
    /// Time of a frame.
    pub fn frame(&self, parameters: &ParameterSample, bus: &Bus) -> Seconds {
        let clock: Hertz = parameters.of(bus.clock);
        let sent = 8.0 * self.line_bytes / clock.0 * (1.0 + parameters.of(bus.overhead).0);
        (Seconds(sent) + parameters.of(self.line_time)) * f64::from(self.lines)
    }
}

impl Stages {
    /// Time of all stages where the factor is 1.
    pub fn time(&self, parameters: &ParameterSample) -> Seconds {
        self.stages.iter().map(|stage| parameters.of(stage.time)).sum()
    }

    /// Frame and stages of a device.
    pub fn clocking(&self, parameters: &ParameterSample, bus: &Bus) -> Clocking {
        let stages = self.stages.iter().map(|stage| (parameters.of(stage.time), stage.least)).collect();
        Clocking { frame: self.scan.frame(parameters, bus), stages }
    }
}

impl Clocking {
    /// Frames of an update at a factor.
    pub fn frames(&self, factor: f64) -> Frames {
        let fits = |time: Seconds| if self.frame.0 > 0.0 { time.0 * factor / self.frame.0 } else { 0.0 };
        let (mut all, mut exact) = (0.0, 0.0);
        for (time, least) in &self.stages {
            let fits = fits(*time);
            all += whole(fits).max(f64::from(*least));
            exact += fits;
        }
        Frames { all, beyond: all - exact }
    }

    /// The first stage that is too short for its least number of frames at a factor: its position, the frames that fit
    /// into it and the least number.
    pub fn too_slow(&self, factor: f64) -> Option<(usize, f64, u32)> {
        let fits = |time: Seconds| if self.frame.0 > 0.0 { time.0 * factor / self.frame.0 } else { f64::INFINITY };
        let stages = self.stages.iter().enumerate();
        stages.map(|(index, (time, least))| (index, fits(*time), *least)).find(|(_, fits, least)| {
            // A part of a frame becomes a whole one.
            whole(*fits) < f64::from(*least)
        })
    }
}

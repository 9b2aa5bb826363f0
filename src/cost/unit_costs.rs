//! What each amount of work costs on one device, so that an update of a simulation is calculated in a few products.
//!
//! Only a shortcut to [`phases()`], from which every price comes: the same figures but for rounding.

use super::phases::{Maker, Phase, phases};
use crate::behaviour::policy::Buffer;
use crate::device::Device;
use crate::hardware::rail::Draw;
use crate::parameters::ParameterSample;
use crate::refresh::work::Work;
use crate::units::Seconds;
use std::ops::{Add, Mul, Sub};

/// What some work takes.
#[derive(Clone, Copy, Debug, Default)]
pub struct Cost {
    /// From the battery.
    pub draw: Draw,
    /// Until the picture is visible.
    pub latency: Seconds,
    /// Until the panel is free again.
    pub duration: Seconds,
}

/// Cycles that are priced together: one is so little beside an update that rounding would show.
const MANY: f64 = 1e6;

/// What each amount costs. Drive is not a sum of amounts where an efficiency depends on the current; it keeps its phases.
#[derive(Debug)]
pub struct UnitCosts<'a> {
    maker: Maker<'a>,
    update: Cost,
    /// An update that finds the booster on.
    warm: Cost,
    /// A second of the booster kept on.
    held: Cost,
    cycle: Cost,
    panel_byte: Cost,
    memory_byte: Cost,
}

impl<'a> UnitCosts<'a> {
    /// The prices of a device.
    pub fn of(device: &'a Device, parameters: &'a ParameterSample) -> Self {
        let cost = |work: Work| Cost::sum(phases(device, parameters, &work, device.battery.nominal()));
        let held = device.panel.hold.is_some();
        // An update that uses the memory has its rail on too, so each amount is priced beside that one's.
        let memory_bytes = if matches!(device.policy.buffer, Buffer::External(_)) { 1.0 } else { 0.0 };
        let one = Work { updates: 1.0, memory_bytes, ..Work::default() };
        let beside = |more: Work| cost(more) - cost(one.clone());
        let memory_byte = beside(Work { memory_bytes: memory_bytes + 1.0, ..one.clone() });
        let without_bytes = |work: Work| cost(work) - memory_byte * memory_bytes;
        let mut maker = Maker::new(device, parameters, device.battery.nominal());
        maker.switch_on(&one);
        Self {
            maker,
            update: without_bytes(one.clone()),
            warm: if held { without_bytes(Work { warm: 1.0, ..one.clone() }) } else { Cost::default() },
            held: if held { beside(Work { held: Seconds(1.0), ..one.clone() }) } else { Cost::default() },
            cycle: beside(Work { cycles: MANY, ..one.clone() }) * (1.0 / MANY),
            panel_byte: beside(Work { panel_bytes: 1.0, ..one.clone() }),
            memory_byte,
        }
    }

    /// The cost of some work.
    pub fn cost(&self, work: &Work) -> Cost {
        let amounts = [
            (self.update, work.updates - work.warm),
            (self.warm, work.warm),
            (self.held, work.held.0),
            (self.cycle, work.cycles),
            (self.panel_byte, work.panel_bytes),
            (self.memory_byte, work.memory_bytes),
        ];
        let drive = Cost::sum(self.maker.drives(work));
        amounts.into_iter().fold(drive, |sum, (price, amount)| sum + price * amount)
    }
}

impl Add for Cost {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            draw: self.draw + other.draw,
            latency: self.latency + other.latency,
            duration: self.duration + other.duration,
        }
    }
}

impl Mul<f64> for Cost {
    type Output = Self;

    fn mul(self, amount: f64) -> Self {
        Self { draw: self.draw * amount, latency: self.latency * amount, duration: self.duration * amount }
    }
}

impl Sub for Cost {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        self + other * -1.0
    }
}

impl Cost {
    fn sum(phases: impl IntoIterator<Item = Phase>) -> Self {
        phases.into_iter().fold(Self::default(), |sum, phase| Self {
            draw: sum.draw + phase.draw,
            latency: if phase.before_visible { sum.latency + phase.time } else { sum.latency },
            duration: if phase.busy { sum.duration + phase.time } else { sum.duration },
        })
    }
}

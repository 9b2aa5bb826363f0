//! Unit costs: what one amount of each kind of work takes from the battery of one device.
//!
//! Work is linear, so the energy of a year is a sum of products; this is what makes a thousand devices cheap.

use super::phases::{phases, total};
use crate::behaviour::policy::Buffer;
use crate::device::Device;
use crate::hardware::rail::Draw;
use crate::parameters::ParameterSample;
use crate::refresh::windows::WindowCost;
use crate::refresh::work::Work;
use crate::units::Joules;

/// What work takes from the battery of one device.
pub fn draw(device: &Device, parameters: &ParameterSample, work: &Work) -> Draw {
    total(&phases(device, parameters, work, device.battery.nominal()))
}

/// What windows cost on a device: bytes sent and rendered, and the commands of each window.
pub fn window_cost(device: &Device, parameters: &ParameterSample) -> WindowCost<Joules> {
    let voltage = device.battery.nominal();
    let energy = |work: Work| draw(device, parameters, &work).energy_at(voltage);
    let planes = device.panel.partial.as_ref().map_or(1, |partial| partial.planes_sent());
    let memory = if matches!(device.policy.buffer, Buffer::External(_)) { f64::from(1 + planes) } else { 0.0 };
    let cycles = crate::refresh::drawing::cycles_of_byte(device);
    let one_byte = Work { panel_bytes: f64::from(planes), cycles, memory_bytes: memory, ..Work::default() };
    let commands = Work { panel_bytes: f64::from(device.panel.window_bytes), ..Work::default() };
    WindowCost { per_window: energy(commands), per_byte: energy(one_byte), per_line: Joules(0.0) }
}

//! The battery that a device begins with, and what it keeps in reserve: the stated share and the charge of the last
//! screen.
//!
//! Not for what the battery does under load or over time: see [`crate::cell`] and [`super::battery_state`].

use super::energy::draw;
use crate::cell::Cell;
use crate::device::Device;
use crate::hardware::rail::Draw;
use crate::parameters::Point;
use crate::refresh::update::{Change, Mode, work};
use crate::units::{Celsius, Ratio, Seconds, Volts};

/// The coldest temperature of the usage.
pub fn coldest(device: &Device) -> Celsius {
    device.usage.climate.low
}

/// The least battery voltage at which every rail holds its output.
pub fn least_input(device: &Device, point: &Point) -> Volts {
    let floor = device.battery.chemistry.minimum * f64::from(device.battery.series);
    let rails = device.board.rails.iter().map(|rail| rail.least_input(point));
    rails.fold(floor, |most, volts| if volts > most { volts } else { most })
}

/// What the last screen needs at the coldest temperature: one full refresh.
pub fn last_screen(device: &Device, point: &Point) -> Draw {
    let work = work(device, &Change::NONE, Mode::Full, coldest(device)).unwrap_or_default();
    draw(device, point, &work)
}

/// The battery of one device when new; the charge of the last screen is kept back beside the stated reserve, as a share
/// of what the battery stores at its coldest, so that it is there when it is needed.
pub fn new_cell(device: &Device, point: &Point) -> Cell {
    let mut cell = device.battery.cell(point, Seconds(0.0));
    let kept = last_screen(device, point).charge_at(least_input(device, point));
    if let Ok(factors) = cell.factors(coldest(device)).or_else(|_| cell.factors(device.usage.climate.mean())) {
        cell.reserve = Ratio((cell.reserve.0 + kept / factors.stored()).clamp(0.0, 1.0));
    }
    cell
}

//! What a program that runs the design on a computer begins with and knows of its panel, in no language in particular.

use crate::behaviour::count::Count;
use crate::device::Device;
use crate::hardware::panel::Drive;
use crate::source::fault::Fault;
use crate::units::Celsius;

/// Why a program cannot be written.
pub fn not_whole() -> Fault {
    let fault = Fault::plain("a program needs every screen and every locale of the design");
    fault.help("leave out --screen and --locale")
}

/// The time of the first day at which sample values are taken, in milliseconds.
pub fn begin(device: &Device) -> String {
    format!("{:.0}", device.usage.sample_at.0 * 1e3)
}

/// How long a refresh takes at 20 degrees Celsius, in milliseconds; a second where the panel has no such refresh.
pub fn milliseconds(device: &Device, drive: Option<&Drive>) -> f64 {
    let time = drive.and_then(|drive| drive.time(&device.inputs.typical(), &device.board.bus, Celsius(20.0)));
    time.map_or(1000.0, |time| (time.0 * 1e3).round().max(1.0))
}

/// A value in units of its field's last decimal; `None` where it is not known.
pub fn number(device: &Device, field: usize, value: f64) -> Option<i128> {
    let field = &device.fields[field];
    let number = || Count::new(field.range, field.grain()).number(value).clamp(-2_000_000_000, 2_000_000_000);
    (!value.is_nan()).then(number)
}

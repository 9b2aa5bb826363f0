//! Memory of the ways to buffer the image, and the flash that screens take.

use crate::behaviour::policy::Buffer;
use crate::cost::energy::draw;
use crate::device::Device;
use crate::parameters::ParameterSample;
use crate::refresh::update::{Change, Mode, work};
use crate::units::{Bytes, Celsius, Joules};

/// Lines of the strip that is compared where the project does not use strips.
const BAND: u32 = 16;

/// One way to buffer the image.
#[derive(Clone, Debug)]
pub struct Scheme {
    /// The way.
    pub buffer: Buffer,
    /// Its name.
    pub name: String,
    /// RAM of the microcontroller.
    pub ram: Bytes,
    /// External memory.
    pub memory: Bytes,
    /// Whether the board has that much.
    pub fits: bool,
    /// Energy of one full refresh of the whole screen in this way.
    pub energy: Joules,
}

/// Planes that must be kept: two where the panel wants old and new for a partial refresh.
fn planes(device: &Device) -> u64 {
    let most = device
        .panel
        .partial
        .as_ref()
        .map_or(device.panel.full.planes, |partial| partial.planes.max(device.panel.full.planes));
    u64::from(most)
}

/// Compares whole frame in RAM, whole frame in external memory, and strips.
pub fn schemes(device: &Device, parameters: &ParameterSample, temperature: Celsius) -> Vec<Scheme> {
    let chosen = device.policy.buffer;
    let plane = device.panel.plane_bytes();
    let line = plane.div_ceil(u64::from(device.panel.native.height.max(1)));
    let whole = (plane * planes(device)) as f64;
    let band = if let Buffer::StripLines(lines) = chosen { lines } else { BAND.min(device.panel.native.height) };
    let board = &device.board;
    let (ram, size) = (board.mcu.ram.0, board.memory.as_ref().map_or(0.0, |memory| memory.size.0));
    let candidates = [
        (Buffer::Ram, "frame in RAM".to_owned(), whole, 0.0),
        (Buffer::External, "frame in external memory".to_owned(), line as f64, whole),
        (
            Buffer::StripLines(band),
            format!("strips of {band} lines"),
            (u64::from(band) * line * planes(device)) as f64,
            0.0,
        ),
    ];
    let has_memory = board.memory.is_some();
    let candidates = candidates.into_iter().filter(|(buffer, ..)| *buffer != Buffer::External || has_memory);
    let nothing = Change::NONE;
    let mut schemes = Vec::new();
    for (buffer, name, needs_ram, needs_memory) in candidates {
        let work = work(device, buffer, &nothing, Mode::Full, temperature).unwrap_or_default();
        let energy = draw(device, parameters, &work).energy_at(device.battery.nominal());
        let fits = needs_ram <= ram && needs_memory <= size;
        schemes.push(Scheme { buffer, name, ram: Bytes(needs_ram), memory: Bytes(needs_memory), fits, energy });
    }
    schemes
}

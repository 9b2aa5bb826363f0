//! Memory of the ways to buffer the image, and the flash that screens take.

use crate::behaviour::policy::{Buffer, STRIP};
use crate::cost::energy::draw;
use crate::device::Device;
use crate::parameters::ParameterSample;
use crate::refresh::drawing::typical;
use crate::refresh::update::{Change, Mode, work};
use crate::units::{Bytes, Celsius, Joules};

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

/// Compares whole frame in RAM, whole frame in external memory, and strips.
pub fn schemes(device: &Device, parameters: &ParameterSample, temperature: Celsius) -> Vec<Scheme> {
    let chosen = device.policy.buffer;
    let plane = device.panel.plane_bytes();
    let line = plane.div_ceil(u64::from(device.panel.native.height.max(1)));
    let planes = u64::from(device.panel.planes_kept());
    let whole = (plane * planes) as f64;
    let at_once = match chosen {
        Buffer::StripLines(lines) | Buffer::External(lines) => lines,
        Buffer::Ram => STRIP.min(device.panel.native.height),
    };
    let memo = 2.0 * f64::from(device.policy.memo.unwrap_or(0));
    let strip = |planes: u64| (u64::from(at_once) * line * planes) as f64 + memo;
    let board = &device.board;
    let (ram, size) = (board.mcu.ram.0, board.memory.as_ref().map_or(0.0, |memory| memory.size.0));
    let candidates = [
        (Buffer::Ram, "frame in RAM".to_owned(), whole + memo, 0.0),
        (Buffer::External(at_once), "frame in external memory".to_owned(), strip(1), whole),
        (Buffer::StripLines(at_once), format!("strips of {at_once} lines"), strip(planes), 0.0),
    ];
    let has_memory = board.memory.is_some();
    let candidates = candidates.into_iter().filter(|(buffer, ..)| !matches!(buffer, Buffer::External(_)) || has_memory);
    let nothing = Change::NONE;
    let mut schemes = Vec::new();
    for (buffer, name, needs_ram, needs_memory) in candidates {
        let work =
            work(device, buffer, &nothing, &typical(device, buffer), Mode::Full, temperature).unwrap_or_default();
        let energy = draw(device, parameters, &work).energy_at(device.battery.nominal());
        let fits = needs_ram <= ram && needs_memory <= size;
        schemes.push(Scheme { buffer, name, ram: Bytes(needs_ram), memory: Bytes(needs_memory), fits, energy });
    }
    schemes
}

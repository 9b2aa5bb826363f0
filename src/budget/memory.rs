//! Memory of the ways to buffer the image, and the flash that screens take.

use super::summary::Budget;
use crate::behaviour::policy::{Buffer, STRIP};
use crate::cost::energy::draw;
use crate::device::Device;
use crate::parameters::ParameterSample;
use crate::refresh::drawing::typical;
use crate::refresh::strips::ram;
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
    /// Energy of one full refresh of the whole screen in this way.
    pub energy: Joules,
}

/// What the exported machine takes where it draws, on a Cortex-M0.
#[derive(Clone, Copy, Debug)]
pub struct Exported {
    /// Flash of its code and its tables.
    pub flash: Bytes,
    /// RAM of its state and its stack, beside its strip and memo.
    pub ram: Bytes,
}

impl Budget {
    /// What the exported machine takes, where it draws and can be exported.
    pub fn exported(&self, device: &Device) -> Option<Exported> {
        let live = self.live(device).filter(|_| device.board.mcu.drawing.is_exported())?;
        Some(Exported { flash: Bytes(live.flash() as f64), ram: Bytes((live.ram() + live.stack) as f64) })
    }

    /// RAM that runs with a way to buffer the image: where the exported machine draws, its state and stack among it.
    pub fn ram(&self, device: &Device, scheme: &Scheme) -> Bytes {
        scheme.ram + self.exported(device).map_or(Bytes(0.0), |exported| exported.ram)
    }

    /// RAM that a way to buffer the image leaves on the board; `None` where RAM or external memory are too small for it.
    pub fn room(&self, device: &Device, scheme: &Scheme) -> Option<Bytes> {
        let external = device.board.memory.as_ref().map_or(Bytes(0.0), |memory| memory.size);
        let left = device.board.mcu.ram - self.ram(device, scheme);
        (left.0 >= 0.0 && scheme.memory <= external).then_some(left)
    }
}

/// Compares whole frame in RAM, whole frame in external memory, and strips.
pub fn schemes(device: &Device, parameters: &ParameterSample, temperature: Celsius) -> Vec<Scheme> {
    let at_once = match device.policy.buffer {
        Buffer::StripLines(lines) | Buffer::External(lines) => lines,
        Buffer::Ram => STRIP.min(device.panel.native.height),
    };
    let whole = Bytes((device.panel.plane_bytes() * u64::from(device.panel.planes_kept())) as f64);
    let candidates = [
        (Buffer::Ram, "frame in RAM".to_owned(), Bytes(0.0)),
        (Buffer::External(at_once), "frame in external memory".to_owned(), whole),
        (Buffer::StripLines(at_once), format!("strips of {at_once} lines"), Bytes(0.0)),
    ];
    let has_memory = device.board.memory.is_some();
    let candidates = candidates.into_iter().filter(|(buffer, ..)| !matches!(buffer, Buffer::External(_)) || has_memory);
    let nothing = Change::NONE;
    let mut schemes = Vec::new();
    for (buffer, name, memory) in candidates {
        let work =
            work(device, buffer, &nothing, &typical(device, buffer), Mode::Full, temperature).unwrap_or_default();
        let energy = draw(device, parameters, &work).energy_at(device.battery.nominal());
        schemes.push(Scheme { buffer, name, ram: ram(device, buffer), memory, energy });
    }
    schemes
}

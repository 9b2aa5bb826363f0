//! What it takes the microcontroller to draw an update.
//!
//! The exported machine keeps no frame: it draws what is shown and what is to be shown strip by strip, compares them, and
//! draws the lines of the changed window once more for each plane that is sent. Each pass over the lines of a scene is priced
//! from the screen's operations. Firmware with drawing code of its own is taken to know what changes.

use super::strips::{lines_of, stripped, strips};
use super::update::Mode;
use super::windows::Window;
use crate::behaviour::policy::Buffer;
use crate::device::Device;
use crate::device::drawing::{Pass, Passes, Scenes, Strips};
use crate::frame::{Packing, Scan};
use crate::hardware::core::{Amounts, Core, DrawingTime};
use crate::hardware::panel::Drive;
use crate::screen::ScreenId;
use crate::screen::effort::{Lie, efforts};

/// From one typical screen to another: the mean of all screens in the first locale.
pub fn typical(device: &Device, buffer: Buffer) -> Scenes {
    let DrawingTime::Exported(_) = device.board.mcu.drawing else { return Scenes::default() };
    let screens = (0..device.screens.len()).map(ScreenId).filter(|screen| device.screens[screen.0].over.is_none());
    let all: Vec<Passes> = screens.map(|screen| passes(device, buffer, screen, 0)).collect();
    let mut sum = Passes::default();
    all.iter().for_each(|one| sum += *one);
    let mean = sum.share(1.0 / all.len().max(1) as f64);
    Scenes { shown: Some(mean), next: mean }
}

/// From a typical screen to this one, or to a box over it.
pub fn entering(device: &Device, screen: ScreenId) -> Scenes {
    let from = typical(device, device.policy.buffer);
    let mut next = scene(device, 0, std::iter::once(screen));
    if device.screens[screen.0].over.is_some() {
        next += from.next;
    }
    Scenes { next, ..from }
}

/// Passes over a scene: a screen and the boxes over it.
pub fn scene(device: &Device, locale: usize, layers: impl Iterator<Item = ScreenId>) -> Passes {
    let mut sum = Passes::default();
    if let DrawingTime::Exported(_) = device.board.mcu.drawing {
        layers.for_each(|screen| sum += passes(device, device.policy.buffer, screen, locale));
    }
    sum
}

/// Lines of the packed frame that a window of the controller touches, and those before it.
fn lines_in(packing: &Packing, window: &Window) -> [f64; 2] {
    let [from, count] = match packing.scan {
        Scan::Rows => [window.y, window.h],
        Scan::Columns => [window.x, window.w],
    };
    let pixels = if packing.strips_lie_in_lines() { 1.0 } else { 8.0 };
    [f64::from(from), f64::from(count)].map(|side| (side / pixels).ceil())
}

/// Cycles of passes over a screen, or over a box, with its sample values; those of the device's own buffer are kept.
fn passes(device: &Device, buffer: Buffer, screen: ScreenId, locale: usize) -> Passes {
    let DrawingTime::Exported(core) = device.board.mcu.drawing else { return Passes::default() };
    let kept = device.passes.get(screen.0 * device.locales.len() + locale).filter(|_| buffer == device.policy.buffer);
    match kept {
        Some(kept) => *kept.get_or_init(|| priced(device, buffer, core, screen, locale)),
        None => priced(device, buffer, core, screen, locale),
    }
}

fn priced(device: &Device, buffer: Buffer, core: Core, screen: ScreenId, locale: usize) -> Passes {
    let whole = lines_of(device);
    let items = &device.screens[screen.0].pictures[locale];
    let lie = Lie::of(&device.panel.packing);
    let efforts = efforts(items, &device.sample_in(locale), device.panel.size(), lie);
    let memo = device.policy.memo.map(f64::from);
    let pass = |at_a_time: f64, share: f64| {
        let all = stripped(&efforts, whole, at_a_time, memo.map(|memo| memo * share));
        let cycles = core.cycles();
        let line = all.lines.cost(cycles) / whole[0];
        Pass { once: all.once.cost(cycles), each: all.each.cost(cycles), line }
    };
    let strips = strips(device, buffer);
    // Both scenes share the memo while they are compared.
    Passes { compared: pass(strips.compared, 0.5), sent: pass(strips.sent, 1.0) }
}

/// Cycles of an update in a mode, of these changed windows; those that are sent are others where it is full.
pub fn cycles(
    device: &Device,
    buffer: Buffer,
    (mode, drive): (Mode, &Drive),
    [changed, sent]: [&[Window]; 2],
    scenes: &Scenes,
) -> f64 {
    let core = match device.board.mcu.drawing {
        DrawingTime::Exported(core) => core,
        DrawingTime::PerPixel(cycles) => {
            return cycles * sent.iter().map(|window| pixels(buffer, window, drive.planes)).sum::<f64>();
        }
    };
    let Strips { lines: all, line_bytes, compared: at_once, sent: sent_at_once } = strips(device, buffer);
    let packing = &device.panel.packing;
    // A full update is compared only up to the first strip that differs; the first of all not at all.
    let compared = match (mode, scenes.shown) {
        (Mode::Full, None) => 0.0,
        (Mode::Full, _) => {
            let before = changed.iter().map(|window| lines_in(packing, window)[0]).reduce(f64::min);
            ((before.unwrap_or(0.0) / at_once).floor() + 1.0) * at_once
        }
        (Mode::Partial, _) => all,
    };
    let compare = |pass: &Pass| pass.over(compared.min(all), at_once);
    let shown = scenes.shown.unwrap_or_default();
    let mut cycles = 0.0;
    if compared > 0.0 {
        let bytes = Amounts { compared: compared.min(all) * line_bytes, ..Amounts::default() };
        cycles += compare(&shown.compared) + compare(&scenes.next.compared) + bytes.cost(core.cycles());
    }
    let lines: f64 = sent.iter().map(|window| lines_in(packing, window)[1]).sum();
    let lines = if mode == Mode::Full { all } else { lines };
    cycles += scenes.next.sent.over(lines, sent_at_once);
    if drive.planes > 1 {
        cycles += shown.sent.over(lines, sent_at_once);
    }
    cycles
}

/// Pixels that drawing code of its own draws for a window: in strips once for each strip and each plane, since the frame
/// before is kept nowhere.
fn pixels(buffer: Buffer, window: &Window, planes: u32) -> f64 {
    let pixels = f64::from(window.w) * f64::from(window.h);
    match buffer {
        Buffer::Ram | Buffer::External(_) => pixels,
        Buffer::StripLines(lines) => pixels * f64::from(window.h.div_ceil(lines.max(1))) * f64::from(planes),
    }
}

/// Cycles for each byte of a window that is sent, for the choice between windows.
pub fn cycles_of_byte(device: &Device) -> f64 {
    match device.board.mcu.drawing {
        DrawingTime::PerPixel(cycles) => 8.0 * cycles,
        DrawingTime::Exported(_) => {
            typical(device, device.policy.buffer).next.sent.line / lines_of(device)[1]
                * f64::from(device.panel.planes_kept())
        }
    }
}

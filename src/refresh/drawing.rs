//! What it takes the microcontroller to draw an update.
//!
//! The exported machine keeps no frame: it draws what is shown and what is to be shown strip by strip, compares them, and
//! draws the lines of the changed window once more for each plane that is sent. Each pass over the lines of a scene is priced
//! from the screen's operations. Firmware with drawing code of its own is taken to know what changes.

use super::update::Mode;
use super::windows::Window;
use crate::behaviour::policy::Buffer;
use crate::device::Device;
use crate::device::drawing::{Pass, Passes, Scenes, Strips};
use crate::frame::{Packing, Scan};
use crate::hardware::core::{Amounts, Core, DrawingTime};
use crate::hardware::panel::Drive;
use crate::screen::ScreenId;
use crate::screen::effort::{Effort, Lie, efforts};

/// The cells of 16 bits that a memo takes for an operation that it notes as it is.
const NOTED: f64 = 8.0;

/// What one scene comes to, drawn in strips: once, for each strip, and for all lines.
#[derive(Clone, Copy, Debug, Default)]
pub struct Stripped {
    /// Before the first strip.
    pub once: Amounts,
    /// For each strip.
    pub each: Amounts,
    /// For all lines together.
    pub lines: Amounts,
}

/// What operations come to on a frame of so many lines of so many bytes, drawn some lines at a time, with a memo of so many
/// cells or without one.
pub fn stripped(efforts: &[Effort], [lines, line_bytes]: [f64; 2], at_a_time: f64, memo: Option<f64>) -> Stripped {
    let strips = (lines / at_a_time).ceil();
    let mut sum = Stripped::default();
    sum.each.calls = 1.0;
    sum.lines.cleared = lines * line_bytes;
    let read = if memo.is_some() { &mut sum.once } else { &mut sum.each };
    read.words = efforts.iter().map(|effort| effort.words).sum();
    let mut left = memo.unwrap_or(0.0);
    for effort in efforts.iter().filter(|effort| effort.extent > 0.0) {
        // Strips that something of some breadth reaches into, wherever it begins.
        let reached = |breadth: f64| (1.0 + (breadth - 1.0).max(0.0) / at_a_time).min(strips);
        let mean = |all: f64, count: f64| if count > 0.0 { reached(all / count) } else { 0.0 };
        let cells = effort.cells();
        let is_drawn = memo.is_some() && cells > 0.0 && cells <= left;
        if memo.is_some() {
            let noted = if is_drawn { cells } else { NOTED };
            left -= noted;
            sum.once.noted += noted;
        }
        // What a memo keeps is composed once, else in every strip that the operation reaches into.
        let (read, times) = if is_drawn { (&mut sum.once, 1.0) } else { (&mut sum.lines, reached(effort.extent)) };
        read.drawn += times;
        read.characters += effort.characters * times;
        read.measured += effort.measured * times;
        read.measured += effort.placed * if is_drawn { 1.0 } else { mean(effort.height, effort.placed).min(times) };
        let drawn = &mut sum.lines;
        let cut = mean(effort.breadth, effort.glyphs);
        // One that is cut is unpacked from its beginning, half of it on average.
        drawn.codes += effort.codes * (1.0 + (cut - 1.0).max(0.0) / 2.0);
        drawn.rows += effort.rows;
        let again = if effort.anew && !is_drawn { reached(effort.extent) } else { 1.0 };
        drawn.fills += effort.fills * mean(effort.stretch, effort.fills).max(again);
        drawn.bytes += effort.bytes;
        drawn.asked += effort.asked;
        drawn.samples += effort.samples * again;
    }
    sum
}

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

/// Lines of the packed frame that the strip holds in which the exported machine draws, two at least.
pub fn strip_lines(device: &Device) -> u32 {
    strip(device, device.policy.buffer)
}

fn strip(device: &Device, buffer: Buffer) -> u32 {
    let [all, _] = lines_of(device);
    let planes = device.panel.planes_kept();
    let lines = match buffer {
        Buffer::Ram => all as u32 * planes,
        Buffer::External(at_once) => at_once,
        Buffer::StripLines(at_once) => at_once * planes,
    };
    lines.max(2)
}

/// How the device's frame is drawn in strips, with its own buffer or another.
fn strips(device: &Device, buffer: Buffer) -> Strips {
    let found = || {
        let ([lines, line_bytes], strip) = (lines_of(device), f64::from(strip(device, buffer)));
        Strips { lines, line_bytes, compared: (strip / 2.0).floor().min(lines), sent: strip.min(lines) }
    };
    if buffer == device.policy.buffer { *device.strips.get_or_init(found) } else { found() }
}

/// Lines of the packed frame, and the bytes of each.
fn lines_of(device: &Device) -> [f64; 2] {
    let (size, packing) = (device.panel.size(), &device.panel.packing);
    let stride = packing.stride_of(size.width, size.height).unwrap_or(1).max(1);
    [device.panel.plane_bytes() as f64 / f64::from(stride), f64::from(stride)]
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
    let pass = |at_a_time: f64, cells: f64| {
        let all = stripped(&efforts, whole, at_a_time, memo.map(|memo| memo * cells));
        let cycles = core.cycles();
        let line = all.lines.cost(cycles) / whole[0];
        Pass { once: all.once.cost(cycles), each: all.each.cost(cycles), line }
    };
    let strips = strips(device, buffer);
    // Both pictures share the memo while they are compared.
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

/// Pixels that drawing code of its own draws for a window: in strips once for each strip and each plane, since the picture
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

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: a line of twelve characters that 40 of 64 lines hold, four of them cut once in 16, one area of 16 lines.
    #[test]
    fn strips_repeat_what_reaches_into_several() {
        let text = Effort {
            extent: 40.0,
            words: 1.0,
            texts: 1.0,
            characters: 12.0,
            placed: 24.0,
            height: 24.0 * 40.0,
            glyphs: 12.0,
            breadth: 12.0 * 5.0,
            codes: 120.0,
            rows: 84.0,
            ..Effort::default()
        };
        let area = Effort { extent: 16.0, fills: 1.0, stretch: 16.0, bytes: 32.0, ..Effort::default() };
        let hidden = Effort { words: 1.0, ..Effort::default() };
        let all = [text, area, hidden];
        let whole = stripped(&all, [64.0, 16.0], 64.0, None);
        let at = |strips: f64| 1.0 + 39.0 / strips;
        assert_eq!((whole.each.calls, whole.each.words, whole.lines.cleared), (1.0, 2.0, 1024.0));
        assert_eq!((whole.lines.drawn, whole.lines.characters, whole.lines.bytes), (2.0, 12.0, 32.0));
        let strips = stripped(&all, [64.0, 16.0], 16.0, None);
        assert_eq!(strips.each, whole.each);
        assert_eq!(strips.lines.characters, 12.0 * at(16.0));
        assert_eq!(strips.lines.measured, 24.0 * at(16.0));
        assert_eq!(strips.lines.drawn, at(16.0) + 1.0 + 15.0 / 16.0);
        // Each glyph is five lines broad: a quarter of them lies across an edge, and is unpacked to its middle once more.
        assert_eq!(strips.lines.codes, 120.0 * (1.0 + 4.0 / 16.0 / 2.0));
        assert_eq!((strips.lines.rows, strips.lines.bytes), (84.0, 32.0));
        // With a memo everything is composed once, and each strip only asks what lies in it.
        let memo = stripped(&all, [64.0, 16.0], 16.0, Some(100.0));
        assert_eq!((memo.once.words, memo.once.characters, memo.once.drawn), (2.0, 12.0, 2.0));
        assert_eq!((memo.once.noted, memo.each.words, memo.lines.characters), (8.0 + 12.0 + 5.0, 0.0, 0.0));
        assert_eq!(memo.lines.codes, strips.lines.codes);
        // One that is too small notes the operation alone, which is read again in every strip.
        let small = stripped(&all, [64.0, 16.0], 16.0, Some(10.0));
        assert_eq!((small.once.characters, small.lines.characters), (0.0, strips.lines.characters));
    }
}

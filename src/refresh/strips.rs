//! A frame drawn in strips of lines: how many lines there are at a time, and what the operations of a screen come to then.
//!
//! Not for what that costs, nor for the passes of an update; see [`super::drawing`].

use crate::behaviour::policy::Buffer;
use crate::device::Device;
use crate::device::drawing::Strips;
use crate::hardware::core::Amounts;
use crate::screen::effort::Effort;
use crate::units::Bytes;

/// Lines of the packed frame in RAM where it is buffered in a way, for all planes that are kept or drawn there.
fn kept(device: &Device, buffer: Buffer) -> u32 {
    let [all, _] = lines_of(device);
    let planes = device.panel.planes_kept();
    match buffer {
        Buffer::Ram => all as u32 * planes,
        Buffer::External(at_once) => at_once,
        Buffer::StripLines(at_once) => at_once * planes,
    }
}

/// RAM that a way to buffer the image takes: frame or strip, and the memo where the exported machine has one.
pub fn ram(device: &Device, buffer: Buffer) -> Bytes {
    let [_, line_bytes] = lines_of(device);
    Bytes(f64::from(kept(device, buffer)) * line_bytes + 2.0 * f64::from(device.policy.memo.unwrap_or(0)))
}

/// Lines of the strip in which the exported machine draws, two at least.
pub fn strip_lines(device: &Device) -> u32 {
    strip(device, device.policy.buffer)
}

fn strip(device: &Device, buffer: Buffer) -> u32 {
    kept(device, buffer).max(2)
}

/// How the device's frame is drawn in strips, with its own buffer or another.
pub(super) fn strips(device: &Device, buffer: Buffer) -> Strips {
    let found = || {
        let ([lines, line_bytes], strip) = (lines_of(device), f64::from(strip(device, buffer)));
        Strips { lines, line_bytes, compared: (strip / 2.0).floor().min(lines), sent: strip.min(lines) }
    };
    if buffer == device.policy.buffer { *device.strips.get_or_init(found) } else { found() }
}

/// Lines of the packed frame, and the bytes of each.
pub(super) fn lines_of(device: &Device) -> [f64; 2] {
    let (size, packing) = (device.panel.size(), &device.panel.packing);
    let stride = packing.stride_of(size.width, size.height).unwrap_or(1).max(1);
    [device.panel.plane_bytes() as f64 / f64::from(stride), f64::from(stride)]
}

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
        drawn.fills += effort.fills * mean(effort.stretch, effort.fills);
        drawn.bytes += effort.bytes;
        drawn.asked += effort.asked;
        drawn.samples += effort.samples * again;
    }
    sum
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

    /// By hand: three lines of 12 cells each; a memo of 30 keeps two of them, and notes of the third that it is there.
    #[test]
    fn a_memo_keeps_what_fits_beside_what_it_has() {
        let text = Effort { extent: 40.0, words: 1.0, characters: 12.0, glyphs: 12.0, ..Effort::default() };
        assert_eq!(text.cells(), 12.0);
        let memo = stripped(&[text, text, text], [64.0, 16.0], 16.0, Some(30.0));
        assert_eq!(memo.once.noted, 12.0 + 12.0 + 8.0);
        assert_eq!((memo.once.characters, memo.lines.characters), (24.0, 12.0 * (1.0 + 39.0 / 16.0)));
        // Exactly as many cells are enough.
        let memo = stripped(&[text, text, text], [64.0, 16.0], 16.0, Some(36.0));
        assert_eq!((memo.once.noted, memo.lines.characters), (36.0, 0.0));
    }

    /// By hand: 240 samples of a chart that is begun anew in each of the strips of 16 lines that its 40 lines reach into;
    /// three areas, 16 lines high on average, each cut once in 16.
    #[test]
    fn charts_begin_anew_in_each_strip_and_areas_are_cut() {
        let chart = Effort { extent: 40.0, words: 1.0, samples: 240.0, anew: true, ..Effort::default() };
        let areas = Effort { extent: 40.0, fills: 3.0, stretch: 48.0, ..Effort::default() };
        let strips = stripped(&[chart, areas], [64.0, 16.0], 16.0, None);
        assert_eq!(strips.lines.samples, 240.0 * (1.0 + 39.0 / 16.0));
        assert_eq!(strips.lines.fills, 3.0 * (1.0 + 15.0 / 16.0));
        let whole = stripped(&[chart, areas], [64.0, 16.0], 64.0, None);
        assert_eq!(whole.lines.samples, 240.0);
    }
}

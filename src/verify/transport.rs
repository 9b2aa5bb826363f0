//! What happened to a frame on its way: nothing was read, bytes or bits were lost or doubled, words came in another order,
//! or only a part of it was read. Not for how a whole frame is packed, nor for damage of single pixels: see [`super`].

use super::{CLEARLY, Question};
use crate::frame::pack::pack;
use crate::frame::{Packing, Planes};
use crate::screen::ScreenId;
use serde::Serialize;
use std::ops::RangeInclusive;

/// What happened on the way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Damage {
    /// Every byte is this one: nothing was read.
    Blank(u8),
    /// The dump ends early; what is there is right.
    Truncated,
    /// The frame is whole, and so many bytes follow it.
    Longer(usize),
    /// From a byte on, every bit stands so many bits later than it should (earlier where negative).
    Shifted {
        /// The first and last byte at which it can have begun: bytes that are alike do not tell.
        from: (usize, usize),
        /// So many bits.
        bits: i64,
    },
    /// The bytes, or halves of bytes, are in another order.
    Swapped(Swap),
    /// A part of the frame: lines and bytes in them, as packed, counted from 0.
    Part {
        /// First byte in a line.
        byte: usize,
        /// Bytes in a line.
        bytes: usize,
        /// First line.
        line: usize,
        /// Lines.
        lines: usize,
        /// At how many places of this and other screens the same stands.
        places: usize,
    },
}

/// Another order of a few bytes that a transport makes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Swap {
    /// The halves of each byte.
    Nibbles,
    /// The bytes of each 16-bit word.
    Words16,
    /// The bytes of each 32-bit word.
    Words32,
    /// The 16-bit halves of each 32-bit word.
    Halves32,
}

impl Swap {
    /// Every order.
    pub const ALL: [Self; 4] = [Self::Nibbles, Self::Words16, Self::Words32, Self::Halves32];

    /// The bytes in this order; a rest that fills no word stays as it is. Twice is none.
    pub fn apply(self, bytes: &[u8]) -> Vec<u8> {
        let mut out = bytes.to_vec();
        match self {
            Self::Nibbles => out.iter_mut().for_each(|byte| *byte = byte.rotate_left(4)),
            Self::Words16 => out.chunks_exact_mut(2).for_each(<[u8]>::reverse),
            Self::Words32 => out.chunks_exact_mut(4).for_each(<[u8]>::reverse),
            Self::Halves32 => out.chunks_exact_mut(4).for_each(|word| word.rotate_left(2)),
        }
        out
    }
}

/// A dump that is a screen, but for what happened to it on its way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Transported {
    /// What happened.
    pub way: Damage,
    /// The screen; of a blank dump none.
    pub screen: Option<(ScreenId, usize)>,
    /// Bits that differ all the same.
    pub differ: u64,
    /// Bits that were compared.
    pub compared: u64,
    /// Bytes of the whole frame.
    pub whole: usize,
    /// Bytes of a line.
    pub stride: usize,
}

/// At most this share of the compared bits may differ where something is said to have happened: screens of one product are
/// often alike in nine pixels of ten.
const LIKE: f64 = 0.02;

/// Frames that are looked at for shifts: those with the nearest number of set bits, which a shift leaves as it is.
const NEAREST: usize = 32;

/// The share of the tail whose bits may differ before a shift is looked at byte by byte.
const TAIL: f64 = 0.05;

struct Expected {
    screen: ScreenId,
    locale: usize,
    bytes: Vec<u8>,
}

/// What happened to a dump on its way, if that explains it: a part of a frame, or a whole one of which at most
/// `plain` bits differ otherwise (`None` where it has not the size of a frame).
pub fn transported(question: &Question<'_>, dump: &[u8], plain: Option<u64>) -> Option<Transported> {
    let size = question.device.panel.size();
    let stride = question.packing.stride_of(size.width, size.height).ok().filter(|stride| *stride > 0)? as usize;
    let frames = frames(question);
    let whole = frames.first()?.bytes.len();
    let found = |way, screen, (differ, compared)| Transported { way, screen, differ, compared, whole, stride };
    if let Some(byte) = dump.first().copied().filter(|byte| [0, 0xFF].contains(byte))
        && dump.iter().all(|other| *other == byte)
    {
        return Some(found(Damage::Blank(byte), None, (0, 0)));
    }
    let mut best: Option<Transported> = None;
    let mut take = |one: Transported| {
        let like = one.compared > 0 && one.differ as f64 <= LIKE * one.compared as f64;
        let clearly = plain.is_none_or(|plain| one.differ.saturating_mul(CLEARLY) < plain);
        // Fewer differences first, then more that was compared; among equals the one found first.
        let better = best
            .as_ref()
            .is_none_or(|best| one.differ < best.differ || (one.differ == best.differ && one.compared > best.compared));
        if like && clearly && better {
            best = Some(one);
        }
    };
    for frame in &frames {
        let screen = Some((frame.screen, frame.locale));
        if dump.len() < whole {
            take(found(Damage::Truncated, screen, differences(dump, &frame.bytes)));
        } else if dump.len() > whole {
            take(found(Damage::Longer(dump.len() - whole), screen, differences(dump, &frame.bytes)));
        }
        if dump.len() == whole {
            for swap in Swap::ALL {
                take(found(Damage::Swapped(swap), screen, differences(&swap.apply(dump), &frame.bytes)));
            }
        }
    }
    // A part is at least a few lines short; a byte or two are lost, not left out.
    let short = whole.saturating_sub(dump.len());
    if short >= stride && question.packing.planes == Planes::New {
        for one in parts(&frames, dump, stride) {
            take(found(one.0, Some((frames[one.1].screen, frames[one.1].locale)), one.2));
        }
    }
    if dump.len() * 2 > whole && dump.len() < whole * 2 {
        for index in nearest(&frames, dump) {
            let frame = &frames[index];
            for bits in shifts(stride, whole / stride) {
                if let Some((from, counted)) = shifted(dump, &frame.bytes, bits) {
                    take(found(Damage::Shifted { from, bits }, Some((frame.screen, frame.locale)), counted));
                }
            }
        }
    }
    best
}

/// Every screen that it may be, packed.
fn frames(question: &Question<'_>) -> Vec<Expected> {
    let mut frames = Vec::new();
    for locale in question.locales.iter().copied() {
        for screen in question.screens.iter().copied() {
            let frame = question.device.draw(screen, locale, &question.values);
            frames.extend(pack(&frame, &question.packing).ok().map(|bytes| Expected { screen, locale, bytes }));
        }
    }
    frames
}

/// Bits that differ in the bytes that both have, and how many were compared.
fn differences(a: &[u8], b: &[u8]) -> (u64, u64) {
    let differ = a.iter().zip(b).map(|(a, b)| u64::from((a ^ b).count_ones())).sum();
    (differ, 8 * a.len().min(b.len()) as u64)
}

fn nearest(frames: &[Expected], dump: &[u8]) -> Vec<usize> {
    let ones = |bytes: &[u8]| bytes.iter().map(|byte| u64::from(byte.count_ones())).sum::<u64>();
    let wanted = ones(dump);
    let mut order: Vec<(u64, usize)> =
        frames.iter().enumerate().map(|(index, frame)| (ones(&frame.bytes).abs_diff(wanted), index)).collect();
    order.sort_unstable();
    order.into_iter().take(NEAREST).map(|(_, index)| index).collect()
}

/// Shifts that are looked for, in bits, the small ones first: some bits, bytes up to two lines, lines up to half a frame.
fn shifts(stride: usize, lines: usize) -> Vec<i64> {
    let (stride, lines) = (stride as i64, lines as i64);
    let mut all: Vec<i64> = (1..8).collect();
    all.extend((1..=2 * stride).map(|bytes| 8 * bytes));
    all.extend((3..=lines / 2).map(|lines| 8 * stride * lines));
    all.into_iter().flat_map(|bits| [bits, -bits]).collect()
}

/// The byte at a place of the bytes shifted by so many bits; `None` where a bit of it is not known.
fn late(bytes: &[u8], at: usize, bits: i64) -> Option<u8> {
    let first = 8 * at as i64 - bits;
    let (byte, rest) = (usize::try_from(first.div_euclid(8)).ok()?, first.rem_euclid(8) as u32);
    let high = *bytes.get(byte)?;
    if rest == 0 {
        return Some(high);
    }
    let low = *bytes.get(byte + 1)?;
    Some((high << rest) | (low >> (8 - rest)))
}

/// Where a shift by so many bits can have begun, with the bits that differ and those that were compared; `None` where it
/// is not like the dump's end.
fn shifted(dump: &[u8], frame: &[u8], bits: i64) -> Option<((usize, usize), (u64, u64))> {
    let apart = |at: usize, other: Option<u8>| other.map(|other| u64::from((dump[at] ^ other).count_ones()));
    let tail = dump.len() - dump.len() / 8..dump.len();
    let (mut differ, mut compared) = (0, 0);
    for one in tail.filter_map(|at| apart(at, late(frame, at, bits))) {
        differ += one;
        compared += 8;
    }
    if differ as f64 > TAIL * f64::from(compared).max(1.0) {
        return None;
    }
    // Costs of the bytes from each on where they are shifted; before it, where they are not.
    let mut behind: (u64, u64) = (0, 0);
    for at in 0..dump.len() {
        if let Some(one) = apart(at, late(frame, at, bits)) {
            behind = (behind.0 + one, behind.1 + 8);
        }
    }
    let mut before: (u64, u64) = (0, 0);
    let mut best = (behind.0, behind.1, 0..=0);
    for at in 0..dump.len() {
        let Some(straight) = apart(at, frame.get(at).copied()) else { break };
        if let Some(one) = apart(at, late(frame, at, bits)) {
            behind = (behind.0 - one, behind.1 - 8);
        }
        before = (before.0 + straight, before.1 + 8);
        let sum = before.0 + behind.0;
        if sum < best.0 {
            best = (sum, before.1 + behind.1, at + 1..=at + 1);
        } else if sum == best.0 && *best.2.end() == at {
            best.2 = *best.2.start()..=at + 1;
        }
    }
    let (differ, compared, from): (u64, u64, RangeInclusive<usize>) = best;
    // At the very end nothing is shifted any more.
    let (first, last) = (*from.start(), *from.end());
    (first < dump.len() && compared * 2 >= 8 * frame.len() as u64)
        .then_some(((first, last.min(dump.len() - 1)), (differ, compared)))
}

/// Lines and windows of a frame that a short dump can be: for each width the best place over all frames, with the frame's
/// position.
fn parts(frames: &[Expected], dump: &[u8], stride: usize) -> Vec<(Damage, usize, (u64, u64))> {
    let compared = 8 * dump.len() as u64;
    let mut all = Vec::new();
    // Whole lines first: among equals the first counts.
    for bytes in (1..=stride).rev().filter(|bytes| dump.len().is_multiple_of(*bytes)) {
        let lines = dump.len() / bytes;
        let mut best: Option<(u64, usize, usize, usize)> = None;
        let mut places = 0;
        for (index, frame) in frames.iter().enumerate() {
            let height = frame.bytes.len() / stride;
            for (line, byte) in
                (0..(height + 1).saturating_sub(lines)).flat_map(|l| (0..=stride - bytes).map(move |b| (l, b)))
            {
                let most = best.map_or((LIKE * compared as f64) as u64, |best| best.0);
                let Some(differ) = apart_within(dump, &frame.bytes, (line, byte), (stride, bytes), most) else {
                    continue;
                };
                if best.is_none_or(|best| differ < best.0) {
                    best = Some((differ, index, line, byte));
                    places = 0;
                }
                places += 1;
            }
        }
        if let Some((differ, index, line, byte)) = best {
            all.push((Damage::Part { byte, bytes, line, lines, places }, index, (differ, compared)));
        }
    }
    all
}

/// Bits of a window that differ from the dump, unless they are more than `most`.
fn apart_within(
    dump: &[u8],
    frame: &[u8],
    (line, byte): (usize, usize),
    (stride, bytes): (usize, usize),
    most: u64,
) -> Option<u64> {
    let mut differ = 0;
    for (row, found) in dump.chunks(bytes).enumerate() {
        let start = (line + row) * stride + byte;
        let expected = frame.get(start..start + bytes)?;
        differ += differences(found, expected).0;
        if differ > most {
            return None;
        }
    }
    Some(differ)
}

impl Transported {
    /// What happened, in words; `screen` is how the screen is called.
    pub fn words(&self, screen: &str, packing: &Packing) -> String {
        let line = |byte: usize| byte / self.stride;
        let among = |first: usize, last: usize| match line(first) == line(last) {
            true => format!("in line {}", line(first)),
            false => format!("between lines {} and {}", line(first), line(last)),
        };
        let read = match self.way {
            Damage::Blank(byte) => {
                return format!(
                    "nothing was read: every byte is 0x{byte:02X}. Check the data line, the chip select, and that the command \
                     to read was taken"
                );
            }
            Damage::Truncated => {
                let length = self.compared as usize / 8;
                format!("it ends after {length} of {} bytes, {}", self.whole, among(length, length))
            }
            Damage::Longer(more) => format!("{} after the frame", amount(more, "byte")),
            Damage::Shifted { from: (0, _), bits } => match bits > 0 {
                true => format!(
                    "{} before the frame: a dummy byte of the read command, or a clock edge too many",
                    self.long(bits)
                ),
                false => format!("the first {} missing", are(&self.long(bits))),
            },
            Damage::Shifted { from: (first, last), bits } => {
                let what = if bits > 0 { "too many" } else { "missing" };
                let at = if first == last {
                    format!("at byte {first}")
                } else {
                    format!("between bytes {first} and {last}")
                };
                format!("{} {what} {at}, {}", are(&self.long(bits)), among(first, last))
            }
            Damage::Swapped(swap) => match swap {
                Swap::Nibbles => "the halves of each byte are swapped",
                Swap::Words16 => "the bytes of each 16-bit word are swapped",
                Swap::Words32 => "the bytes of each 32-bit word are in reverse order",
                Swap::Halves32 => "the 16-bit halves of each 32-bit word are swapped",
            }
            .to_owned(),
            Damage::Part { byte, bytes, line, lines, places } => {
                let more = match places {
                    1 => String::new(),
                    more => format!(" (the first of {more} places where the same stands)"),
                };
                let rows =
                    if lines == 1 { format!("line {line}") } else { format!("lines {line} to {}", line + lines - 1) };
                if bytes == self.stride {
                    return self.but(format!("{rows} of {screen}, as packed{more}"));
                }
                let columns =
                    if bytes == 1 { format!("byte {byte}") } else { format!("bytes {byte} to {}", byte + bytes - 1) };
                return self.but(format!("a window of {screen}: {columns} of {rows}, as packed{more}"));
            }
        };
        let planes = if packing.planes == Planes::New { "" } else { " (bytes and lines over both planes)" };
        self.but(format!("{screen}, but changed on its way: {read}{planes}"))
    }

    fn but(&self, text: String) -> String {
        match self.differ {
            0 => text,
            differ => format!("{text}; beside that {} of {} differ", differ, amount(self.compared as usize, "bit")),
        }
    }

    /// A shift as lines, bytes or bits, whichever is whole.
    fn long(&self, bits: i64) -> String {
        let bits = bits.unsigned_abs() as usize;
        match (bits.is_multiple_of(8 * self.stride), bits.is_multiple_of(8)) {
            (true, _) => amount(bits / 8 / self.stride, "line"),
            (_, true) => amount(bits / 8, "byte"),
            _ => amount(bits, "bit"),
        }
    }
}

/// `1 byte`, `2 bytes`.
fn amount(count: usize, unit: &str) -> String {
    if count == 1 { format!("1 {unit}") } else { format!("{count} {unit}s") }
}

/// `1 byte is`, `2 bytes are`.
fn are(amount: &str) -> String {
    if amount.starts_with("1 ") { format!("{amount} is") } else { format!("{amount} are") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_swap_undoes_itself() {
        let bytes = [0x12, 0x34, 0x56, 0x78, 0x9A];
        assert_eq!(Swap::Nibbles.apply(&bytes), [0x21, 0x43, 0x65, 0x87, 0xA9]);
        assert_eq!(Swap::Words16.apply(&bytes), [0x34, 0x12, 0x78, 0x56, 0x9A]);
        assert_eq!(Swap::Words32.apply(&bytes), [0x78, 0x56, 0x34, 0x12, 0x9A]);
        assert_eq!(Swap::Halves32.apply(&bytes), [0x56, 0x78, 0x12, 0x34, 0x9A]);
        for swap in Swap::ALL {
            assert_eq!(swap.apply(&swap.apply(&bytes)), bytes);
        }
    }

    /// By hand: the bits 1010_0001 1100_0000 three bits later are ...1 0100 0011 1000 000.
    #[test]
    fn bits_come_late_and_early() {
        let bytes = [0b1010_0001, 0b1100_0000, 0xFF];
        assert_eq!([late(&bytes, 0, 3), late(&bytes, 1, 3)], [None, Some(0b0011_1000)]);
        assert_eq!([late(&bytes, 0, -3), late(&bytes, 2, -3)], [Some(0b0000_1110), None]);
        assert_eq!([late(&bytes, 1, 8), late(&bytes, 1, -8)], [Some(0b1010_0001), Some(0xFF)]);
    }
}

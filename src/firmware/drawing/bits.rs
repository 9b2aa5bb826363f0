//! Bit streams: how numbers, pictures and glyphs lie in them, the first bit being the top one of the first byte.
//!
//! A picture is stored row by row, either as it is or as its ones: between two of them stand so many zeros, as an
//! exponential Golomb code of an order that suits the picture. Before that each row may be compared with the one above,
//! which leaves ones only where something changes. (Golomb 1966; the exponential form is that of ITU-T H.264, clause 9.1.)

use crate::frame::Frame;

/// A stream that grows.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub(super) struct Bits {
    pub bytes: Vec<u8>,
    pub count: usize,
}

impl Bits {
    pub fn push(&mut self, bit: bool) {
        if self.count.is_multiple_of(8) {
            self.bytes.push(0);
        }
        if let Some(last) = self.bytes.last_mut().filter(|_| bit) {
            *last |= 0x80 >> (self.count % 8);
        }
        self.count += 1;
    }

    /// The lowest bits of a number, the top one of them first.
    pub fn number(&mut self, number: u32, bits: u32) {
        (0..bits).rev().for_each(|bit| self.push(number >> bit & 1 == 1));
    }

    /// All bits of another stream.
    pub fn append(&mut self, other: &Self) {
        (0..other.count).for_each(|at| self.push(other.bytes[at / 8] & 0x80 >> (at % 8) != 0));
    }

    /// A number of at least 0 as an exponential Golomb code of an order.
    fn golomb(&mut self, number: u32, order: u32) {
        let plus = number + (1 << order);
        let bits = 32 - plus.leading_zeros();
        self.number(0, bits - 1 - order);
        self.number(plus, bits);
    }
}

/// Bits that a number needs.
pub(super) fn needs(number: u32) -> u32 {
    32 - number.leading_zeros()
}

/// A picture's rows as they are.
pub(super) const PLAIN: u8 = 0;

/// Every way to store a picture: plain, and with or without the row above in each order.
pub(super) fn modes() -> impl Iterator<Item = u8> {
    std::iter::once(PLAIN).chain((0..8).flat_map(|order| [16 | order, 24 | order]))
}

/// How many zeros stand before each one of a picture, and behind the last.
fn zeros(frame: &Frame, above: bool) -> Vec<u32> {
    let (mut all, mut zeros) = (Vec::new(), 0);
    for y in 0..frame.height() {
        for x in 0..frame.width() {
            if frame.ink(x, y) != (above && y > 0 && frame.ink(x, y - 1)) {
                all.push(std::mem::take(&mut zeros));
            } else {
                zeros += 1;
            }
        }
    }
    // To the end of the picture, or a one beyond it that is never asked for.
    all.push(zeros);
    all
}

/// Whether a mode compares with the row above, and the order of its codes.
fn parts(mode: u8) -> (bool, u32) {
    (mode & 8 != 0, u32::from(mode & 7))
}

/// Each mode with the bits that a picture takes in it.
pub(super) fn lengths(frame: &Frame) -> impl Iterator<Item = (u8, usize)> {
    let [plain, compared] = [false, true].map(|above| zeros(frame, above));
    let size = frame.width() as usize * frame.height() as usize;
    modes().map(move |mode| {
        let (above, order) = parts(mode);
        let of = |zeros: &u32| (2 * needs(zeros + (1 << order)) - 1 - order) as usize;
        let zeros = if above { &compared } else { &plain };
        (mode, if mode == PLAIN { size } else { zeros.iter().map(of).sum() })
    })
}

/// A picture in one of the modes.
pub(super) fn picture(frame: &Frame, mode: u8) -> Bits {
    let mut bits = Bits::default();
    let (above, order) = parts(mode);
    match mode {
        PLAIN => (0..frame.height()).for_each(|y| (0..frame.width()).for_each(|x| bits.push(frame.ink(x, y)))),
        _ => zeros(frame, above).into_iter().for_each(|zeros| bits.golomb(zeros, order)),
    }
    bits
}

/// A bitmap as it is stored: width, height, mode, pixels; in the mode that takes fewest bytes.
pub(super) fn bitmap(frame: &Frame) -> Vec<u8> {
    let mode = lengths(frame).min_by_key(|(_, bits)| bits.div_ceil(8)).map_or(PLAIN, |(mode, _)| mode);
    let mut bytes = Vec::new();
    number(frame.width(), &mut bytes);
    number(frame.height(), &mut bytes);
    number(mode.into(), &mut bytes);
    bytes.extend(picture(frame, mode).bytes);
    bytes
}

/// Numbers below this take one byte.
const SMALL: u32 = 160;
/// Begins a number that is another one in each locale, or for each value of a field.
pub(super) const VARIES: u8 = 254;

/// A number of at least 0: a byte below 160; then a byte from 160 on and the low one; behind 255 four bytes, the lowest
/// first.
pub(super) fn number(number: u32, bytes: &mut Vec<u8>) {
    let [low, high, ..] = number.wrapping_sub(SMALL).to_le_bytes();
    match number {
        ..SMALL => bytes.push(number as u8),
        _ if number - SMALL < u32::from(VARIES - SMALL as u8) << 8 => bytes.extend([SMALL as u8 + high, low]),
        _ => {
            bytes.push(255);
            bytes.extend(number.to_le_bytes());
        }
    }
}

/// A number of either sign, the sign in the lowest bit.
pub(super) fn signed(number: i32, bytes: &mut Vec<u8>) {
    self::number(super::numbers::folded(number), bytes);
}

/// Where bytes first stand among others.
pub(super) fn find(all: &[u8], part: &[u8]) -> Option<usize> {
    let (first, rest) = part.split_first()?;
    let last = all.len().checked_sub(part.len())?;
    let mut from = 0;
    loop {
        let at = from + all[from..=last].iter().position(|byte| byte == first)?;
        if all[at + 1..].starts_with(rest) {
            return Some(at);
        }
        from = at + 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_are_found_where_they_first_stand() {
        let all: Vec<u8> = (0..200u32).map(|at| (at * at / 7 % 3) as u8).collect();
        for length in 1..9 {
            for part in all.windows(length).map(<[u8]>::to_vec).chain([vec![2; length], vec![9; length]]) {
                assert_eq!(find(&all, &part), all.windows(length).position(|window| window == part), "{part:?}");
            }
        }
        assert_eq!([find(&[], &[1]), find(&[1], &[1, 1]), find(&[0, 1], &[1])], [None, None, Some(1)]);
    }

    /// What a picture would take is what it takes, in every mode: pictures of any share of ink, and of none.
    #[test]
    fn lengths_are_those_of_the_pictures() {
        for (width, height, step) in [(1, 1, 1), (7, 5, 2), (8, 3, 3), (33, 9, 7), (64, 2, 100_000), (5, 40, 13)] {
            let mut frame = Frame::new(width, height);
            for at in (0..width * height).filter(|at| (at * at + at) % step == 0) {
                frame.set(at % width, at / width, true);
            }
            let lengths: Vec<(u8, usize)> = lengths(&frame).collect();
            assert_eq!(lengths.len(), modes().count());
            for (mode, bits) in lengths {
                assert_eq!(bits, picture(&frame, mode).count, "{width} x {height}, every {step}, mode {mode}");
            }
        }
    }
}

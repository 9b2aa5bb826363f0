//! Frames to and from plain rows of bytes, the layout of Netpbm's P4 body.
//!
//! Not for other byte layouts; see [`super::pack`].

use super::bits::Frame;
use super::pack::BitOrder;
use pulp::{Arch, Simd};

impl Frame {
    /// Bytes of one row when rows are padded to whole bytes.
    pub fn row_bytes(&self) -> usize {
        self.width().div_ceil(8) as usize
    }

    /// The pixels as in the body of a Netpbm P4 file: rows from the top, padded with zeros to whole bytes, the leftmost
    /// pixel in the most significant bit, 1 for ink.
    pub fn to_rows_msb(&self) -> Vec<u8> {
        copy_rows(self, BitOrder::MsbFirst, 0)
    }

    /// The inverse of [`Frame::to_rows_msb`]. Padding bits are ignored. `None` if the number of bytes does not belong to
    /// the size, or a side is beyond [`super::LARGEST_SIDE`].
    pub fn from_rows_msb(width: u32, height: u32, bytes: &[u8]) -> Option<Self> {
        let mut frame = Self::checked(width, height)?;
        if bytes.len() != frame.row_bytes() * height as usize {
            return None;
        }
        frame.take_rows(bytes, width.div_ceil(8), u64::from_be_bytes);
        Some(frame)
    }

    /// Replaces all rows by lines of bytes that begin every `stride` bytes and hold as many as a row needs; `read` makes a
    /// word of eight.
    pub(super) fn take_rows(&mut self, bytes: &[u8], stride: u32, read: impl Fn([u8; 8]) -> u64) {
        let mask = self.last_word_mask();
        for y in 0..self.height() {
            // The last word may read into the next line; the mask takes that away again.
            let line = bytes.get(y as usize * stride as usize..).unwrap_or_default();
            let (whole, rest) = line.as_chunks::<8>();
            let row = self.row_mut(y);
            for (word, bytes) in row.iter_mut().zip(whole) {
                *word = read(*bytes);
            }
            if let Some(last) = row.get_mut(whole.len()) {
                let mut bytes = [0; 8];
                bytes[..rest.len()].copy_from_slice(rest);
                *last = read(bytes);
            }
            if let Some(last) = row.last_mut() {
                *last &= mask;
            }
        }
    }
}

/// The bytes of a word of pixels, each bit turned over where `paper` has one.
#[inline(always)]
pub(super) fn bytes_of(word: u64, bits: BitOrder, paper: u64) -> [u8; 8] {
    match bits {
        BitOrder::MsbFirst => (word ^ paper).to_be_bytes(),
        // Reversing all bits of a word reverses its bytes, too; writing them in little-endian order puts those back.
        BitOrder::LsbFirst => (word ^ paper).reverse_bits().to_le_bytes(),
    }
}

/// All rows as bytes without a gap, each bit turned over where `paper` has one.
#[pulp::with_simd(copy_rows = Arch::new())]
#[inline(always)]
pub(super) fn copy_rows_with<S: Simd>(_: S, frame: &Frame, bits: BitOrder, paper: u64) -> Vec<u8> {
    let words = frame.words().iter().map(|word| bytes_of(*word, bits, paper));
    let mut bytes = words.collect::<Vec<_>>().into_flattened();
    let (rows, row_bytes) = (frame.height() as usize, frame.row_bytes());
    if row_bytes < 8 * frame.words_per_row() {
        // Rows of a few words move fastest when it is known how many.
        match frame.words_per_row() {
            1 => close_gaps::<1>(&mut bytes, rows, row_bytes),
            2 => close_gaps::<2>(&mut bytes, rows, row_bytes),
            3 => close_gaps::<3>(&mut bytes, rows, row_bytes),
            4 => close_gaps::<4>(&mut bytes, rows, row_bytes),
            5 => close_gaps::<5>(&mut bytes, rows, row_bytes),
            6 => close_gaps::<6>(&mut bytes, rows, row_bytes),
            7 => close_gaps::<7>(&mut bytes, rows, row_bytes),
            words => {
                (1..rows).for_each(|y| bytes.copy_within(8 * words * y..8 * words * y + row_bytes, y * row_bytes));
            }
        }
        bytes.truncate(rows * row_bytes);
    }
    bytes
}

/// Moves rows of `WORDS` words up to the `row_bytes` first bytes of the one before; what is written beyond them is replaced
/// by the next.
#[inline(always)]
fn close_gaps<const WORDS: usize>(bytes: &mut [u8], rows: usize, row_bytes: usize) {
    for y in 1..rows {
        let mut row = [[0; 8]; WORDS];
        row.copy_from_slice(&bytes[8 * WORDS * y..].as_chunks().0[..WORDS]);
        bytes[y * row_bytes..].as_chunks_mut().0[..WORDS].copy_from_slice(&row);
    }
}

/// Writes words as bytes into `line`, which ends at or before the last word does.
#[inline(always)]
pub(super) fn copy_row(words: &[u64], line: &mut [u8], bits: BitOrder, paper: u64) {
    let (whole, rest) = line.as_chunks_mut::<8>();
    for (bytes, word) in whole.iter_mut().zip(words) {
        *bytes = bytes_of(*word, bits, paper);
    }
    if let (false, Some(last)) = (rest.is_empty(), words.get(whole.len())) {
        rest.copy_from_slice(&bytes_of(*last, bits, paper)[..rest.len()]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_put_the_leftmost_pixel_in_the_top_bit() {
        let frame = Frame::from_pattern(&["#........#", ".#......#."]);
        assert_eq!(frame.to_rows_msb(), [0b1000_0000, 0b0100_0000, 0b0100_0000, 0b1000_0000]);
        // Padding bits that are set are ignored when read.
        let read = Frame::from_rows_msb(10, 2, &[0b1000_0000, 0b0111_1111, 0b0100_0000, 0b1011_1111]);
        assert_eq!(read, Some(frame));
        assert_eq!(Frame::from_rows_msb(10, 2, &[0; 3]), None);
    }
}

//! Ink or paper by thresholds that repeat over the picture, eight pixels at a time.
//!
//! Not for error diffusion; see [`super::diffusion`].

use super::bits::Frame;

/// The order in which the cells of a 4 x 4 block turn to paper as gray gets lighter (Bayer 1973).
pub(super) const BAYER_4: [[u8; 4]; 4] = [[0, 8, 2, 10], [12, 4, 14, 6], [3, 11, 1, 9], [15, 7, 13, 5]];

/// The smallest value shown as paper in a cell of rank 0 to 15: the first above (rank + 1/2) / 16 of white.
pub(super) const fn first_paper(rank: u8) -> u8 {
    ((2 * rank as u16 + 1) * 255 / 32 + 1) as u8
}

/// Ink where the value is below the threshold of its place; `thresholds` repeats over columns and rows. `values` has all
/// pixels of `frame`, which is not empty.
pub(super) fn compare(values: &[u8], frame: &mut Frame, thresholds: &[[u8; 4]]) {
    let rows = values.chunks_exact(frame.width() as usize).zip(thresholds.iter().cycle());
    for (y, (values, [a, b, c, d])) in (0..).zip(rows) {
        let limits = u64::from_be_bytes([*a, *b, *c, *d, *a, *b, *c, *d]);
        fill_row(frame.row_mut(y), values, |eight| top_bits(below(eight, limits)));
    }
}

/// Fills a row of a frame from one byte a pixel: `ink` makes of eight pixels, the first in the top byte, their eight bits.
pub(super) fn fill_row(row: &mut [u64], pixels: &[u8], ink: impl Fn(u64) -> u8) {
    for (word, pixels) in row.iter_mut().zip(pixels.chunks(64)) {
        let mut bytes = [0; 8];
        for (byte, eight) in bytes.iter_mut().zip(pixels.chunks(8)) {
            *byte = match eight.try_into() {
                Ok(eight) => ink(u64::from_be_bytes(eight)),
                Err(_) => {
                    let mut padded = [0; 8];
                    padded[..eight.len()].copy_from_slice(eight);
                    ink(u64::from_be_bytes(padded)) & !(u8::MAX >> eight.len())
                }
            };
        }
        *word = u64::from_be_bytes(bytes);
    }
}

/// The top bit of each byte of a word.
const TOPS: u64 = 0x8080_8080_8080_8080;

/// Compares byte by byte: the top bit of each byte of the result is set where `a` is less than `b`.
fn below(a: u64, b: u64) -> u64 {
    // The difference of the lower seven bits, kept from borrowing beyond its byte, decides where the top bits are equal.
    let not_below = (a | TOPS) - (b & !TOPS);
    ((!a & b) | (!(a ^ b) & !not_below)) & TOPS
}

/// Gathers the top bits of the eight bytes, in order, as one byte. The product adds eight copies of the word, shifted so that
/// bit `8 i` of the word lands on bit `56 + i`; no two other bits meet.
pub(super) fn top_bits(word: u64) -> u8 {
    (((word & TOPS) >> 7).wrapping_mul(0x0102_0408_1020_4080) >> 56) as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_are_compared_each_for_itself() {
        for a in 0..=255u8 {
            for b in 0..=255u8 {
                let (left, right) = ([a, b, 0, 255, a, b, a, 7], [b, a, 255, 0, b, a, a, 7]);
                let expected = (0..8).fold(0u8, |bits, i| bits << 1 | u8::from(left[i] < right[i]));
                assert_eq!(top_bits(below(u64::from_be_bytes(left), u64::from_be_bytes(right))), expected, "{a} {b}");
            }
        }
    }
}

//! Frames to and from plain rows of bytes, the layout of Netpbm's P4 body.
//!
//! Not for other byte layouts; see [`super::pack`].

use super::bits::Frame;

impl Frame {
    /// Bytes of one row when rows are padded to whole bytes.
    pub fn row_bytes(&self) -> usize {
        self.width().div_ceil(8) as usize
    }

    /// The pixels as in the body of a Netpbm P4 file: rows from the top, padded with zeros to whole bytes, the leftmost
    /// pixel in the most significant bit, 1 for ink.
    pub fn to_rows_msb(&self) -> Vec<u8> {
        copy_rows(self, u64::to_be_bytes)
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

/// All rows as bytes without a gap; `write` makes eight bytes of a word.
pub(super) fn copy_rows(frame: &Frame, write: impl Fn(u64) -> [u8; 8]) -> Vec<u8> {
    let row_bytes = frame.row_bytes();
    if row_bytes == frame.words_per_row() * 8 {
        return frame.words().iter().map(|word| write(*word)).collect::<Vec<_>>().into_flattened();
    }
    // Whole words are written, with room for those of the last row; what a row writes too much, the next one replaces.
    let needed = row_bytes * frame.height() as usize;
    let mut bytes = vec![0; needed + 8];
    let words = frame.words_per_row() * 8;
    for (y, row) in frame.rows().enumerate() {
        let start = y * row_bytes;
        copy_row(row, &mut bytes[start..start + words], &write);
    }
    bytes.truncate(needed);
    bytes
}

/// Writes words as bytes into `line`, which ends at or before the last word does.
pub(super) fn copy_row(words: &[u64], line: &mut [u8], write: impl Fn(u64) -> [u8; 8]) {
    let (whole, rest) = line.as_chunks_mut::<8>();
    for (bytes, word) in whole.iter_mut().zip(words) {
        *bytes = write(*word);
    }
    if let (false, Some(last)) = (rest.is_empty(), words.get(whole.len())) {
        rest.copy_from_slice(&write(*last)[..rest.len()]);
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

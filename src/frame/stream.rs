//! The moving of bits between a frame and its packed bytes.
//!
//! Every packing comes down to two steps: the frame is turned so that lines of bytes run to the right, then its pixels are
//! written row by row (the eight pixels of a byte lie in the line) or in bands of eight rows (they lie across it). Not for
//! the choice of a packing; see [`super::pack`].

use super::bits::Frame;
use super::pack::{Bit, BitOrder, Lines, Packing};
use super::rows::{copy_row, copy_rows};
use super::turn::swap_squares;
use pulp::{Arch, Simd};

/// The packed bytes of `frame`; `lines` are those of its size.
pub(super) fn write(frame: &Frame, packing: &Packing, lines: Lines) -> Vec<u8> {
    let turn = packing.line_turn();
    let paper = if packing.pixel_polarity == Bit::One { 0 } else { u64::MAX };
    if !packing.strips_lie_in_lines() {
        let mut bytes = blank(packing, lines);
        let (_, height) = turn.size(frame.width(), frame.height());
        if turn.is_transposed() {
            // Bands of the transposed picture are columns of strips: those of each row lie there already.
            write_columns(&frame.turned(turn.then_transpose()), packing.bits, paper, lines, &mut bytes);
        } else {
            write_bands(&frame.turned(turn), packing.bits, paper, lines, &mut bytes);
        }
        pad_last_band(height, packing, lines, &mut bytes);
        return bytes;
    }
    let turned = frame.turned(turn);
    let mut bytes = write_rows(&turned, packing, paper, lines);
    pad_line_ends(turned.width(), packing, lines, &mut bytes);
    bytes
}

/// The frame in `bytes`, whose length is that of `lines`.
pub(super) fn read(bytes: &[u8], width: u32, height: u32, packing: &Packing, lines: Lines) -> Frame {
    let turn = packing.line_turn();
    let (turned_width, turned_height) = turn.size(width, height);
    let mut turned = Frame::new(turned_width, turned_height);
    let paper = if packing.pixel_polarity == Bit::One { 0 } else { u64::MAX };
    match (packing.strips_lie_in_lines(), packing.bits) {
        (false, bits) => read_bands(bytes, bits, paper, lines, &mut turned),
        (true, BitOrder::MsbFirst) => turned.take_rows(bytes, lines.stride, |bytes| u64::from_be_bytes(bytes) ^ paper),
        (true, BitOrder::LsbFirst) => {
            turned.take_rows(bytes, lines.stride, |bytes| u64::from_le_bytes(bytes).reverse_bits() ^ paper);
        }
    }
    turned.turned(turn.inverse()).into_owned()
}

/// Bytes of padding for all lines.
fn blank(packing: &Packing, lines: Lines) -> Vec<u8> {
    let padding = if packing.padding == Bit::One { u8::MAX } else { 0 };
    vec![padding; lines.count as usize * lines.stride as usize]
}

/// Each row of pixels as one line.
fn write_rows(frame: &Frame, packing: &Packing, paper: u64, lines: Lines) -> Vec<u8> {
    if lines.stride == lines.bytes {
        return copy_rows(frame, packing.bits, paper);
    }
    let mut bytes = blank(packing, lines);
    for (row, line) in frame.rows().zip(bytes.chunks_exact_mut(lines.stride as usize)) {
        copy_row(row, &mut line[..lines.bytes as usize], packing.bits, paper);
    }
    bytes
}

/// Each band of eight rows of pixels as one line.
#[pulp::with_simd(write_bands = Arch::new())]
#[inline(always)]
fn write_bands_with<S: Simd>(_: S, frame: &Frame, bits: BitOrder, paper: u64, lines: Lines, bytes: &mut [u8]) {
    // With no pixels in a line there is nothing to write, and a stride of 0 cannot be walked.
    for (top, line) in (0..).step_by(8).zip(bytes.chunks_exact_mut((lines.stride as usize).max(1))) {
        for (index, strips) in line[..lines.bytes as usize].chunks_mut(64).enumerate() {
            let mut block = [0; 8];
            for (word, y) in block.iter_mut().zip(top..) {
                *word = frame.row(y).get(index).copied().unwrap_or(0) ^ paper;
            }
            rows_to_strips(&mut block, bits);
            copy_row(&block, strips, BitOrder::MsbFirst, 0);
        }
    }
}

/// Each column of strips of eight pixels side by side as one line: the bytes of the rows, transposed.
fn write_columns(frame: &Frame, bits: BitOrder, paper: u64, lines: Lines, bytes: &mut [u8]) {
    let rows = copy_rows(frame, bits, paper);
    let row_bytes = frame.row_bytes().max(1);
    for (column, line) in bytes.chunks_exact_mut((lines.stride as usize).max(1)).enumerate() {
        let strips = rows.get(column..).unwrap_or_default().iter().step_by(row_bytes);
        line.iter_mut().zip(strips).for_each(|(to, strip)| *to = *strip);
    }
}

/// The inverse of [`write_bands`].
#[pulp::with_simd(read_bands = Arch::new())]
#[inline(always)]
fn read_bands_with<S: Simd>(_: S, bytes: &[u8], bits: BitOrder, paper: u64, lines: Lines, frame: &mut Frame) {
    let mask = frame.last_word_mask();
    for (top, line) in (0..).step_by(8).zip(bytes.chunks_exact((lines.stride as usize).max(1))) {
        for (index, strips) in line[..lines.bytes as usize].chunks(64).enumerate() {
            let mut padded = [0; 64];
            padded[..strips.len()].copy_from_slice(strips);
            let mut block = [0; 8];
            for (word, eight) in block.iter_mut().zip(padded.as_chunks().0) {
                *word = u64::from_be_bytes(*eight);
            }
            strips_to_rows(&mut block, bits);
            for (word, y) in block.iter().zip(top..) {
                if let Some(to) = frame.row_mut(y).get_mut(index) {
                    *to = word ^ paper;
                }
            }
        }
    }
    for y in 0..frame.height() {
        if let Some(last) = frame.row_mut(y).last_mut() {
            *last &= mask;
        }
    }
}

/// Eight rows of 64 pixels become 64 bytes, each of eight pixels one above the other: first every 8 x 8 pixels are transposed,
/// which leaves the strips of a square one below the other, then every 8 x 8 bytes.
#[inline(always)]
fn rows_to_strips(block: &mut [u64; 8], bits: BitOrder) {
    if bits == BitOrder::LsbFirst {
        block.reverse();
    }
    transpose_bits(block);
    transpose_bytes(block);
}

/// The inverse of [`rows_to_strips`].
#[inline(always)]
fn strips_to_rows(block: &mut [u64; 8], bits: BitOrder) {
    transpose_bytes(block);
    transpose_bits(block);
    if bits == BitOrder::LsbFirst {
        block.reverse();
    }
}

/// Transposes each of the eight squares of 8 x 8 bits.
#[inline(always)]
fn transpose_bits(block: &mut [u64; 8]) {
    for (side, mask) in [(4, 0x0F0F_0F0F_0F0F_0F0F), (2, 0x3333_3333_3333_3333), (1, 0x5555_5555_5555_5555)] {
        swap_squares(block, side, side, mask);
    }
}

/// Transposes the block as 8 x 8 bytes.
#[inline(always)]
fn transpose_bytes(block: &mut [u64; 8]) {
    for (side, mask) in [(4, u64::MAX >> 32), (2, 0x0000_FFFF_0000_FFFF), (1, 0x00FF_00FF_00FF_00FF)] {
        swap_squares(block, side, 8 * side, mask);
    }
}

/// Gives the unused bits at the end of each row the padding's value.
fn pad_line_ends(width: u32, packing: &Packing, lines: Lines, bytes: &mut [u8]) {
    if !width.is_multiple_of(8) {
        let ends = bytes.iter_mut().skip(lines.bytes as usize - 1).step_by(lines.stride as usize);
        pad(ends, width, packing);
    }
}

/// Gives the unused bits below the last row the padding's value.
fn pad_last_band(height: u32, packing: &Packing, lines: Lines, bytes: &mut [u8]) {
    if !height.is_multiple_of(8) {
        let last_line = bytes.len() - lines.stride as usize;
        pad(bytes[last_line..].iter_mut().take(lines.bytes as usize), height, packing);
    }
}

/// Sets the bits of strips that begin with the last `pixels % 8` pixels and have no more.
fn pad<'a>(strips: impl Iterator<Item = &'a mut u8>, pixels: u32, packing: &Packing) {
    let unused = match packing.bits {
        BitOrder::MsbFirst => u8::MAX >> (pixels % 8),
        BitOrder::LsbFirst => u8::MAX << (pixels % 8),
    };
    match packing.padding {
        Bit::One => strips.for_each(|strip| *strip |= unused),
        Bit::Zero => strips.for_each(|strip| *strip &= !unused),
    }
}

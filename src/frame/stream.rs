//! The moving of bits between a frame and its packed bytes.
//!
//! Every packing comes down to two steps: the frame is turned so that the eight pixels of a byte lie along x, then bytes are
//! written either row by row (a copy) or column by column. Not for the choice of a packing; see [`super::pack`].

use super::bits::Frame;
use super::pack::{Bit, BitOrder, Lines, Packing};
use super::rows::copy_row;

/// The packed bytes of `frame`; `lines` are those of its size.
pub(super) fn write(frame: &Frame, packing: &Packing, lines: Lines) -> Vec<u8> {
    let turned = frame.turned(packing.byte_turn());
    let padding = if packing.padding == Bit::One { u8::MAX } else { 0 };
    let mut bytes = vec![padding; lines.count as usize * lines.stride as usize];
    if turned.width() == 0 || turned.height() == 0 {
        return bytes;
    }
    let paper = if packing.ink_is == Bit::One { 0 } else { u64::MAX };
    match packing.bits {
        BitOrder::MsbFirst => lay(&turned, packing, lines, &mut bytes, |word| (word ^ paper).to_be_bytes()),
        // Reversing all bits of a word reverses its bytes, too; reading them in little-endian order puts those back.
        BitOrder::LsbFirst => {
            lay(&turned, packing, lines, &mut bytes, |word| (word ^ paper).reverse_bits().to_le_bytes())
        }
    }
    pad_last_strips(turned.width(), packing, lines, &mut bytes);
    bytes
}

/// The frame in `bytes`, whose length is that of `lines`.
pub(super) fn read(bytes: &[u8], width: u32, height: u32, packing: &Packing, lines: Lines) -> Frame {
    let turn = packing.byte_turn();
    let (turned_width, turned_height) = turn.size(width, height);
    let mut turned = Frame::new(turned_width, turned_height);
    if turned_width == 0 || turned_height == 0 {
        return Frame::new(width, height);
    }
    let paper = if packing.ink_is == Bit::One { 0 } else { u64::MAX };
    match packing.bits {
        BitOrder::MsbFirst => lift(bytes, packing, lines, &mut turned, |bytes| u64::from_be_bytes(bytes) ^ paper),
        BitOrder::LsbFirst => {
            lift(bytes, packing, lines, &mut turned, |bytes| u64::from_le_bytes(bytes).reverse_bits() ^ paper);
        }
    }
    turned.turned(turn.inverse()).into_owned()
}

/// Writes all rows of `frame` as lines of bytes, or as bytes across the lines.
fn lay(frame: &Frame, packing: &Packing, lines: Lines, bytes: &mut [u8], convert: impl Fn(u64) -> [u8; 8]) {
    let (line, stride) = (lines.bytes as usize, lines.stride as usize);
    if !packing.byte_lines_are_pixel_lines() {
        for (y, row) in frame.rows().enumerate() {
            let across = bytes[y..].iter_mut().step_by(stride);
            for (byte, value) in across.zip(row.iter().flat_map(|word| convert(*word))) {
                *byte = value;
            }
        }
    } else if line == stride && line == frame.words_per_row() * 8 {
        copy_row(frame.words(), bytes, convert);
    } else {
        for (row, line_bytes) in frame.rows().zip(bytes.chunks_exact_mut(stride)) {
            copy_row(row, &mut line_bytes[..line], &convert);
        }
    }
}

/// The inverse of [`lay`].
fn lift(bytes: &[u8], packing: &Packing, lines: Lines, frame: &mut Frame, convert: impl Fn([u8; 8]) -> u64) {
    let (line, stride) = (lines.bytes as usize, lines.stride as usize);
    if packing.byte_lines_are_pixel_lines() {
        for (y, line_bytes) in (0..frame.height()).zip(bytes.chunks_exact(stride)) {
            frame.take_row(y, &line_bytes[..line], &convert);
        }
        return;
    }
    let mut gathered = vec![0; lines.count as usize];
    for y in 0..frame.height() {
        let across = bytes[y as usize..].iter().step_by(stride);
        gathered.iter_mut().zip(across).for_each(|(to, from)| *to = *from);
        frame.take_row(y, &gathered, &convert);
    }
}

/// Gives the unused bits of each row's last byte the padding's value.
fn pad_last_strips(width: u32, packing: &Packing, lines: Lines, bytes: &mut [u8]) {
    if width.is_multiple_of(8) {
        return;
    }
    let unused = match packing.bits {
        BitOrder::MsbFirst => u8::MAX >> (width % 8),
        BitOrder::LsbFirst => u8::MAX << (width % 8),
    };
    let pad = |byte: &mut u8| match packing.padding {
        Bit::One => *byte |= unused,
        Bit::Zero => *byte &= !unused,
    };
    let (line, stride) = (lines.bytes as usize, lines.stride as usize);
    if packing.byte_lines_are_pixel_lines() {
        bytes[line - 1..].iter_mut().step_by(stride).for_each(pad);
    } else {
        let last_line = bytes.len() - stride;
        bytes[last_line..last_line + line].iter_mut().for_each(pad);
    }
}

//! The eight ways to put a picture down: mirrored, turned by quarter turns, transposed.
//!
//! Not for turning by other angles.

use super::bits::Frame;
use crate::units::ValueFault;
use pulp::{Arch, Simd};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};
use std::borrow::Cow;

/// A clockwise rotation in quarter turns; in text the angle in degrees.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "u16", into = "u16")]
pub enum Rotation {
    /// 0 degrees.
    #[default]
    None,
    /// 90 degrees clockwise: the top row becomes the right column.
    Quarter,
    /// 180 degrees.
    Half,
    /// 270 degrees clockwise: the top row becomes the left column.
    ThreeQuarter,
}

impl Rotation {
    /// All four, by angle.
    pub const ALL: [Self; 4] = [Self::None, Self::Quarter, Self::Half, Self::ThreeQuarter];

    /// The clockwise angle in degrees.
    pub fn degrees(self) -> u16 {
        u16::from(self)
    }

    /// The rotation that undoes this one.
    pub fn inverse(self) -> Self {
        match self {
            Self::Quarter => Self::ThreeQuarter,
            Self::ThreeQuarter => Self::Quarter,
            same => same,
        }
    }
}

impl From<Rotation> for u16 {
    fn from(rotation: Rotation) -> Self {
        match rotation {
            Rotation::None => 0,
            Rotation::Quarter => 90,
            Rotation::Half => 180,
            Rotation::ThreeQuarter => 270,
        }
    }
}

impl TryFrom<u16> for Rotation {
    type Error = ValueFault;

    fn try_from(degrees: u16) -> Result<Self, ValueFault> {
        let known = Self::ALL.into_iter().find(|rotation| rotation.degrees() == degrees);
        known.ok_or_else(|| ValueFault(format!("expected a rotation of 0, 90, 180 or 270 degrees, found {degrees}")))
    }
}

impl JsonSchema for Rotation {
    fn schema_name() -> Cow<'static, str> {
        "Rotation".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A clockwise rotation in degrees.",
            "type": "integer",
            "enum": [0, 90, 180, 270]
        })
    }
}

/// Any of the eight ways: first transposed (rows become columns), then mirrored left-right, then flipped top-bottom, each
/// step only if set. Every sequence of rotations and mirrorings comes down to one of these.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Turn {
    /// Rows become columns: pixel (x, y) moves to (y, x).
    pub transpose: bool,
    /// Left and right change places.
    pub mirror: bool,
    /// Top and bottom change places.
    pub flip: bool,
}

impl Turn {
    /// This turn, then mirrored left-right.
    #[must_use]
    pub fn then_mirror(self) -> Self {
        Self { mirror: !self.mirror, ..self }
    }

    /// This turn, then transposed. A mirrored image transposed is the transposed image flipped.
    #[must_use]
    pub fn then_transpose(self) -> Self {
        Self { transpose: !self.transpose, mirror: self.flip, flip: self.mirror }
    }

    /// This turn, then rotated clockwise. A quarter turn is a transposition, then a mirroring.
    #[must_use]
    pub fn then_rotate(self, rotation: Rotation) -> Self {
        let quarter = |turn: Self| turn.then_transpose().then_mirror();
        match rotation {
            Rotation::None => self,
            Rotation::Quarter => quarter(self),
            Rotation::Half => Self { mirror: !self.mirror, flip: !self.flip, ..self },
            Rotation::ThreeQuarter => quarter(quarter(quarter(self))),
        }
    }

    /// The turn that undoes this one.
    #[must_use]
    pub fn inverse(self) -> Self {
        if self.transpose { Self { transpose: true, mirror: self.flip, flip: self.mirror } } else { self }
    }

    /// Whether rows become columns.
    pub fn is_transposed(self) -> bool {
        self.transpose
    }

    /// The size of an image of `width` by `height` pixels once turned.
    pub fn size(self, width: u32, height: u32) -> (u32, u32) {
        if self.transpose { (height, width) } else { (width, height) }
    }

    /// Where pixel (`x`, `y`) of an image of `width` by `height` pixels lies once turned. The pixel is inside.
    pub fn place(self, x: u32, y: u32, width: u32, height: u32) -> (u32, u32) {
        let (x, y) = self.size(x, y);
        let (width, height) = self.size(width, height);
        (if self.mirror { width - 1 - x } else { x }, if self.flip { height - 1 - y } else { y })
    }
}

impl Frame {
    /// The frame rotated clockwise.
    #[must_use]
    pub fn rotated(&self, rotation: Rotation) -> Frame {
        self.turned(Turn::default().then_rotate(rotation)).into_owned()
    }

    /// The frame with left and right exchanged.
    #[must_use]
    pub fn mirrored(&self) -> Frame {
        self.turned(Turn::default().then_mirror()).into_owned()
    }

    /// The frame turned in any of the eight ways; borrowed if the turn changes nothing.
    pub fn turned(&self, turn: Turn) -> Cow<'_, Frame> {
        if turn == Turn::default() {
            Cow::Borrowed(self)
        } else if turn.transpose {
            Cow::Owned(transposed(self, turn))
        } else {
            Cow::Owned(straight(self, turn))
        }
    }
}

/// Mirrors and flips without transposing.
#[pulp::with_simd(straight = Arch::new())]
#[inline(always)]
fn straight_with<S: Simd>(_: S, frame: &Frame, turn: Turn) -> Frame {
    let mut turned = Frame::new(frame.width(), frame.height());
    let padding = (64 - frame.width() % 64) % 64;
    for (y, from) in (0..).zip(frame.rows()) {
        let to = turned.row_mut(if turn.flip { frame.height() - 1 - y } else { y });
        if !turn.mirror {
            to.copy_from_slice(from);
            continue;
        }
        // Read backwards, the row begins with its padding. Shifting left drops it; each word then ends with the first
        // pixels of the word on its right.
        let mut right = 0u64;
        for (word, from) in to.iter_mut().rev().zip(from) {
            let reversed = from.reverse_bits();
            *word = (reversed << padding) | (right >> 1 >> (63 - padding));
            right = reversed;
        }
    }
    turned
}

/// Transposes in blocks of 64 x 64 pixels, then mirrors by reversing the rows read and flips by reversing the rows written.
#[pulp::with_simd(transposed = Arch::new())]
#[inline(always)]
fn transposed_with<S: Simd>(_: S, frame: &Frame, turn: Turn) -> Frame {
    let (width, height) = (frame.width() as usize, frame.height() as usize);
    let mut turned = Frame::new(frame.height(), frame.width());
    let (stride_in, stride_out) = (frame.words_per_row(), turned.words_per_row());
    for (word_out, top) in (0..height).step_by(64).enumerate() {
        let rows = 64.min(height - top);
        let first_row = if turn.mirror { height - top - rows } else { top };
        for (word_in, left) in (0..width).step_by(64).enumerate() {
            let mut block = [0; 64];
            let from = &frame.words()[first_row * stride_in..(first_row + rows) * stride_in];
            block.iter_mut().zip(from[word_in..].iter().step_by(stride_in)).for_each(|(bits, word)| *bits = *word);
            if turn.mirror {
                block[..rows].reverse();
            }
            transpose_block(&mut block);
            let columns = 64.min(width - left);
            let first_column = if turn.flip { width - left - columns } else { left };
            if turn.flip {
                block[..columns].reverse();
            }
            let to = &mut turned.words_mut()[first_column * stride_out..(first_column + columns) * stride_out];
            to[word_out..].iter_mut().step_by(stride_out).zip(block).for_each(|(word, bits)| *word = bits);
        }
    }
    turned
}

/// Transposes 64 x 64 bits, rows being words with the leftmost bit on top.
#[inline(always)]
fn transpose_block(block: &mut [u64; 64]) {
    let mut mask = u64::MAX >> 32;
    for side in [32, 16, 8, 4, 2, 1] {
        swap_squares(block, side, side, mask);
        mask ^= mask << (side / 2);
    }
}

/// One step of a transposition by halves: in each group of `2 * side` rows, the upper right and the lower left squares
/// change places. `shift` bits wide squares stand `shift` bits apart; `mask` covers the right one of each pair. All squares
/// of a row are moved at once, as in the chapter on bit matrices of H. S. Warren, "Hacker's Delight".
#[inline(always)]
pub(super) fn swap_squares(rows: &mut [u64], side: usize, shift: usize, mask: u64) {
    for group in rows.chunks_exact_mut(2 * side) {
        let (upper, lower) = group.split_at_mut(side);
        for (top, bottom) in upper.iter_mut().zip(lower) {
            let swap = (*top ^ (*bottom >> shift)) & mask;
            *top ^= swap;
            *bottom ^= swap << shift;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::assert::assert_picture;

    #[test]
    fn rotations_are_clockwise() {
        let frame = Frame::from_pattern(&["##.", "#.."]);
        assert_picture(&frame.rotated(Rotation::None), &["##.", "#.."]);
        assert_picture(&frame.rotated(Rotation::Quarter), &["##", ".#", ".."]);
        assert_picture(&frame.rotated(Rotation::Half), &["..#", ".##"]);
        assert_picture(&frame.rotated(Rotation::ThreeQuarter), &["..", "#.", "##"]);
        assert_picture(&frame.mirrored(), &[".##", "..#"]);
    }

    #[test]
    fn angles_other_than_quarter_turns_are_refused() {
        let refused = Rotation::try_from(45).expect_err("45 is no quarter turn");
        assert_eq!(refused.to_string(), "expected a rotation of 0, 90, 180 or 270 degrees, found 45");
    }
}

//! The eight ways to put a picture down: mirrored, turned by quarter turns, transposed.
//!
//! Not for turning by other angles.

use super::bits::Frame;
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
    type Error = String;

    fn try_from(degrees: u16) -> Result<Self, String> {
        let known = Self::ALL.into_iter().find(|rotation| rotation.degrees() == degrees);
        known.ok_or_else(|| format!("expected a rotation of 0, 90, 180 or 270 degrees, found {degrees}"))
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

    /// This turn, then transposed. A mirrored picture transposed is the transposed picture flipped.
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

    /// The size of a picture of `width` by `height` pixels once turned.
    pub fn size(self, width: u32, height: u32) -> (u32, u32) {
        if self.transpose { (height, width) } else { (width, height) }
    }

    /// Where pixel (`x`, `y`) of a picture of `width` by `height` pixels lies once turned. The pixel is inside.
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
fn straight(frame: &Frame, turn: Turn) -> Frame {
    let mut turned = Frame::new(frame.width(), frame.height());
    let padding = (64 - frame.width() % 64) % 64;
    for y in 0..frame.height() {
        let to = turned.row_mut(if turn.flip { frame.height() - 1 - y } else { y });
        let from = frame.row(y);
        if !turn.mirror {
            to.copy_from_slice(from);
            continue;
        }
        // Read backwards, the row begins with its padding; shifting left drops it. The bits that a word hands to the one
        // on its left come from its top.
        let mut reversed = from.iter().rev().map(|word| word.reverse_bits()).peekable();
        for word in to {
            let Some(left) = reversed.next() else { break };
            let right = reversed.peek().copied().unwrap_or(0);
            *word = if padding == 0 { left } else { (left << padding) | (right >> (64 - padding)) };
        }
    }
    turned
}

/// Transposes in blocks of 64 x 64 pixels, then mirrors by reading rows and flips by writing rows in reverse order.
fn transposed(frame: &Frame, turn: Turn) -> Frame {
    let (width, height) = (frame.width(), frame.height());
    let mut turned = Frame::new(height, width);
    let words_per_row = frame.words_per_row();
    for (word_out, top) in (0..height).step_by(64).enumerate() {
        let rows = top..height.min(top + 64);
        for (word_in, left) in (0..words_per_row).zip((0..width).step_by(64)) {
            let mut block = [0; 64];
            for (bits, y) in block.iter_mut().zip(rows.clone()) {
                *bits = frame.row(if turn.mirror { height - 1 - y } else { y })[word_in];
            }
            transpose_block(&mut block);
            for (bits, x) in block.iter().zip(left..width.min(left + 64)) {
                turned.row_mut(if turn.flip { width - 1 - x } else { x })[word_out] = *bits;
            }
        }
    }
    turned
}

/// Transposes 64 x 64 bits, row by row in words with the leftmost bit on top. At each step the top right and the bottom
/// left quarter of every square of `2 * side` bits change places, all columns at once; the method is that of the bit matrix
/// chapter of "Hacker's Delight" (H. S. Warren).
fn transpose_block(block: &mut [u64; 64]) {
    let mut mask = u64::MAX >> 32;
    let mut side = 32;
    while side > 0 {
        for square in block.chunks_exact_mut(2 * side) {
            let (upper, lower) = square.split_at_mut(side);
            for (top, bottom) in upper.iter_mut().zip(lower) {
                let swap = (*top ^ (*bottom >> side)) & mask;
                *top ^= swap;
                *bottom ^= swap << side;
            }
        }
        side /= 2;
        mask ^= mask << side;
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
        assert_eq!(refused, "expected a rotation of 0, 90, 180 or 270 degrees, found 45");
    }
}

//! One operation before it is bytes: texts, faces and bitmaps in it are still themselves.

use super::guard::Test;
use super::numbers;
use super::words::{Marking, Words};
use embedded_graphics::prelude::Point;
use embedded_graphics::primitives::Rectangle;

/// Kinds of operations, in the lowest four bits of the first number.
pub(super) const FILL: u8 = 0;
pub(super) const TILE: u8 = 1;
pub(super) const BITMAP: u8 = 2;
pub(super) const TEXT: u8 = 3;
pub(super) const VALUE: u8 = 4;
pub(super) const BAR: u8 = 5;
pub(super) const MARKER: u8 = 6;
pub(super) const ARC: u8 = 7;
pub(super) const RING_MARKER: u8 = 8;
pub(super) const HISTORY: u8 = 9;
pub(super) const ROWS: u8 = 10;
/// Tests of what follows, and a call of what stands elsewhere.
pub(super) const GUARD: u8 = 11;
pub(super) const CALL: u8 = 12;

/// Bits of the first number: something more follows, paper rather than ink, tests follow.
pub(super) const EXTRA: u8 = 16;
pub(super) const PAPER: u8 = 32;
pub(super) const TESTS: u8 = 64;
/// The bits that are the kind.
pub(super) const KIND: u8 = 15;

/// A piece of an operation.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum OpPart {
    Number(u32),
    /// A text; none stands for no cell.
    Text(Option<Words>),
    /// A bitmap's position.
    Bitmap(usize),
    /// The marks of numbers.
    Marks(Marking),
}

/// An operation.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct Op {
    /// Kind and bits.
    pub head: u8,
    /// Nothing is drawn outside; lies on the screen.
    pub area: Rectangle,
    pub tests: Vec<Test>,
    pub parts: Vec<OpPart>,
}

impl Op {
    pub fn new(head: u8, area: Rectangle) -> Self {
        Self { head, area, tests: Vec::new(), parts: Vec::new() }
    }

    /// Goes on with a part.
    pub fn then(mut self, part: OpPart) -> Self {
        self.parts.push(part);
        self
    }

    pub fn byte(self, byte: u8) -> Self {
        self.number(u32::from(byte))
    }

    pub fn number(self, value: u32) -> Self {
        self.then(OpPart::Number(value))
    }

    pub fn signed(self, value: i32) -> Self {
        self.number(numbers::folded(value))
    }

    pub fn raw(self, raw: &[u8]) -> Self {
        raw.iter().fold(self, |op, byte| op.byte(*byte))
    }

    /// A rectangle counted from the area's corner: top, height, left, width.
    pub fn rectangle(self, rectangle: Rectangle) -> Self {
        let Point { x, y } = rectangle.top_left - self.area.top_left;
        self.signed(y).number(rectangle.size.height).signed(x).number(rectangle.size.width)
    }

    pub fn text(self, words: Words) -> Self {
        self.then(OpPart::Text(Some(words)))
    }

    pub fn cell(self, words: Option<Words>) -> Self {
        self.then(OpPart::Text(words))
    }

    pub fn bitmap(self, position: usize) -> Self {
        self.then(OpPart::Bitmap(position))
    }

    /// A number of the operation by its position.
    pub fn number_at(&self, position: usize) -> u32 {
        match self.parts.get(position) {
            Some(OpPart::Number(number)) => *number,
            _ => 0,
        }
    }

    /// The texts in it.
    pub fn texts(&self) -> impl Iterator<Item = &Words> {
        self.parts.iter().filter_map(|part| match part {
            OpPart::Text(Some(words)) => Some(words),
            _ => None,
        })
    }
}

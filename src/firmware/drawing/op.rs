//! One operation before it is bytes: texts, faces and bitmaps in it are still themselves.

use super::bits::{number, signed};
use super::guard::Test;
use super::words::{Signs, Words};
use embedded_graphics::prelude::Point;
use embedded_graphics::primitives::Rectangle;

/// Kinds of operations, in the lowest five bits of the first byte.
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

/// Bits of the first byte: something more follows, paper rather than ink, tests follow.
pub(super) const EXTRA: u8 = 32;
pub(super) const PAPER: u8 = 64;
pub(super) const TESTS: u8 = 128;

/// A piece of an operation.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum OpPart {
    Bytes(Vec<u8>),
    /// A text; none stands for no cell.
    Text(Option<Words>),
    /// A bitmap's position.
    Bitmap(usize),
    /// The marks of numbers.
    Signs(Signs),
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

    /// Goes on with bytes, behind those that stand last.
    fn then(mut self, write: impl FnOnce(&mut Vec<u8>)) -> Self {
        let mut bytes = match self.parts.pop() {
            Some(OpPart::Bytes(bytes)) => bytes,
            other => {
                self.parts.extend(other);
                Vec::new()
            }
        };
        write(&mut bytes);
        self.parts.push(OpPart::Bytes(bytes));
        self
    }

    pub fn byte(self, byte: u8) -> Self {
        self.then(|bytes| bytes.push(byte))
    }

    pub fn number(self, value: u32) -> Self {
        self.then(|bytes| number(value, bytes))
    }

    pub fn signed(self, value: i32) -> Self {
        self.then(|bytes| signed(value, bytes))
    }

    pub fn raw(self, raw: &[u8]) -> Self {
        self.then(|bytes| bytes.extend(raw))
    }

    /// A point counted from the area's corner.
    pub fn point(self, point: Point) -> Self {
        let from = point - self.area.top_left;
        self.signed(from.x).signed(from.y)
    }

    /// A rectangle counted from the area's corner.
    pub fn rectangle(self, rectangle: Rectangle) -> Self {
        self.point(rectangle.top_left).number(rectangle.size.width).number(rectangle.size.height)
    }

    pub fn text(mut self, words: Words) -> Self {
        self.parts.push(OpPart::Text(Some(words)));
        self
    }

    pub fn cell(mut self, words: Option<Words>) -> Self {
        self.parts.push(OpPart::Text(words));
        self
    }

    pub fn bitmap(mut self, position: usize) -> Self {
        self.parts.push(OpPart::Bitmap(position));
        self
    }

    pub fn signs(mut self, signs: Signs) -> Self {
        self.parts.push(OpPart::Signs(signs));
        self
    }

    /// The texts in it.
    pub fn texts(&self) -> impl Iterator<Item = &Words> {
        self.parts.iter().filter_map(|part| match part {
            OpPart::Text(Some(words)) => Some(words),
            _ => None,
        })
    }

    /// Whether two differ in nothing but their texts.
    pub fn alike(&self, other: &Self) -> bool {
        let same = |(mine, its): (&OpPart, &OpPart)| match (mine, its) {
            (OpPart::Text(mine), OpPart::Text(its)) => mine.is_some() == its.is_some(),
            (mine, its) => mine == its,
        };
        (self.head, self.area, &self.tests) == (other.head, other.area, &other.tests)
            && self.parts.len() == other.parts.len()
            && self.parts.iter().zip(&other.parts).all(same)
    }
}

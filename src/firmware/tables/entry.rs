//! Texts and values of operations as runs: a piece list and the numbers that place it, so that firmware only measures and copies.

use super::faces::Stock;
use super::{EntryKind, LONGEST_TEXT};
use crate::frame::Paint;
use crate::screen::face::Face;
use crate::screen::guard::Guard;
use crate::screen::operation::{Operation, Shape, Text, Value};
use crate::screen::template::{Piece, Template};
use crate::screen::typeset::{Overflow, Stand};
use crate::screen::values::Values;
use embedded_graphics::primitives::Rectangle;
use std::sync::Arc;

/// One run of text with live values in it.
#[derive(Clone, Debug)]
pub struct Run {
    /// The position of its face in [`Stock`].
    pub face: usize,
    /// The text's pieces.
    pub pieces: Vec<Part>,
    /// Pixels from the area's left edge to the run's room.
    pub start: i32,
    /// Pixels that the run is aligned in.
    pub room: i32,
    /// Where a line stands in the room.
    pub align: Stand,
    /// Where the lines stand down the area.
    pub vertical: Stand,
    /// Pixels from the area's upper edge to the first baseline, before `spread` is shared out.
    pub rise: i32,
    /// Pixels that are left beside a line of capitals, half of which a run in the middle lies lower.
    pub spread: i32,
    /// Pixels added between characters.
    pub spacing: i32,
    /// Drawn with paper instead of ink.
    pub reversed: bool,
    /// Broken into lines at spaces.
    pub wrap: bool,
    /// Shortened to end in an ellipsis where it does not fit.
    pub ellipsis: bool,
}

/// A piece of a run's text; texts are positions in the sheet's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// A fixed text.
    Fixed(usize),
    /// A field as a number with decimals.
    Number(usize, usize),
    /// A field as one of some texts: the field, the first text, how many.
    Choice(usize, usize, usize),
    /// A field that the firmware writes itself, such as a time, and its pattern.
    Given(usize, usize),
}

/// Whether firmware can draw an operation as fills and runs: black areas, texts that keep their face and are not too long
/// for the C reference, values that keep their places.
pub fn serves(operation: &Operation) -> bool {
    let guarded = !matches!(operation.guard, Guard::Always);
    match &operation.shape {
        _ if guarded => false,
        Shape::Fill { ink } => *ink,
        Shape::Text(Text { template, setting, room, .. }) => {
            // What shrinks at its widest is left to the firmware's own code.
            let fits = |text: &String| setting.settled(text, room.size) == setting.measure(text, Some(room.size.width));
            let shrinks = setting.overflow == Overflow::Shrink && !template.extremes().iter().all(fits);
            !shrinks && is_short(template)
        }
        // Where the unit follows the digits, only the program's own code can place it.
        Shape::Value(value) => value.fixed_width && is_short(&value.number) && is_short(&value.unit),
        _ => false,
    }
}

/// What firmware draws for an operation; nothing where [`serves`] says that it cannot.
pub fn drawn(operation: &Operation, values: &Values, texts: &mut Vec<String>, faces: &mut Stock) -> Vec<EntryKind> {
    let mut stores = Stores { values, texts, faces };
    match &operation.shape {
        Shape::Fill { ink: true } => vec![EntryKind::Fill],
        Shape::Text(text) => vec![EntryKind::Run(stores.text(text, operation.area))],
        Shape::Value(value) => stores.value(value, operation.area).into_iter().map(EntryKind::Run).collect(),
        _ => Vec::new(),
    }
}

/// Whether the C reference can hold every text of a template, and has code points wide enough.
fn is_short(template: &Template) -> bool {
    if template.pieces.iter().any(|piece| piece.any(is_own)) {
        return false;
    }
    let texts = template.extremes();
    let longest = texts.iter().map(|text| text.chars().count()).max().unwrap_or(0);
    longest <= LONGEST_TEXT && texts.iter().flat_map(|text| text.chars()).all(|c| u32::from(c) <= 0xFFFF)
}

/// What the C reference does not write yet: units that a setting chooses, marks of locales, earlier values, editors.
fn is_own(piece: &Piece) -> bool {
    matches!(piece, Piece::Shown(_) | Piece::By { .. } | Piece::Back { .. } | Piece::Joined(_) | Piece::Cell { .. })
}

/// Where texts and glyphs in use are gathered.
struct Stores<'a> {
    values: &'a Values,
    texts: &'a mut Vec<String>,
    faces: &'a mut Stock,
}

impl Stores<'_> {
    fn text(&mut self, text: &Text, area: Rectangle) -> Run {
        let Text { template, setting, room, .. } = text;
        let pieces = self.parts(template, &setting.face);
        if setting.overflow == Overflow::Ellipsis {
            self.faces.need(&setting.face, ['…']);
        }
        let from = room.top_left - area.top_left;
        let (rise, spread) = heights(&setting.face, setting.vertical, room.size.height as i32);
        Run {
            face: self.faces.face(&setting.face),
            pieces,
            start: from.x,
            room: room.size.width as i32,
            align: setting.align,
            vertical: setting.vertical,
            rise: rise + from.y,
            spread,
            spacing: setting.spacing,
            reversed: setting.reversed,
            wrap: setting.wrap,
            ellipsis: setting.overflow == Overflow::Ellipsis,
        }
    }

    /// The digits, then the unit.
    fn value(&mut self, value: &Value, area: Rectangle) -> Vec<Run> {
        let pieces = self.parts(&value.number, &value.face);
        let block = value.widest + value.gap + value.unit_width;
        let left = value.room.top_left.x - area.top_left.x + value.align.offset(value.room.size.width as i32, block);
        let baseline = value.baseline - area.top_left.y;
        let flush = value.align == Stand::Start && value.unit.pieces.is_empty();
        let run = Run {
            face: self.faces.face(&value.face),
            pieces,
            start: left,
            room: value.widest,
            align: if flush { Stand::Start } else { Stand::End },
            vertical: Stand::Start,
            rise: baseline,
            spread: 0,
            spacing: 0,
            reversed: value.paint == Paint::Paper,
            wrap: false,
            ellipsis: false,
        };
        if value.unit.pieces.is_empty() {
            return vec![run];
        }
        let unit = Run {
            face: self.faces.face(&value.unit_face),
            pieces: self.parts(&value.unit, &value.unit_face),
            start: left + value.widest + value.gap,
            room: 0,
            align: Stand::Start,
            rise: baseline - value.raise,
            ..run.clone()
        };
        vec![run, unit]
    }

    fn parts(&mut self, template: &Template, face: &Arc<Face>) -> Vec<Part> {
        template.pieces.iter().map(|piece| self.part(piece, face)).collect()
    }

    /// The position of texts that follow one another in the sheet's list.
    fn keep(&mut self, new: &[String]) -> usize {
        let found = self.texts.windows(new.len().max(1)).position(|old| old == new);
        found.unwrap_or_else(|| {
            self.texts.extend(new.iter().cloned());
            self.texts.len() - new.len()
        })
    }

    fn part(&mut self, piece: &Piece, face: &Arc<Face>) -> Part {
        match piece {
            Piece::Fixed(text) => {
                self.faces.need(face, text.chars());
                Part::Fixed(self.keep(std::slice::from_ref(text)))
            }
            Piece::Number { field, decimals, range } => {
                self.faces.need(face, ('0'..='9').chain(['–']));
                self.faces.need(face, ['.'].into_iter().filter(|_| *decimals > 0));
                self.faces.need(face, ['−'].into_iter().filter(|_| range[0] < 0.0));
                Part::Number(field.0, (*decimals).min(9))
            }
            Piece::Choice { field, texts: choices } => {
                self.faces.need(face, choices.iter().flat_map(|text| text.chars()));
                Part::Choice(field.0, self.keep(choices), choices.len())
            }
            Piece::Clock { field, pattern } => {
                self.faces.need(face, clock_characters(piece, self.values, field.0));
                Part::Given(field.0, self.keep(std::slice::from_ref(pattern)))
            }
            // Not served; see `is_own`.
            Piece::Shown(_) | Piece::By { .. } | Piece::Back { .. } | Piece::Joined(_) | Piece::Cell { .. } => {
                Part::Fixed(self.keep(&[String::new()]))
            }
            Piece::Stated { piece, worst } => {
                self.faces.need(face, worst.chars());
                self.part(piece, face)
            }
        }
    }
}

fn heights(face: &Face, vertical: Stand, height: i32) -> (i32, i32) {
    match vertical {
        Stand::Start => (face.ascent, 0),
        Stand::Center => (face.cap_height, height - face.cap_height),
        Stand::End => (height - face.descent, 0),
    }
}

/// Every character that a clock's pattern can write: each second, minute, hour and day of a year has been seen.
fn clock_characters(piece: &Piece, values: &Values, field: usize) -> Vec<char> {
    let template = Template { pieces: vec![piece.clone()] };
    let mut trial = values.clone();
    let seconds =
        (0..60).chain((0..60).map(|n| n * 60)).chain((0..24).map(|n| n * 3600)).chain((0..366).map(|n| n * 86_400));
    let mut seen: Vec<char> = ('0'..='9').collect();
    for second in seconds {
        if let Some(now) = trial.now.get_mut(field) {
            *now = f64::from(second);
        }
        seen.extend(template.text(&trial).chars());
        seen.sort_unstable();
        seen.dedup();
    }
    seen
}

//! Live texts of elements as runs: a piece list and the numbers that place it, so that firmware only measures and copies.

use super::LONGEST_TEXT;
use super::faces::Stock;
use crate::elements::inset;
use crate::screen::Item;
use crate::screen::face::Face;
use crate::screen::live::{Figure, Live};
use crate::screen::template::{Piece, Template};
use crate::screen::typeset::{Overflow, Stand};
use crate::screen::values::Values;

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

/// The runs of an element.
#[derive(Clone, Debug)]
pub struct Runs {
    /// The area is filled with ink first.
    pub filled: bool,
    /// The runs in order.
    pub runs: Vec<Run>,
}

/// The runs of an element's live text. `None` where they are too long for the C reference.
pub fn runs(live: &Live<'_>, item: &Item, values: &Values, texts: &mut Vec<String>, faces: &mut Stock) -> Option<Runs> {
    let black = match live {
        Live::Text { filled, .. } => *filled,
        Live::Value(figure) => figure.inverted,
    };
    let room = if black { inset(item.area) } else { item.area };
    let edge = room.top_left.x - item.area.top_left.x;
    let (width, height) = (room.size.width as i32, room.size.height as i32);
    match live {
        Live::Text { template, setting, filled } => {
            // What shrinks at its widest is left to the firmware's own code.
            let fits = |text: &String| setting.settled(text, room.size) == setting.measure(text, Some(room.size.width));
            if setting.overflow == Overflow::Shrink && !template.extremes().iter().all(fits) {
                return None;
            }
            let pieces = parts(template, &setting.face, values, texts, faces)?;
            if setting.overflow == Overflow::Ellipsis {
                faces.need(&setting.face, ['…']);
            }
            let (rise, spread) = heights(&setting.face, setting.vertical, height);
            let run = Run {
                face: faces.face(&setting.face),
                pieces,
                start: edge,
                room: width,
                align: setting.align,
                vertical: setting.vertical,
                rise,
                spread,
                spacing: setting.spacing,
                reversed: setting.reversed,
                wrap: setting.wrap,
                ellipsis: setting.overflow == Overflow::Ellipsis,
            };
            Some(Runs { filled: *filled, runs: vec![run] })
        }
        Live::Value(figure) => {
            let mut runs = value(figure, width, height, values, texts, faces)?;
            runs.iter_mut().for_each(|run| run.start += edge);
            Some(Runs { filled: figure.inverted, runs })
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

fn value(
    figure: &Figure<'_>,
    width: i32,
    height: i32,
    values: &Values,
    texts: &mut Vec<String>,
    faces: &mut Stock,
) -> Option<Vec<Run>> {
    let digits = parts(figure.number, figure.face, values, texts, faces)?;
    let block = figure.widest + figure.gap + figure.unit_face.width(figure.unit);
    let left = figure.align.offset(width, block);
    let flush = figure.align == Stand::Start && figure.unit.is_empty();
    let (rise, spread) = heights(figure.face, figure.vertical, height);
    let baseline = rise + if figure.vertical == Stand::Center { spread.div_euclid(2) } else { 0 };
    let run = Run {
        face: faces.face(figure.face),
        pieces: digits,
        start: left,
        room: figure.widest,
        align: if flush { Stand::Start } else { Stand::End },
        vertical: Stand::Start,
        rise: baseline,
        spread: 0,
        spacing: 0,
        reversed: figure.inverted,
        wrap: false,
        ellipsis: false,
    };
    if figure.unit.is_empty() {
        return Some(vec![run]);
    }
    let raise = match figure.unit_at {
        Stand::Start => figure.face.cap_height - figure.unit_face.cap_height,
        Stand::Center => (figure.face.cap_height - figure.unit_face.cap_height) / 2,
        Stand::End => 0,
    };
    let template = Template::fixed(figure.unit);
    let unit = Run {
        face: faces.face(figure.unit_face),
        pieces: parts(&template, figure.unit_face, values, texts, faces)?,
        start: left + figure.widest + figure.gap,
        room: 0,
        align: Stand::Start,
        rise: baseline - raise,
        ..run.clone()
    };
    Some(vec![run, unit])
}

fn parts(
    template: &Template,
    face: &std::sync::Arc<Face>,
    values: &Values,
    texts: &mut Vec<String>,
    faces: &mut Stock,
) -> Option<Vec<Part>> {
    let longest = template.extremes().iter().map(|text| text.chars().count()).max().unwrap_or(0);
    let plain = template.extremes().iter().flat_map(|text| text.chars()).all(|c| u32::from(c) <= 0xFFFF);
    if longest > LONGEST_TEXT || !plain {
        return None;
    }
    Some(template.pieces.iter().map(|piece| part(piece, face, values, texts, faces)).collect())
}

fn part(
    piece: &Piece,
    face: &std::sync::Arc<Face>,
    values: &Values,
    texts: &mut Vec<String>,
    faces: &mut Stock,
) -> Part {
    let mut keep = |new: &[String]| {
        let found = texts.windows(new.len().max(1)).position(|old| old == new);
        found.unwrap_or_else(|| {
            texts.extend(new.iter().cloned());
            texts.len() - new.len()
        })
    };
    match piece {
        Piece::Fixed(text) => {
            faces.need(face, text.chars());
            Part::Fixed(keep(std::slice::from_ref(text)))
        }
        Piece::Number { field, decimals, range } => {
            faces.need(face, ('0'..='9').chain(['–']));
            faces.need(face, ['.'].into_iter().filter(|_| *decimals > 0));
            faces.need(face, ['−'].into_iter().filter(|_| range[0] < 0.0));
            Part::Number(field.0, (*decimals).min(9))
        }
        Piece::Choice { field, texts: choices } => {
            faces.need(face, choices.iter().flat_map(|text| text.chars()));
            Part::Choice(field.0, keep(choices), choices.len())
        }
        Piece::Clock { field, pattern } => {
            faces.need(face, clock_characters(piece, values, field.0));
            Part::Given(field.0, keep(std::slice::from_ref(pattern)))
        }
        Piece::Stated { piece, worst } => {
            faces.need(face, worst.chars());
            part(piece, face, values, texts, faces)
        }
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

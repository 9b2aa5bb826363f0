//! Finds the packing from a few answers: what the orientation picture looks like on the panel, in words.

use super::Seen;
use crate::frame::{Frame, Turn};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// One question.
#[derive(Clone, Copy, Debug)]
pub struct Question {
    /// Its name in answers on the command line.
    pub key: &'static str,
    /// The question.
    pub ask: &'static str,
    /// The answers.
    pub answers: &'static [&'static str],
    answer: fn(&Seen, &Frame) -> usize,
}

const SHADES: &[&str] = &["white", "black", "mixed"];

/// Every question.
pub const QUESTIONS: &[Question] = &[
    Question {
        key: "shapes",
        ask: "How does the big F stand: right, mirrored left to right, flipped like a reflection in water, or turned by half a \
              turn? If it is cut up, sheared or nowhere: scrambled.",
        answers: &["right", "mirrored", "flipped", "half-turn", "scrambled"],
        answer: shapes,
    },
    Question {
        key: "ground",
        ask: "Is more of the display white or black?",
        answers: &["white", "black"],
        answer: |seen, _| {
            usize::from(seen.frame.ink_count() * 2 > u64::from(seen.frame.width()) * u64::from(seen.frame.height()))
        },
    },
    Question {
        key: "top-left",
        ask: "What is in the top left corner (a sixth of the display wide and high)?",
        answers: SHADES,
        answer: |seen, _| shade(&seen.frame, 0, 0),
    },
    Question {
        key: "top-right",
        ask: "What is in the top right corner?",
        answers: SHADES,
        answer: |seen, _| shade(&seen.frame, 5, 0),
    },
    Question {
        key: "bottom-left",
        ask: "What is in the bottom left corner?",
        answers: SHADES,
        answer: |seen, _| shade(&seen.frame, 0, 5),
    },
    Question {
        key: "bottom-right",
        ask: "What is in the bottom right corner?",
        answers: SHADES,
        answer: |seen, _| shade(&seen.frame, 5, 5),
    },
    Question {
        key: "middle",
        ask: "What is in the middle?",
        answers: SHADES,
        answer: |seen, _| shade_of(&seen.frame, 2, 2, 2),
    },
    Question {
        key: "top",
        ask: "What is in the middle of the top sixth of the display?",
        answers: SHADES,
        answer: |seen, _| shade(&seen.frame, 3, 0),
    },
    Question {
        key: "bottom",
        ask: "What is in the middle of the bottom sixth of the display?",
        answers: SHADES,
        answer: |seen, _| shade(&seen.frame, 3, 5),
    },
    Question {
        key: "left",
        ask: "What is in the middle of the left sixth of the display?",
        answers: SHADES,
        answer: |seen, _| shade(&seen.frame, 0, 3),
    },
    Question {
        key: "right",
        ask: "What is in the middle of the right sixth of the display?",
        answers: SHADES,
        answer: |seen, _| shade(&seen.frame, 5, 3),
    },
    Question {
        key: "sides",
        ask: "Which half has more black, the left or the right one, or are they much alike?",
        answers: &["left", "right", "alike"],
        answer: |seen, _| halves(&seen.frame, false),
    },
    Question {
        key: "halves",
        ask: "Which half has more black, the upper or the lower one, or are they much alike?",
        answers: &["upper", "lower", "alike"],
        answer: |seen, _| halves(&seen.frame, true),
    },
    Question {
        key: "grain",
        ask: "Is the image made of upright strokes, of level strokes, or of neither more than the other?",
        answers: &["upright", "level", "neither"],
        answer: |seen, _| grain(&seen.frame),
    },
    Question {
        key: "left-edge",
        ask: "Look at the outermost pixels of the left edge: an unbroken line, none, or pieces?",
        answers: &["none", "line", "pieces"],
        answer: |seen, _| edge(seen, false, false),
    },
    Question {
        key: "right-edge",
        ask: "Look at the outermost pixels of the right edge.",
        answers: &["none", "line", "pieces"],
        answer: |seen, _| edge(seen, false, true),
    },
    Question {
        key: "top-edge",
        ask: "Look at the outermost pixels of the top edge.",
        answers: &["none", "line", "pieces"],
        answer: |seen, _| edge(seen, true, false),
    },
    Question {
        key: "bottom-edge",
        ask: "Look at the outermost pixels of the bottom edge.",
        answers: &["none", "line", "pieces"],
        answer: |seen, _| edge(seen, true, true),
    },
];

fn shapes(seen: &Seen, picture: &Frame) -> usize {
    let turns = [(false, false), (true, false), (false, true), (true, true)];
    let same = |frame: &Frame| {
        turns.iter().position(|(mirror, flip)| {
            *picture.turned(Turn { transpose: false, mirror: *mirror, flip: *flip }) == *frame
        })
    };
    let mut inverted = seen.frame.clone();
    inverted.invert(Rectangle::new(Point::zero(), inverted.size()));
    same(&seen.frame).or_else(|| same(&inverted)).unwrap_or(4)
}

/// The shade of a zone, counted in sixths of the sides.
fn shade(frame: &Frame, column: u32, row: u32) -> usize {
    shade_of(frame, column, row, 1)
}

fn shade_of(frame: &Frame, column: u32, row: u32, sixths: u32) -> usize {
    let (wide, tall) = ((frame.width() / 6).max(1), (frame.height() / 6).max(1));
    let left = column * frame.width() / 6;
    let top = row * frame.height() / 6;
    let zone = Rectangle::new(Point::new(left as i32, top as i32), Size::new(wide * sixths, tall * sixths));
    let share = frame.ink_count_in(zone) as f64 / f64::from(wide * tall * sixths * sixths).max(1.0);
    if share < 0.15 { 0 } else { usize::from(share <= 0.85) + 1 }
}

/// Which half has clearly more ink: a third more than the other, and more than a hundredth of the panel.
fn halves(frame: &Frame, down: bool) -> usize {
    let (width, height) = (frame.width(), frame.height());
    let size = if down { Size::new(width, height / 2) } else { Size::new(width / 2, height) };
    let far =
        if down { Point::new(0, (height - height / 2) as i32) } else { Point::new((width - width / 2) as i32, 0) };
    let first = frame.ink_count_in(Rectangle::new(Point::zero(), size));
    let second = frame.ink_count_in(Rectangle::new(far, size));
    let clear = first.abs_diff(second) * 100 > u64::from(width) * u64::from(height);
    match first.cmp(&second) {
        std::cmp::Ordering::Greater if clear && first * 3 > second * 4 => 0,
        std::cmp::Ordering::Less if clear && second * 3 > first * 4 => 1,
        _ => 2,
    }
}

/// Whether neighbours differ more often across (upright strokes) or down (level strokes): twice as often counts.
fn grain(frame: &Frame) -> usize {
    let (width, height) = (frame.width(), frame.height());
    let (mut across, mut down) = (0u64, 0u64);
    for (x, y) in (0..height).flat_map(|y| (0..width).map(move |x| (x, y))) {
        let ink = frame.ink(x, y);
        across += u64::from(x + 1 < width && frame.ink(x + 1, y) != ink);
        down += u64::from(y + 1 < height && frame.ink(x, y + 1) != ink);
    }
    if across > down * 2 { 0 } else { usize::from(down <= across * 2) + 1 }
}

fn edge(seen: &Seen, across: bool, far: bool) -> usize {
    let (width, height) = (seen.frame.width(), seen.frame.height());
    let last = |side: u32| if far { side.saturating_sub(1) } else { 0 };
    let line: Vec<bool> = match across {
        true => (0..width).map(|x| seen.frame.ink(x, last(height))).collect(),
        false => (0..height).map(|y| seen.frame.ink(last(width), y)).collect(),
    };
    let ink = line.iter().filter(|ink| **ink).count();
    match ink {
        0 => 0,
        all if all == line.len() => 1,
        _ => 2,
    }
}

impl Question {
    /// The position of the answer for one way the picture can look.
    pub fn answer_for(&self, seen: &Seen, picture: &Frame) -> usize {
        (self.answer)(seen, picture)
    }
}

/// The question of a name.
pub fn question(key: &str) -> Option<&'static Question> {
    QUESTIONS.iter().find(|question| question.key == key)
}

/// The looks that agree with an answer.
pub fn keep(looks: Vec<Seen>, picture: &Frame, question: &Question, answer: usize) -> Vec<Seen> {
    looks.into_iter().filter(|seen| question.answer_for(seen, picture) == answer).collect()
}

/// The question that leaves the fewest looks in the worst case; `None` where no question tells them apart.
pub fn best(looks: &[Seen], picture: &Frame) -> Option<&'static Question> {
    let left = |question: &Question| {
        let mut counts = vec![0; question.answers.len()];
        looks.iter().for_each(|seen| counts[question.answer_for(seen, picture)] += 1);
        counts.into_iter().max().unwrap_or(0)
    };
    QUESTIONS.iter().min_by_key(|question| left(question)).filter(|question| left(question) < looks.len())
}

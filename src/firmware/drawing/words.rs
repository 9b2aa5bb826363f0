//! Texts as firmware composes them: characters by number, fields as numbers, choices and times, each text stored once.
//!
//! Codes below [`FIRST`] are no characters. What stands behind them is written in `ink_draw.c`.

use super::bits::number;
use super::clock::{self, Stamp};
use crate::screen::shown::{Marks, Scale};
use crate::screen::template::{Piece, Template};
use std::collections::{BTreeSet, HashMap};

const END: u8 = 0;
const NUMBER: u8 = 1;
const CHOICE: u8 = 2;
const CLOCK: u8 = 3;
const STAMP: u8 = 4;
const LINE: u8 = 5;

/// Characters that the interpreter knows by their numbers, from this one on.
pub(super) const FIRST: u16 = 8;
const KNOWN: &str = " …−–.0123456789:smhd";

/// The first code that takes two bytes.
const LONG: u16 = 0xF0;

/// Characters that a text can have at most, and different ones that a design can.
pub(super) const LONGEST: usize = 127;
const MOST_CHARACTERS: usize = 0xFFF - FIRST as usize;

/// A part of a text.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum Token {
    Char(char),
    /// A field with decimals.
    Number(usize, u8),
    /// A field with decimals as one of several texts.
    Choice(usize, u8, Vec<Vec<Token>>),
    /// A field as a point in time.
    Clock(usize, Vec<Token>),
    /// A part of a point in time.
    Stamp(Stamp),
}

/// A text.
pub(super) type Words = Vec<Token>;

/// A fixed text.
pub(super) fn fixed(text: &str) -> Words {
    text.chars().map(Token::Char).collect()
}

/// A template's text; `decimals` tells a field's own. `None` where firmware cannot compose it.
pub(super) fn template(template: &Template, decimals: impl Fn(usize) -> u32) -> Option<Words> {
    let longest = template.extremes().iter().map(|text| text.chars().count()).max().unwrap_or(0);
    let pieces: Option<Vec<Words>> = template.pieces.iter().map(|one| piece(one, &decimals)).collect();
    pieces.map(|pieces| pieces.concat()).filter(|_| longest <= LONGEST)
}

fn piece(piece: &Piece, decimals: &impl Fn(usize) -> u32) -> Option<Words> {
    Some(match piece {
        Piece::Fixed(text) => fixed(text),
        Piece::Number { field, decimals: shown, .. } => {
            (*shown as u32 == decimals(field.0)).then(|| vec![Token::Number(field.0, *shown as u8)])?
        }
        Piece::Choice { field, texts } => {
            vec![Token::Choice(field.0, decimals(field.0) as u8, texts.iter().map(|text| fixed(text)).collect())]
        }
        Piece::Clock { field, pattern } => vec![Token::Clock(field.0, clock::pattern(pattern)?)],
        Piece::Shown(shown) => {
            let plain = shown.scale == Scale::OWN && shown.marks == Marks::PLAIN;
            let own = shown.decimals as u32 == decimals(shown.field.0);
            (plain && own).then(|| vec![Token::Number(shown.field.0, shown.decimals as u8)])?
        }
        Piece::By { .. } | Piece::Back { .. } | Piece::Joined(_) | Piece::Cell { .. } => return None,
        Piece::Stated { piece, .. } => self::piece(piece, decimals)?,
    })
}

/// Every character that a text can show.
pub(super) fn characters(words: &[Token], seen: &mut BTreeSet<char>) {
    for token in words {
        match token {
            Token::Char(one) => seen.extend((*one != '\n').then_some(*one)),
            Token::Number(_, decimals) => {
                seen.extend("0123456789−–".chars());
                seen.extend((*decimals > 0).then_some('.'));
            }
            Token::Choice(_, _, texts) => {
                seen.insert('–');
                texts.iter().for_each(|text| characters(text, seen));
            }
            Token::Clock(_, pattern) => {
                seen.insert('–');
                characters(pattern, seen);
            }
            // Parts of a time without names are numbers.
            Token::Stamp(stamp) if stamp.names().is_empty() => seen.extend("0123456789".chars()),
            Token::Stamp(stamp) => stamp.names().iter().for_each(|name| seen.extend(name.chars())),
        }
    }
}

/// The characters of a design with their codes, and its texts.
#[derive(Debug, Default)]
pub(super) struct Pool {
    codes: HashMap<char, u16>,
    /// The texts, each ended.
    pub bytes: Vec<u8>,
    known: HashMap<Words, usize>,
    /// Bytes of a place.
    place: usize,
}

impl Pool {
    /// Gives codes to characters, the commonest first. `None` where there are too many.
    pub fn new(counts: &HashMap<char, usize>, place: usize) -> Option<Self> {
        let mut codes: HashMap<char, u16> = HashMap::new();
        let mut order: Vec<(&char, &usize)> = counts.iter().filter(|(one, _)| !KNOWN.contains(**one)).collect();
        order.sort_by_key(|(one, count)| (std::cmp::Reverse(**count), **one));
        for (one, code) in KNOWN.chars().chain(order.iter().map(|(one, _)| **one)).zip(FIRST..) {
            codes.insert(one, code);
        }
        (codes.len() <= MOST_CHARACTERS).then(|| Self { codes, place, ..Self::default() })
    }

    /// A character's code.
    pub fn code(&self, character: char) -> u16 {
        self.codes.get(&character).copied().unwrap_or(0)
    }

    /// Where a text begins; texts that are the end of another one are part of it.
    pub fn place_of(&mut self, words: &[Token]) -> usize {
        if let Some(place) = self.known.get(words) {
            return *place;
        }
        let mut bytes = self.body(words);
        bytes.push(END);
        let found = self.bytes.windows(bytes.len()).position(|window| window == bytes);
        let place = found.unwrap_or(self.bytes.len());
        if found.is_none() {
            self.bytes.extend(bytes);
        }
        self.known.insert(words.to_vec(), place);
        place
    }

    /// A place as bytes, the lowest first.
    pub fn place_bytes(&self, place: usize) -> impl Iterator<Item = u8> + use<> {
        (place as u32).to_le_bytes().into_iter().take(self.place)
    }

    fn body(&mut self, words: &[Token]) -> Vec<u8> {
        let mut bytes = Vec::new();
        for token in words {
            match token {
                Token::Char('\n') => bytes.push(LINE),
                Token::Char(one) => match self.code(*one) {
                    code if code < LONG => bytes.push(code as u8),
                    code => bytes.extend([0xF0 | (code >> 8) as u8, code as u8]),
                },
                Token::Number(field, decimals) => {
                    bytes.push(NUMBER);
                    number(*field as u32, &mut bytes);
                    bytes.push(*decimals);
                }
                Token::Choice(field, decimals, texts) => {
                    bytes.push(CHOICE);
                    number(*field as u32, &mut bytes);
                    bytes.push(*decimals);
                    bytes.extend(self.several(texts));
                }
                Token::Clock(field, pattern) => {
                    bytes.push(CLOCK);
                    number(*field as u32, &mut bytes);
                    bytes.extend(self.body(pattern));
                    bytes.push(END);
                }
                Token::Stamp(stamp) => {
                    bytes.extend([STAMP, stamp.code()]);
                    let names: Vec<Words> = stamp.names().iter().map(|name| fixed(name)).collect();
                    if !names.is_empty() {
                        bytes.extend(self.several(&names));
                    }
                }
            }
        }
        bytes
    }

    /// The place of a list of texts: how many, then the place of each.
    fn several(&mut self, texts: &[Words]) -> Vec<u8> {
        let mut list = Vec::new();
        number(texts.len() as u32, &mut list);
        for text in texts {
            let place = self.place_of(text);
            list.extend(self.place_bytes(place));
        }
        let found = self.bytes.windows(list.len()).position(|window| window == list);
        let place = found.unwrap_or(self.bytes.len());
        if found.is_none() {
            self.bytes.extend(list);
        }
        self.place_bytes(place).collect()
    }
}

/// Whether a value's text can begin another line.
pub(super) fn breaks(words: &[Token]) -> bool {
    words.iter().any(|token| match token {
        Token::Char(one) => *one == '\n',
        Token::Choice(_, _, texts) => texts.iter().any(|text| breaks(text)),
        Token::Clock(_, pattern) => breaks(pattern),
        Token::Number(..) | Token::Stamp(_) => false,
    })
}

/// Whether a text shows a point in time.
pub(super) fn has_clock(words: &[Token]) -> bool {
    words.iter().any(|token| matches!(token, Token::Clock(..)))
}

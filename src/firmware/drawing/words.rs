//! Texts as firmware composes them: characters by number, fields as numbers, choices and times, each text stored once.
//!
//! Codes below [`FIRST`] are no characters. What stands behind them is written in `ink_draw.c`.

use super::bits::{find, number, signed};
use super::clock::{self, Stamp};
use super::pairs::Pairs;
use super::why::{Drawn, Why};
use crate::screen::ratio::Ratio;
use crate::screen::shown::{Marks, Scale, ShownNumber};
use crate::screen::template::{DigitPlace, Piece, Template};
use std::collections::{BTreeSet, HashMap};

const END: u8 = 0;
const NUMBER: u8 = 1;
const CHOICE: u8 = 2;
const BY: u8 = 3;
const CLOCK: u8 = 4;
const LINE: u8 = 5;
const STAMP: u8 = 6;
const BACK: u8 = 7;
const JOINED: u8 = 8;
const CELL: u8 = 9;

/// Bits of a number's head beside its decimals.
const RATIO: u8 = 16;
const LOCALE_MARKS: u8 = 32;
const OWN_MARKS: u8 = 64;
/// A cell that holds the sign.
const SIGN: u8 = 10;

/// Characters that the interpreter knows by their numbers, from this one on.
pub(super) const FIRST: u16 = 10;
pub(super) const KNOWN: &str = " …−–.0123456789:smhd";

/// The first code that takes two bytes.
pub(super) const LONG: u16 = 0xF0;

/// Characters that a text can have at most, and different ones that a design can.
pub(super) const LONGEST: usize = 127;
const MOST_CHARACTERS: usize = 0xFFF - FIRST as usize;

/// A part of a text.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum Token {
    Char(char),
    /// A field as a number.
    Number(Figure, Marking),
    /// A field with decimals as one of several texts.
    Choice(usize, u8, Vec<Vec<Token>>),
    /// A field as a point in time.
    Clock(usize, Vec<Token>),
    /// A part of a point in time.
    Stamp(Stamp),
    /// A field with decimals chooses a text with fields of its own; the first where it is missing.
    By(usize, u8, Vec<Vec<Token>>),
    /// A text as it was so many samples ago as a field with decimals says.
    Back(usize, u8, Vec<Token>),
    /// A text without spaces at its end.
    Joined(Vec<Token>),
    /// A digit of a number, counted from the last one, or its sign.
    Cell(Figure, Option<u8>),
}

/// A field as a number: its place, the decimals shown, and how it is converted where it is.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct Figure {
    field: usize,
    decimals: u8,
    pub(super) ratio: Option<[i32; 3]>,
}

/// The marks of numbers: before the decimals, between groups; digits of a further group, and those before the first.
pub(super) type Signs = (char, Option<char>, u8, u8);

/// How a number is marked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Marking {
    /// With a full stop and no groups.
    Plain,
    /// As numbers of its locale are.
    Locale,
    Own(Signs),
}

impl Marking {
    /// Marks as firmware writes them.
    pub fn of(marks: &Marks) -> Self {
        let few = |number: usize| number.clamp(1, 15) as u8;
        match *marks {
            Marks::PLAIN => Self::Plain,
            _ => Self::Own((marks.decimal, marks.group, few(marks.rest), few(marks.least))),
        }
    }

    /// The characters that it needs as a text.
    pub fn fixed(self) -> Words {
        let (decimal, group) = self.characters();
        [Some(decimal), group].into_iter().flatten().map(Token::Char).collect()
    }

    fn characters(self) -> (char, Option<char>) {
        match self {
            Self::Own((decimal, group, ..)) => (decimal, group),
            Self::Plain | Self::Locale => ('.', None),
        }
    }
}

/// A number as firmware converts it.
fn figure(shown: &ShownNumber, held: u32) -> Drawn<Figure> {
    let same = shown.scale == Scale::OWN && shown.decimals as u32 == held;
    let ratio = match same {
        true => None,
        false => Some(Ratio::of(shown.scale, held, shown.decimals as u32).for_firmware().ok_or(Why::Factor)?),
    };
    Ok(Figure { field: shown.field.0, decimals: shown.decimals as u8, ratio })
}

/// A text.
pub(super) type Words = Vec<Token>;

/// A fixed text.
pub(super) fn fixed(text: &str) -> Words {
    text.chars().map(Token::Char).collect()
}

/// A template's text; `decimals` tells a field's own.
pub(super) fn template(template: &Template, decimals: impl Fn(usize) -> u32) -> Drawn<Words> {
    let longest = template.extremes().iter().map(|text| text.chars().count()).max().unwrap_or(0);
    let pieces: Drawn<Vec<Words>> = template.pieces.iter().map(|one| piece(one, &decimals)).collect();
    if longest > LONGEST {
        return Err(Why::LongText);
    }
    pieces.map(|pieces| pieces.concat())
}

fn piece(piece: &Piece, decimals: &impl Fn(usize) -> u32) -> Drawn<Words> {
    Ok(match piece {
        Piece::Fixed(text) => fixed(text),
        Piece::Number { field, decimals: shown, range } => {
            let number =
                ShownNumber { field: *field, scale: Scale::OWN, decimals: *shown, range: *range, marks: Marks::PLAIN };
            self::piece(&Piece::Shown(number), decimals)?
        }
        Piece::Choice { field, texts } => {
            vec![Token::Choice(field.0, decimals(field.0) as u8, texts.iter().map(|text| fixed(text)).collect())]
        }
        Piece::Clock { field, pattern } => vec![Token::Clock(field.0, clock::pattern(pattern)?)],
        Piece::Shown(shown) => {
            vec![Token::Number(figure(shown, decimals(shown.field.0))?, Marking::of(&shown.marks))]
        }
        Piece::By { field, pieces } => {
            let texts: Drawn<Vec<Words>> = pieces.iter().map(|one| self::piece(one, decimals)).collect();
            vec![Token::By(field.0, decimals(field.0) as u8, texts?)]
        }
        Piece::Back { piece, by, .. } => {
            vec![Token::Back(by.0, decimals(by.0) as u8, self::piece(piece, decimals)?)]
        }
        Piece::Joined(pieces) => {
            let texts: Drawn<Vec<Words>> = pieces.iter().map(|one| self::piece(one, decimals)).collect();
            vec![Token::Joined(texts?.concat())]
        }
        Piece::Cell { number, place, .. } => {
            let place = match place {
                DigitPlace::Sign => None,
                DigitPlace::Digit(at) => Some(u8::try_from(*at).ok().filter(|at| *at < 10).ok_or(Why::LongText)?),
            };
            vec![Token::Cell(figure(number, decimals(number.field.0))?, place)]
        }
        Piece::Stated { piece, .. } => self::piece(piece, decimals)?,
    })
}

/// Every character that a text can show.
pub(super) fn characters(words: &[Token], seen: &mut BTreeSet<char>) {
    for token in words {
        match token {
            Token::Char(one) => seen.extend((*one != '\n').then_some(*one)),
            Token::Number(figure, marking) => {
                seen.extend("0123456789−–".chars());
                let (decimal, group) = marking.characters();
                seen.extend((figure.decimals > 0).then_some(decimal));
                seen.extend(group);
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
            Token::By(_, _, texts) => texts.iter().for_each(|text| characters(text, seen)),
            Token::Back(_, _, text) | Token::Joined(text) => characters(text, seen),
            Token::Cell(_, None) => seen.extend(" −".chars()),
            Token::Cell(_, Some(_)) => seen.extend("0123456789–".chars()),
        }
    }
}

/// The characters of a design with their codes.
#[derive(Debug)]
pub(super) struct Codes(HashMap<char, u16>);

impl Codes {
    /// Gives codes to characters, the commonest first. `None` where there are too many.
    pub fn of(counts: &HashMap<char, usize>) -> Option<Self> {
        let mut order: Vec<(&char, &usize)> = counts.iter().filter(|(one, _)| !KNOWN.contains(**one)).collect();
        order.sort_by_key(|(one, count)| (std::cmp::Reverse(**count), **one));
        let all = KNOWN.chars().chain(order.iter().map(|(one, _)| **one));
        let codes: HashMap<char, u16> = all.zip(FIRST..).collect();
        (codes.len() <= MOST_CHARACTERS).then_some(Self(codes))
    }

    /// A character's code.
    pub fn code(&self, character: char) -> u16 {
        self.0.get(&character).copied().unwrap_or(0)
    }
}

/// The texts of a design.
#[derive(Debug)]
pub(super) struct Pool<'c> {
    codes: &'c Codes,
    /// The texts, each ended, in codes for pairs.
    pub bytes: Vec<u8>,
    pub pairs: Pairs,
    /// The texts as they are.
    pub sequences: Vec<Vec<u8>>,
    known: HashMap<Words, usize>,
    /// Bytes of a place.
    place: usize,
}

impl<'c> Pool<'c> {
    /// None yet, where a place takes so many bytes.
    pub fn new(codes: &'c Codes, place: usize, pairs: Pairs) -> Self {
        Self { codes, bytes: Vec::new(), pairs, sequences: Vec::new(), known: HashMap::new(), place }
    }

    /// Where a text begins; texts that are the end of another one are part of it.
    pub fn place_of(&mut self, words: &[Token]) -> usize {
        if let Some(place) = self.known.get(words) {
            return *place;
        }
        let mut plain = self.body(words);
        plain.push(END);
        let bytes = self.pairs.coded(&plain);
        self.sequences.push(plain);
        let place = self.stored(&bytes);
        self.known.insert(words.to_vec(), place);
        place
    }

    /// Where a text of each locale begins: behind the length of each but the last stands that, then the next one.
    pub fn group(&mut self, each: &[&Words]) -> usize {
        let mut group = Vec::new();
        for (index, words) in each.iter().enumerate() {
            let mut plain = self.body(words);
            plain.push(END);
            let own = self.pairs.coded(&plain);
            if index + 1 < each.len() {
                number(own.len() as u32, &mut group);
            }
            group.extend(own);
            self.sequences.push(plain);
        }
        self.stored(&group)
    }

    /// Where bytes stand: where they do already, else at the end.
    fn stored(&mut self, bytes: &[u8]) -> usize {
        find(&self.bytes, bytes).unwrap_or_else(|| {
            self.bytes.extend(bytes);
            self.bytes.len() - bytes.len()
        })
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
                Token::Char(one) => bytes.extend(self.code_bytes(*one)),
                Token::Number(figure, marking) => {
                    bytes.push(NUMBER);
                    let marks = match marking {
                        Marking::Plain => 0,
                        Marking::Locale => LOCALE_MARKS,
                        Marking::Own(_) => OWN_MARKS,
                    };
                    put_figure(figure, marks, &mut bytes);
                    if let Marking::Own(signs) = marking {
                        self.sign_numbers(signs).iter().for_each(|one| number(*one, &mut bytes));
                    }
                }
                Token::Choice(field, decimals, texts) => {
                    bytes.push(CHOICE);
                    put_field(*field, *decimals, &mut bytes);
                    self.several(texts, &mut bytes);
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
                        self.several(&names, &mut bytes);
                    }
                }
                Token::By(field, decimals, texts) => {
                    bytes.push(BY);
                    put_field(*field, *decimals, &mut bytes);
                    self.several(texts, &mut bytes);
                }
                Token::Back(field, decimals, text) => {
                    bytes.push(BACK);
                    put_field(*field, *decimals, &mut bytes);
                    bytes.extend(self.body(text));
                    bytes.push(END);
                }
                Token::Joined(text) => {
                    bytes.push(JOINED);
                    bytes.extend(self.body(text));
                    bytes.push(END);
                }
                Token::Cell(figure, place) => {
                    bytes.push(CELL);
                    put_figure(figure, 0, &mut bytes);
                    bytes.push(place.unwrap_or(SIGN));
                }
            }
        }
        bytes
    }

    /// A character's code as bytes.
    pub fn code_bytes(&self, character: char) -> Vec<u8> {
        match self.codes.code(character) {
            code if code < LONG => vec![code as u8],
            code => vec![0xF0 | (code >> 8) as u8, code as u8],
        }
    }

    /// Marks as numbers: the codes before the decimals and between groups (0 for none), then both counts.
    pub fn sign_numbers(&self, (decimal, group, rest, least): &Signs) -> [u32; 3] {
        let group = group.map_or(0, |group| self.codes.code(group));
        [self.codes.code(*decimal).into(), group.into(), u32::from(rest << 4 | least)]
    }

    /// Begins with the marks of each locale: both codes and the counts, two bytes each, the lowest first.
    pub fn begin_with(&mut self, marks: &[Marking]) {
        for marking in marks {
            let own = match marking {
                Marking::Own(signs) => *signs,
                Marking::Plain | Marking::Locale => ('.', None, 1, 1),
            };
            self.bytes.extend(self.sign_numbers(&own).into_iter().flat_map(|one| (one as u16).to_le_bytes()));
        }
    }

    /// A list of texts: how many, then the place where the place of each stands.
    fn several(&mut self, texts: &[Words], bytes: &mut Vec<u8>) {
        let places: Vec<usize> = texts.iter().map(|text| self.place_of(text)).collect();
        let list: Vec<u8> = places.into_iter().flat_map(|place| self.place_bytes(place)).collect();
        let place = self.stored(&list);
        number(texts.len() as u32, bytes);
        number(place as u32, bytes);
    }
}

fn put_field(field: usize, decimals: u8, bytes: &mut Vec<u8>) {
    number(field as u32, bytes);
    number(decimals.into(), bytes);
}

fn put_figure(figure: &Figure, more: u8, bytes: &mut Vec<u8>) {
    number(figure.field as u32, bytes);
    number(u32::from(figure.decimals | more | if figure.ratio.is_some() { RATIO } else { 0 }), bytes);
    if let Some([multiply, offset, divide]) = figure.ratio {
        number(multiply as u32, bytes);
        number(divide as u32, bytes);
        signed(offset, bytes);
    }
}

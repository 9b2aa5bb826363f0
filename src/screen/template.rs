//! Text with live values in it: `"Dew {dew} °C"` settled into pieces that only need the values of the moment.

use super::shown::ShownNumber;
use super::typeset::Setting;
use super::values::{FieldId, Values};
use super::widest::{ANY_DIGIT, widest};
use jiff::ToSpan as _;
use std::borrow::Cow;
use std::collections::BTreeSet;
use std::fmt::Write as _;

/// One piece of a text.
#[derive(Clone, Debug, PartialEq)]
pub enum Piece {
    /// The same always.
    Fixed(String),
    /// A field as a number.
    Number {
        /// The field.
        field: FieldId,
        /// Decimals shown.
        decimals: usize,
        /// Smallest and largest value the product can show.
        range: [f64; 2],
    },
    /// A field as a number in a unit, with the marks of a locale.
    Shown(ShownNumber),
    /// A field as one of several texts.
    Choice {
        /// The field.
        field: FieldId,
        /// The texts.
        texts: Vec<String>,
    },
    /// A field as a point in time.
    Clock {
        /// The field.
        field: FieldId,
        /// strftime pattern.
        pattern: String,
    },
    /// One of several pieces, by a field's value; the nearest where there is none.
    By {
        /// The field, counted from 0.
        field: FieldId,
        /// The pieces.
        pieces: Vec<Piece>,
    },
    /// A piece as it was so many samples ago as a field says.
    Back {
        /// The piece.
        piece: Box<Piece>,
        /// The field.
        by: FieldId,
        /// Past values that it can ask for, the present one among them.
        samples: usize,
    },
    /// Pieces that are one text; spaces at its end are left out.
    Joined(Vec<Piece>),
    /// One place of a number that always has as many digits.
    Cell {
        /// The number.
        number: ShownNumber,
        /// How many digits.
        digits: usize,
        /// Which place.
        place: DigitPlace,
    },
    /// A field whose widest text the designer states.
    Stated {
        /// How it is written.
        piece: Box<Piece>,
        /// The widest text.
        worst: String,
    },
}

/// A place of a number that always has as many digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DigitPlace {
    /// The minus sign, a space where there is none.
    Sign,
    /// A digit, counted from the last one.
    Digit(usize),
}

/// A text with live values in it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Template {
    /// The pieces in order.
    pub pieces: Vec<Piece>,
}

impl Template {
    /// A text that never changes.
    pub fn fixed(text: impl Into<String>) -> Self {
        Self { pieces: vec![Piece::Fixed(text.into())] }
    }

    /// The histories that it asks for: the field and how many samples.
    pub fn histories(&self) -> Vec<(FieldId, usize)> {
        self.pieces.iter().flat_map(Piece::histories).collect()
    }

    /// The text of the moment; borrowed where it stands as a whole in the template.
    pub fn text(&self, values: &Values) -> Cow<'_, str> {
        match self.pieces.as_slice() {
            [] => return Cow::Borrowed(""),
            [Piece::Fixed(fixed)] => return Cow::Borrowed(fixed),
            _ => {}
        }
        let mut text = String::with_capacity(32);
        for piece in &self.pieces {
            piece.write(values, &mut text);
        }
        Cow::Owned(text)
    }

    /// The fields that can change the text.
    pub fn fields(&self) -> Vec<FieldId> {
        self.pieces.iter().flat_map(Piece::fields).collect()
    }

    /// Typical wide texts, whatever the face: every piece at each of its extremes; of very many combinations only those
    /// with the longest options. For a bound see [`widest`].
    pub fn extremes(&self) -> Vec<String> {
        let mut texts = vec![String::new()];
        for piece in &self.pieces {
            let options = piece.extremes();
            if texts.len() * options.len() > MOST_EXTREMES {
                // Too many combinations: keep the longest option of this piece only.
                let longest = options.into_iter().max_by_key(|option| option.chars().count()).unwrap_or_default();
                texts.iter_mut().for_each(|text| text.push_str(&longest));
            } else {
                texts =
                    texts.iter().flat_map(|text| options.iter().map(move |option| format!("{text}{option}"))).collect();
            }
        }
        texts
    }

    /// Texts to measure in a setting: the widest line of all first, then [`Template::extremes`].
    pub fn to_measure(&self, setting: &Setting) -> Vec<String> {
        let mut texts = vec![widest(self, setting)];
        texts.extend(self.extremes());
        texts
    }

    /// Every character that the text can have.
    pub fn characters(&self) -> BTreeSet<char> {
        self.pieces.iter().flat_map(Piece::characters).collect()
    }
}

/// Combinations of extremes tried before only the longest option of a piece is kept.
const MOST_EXTREMES: usize = 256;

impl Piece {
    /// The fields that can change it.
    pub fn fields(&self) -> Vec<FieldId> {
        match self {
            Self::Fixed(_) => Vec::new(),
            Self::Number { field, .. } | Self::Choice { field, .. } | Self::Clock { field, .. } => vec![*field],
            Self::Shown(shown) | Self::Cell { number: shown, .. } => vec![shown.field],
            Self::By { field, pieces } => [*field].into_iter().chain(pieces.iter().flat_map(Self::fields)).collect(),
            Self::Back { piece, by, .. } => piece.fields().into_iter().chain([*by]).collect(),
            Self::Joined(pieces) => pieces.iter().flat_map(Self::fields).collect(),
            Self::Stated { piece, .. } => piece.fields(),
        }
    }

    /// The histories that it asks for: the field and how many samples.
    pub fn histories(&self) -> Vec<(FieldId, usize)> {
        match self {
            Self::Back { piece, samples, .. } => piece.fields().into_iter().map(|field| (field, *samples)).collect(),
            Self::By { pieces, .. } | Self::Joined(pieces) => pieces.iter().flat_map(Self::histories).collect(),
            Self::Stated { piece, .. } => piece.histories(),
            _ => Vec::new(),
        }
    }

    /// Decimals of the number that it is; 0 for choices and times.
    pub fn decimals(&self) -> usize {
        match self {
            Self::Number { decimals, .. } => *decimals,
            Self::Shown(shown) => shown.decimals,
            Self::By { pieces, .. } => pieces.first().map_or(0, Self::decimals),
            Self::Back { piece, .. } | Self::Stated { piece, .. } => piece.decimals(),
            _ => 0,
        }
    }

    /// Whether some part of it is such a piece.
    pub fn any(&self, is: fn(&Self) -> bool) -> bool {
        let inside = match self {
            Self::By { pieces, .. } | Self::Joined(pieces) => pieces.iter().any(|piece| piece.any(is)),
            Self::Back { piece, .. } | Self::Stated { piece, .. } => piece.any(is),
            _ => false,
        };
        inside || is(self)
    }

    /// Every character that it can have. Where there is a digit in a number or time, there can be any.
    fn characters(&self) -> BTreeSet<char> {
        let of = |texts: Vec<String>| texts.iter().flat_map(|text| text.chars()).collect::<BTreeSet<char>>();
        match self {
            Self::Fixed(_) | Self::Choice { .. } => of(self.extremes()),
            Self::Number { .. } => with_digits(of(self.extremes())),
            Self::Clock { pattern, .. } => with_digits(of(clock_texts(pattern))),
            Self::Shown(_) => with_digits(of(self.extremes())),
            Self::Cell { place: DigitPlace::Sign, .. } => [' ', '−'].into(),
            Self::Cell { .. } => with_digits(of(self.extremes())),
            Self::By { pieces, .. } | Self::Joined(pieces) => pieces.iter().flat_map(Self::characters).collect(),
            Self::Back { piece, .. } => piece.characters(),
            Self::Stated { piece, worst } => piece.characters().into_iter().chain(worst.chars()).collect(),
        }
    }

    fn write(&self, values: &Values, text: &mut String) {
        self.write_back(values, 0, text);
    }

    /// Writes it as it was so many samples ago.
    fn write_back(&self, values: &Values, back: usize, text: &mut String) {
        match self {
            Self::Fixed(fixed) => text.push_str(fixed),
            Self::Number { field, decimals, .. } => number(values.back(*field, back), *decimals, text),
            Self::Shown(shown) => shown.write(values.back(shown.field, back), text),
            Self::Choice { field, .. } | Self::Clock { field, .. } if values.back(*field, back).is_nan() => {
                text.push('–');
            }
            Self::Choice { field, texts } => {
                let at = values.back(*field, back).round().max(0.0) as usize;
                text.push_str(texts.get(at.min(texts.len().saturating_sub(1))).map_or("", String::as_str));
            }
            Self::Clock { field, pattern } => clock(values, values.back(*field, back), pattern, text),
            Self::By { field, pieces } => {
                if let Some(piece) = pieces.get(values.choice(*field, pieces.len())) {
                    piece.write_back(values, back, text);
                }
            }
            // The cast makes 0 of a missing value and of a negative one.
            Self::Back { piece, by, .. } => piece.write_back(values, values.of(*by).round() as usize, text),
            Self::Joined(pieces) => {
                let start = text.len();
                pieces.iter().for_each(|piece| piece.write_back(values, back, text));
                text.truncate(start + text[start..].trim_end_matches(' ').len());
            }
            Self::Cell { number, digits, place } => {
                let (below, shown) = number.padded(values.back(number.field, back), *digits);
                text.push(match place {
                    DigitPlace::Sign => {
                        if below {
                            '−'
                        } else {
                            ' '
                        }
                    }
                    DigitPlace::Digit(at) => shown.chars().rev().nth(*at).unwrap_or('0'),
                });
            }
            Self::Stated { piece, .. } => piece.write_back(values, back, text),
        }
    }

    /// Every form of its text, with [`ANY_DIGIT`] for digits that may be any.
    pub(super) fn shapes(&self) -> Vec<String> {
        let any = |text: String| text.chars().map(|c| if c.is_ascii_digit() { ANY_DIGIT } else { c }).collect();
        match self {
            Self::Fixed(_) | Self::Choice { .. } | Self::Stated { .. } => self.extremes(),
            // A missing value may be wider than a single digit.
            Self::Number { .. } => self.extremes().into_iter().map(any).chain(["–".to_owned()]).collect(),
            Self::Shown(_) => self.extremes().into_iter().map(any).chain(["–".to_owned()]).collect(),
            Self::Cell { place: DigitPlace::Sign, .. } => self.extremes(),
            Self::Cell { .. } => vec![ANY_DIGIT.to_string(), "–".to_owned()],
            Self::By { pieces, .. } => pieces.iter().flat_map(Self::shapes).collect(),
            Self::Back { piece, .. } => piece.shapes(),
            // Its pieces are taken one by one; see `widest`.
            Self::Joined(_) => self.extremes(),
            Self::Clock { pattern, .. } => {
                let mut shapes: Vec<String> = clock_texts(pattern).into_iter().map(any).collect();
                shapes.sort();
                shapes.dedup();
                shapes
            }
        }
    }

    fn longest(&self) -> String {
        self.extremes().into_iter().max_by_key(|text| text.chars().count()).unwrap_or_default()
    }

    /// The pieces of a text in their order: itself, or what it joins.
    pub(super) fn parts(&self) -> &[Self] {
        match self {
            Self::Joined(pieces) => pieces,
            one => std::slice::from_ref(one),
        }
    }

    /// Texts among which the widest is.
    fn extremes(&self) -> Vec<String> {
        match self {
            Self::Fixed(fixed) => vec![fixed.clone()],
            Self::Number { decimals, range, .. } => range.iter().map(|end| widest_number(*end, *decimals)).collect(),
            Self::Choice { texts, .. } => texts.clone(),
            Self::Clock { pattern, .. } => widest_clock(pattern),
            Self::Shown(shown) => shown.extremes(),
            Self::By { pieces, .. } => pieces.iter().flat_map(Self::extremes).collect(),
            Self::Back { piece, .. } => piece.extremes(),
            Self::Joined(pieces) => vec![pieces.iter().map(Self::longest).collect()],
            Self::Cell { place: DigitPlace::Sign, .. } => vec![" ".to_owned(), "−".to_owned()],
            Self::Cell { .. } => vec!["8".to_owned(), "–".to_owned()],
            Self::Stated { worst, .. } => vec![worst.clone()],
        }
    }
}

/// Writes a number with a true minus sign (U+2212), which is as wide as a digit in tabular figures.
/// A missing value (NaN) is an en dash.
pub fn number(value: f64, decimals: usize, text: &mut String) {
    if value.is_nan() {
        text.push('–');
        return;
    }
    if let Some(steps) = steps(value, decimals) {
        return write_steps(steps, decimals, text);
    }
    let start = text.len();
    // Writing to a String cannot fail.
    let _ = write!(text, "{value:.decimals$}");
    if text[start..].starts_with('-') {
        let negative_zero = text[start + 1..].chars().all(|c| c == '0' || c == '.');
        text.replace_range(start..start + 1, if negative_zero { "" } else { "−" });
    }
}

/// A number in steps of its last decimal, where that is beyond doubt: not near the middle between two, nor large.
fn steps(value: f64, decimals: usize) -> Option<i64> {
    let steps = value * f64::from(10_u32.checked_pow(decimals as u32)?);
    // The cast cuts off what is behind the point; that of a larger number is its nearest.
    let whole = (steps + 0.5_f64.copysign(steps)) as i64;
    (steps.abs() < 1e9 && (steps - whole as f64).abs() < 0.499_999).then_some(whole)
}

/// Writes a whole number of steps of the last decimal: most of what a simulation draws.
fn write_steps(steps: i64, decimals: usize, text: &mut String) {
    let (mut left, mut digits, mut at) = (steps.unsigned_abs(), [0; 24], 24);
    while left > 0 || 24 - at <= decimals {
        at -= 1;
        digits[at] = b'0' + (left % 10) as u8;
        left /= 10;
    }
    if steps < 0 {
        text.push('−');
    }
    for (index, digit) in digits.iter().enumerate().skip(at) {
        if decimals > 0 && index == 24 - decimals {
            text.push('.');
        }
        text.push(char::from(*digit));
    }
}

/// A range's end with every digit the widest there is.
fn widest_number(end: f64, decimals: usize) -> String {
    let mut text = String::new();
    number(end, decimals, &mut text);
    text.chars().map(|c| if c.is_ascii_digit() { '8' } else { c }).collect()
}

fn clock(values: &Values, seconds: f64, pattern: &str, text: &mut String) {
    let moment = values.moment(seconds);
    if pattern == "%H:%M" {
        // As the calendar library writes it, without reading the pattern each time.
        let digits = |number: i8| [number / 10, number % 10].map(|digit| char::from(b'0' + digit as u8));
        let ([h, hh], [m, mm]) = (digits(moment.hour()), digits(moment.minute()));
        return text.extend([h, hh, ':', m, mm]);
    }
    // The pattern was tried when the project was loaded.
    let _ = write!(text, "{}", moment.strftime(pattern));
}

fn with_digits(mut characters: BTreeSet<char>) -> BTreeSet<char> {
    if characters.iter().any(char::is_ascii_digit) {
        characters.extend('0'..='9');
    }
    characters
}

/// The longest texts of a pattern.
fn widest_clock(pattern: &str) -> Vec<String> {
    let mut texts = clock_texts(pattern);
    texts.sort_by_key(|text| std::cmp::Reverse(text.chars().count()));
    texts.truncate(16);
    texts
}

/// The pattern at moments that between them have every month's and weekday's name and two-digit numbers.
fn clock_texts(pattern: &str) -> Vec<String> {
    let year = jiff::civil::date(2028, 1, 28).at(20, 28, 58, 0);
    let moments =
        (0..12).flat_map(|month| (0..7).map(move |day| year.saturating_add(month.months()).saturating_sub(day.days())));
    // The time of day is the same at all of them.
    let of_day = pattern.split('%').skip(1).all(|rest| rest.starts_with(['H', 'I', 'M', 'P', 'S', 'k', 'l', 'p']));
    let count = if of_day { 1 } else { usize::MAX };
    let mut texts: Vec<String> = moments.take(count).map(|moment| moment.strftime(pattern).to_string()).collect();
    texts.sort();
    texts.dedup();
    texts
}

#[cfg(test)]
mod tests;

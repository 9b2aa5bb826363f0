//! What texts hold: lines, characters, and what parts of the interpreter they need.

use super::words::{Marking, Token, Words};

/// Whether some part of a text is such a one.
fn any(words: &[Token], is: &impl Fn(&Token) -> bool) -> bool {
    words.iter().any(|token| {
        let inside = match token {
            Token::Choice(_, _, texts) | Token::By(_, _, texts) => texts.iter().any(|text| any(text, is)),
            Token::Clock(_, text) | Token::Back(_, _, text) | Token::Joined(text) => any(text, is),
            _ => false,
        };
        inside || is(token)
    })
}

/// How many lines a text has; `None` where that depends on values.
pub(super) fn lines(words: &[Token]) -> Option<usize> {
    let own = words.iter().filter(|token| **token == Token::Char('\n')).count();
    let inside = words.iter().any(|token| !matches!(token, Token::Char(_)) && breaks(std::slice::from_ref(token)));
    (!inside).then_some(own + 1)
}

/// Whether a value's text can begin another line.
pub(super) fn breaks(words: &[Token]) -> bool {
    any(words, &|token| *token == Token::Char('\n'))
}

/// Whether a text shows a point in time.
pub(super) fn has_clock(words: &[Token]) -> bool {
    any(words, &|token| matches!(token, Token::Clock(..)))
}

/// Whether a text has numbers in a locale's writing.
pub(super) fn has_marks(words: &[Token]) -> bool {
    any(words, &|token| matches!(token, Token::Number(_, Marking::Locale | Marking::Own(_))))
}

/// Whether a text has pieces without spaces at their ends.
pub(super) fn has_joined(words: &[Token]) -> bool {
    any(words, &|token| matches!(token, Token::Joined(_)))
}

/// Whether a text has single digits.
pub(super) fn has_cells(words: &[Token]) -> bool {
    any(words, &|token| matches!(token, Token::Cell(..)))
}

/// Whether a text shows the past.
pub(super) fn has_past(words: &[Token]) -> bool {
    any(words, &|token| matches!(token, Token::Back(..)))
}

/// Whether a number of it is converted.
pub(super) fn has_units(words: &[Token]) -> bool {
    any(words, &|token| matches!(token, Token::Number(figure, _) | Token::Cell(figure, _) if figure.ratio.is_some()))
}

/// Whether a text shows more of a time than the time of day.
pub(super) fn has_dates(words: &[Token]) -> bool {
    any(words, &|token| matches!(token, Token::Stamp(stamp) if !matches!(stamp.code() & 15, 4..=7 | 12)))
}

/// Whether a text shows more of a time than year, month, day, hour, minute and second with zeros in front.
pub(super) fn has_rare_stamps(words: &[Token]) -> bool {
    any(words, &|token| matches!(token, Token::Stamp(stamp) if !matches!(stamp.code(), 0 | 2..=4 | 6 | 7)))
}

/// How deep texts stand in texts at most.
pub(super) fn nested(words: &[Token]) -> usize {
    let most = |texts: &[Words]| texts.iter().map(|text| nested(text)).max().unwrap_or(0);
    let one = |token: &Token| match token {
        Token::Choice(_, _, texts) | Token::By(_, _, texts) => 1 + most(texts),
        Token::Clock(_, text) | Token::Back(_, _, text) | Token::Joined(text) => nested(text),
        Token::Stamp(stamp) => usize::from(!stamp.names().is_empty()),
        Token::Char(_) | Token::Number(..) | Token::Cell(..) => 0,
    };
    words.iter().map(one).max().unwrap_or(0)
}

/// Characters of a text at most.
pub(super) fn longest(words: &[Token]) -> usize {
    /// A sign, ten digits and a mark; with groups of them three marks more.
    const NUMBER: [usize; 2] = [12, 16];
    let most = |texts: &[Words]| texts.iter().map(|text| longest(text)).max().unwrap_or(0);
    let one = |token: &Token| match token {
        Token::Char(_) | Token::Cell(..) => 1,
        Token::Number(_, Marking::Plain) => NUMBER[0],
        Token::Number(..) => NUMBER[1],
        Token::Choice(_, _, texts) | Token::By(_, _, texts) => most(texts).max(1),
        Token::Clock(_, text) | Token::Back(_, _, text) | Token::Joined(text) => longest(text).max(1),
        Token::Stamp(stamp) => stamp.names().iter().map(|name| name.chars().count()).max().unwrap_or(0).max(NUMBER[0]),
    };
    words.iter().map(one).sum()
}

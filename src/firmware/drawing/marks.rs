//! The marks of each locale's numbers, said once for all of them.

use super::op::{Op, OpPart};
use super::words::{Marking, Token};
use std::collections::HashMap;

/// Finds the marks of each locale, those that most of its numbers have, and lets these numbers name their locale instead;
/// nothing where all locales have the usual marks. The operations are those of each screen in each locale.
pub(super) fn by_locale(screens: &mut [Vec<Vec<Op>>]) -> Vec<Marking> {
    let locales = screens.iter().map(Vec::len).max().unwrap_or(0);
    let usual = |locale: usize, screens: &mut [Vec<Vec<Op>>]| {
        let mut counts: HashMap<Marking, usize> = HashMap::new();
        let mut count = |marking: &mut Marking| *counts.entry(*marking).or_default() += 1;
        screens.iter_mut().filter_map(|each| each.get_mut(locale)).flatten().for_each(|op| every(op, &mut count));
        let order = |marking: &Marking| format!("{marking:?}");
        let most = counts.into_iter().max_by_key(|(marking, count)| (*count, std::cmp::Reverse(order(marking))));
        most.map_or(Marking::Plain, |(marking, _)| marking)
    };
    let marks: Vec<Marking> = (0..locales).map(|locale| usual(locale, screens)).collect();
    if marks.iter().all(|marking| *marking == Marking::Plain) {
        return Vec::new();
    }
    for (own, usual) in screens.iter_mut().flat_map(|each| each.iter_mut().zip(&marks)) {
        let mut name = |marking: &mut Marking| {
            if marking == usual {
                *marking = Marking::Locale;
            }
        };
        own.iter_mut().for_each(|op| every(op, &mut name));
    }
    marks
}

/// Every number's marks in an operation.
fn every(op: &mut Op, with: &mut impl FnMut(&mut Marking)) {
    for part in &mut op.parts {
        match part {
            OpPart::Marks(marking) => with(marking),
            OpPart::Text(Some(words)) => within(words, with),
            _ => {}
        }
    }
}

fn within(words: &mut [Token], with: &mut impl FnMut(&mut Marking)) {
    for token in words {
        match token {
            Token::Number(_, marking) => with(marking),
            Token::Choice(_, _, texts) | Token::By(_, _, texts) => texts.iter_mut().for_each(|text| within(text, with)),
            Token::Clock(_, text) | Token::Back(_, _, text) | Token::Joined(text) => within(text, with),
            Token::Char(_) | Token::Stamp(_) | Token::Cell(..) => {}
        }
    }
}

//! Numbers of operations: the same always, or another one in each locale or for each value of a field.

use super::bits::{VARIES, number};
use embedded_graphics::primitives::Rectangle;

/// Numbers that a field chooses from at most: they are counted in a byte.
const MOST: usize = 100;

/// A number of at least 0.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum Number {
    One(u32),
    /// One for each value of a field from 0 on; for each locale where the field is the one behind the last.
    By(usize, Vec<u32>),
}

impl Number {
    /// A number of either sign.
    pub fn signed(number: i32) -> Self {
        Self::One(folded(number))
    }

    /// So many numbers as one that a field chooses.
    pub fn by(field: usize, each: &[u32]) -> Self {
        match each {
            [first, rest @ ..] if rest.iter().all(|one| one == first) => Self::One(*first),
            [] => Self::One(0),
            _ => Self::By(field, each.to_vec()),
        }
    }

    fn write(&self, bytes: &mut Vec<u8>) {
        match self {
            Self::One(one) => number(*one, bytes),
            Self::By(field, each) => {
                bytes.push(VARIES);
                [*field, each.len()].into_iter().for_each(|one| number(one as u32, bytes));
                each.iter().for_each(|one| number(*one, bytes));
            }
        }
    }
}

/// A number of either sign as one of at least 0: the sign in the lowest bit.
pub(super) fn folded(number: i32) -> u32 {
    (number << 1 ^ number >> 31) as u32
}

/// Numbers as bytes.
pub(super) fn bytes(numbers: &[Number]) -> Vec<u8> {
    let mut bytes = Vec::new();
    numbers.iter().for_each(|one| one.write(&mut bytes));
    bytes
}

/// Several lists of numbers as one that a field chooses; `None` where they differ in more than numbers.
pub(super) fn merged(field: usize, lists: &[&[Number]]) -> Option<Vec<Number>> {
    let first = lists.first()?;
    if lists.len() > MOST || lists.iter().any(|list| list.len() != first.len()) {
        return None;
    }
    let at = |index: usize| {
        if lists.iter().all(|list| list[index] == first[index]) {
            return Some(first[index].clone());
        }
        let plain = |list: &&[Number]| match list[index] {
            Number::One(one) => Some(one),
            Number::By(..) => None,
        };
        let each: Option<Vec<u32>> = lists.iter().map(plain).collect();
        Some(Number::by(field, &each?))
    };
    (0..first.len()).map(at).collect()
}

/// An area: top, height, left, width.
pub(super) fn area(area: Rectangle) -> Vec<Number> {
    let Rectangle { top_left, size } = area;
    [top_left.y as u32, size.height, top_left.x as u32, size.width].map(Number::One).to_vec()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_that_differ_in_numbers_are_one() {
        let list = |numbers: &[u32]| numbers.iter().copied().map(Number::One).collect::<Vec<_>>();
        let [one, other, longer] = [list(&[7, 160, 3]), list(&[7, 300, 3]), list(&[7])];
        let both = merged(5, &[&one, &other]).expect("alike");
        assert_eq!(both, [Number::One(7), Number::By(5, vec![160, 300]), Number::One(3)]);
        // 160 is 160 and 0 more, 300 is 140 above it; see `ink_draw.c`.
        assert_eq!(bytes(&both), [7, VARIES, 5, 2, 160, 0, 160, 140, 3]);
        assert_eq!(merged(5, &[&one, &longer]), None);
        // What one field chooses is not chosen by another one too.
        assert_eq!(merged(6, &[&both, &one]), None);
        assert_eq!(merged(6, &[&both, &both]), Some(both));
    }

    #[test]
    fn signs_are_the_lowest_bit() {
        assert_eq!([0, -1, 1, -2, i32::MAX, i32::MIN].map(folded), [0, 1, 2, 3, u32::MAX - 1, u32::MAX]);
    }
}

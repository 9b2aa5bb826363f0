//! Where arrows run: down the gutters between columns and along the lanes between rows, never over a card.
//!
//! All arrows to one card share a track in each gutter and lane that they use, as the wires of a bus do; tracks whose
//! stretches do not meet share a place. Pure counts and positions.

use super::place::CardPlace;

/// A side of a card.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// To the columns before.
    Left,
    /// To the columns after.
    Right,
}

/// The way of one arrow through the grid. Gutter 0 lies left of the first column, lane 0 above the first row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Route {
    /// The card that it leads to.
    pub to: usize,
    /// Where it leaves.
    pub exit: Side,
    /// The gutter it leaves into.
    pub from_gutter: usize,
    /// Where it enters.
    pub entry: Side,
    /// The gutter it enters from.
    pub to_gutter: usize,
}

impl Route {
    /// From a place to that of the card `to`.
    pub fn new(from: CardPlace, to: usize, there: CardPlace) -> Self {
        let (exit, from_gutter) = match there.column >= from.column {
            true => (Side::Right, from.column + 1),
            false => (Side::Left, from.column),
        };
        let (entry, to_gutter) = match there.column > from.column {
            true => (Side::Left, there.column),
            false => (Side::Right, there.column + 1),
        };
        Self { to, exit, from_gutter, entry, to_gutter }
    }

    /// Whether it needs the lane above its card's row to come to its gutter.
    pub fn crosses(&self) -> bool {
        self.from_gutter != self.to_gutter
    }
}

/// A stretch of a gutter or lane that the arrows to one card take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Which gutter or lane.
    pub channel: usize,
    /// The card that they lead to.
    pub to: usize,
    /// Where it begins.
    pub from: f32,
    /// Where it ends.
    pub until: f32,
}

/// Joins what belongs to the same card in the same channel.
pub fn joined(stretches: impl IntoIterator<Item = Stretch>) -> Vec<Stretch> {
    let mut all: Vec<Stretch> = Vec::new();
    for one in stretches {
        match all.iter_mut().find(|known| (known.channel, known.to) == (one.channel, one.to)) {
            Some(known) => (known.from, known.until) = (known.from.min(one.from), known.until.max(one.until)),
            None => all.push(one),
        }
    }
    all
}

/// A track for each stretch, so that no two on one track come nearer than `apart`; and how many tracks each of the
/// channels has. The greedy choice by begin needs no more tracks than overlap at some place.
pub fn tracks(stretches: &[Stretch], channels: usize, apart: f32) -> (Vec<usize>, Vec<usize>) {
    let mut order: Vec<usize> = (0..stretches.len()).collect();
    order.sort_by(|a, b| stretches[*a].from.total_cmp(&stretches[*b].from).then(a.cmp(b)));
    let mut ends: Vec<Vec<f32>> = vec![Vec::new(); channels];
    let mut track = vec![0; stretches.len()];
    for index in order {
        let Stretch { channel, from, until, .. } = stretches[index];
        let free = ends[channel].iter().position(|end| *end + apart <= from);
        let place = free.unwrap_or(ends[channel].len());
        match free {
            Some(place) => ends[channel][place] = until,
            None => ends[channel].push(until),
        }
        track[index] = place;
    }
    (track, ends.iter().map(Vec::len).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_arrow_to_the_next_column_takes_one_gutter_and_one_back_two() {
        let at = |column, row| CardPlace { column, row };
        let next = Route::new(at(0, 0), 7, at(1, 3));
        assert_eq!((next.from_gutter, next.to_gutter, next.exit, next.entry), (1, 1, Side::Right, Side::Left));
        let back = Route::new(at(1, 3), 0, at(0, 0));
        assert_eq!((back.from_gutter, back.to_gutter, back.exit, back.entry), (1, 1, Side::Left, Side::Right));
        let below = Route::new(at(2, 0), 5, at(2, 1));
        assert_eq!((below.exit, below.entry, below.crosses()), (Side::Right, Side::Right, false));
        assert!(Route::new(at(0, 0), 9, at(3, 0)).crosses() && Route::new(at(3, 0), 0, at(0, 0)).crosses());
    }

    #[test]
    fn tracks_are_as_few_as_overlap() {
        let stretch = |to, from, until| Stretch { channel: 0, to, from, until };
        let all = [stretch(0, 0.0, 10.0), stretch(1, 5.0, 20.0), stretch(2, 12.0, 15.0), stretch(3, 30.0, 40.0)];
        let (track, counts) = tracks(&all, 2, 1.0);
        assert_eq!((track, counts), (vec![0, 1, 0, 0], vec![2, 0]));
        let joined = joined([stretch(4, 1.0, 2.0), stretch(4, 0.5, 1.5)]);
        assert_eq!(joined, [stretch(4, 0.5, 2.0)]);
    }
}

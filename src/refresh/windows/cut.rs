//! A first cover, found fast: the changed region cut in two where that saves most, again and again.
//!
//! Not the best cover, but a good one for the search to beat.

use super::grid::below_bit;
use super::{Area, Grid, Price};

/// Cuts of one piece after another, with their buffers.
#[derive(Debug, Default)]
pub(super) struct Cuts {
    pieces: Vec<(Area, Option<Cut>)>,
    /// Extents of what lies before and after each cut.
    before: Vec<Extent>,
    after: Vec<Extent>,
}

/// The straight cut of a piece that gains most, and its two parts, each tight.
#[derive(Clone, Copy, Debug)]
struct Cut {
    gain: f64,
    one: Area,
    other: Area,
}

/// The smallest area around some cells, `None` as long as there are none.
type Extent = Option<Area>;

impl Cuts {
    /// Cuts the piece that gains most by it as long as that gains anything and there are fewer than `most`.
    pub fn cut(&mut self, grid: &Grid, price: Price, all: Area, most: usize) -> impl Iterator<Item = Area> {
        let cut = self.best_cut(grid, price, all);
        self.pieces.clear();
        self.pieces.push((all, cut));
        while self.pieces.len() < most {
            let cuts = self.pieces.iter().enumerate().filter_map(|(at, (_, cut))| Some((at, (*cut)?)));
            let Some((at, cut)) = cuts.max_by(|a, b| a.1.gain.total_cmp(&b.1.gain)) else { break };
            self.pieces[at] = (cut.one, self.best_cut(grid, price, cut.one));
            let other = self.best_cut(grid, price, cut.other);
            self.pieces.push((cut.other, other));
        }
        self.pieces.iter().map(|(area, _)| *area)
    }

    /// The cut of a tight piece that gains most, if any gains anything.
    fn best_cut(&mut self, grid: &Grid, price: Price, piece: Area) -> Option<Cut> {
        let whole = price.of_area(grid, piece);
        let mask = below_bit(piece.right) & !below_bit(piece.left);
        let mut best: Option<Cut> = None;
        let across = (piece.top..piece.bottom).map(|at| of_row(at, grid.rows[at] & mask));
        self.before.clear();
        self.before.extend(across);
        best = self.best_of_series(grid, price, whole, best);
        self.before.clear();
        self.before.resize(piece.right - piece.left, None);
        for at in piece.top..piece.bottom {
            let mut rest = grid.rows[at] & mask;
            while rest != 0 {
                let left = rest.trailing_zeros() as usize;
                rest &= rest - 1;
                let cell = Area { top: at, bottom: at + 1, left, right: left + 1 };
                let column = &mut self.before[left - piece.left];
                *column = join(*column, Some(cell));
            }
        }
        best = self.best_of_series(grid, price, whole, best);
        best
    }

    /// The best cut between the rows (or columns) whose extents stand in `before`, or `best` if that is better.
    fn best_of_series(&mut self, grid: &Grid, price: Price, whole: f64, mut best: Option<Cut>) -> Option<Cut> {
        self.after.clone_from(&self.before);
        for at in 1..self.before.len() {
            self.before[at] = join(self.before[at - 1], self.before[at]);
        }
        for at in (1..self.after.len()).rev() {
            self.after[at - 1] = join(self.after[at - 1], self.after[at]);
        }
        for (one, other) in self.before.iter().zip(self.after.iter().skip(1)) {
            let (Some(one), Some(other)) = (*one, *other) else { continue };
            let gain = whole - price.of_area(grid, one) - price.of_area(grid, other);
            if gain > best.map_or(0.0, |cut| cut.gain) {
                best = Some(Cut { gain, one, other });
            }
        }
        best
    }
}

fn of_row(at: usize, row: u128) -> Extent {
    let (left, right) = (row.trailing_zeros() as usize, 128 - row.leading_zeros() as usize);
    (row != 0).then_some(Area { top: at, bottom: at + 1, left, right })
}

fn join(one: Extent, other: Extent) -> Extent {
    let (Some(a), Some(b)) = (one, other) else { return one.or(other) };
    Some(Area {
        top: a.top.min(b.top),
        bottom: a.bottom.max(b.bottom),
        left: a.left.min(b.left),
        right: a.right.max(b.right),
    })
}

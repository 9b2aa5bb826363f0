//! The search for the cheapest cover: branch and bound, one window more at a time.
//!
//! Not for reading changed bytes (the grid) nor for units.

use super::grid::{below_bit, bounds};
use super::{Area, Grid, MOST_WINDOWS, Price, Window};

/// The search's buffers and the best cover so far.
#[derive(Debug, Default)]
pub(super) struct Search {
    filled: Grid,
    nodes: Vec<Node>,
    pieces: Vec<Area>,
    state: State,
}

#[derive(Debug, Default)]
struct State {
    best: f64,
    windows: Vec<Window>,
    chosen: Vec<Area>,
    effort: u64,
    spent_out: bool,
}

/// What is still uncovered once some windows are placed, and where the next may go.
#[derive(Debug, Default)]
struct Node {
    rows: Vec<u128>,
    /// Per row, the uncovered bytes of one line left of each column, and at last all of them.
    sums: Vec<u32>,
    /// Per column, the first row in which it is uncovered.
    first: Vec<usize>,
    places: Vec<Place>,
}

/// A window that could come next, and what any cover with it costs at least.
#[derive(Clone, Copy, Debug)]
struct Place {
    least: f64,
    area: Area,
}

impl State {
    /// Takes steps off the effort left; false when there is none.
    fn step(&mut self, steps: usize) -> bool {
        self.spent_out |= self.effort < steps as u64;
        self.effort = self.effort.saturating_sub(steps as u64);
        !self.spent_out
    }

    /// Keeps the chosen windows, and one more, if they are the best cover so far.
    fn record(&mut self, grid: &Grid, cost: f64, more: Option<Area>) {
        if cost < self.best {
            self.best = cost;
            self.windows.clear();
            self.windows.extend(self.chosen.iter().chain(more.iter()).map(|area| grid.window(*area)));
        }
    }
}

impl Search {
    /// The windows of the best cover.
    pub fn best(&self) -> &[Window] {
        &self.state.windows
    }

    /// Finds the best cover of all changed cells, which lie within `all`; returns whether none can be cheaper.
    pub fn run(&mut self, grid: &Grid, all: Area, price: Price, max_windows: usize, effort: u64) -> bool {
        (self.state.best, self.state.effort, self.state.spent_out) = (f64::INFINITY, effort, false);
        self.state.chosen.clear();
        self.state.record(grid, cost(grid, price, all), Some(all));
        let apart = cells_alone(grid, price, &grid.rows);
        let worth = |state: &State, windows: usize, cells: f64| price.window * windows as f64 + cells < state.best;
        let most = max_windows.clamp(1, MOST_WINDOWS);
        let mut cut = false;
        for windows in 2..=most {
            if !worth(&self.state, windows, apart) {
                return true;
            }
            self.filled.copy(grid);
            self.filled.fill(windows);
            let cells = rows_alone(&self.filled, price, &self.filled.rows, windows);
            if !cut && worth(&self.state, windows, cells) {
                cut = true;
                self.cut_in_two(grid, all, price, most);
            }
            if !worth(&self.state, windows, cells) {
                continue;
            }
            self.nodes.resize_with(self.nodes.len().max(windows), Node::default);
            self.nodes[0].rows.clone_from(&self.filled.rows);
            place(&self.filled, price, &mut self.nodes, 0.0, windows, &mut self.state);
            if self.state.spent_out {
                return false;
            }
        }
        max_windows <= most || !worth(&self.state, most + 1, apart)
    }

    /// A first cover: cuts the piece in two that gains most by it, again and again while that gains anything.
    fn cut_in_two(&mut self, grid: &Grid, all: Area, price: Price, most: usize) {
        self.pieces.clear();
        self.pieces.push(all);
        while self.pieces.len() < most {
            let best = (0..self.pieces.len())
                .filter_map(|at| best_cut(grid, price, self.pieces[at]).map(|cut| (at, cut)))
                .max_by(|a, b| a.1.gain.total_cmp(&b.1.gain));
            let Some((at, cut)) = best else { break };
            self.pieces[at] = cut.one;
            self.pieces.push(cut.other);
        }
        self.state.chosen.clone_from(&self.pieces);
        let sum = self.pieces.iter().map(|piece| cost(grid, price, *piece)).sum();
        self.state.record(grid, sum, None);
        self.state.chosen.clear();
    }
}

struct Cut {
    gain: f64,
    one: Area,
    other: Area,
}

/// The straight cut of a piece whose two parts, each made tight, cost least, if that gains anything.
fn best_cut(grid: &Grid, price: Price, piece: Area) -> Option<Cut> {
    let lines = (piece.top + 1..piece.bottom).map(|at| (Area { bottom: at, ..piece }, Area { top: at, ..piece }));
    let columns = (piece.left + 1..piece.right).map(|at| (Area { right: at, ..piece }, Area { left: at, ..piece }));
    let whole = cost(grid, price, piece);
    lines
        .chain(columns)
        .filter_map(|(one, other)| Some((bounds(&grid.rows, one)?, bounds(&grid.rows, other)?)))
        .map(|(one, other)| Cut { gain: whole - cost(grid, price, one) - cost(grid, price, other), one, other })
        .filter(|cut| cut.gain > 0.0)
        .max_by(|a, b| a.gain.total_cmp(&b.gain))
}

/// Tries every window that covers the first uncovered cell, cheapest bound first, and for each the rest in turn.
/// `spent` is the cost of the windows placed so far, `left` how many may still be placed (two or more).
fn place(grid: &Grid, price: Price, nodes: &mut [Node], spent: f64, left: usize, state: &mut State) {
    let Some((node, deeper)) = nodes.split_first_mut() else { return };
    if !node.survey(grid, state) {
        return;
    }
    let floor = spent + price.window * left as f64 + cells_alone(grid, price, &node.rows);
    node.find_places(grid, price, floor, state);
    for index in 0..node.places.len() {
        let Place { least, area } = node.places[index];
        if least >= state.best || !state.step(node.rows.len()) {
            return;
        }
        let Some(next) = deeper.first_mut() else { return };
        next.take(&node.rows, area);
        let spent = spent + cost(grid, price, area);
        state.chosen.push(area);
        let everything = Area { top: 0, bottom: next.rows.len(), left: 0, right: grid.left.len() - 1 };
        match bounds(&next.rows, everything) {
            None => state.record(grid, spent, None),
            Some(rest) if left == 2 => state.record(grid, spent + cost(grid, price, rest), Some(rest)),
            Some(_) => {
                let rest = price.window * (left - 1) as f64 + rows_alone(grid, price, &next.rows, left - 1);
                if spent + rest < state.best {
                    place(grid, price, deeper, spent, left - 1, state);
                }
            }
        }
        state.chosen.pop();
    }
}

impl Node {
    /// Fills the tables of the uncovered cells. False if the effort is spent.
    fn survey(&mut self, grid: &Grid, state: &mut State) -> bool {
        let columns = grid.left.len() - 1;
        self.sums.clear();
        self.first.clear();
        self.first.resize(columns, usize::MAX);
        for (at, row) in self.rows.iter().enumerate() {
            let mut sum = 0;
            for (column, ends) in grid.left.windows(2).enumerate() {
                self.sums.push(sum);
                if row >> column & 1 == 1 {
                    sum += ends[1] - ends[0];
                    self.first[column] = self.first[column].min(at);
                }
            }
            self.sums.push(sum);
        }
        state.step(self.sums.len())
    }

    /// Lists the tight windows over the first uncovered cell whose bound is below the best cover, lowest bound first.
    /// `floor` is what a cover costs at least that wastes nothing from here on.
    fn find_places(&mut self, grid: &Grid, price: Price, floor: f64, state: &mut State) {
        self.places.clear();
        let Some(top) = self.rows.iter().position(|row| *row != 0) else { return };
        let corner = self.rows[top].trailing_zeros() as usize;
        let columns = self.first.len();
        for (left, right) in (0..=corner).flat_map(|left| (corner..columns).map(move |right| (left, right))) {
            let tight_from = self.first[left].max(self.first[right]);
            if tight_from < self.rows.len() {
                let area = Area { top, bottom: top, left, right: right + 1 };
                let steps = self.try_bottoms(grid, price, floor, area, tight_from, state.best);
                if !state.step(steps) {
                    return;
                }
            }
        }
        self.places.sort_by(|a, b| a.least.total_cmp(&b.least));
    }

    /// Lets a window grow line by line until it wastes too much. Returns the rows looked at.
    fn try_bottoms(
        &mut self,
        grid: &Grid,
        price: Price,
        floor: f64,
        from: Area,
        tight_from: usize,
        best: f64,
    ) -> usize {
        let per_row = grid.left.len();
        let width = grid.width(from);
        let mut least = floor;
        for at in from.top..self.rows.len() {
            let sums = &self.sums[at * per_row..][..per_row];
            let taken = sums[from.right] - sums[from.left];
            let lines = f64::from(grid.top[at + 1] - grid.top[at]);
            least += lines * price.byte * f64::from(width - taken);
            // A line whose uncovered bytes are not all taken needs a further window, and is paid for again.
            if taken == 0 || taken < sums[per_row - 1] {
                least += lines * price.line;
            }
            if least >= best {
                return at + 1 - from.top;
            }
            if taken > 0 && at >= tight_from {
                self.places.push(Place { least, area: Area { bottom: at + 1, ..from } });
            }
        }
        self.rows.len() - from.top
    }

    /// Becomes what is uncovered of `rows` once `area` is covered.
    fn take(&mut self, rows: &[u128], area: Area) {
        self.rows.clear();
        self.rows.extend_from_slice(rows);
        let kept = !(below_bit(area.right) & !below_bit(area.left));
        for row in &mut self.rows[area.top..area.bottom] {
            *row &= kept;
        }
    }
}

fn cost(grid: &Grid, price: Price, area: Area) -> f64 {
    let lines = u64::from(grid.height(area));
    price.of(lines, lines * u64::from(grid.width(area)))
}

/// Cost of the uncovered bytes and of each line with any, as if nothing else were sent and no window set up.
fn cells_alone(grid: &Grid, price: Price, rows: &[u128]) -> f64 {
    let cost_of_row = |row: u128| {
        let mut bytes = 0;
        let mut rest = row;
        while rest != 0 {
            let start = rest.trailing_zeros() as usize;
            let end = run_end(rest, start);
            bytes += grid.left[end] - grid.left[start];
            rest &= !below_bit(end);
        }
        price.line + price.byte * f64::from(bytes)
    };
    sum_of_rows(grid, rows, cost_of_row)
}

/// Least cost of covering each line for itself with up to `windows` intervals, no window set-up counted: one interval
/// over all of it, less the `windows - 1` gaps that save most, each of which takes one interval more over this line.
fn rows_alone(grid: &Grid, price: Price, rows: &[u128], windows: usize) -> f64 {
    let cost_of_row = |row: u128| {
        let (left, right) = (row.trailing_zeros() as usize, 128 - row.leading_zeros() as usize);
        let mut saved = [0.0; MOST_WINDOWS - 1];
        let saved = &mut saved[..windows - 1];
        let mut rest = row;
        loop {
            let end = run_end(rest, rest.trailing_zeros() as usize);
            rest &= !below_bit(end);
            if rest == 0 {
                break;
            }
            let gap = grid.left[rest.trailing_zeros() as usize] - grid.left[end];
            let mut gain = price.byte * f64::from(gap) - price.line;
            for kept in saved.iter_mut() {
                if gain > *kept {
                    std::mem::swap(kept, &mut gain);
                }
            }
        }
        price.line + price.byte * f64::from(grid.left[right] - grid.left[left]) - saved.iter().sum::<f64>()
    };
    sum_of_rows(grid, rows, cost_of_row)
}

/// Where the run of set bits that begins at `start` ends.
fn run_end(row: u128, start: usize) -> usize {
    start + (row >> start).trailing_ones() as usize
}

fn sum_of_rows(grid: &Grid, rows: &[u128], cost_of_row: impl Fn(u128) -> f64) -> f64 {
    let lines = grid.top.windows(2).map(|ends| f64::from(ends[1] - ends[0]));
    rows.iter().zip(lines).filter(|(row, _)| **row != 0).map(|(row, lines)| lines * cost_of_row(*row)).sum()
}

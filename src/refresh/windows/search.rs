//! The search for the cheapest cover: branch and bound, one window more at a time.
//!
//! Not for reading changed bytes (the grid) nor for units.

use super::cut::Cuts;
use super::grid::{below_bit, fill};
use super::least::{Waste, cells_alone, rows_alone};
use super::{Area, Grid, MOST_WINDOWS, Price, Window};

/// The search's buffers and the best cover so far.
#[derive(Debug, Default)]
pub(super) struct Search {
    filled: Grid,
    nodes: Vec<Node>,
    cuts: Cuts,
    waste: Waste,
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

/// What does not change while the windows of one count are searched.
struct Field<'a> {
    grid: &'a Grid,
    price: Price,
}

/// What is still uncovered once some windows are placed, and where the next may go.
#[derive(Debug, Default)]
struct Node {
    rows: Vec<u128>,
    /// Per row, the uncovered bytes of one line left of each column, and at last all of them.
    sums: Vec<u32>,
    /// Per column, the first row in which it is uncovered.
    first: Vec<usize>,
    /// What is uncovered from each row on, and after the last.
    onward: Vec<Onward>,
    places: Vec<Candidate>,
    /// Scratch.
    below: Vec<u128>,
}

/// The columns and the rows of what is uncovered from some row on.
#[derive(Clone, Copy, Debug)]
struct Onward {
    all: u128,
    top: usize,
    bottom: usize,
}

/// A window that could come next, and what any cover with it costs at least.
#[derive(Clone, Copy, Debug)]
struct Candidate {
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

    /// Keeps the chosen windows, and up to two more, if they are the best cover so far.
    fn record(&mut self, grid: &Grid, cost: f64, more: [Option<Area>; 2]) {
        if cost < self.best {
            self.best = cost;
            self.windows.clear();
            let areas = self.chosen.iter().chain(more.iter().flatten());
            self.windows.extend(areas.map(|area| grid.window(*area)));
        }
    }
}

impl Search {
    /// The windows of the best cover.
    pub fn best(&self) -> &[Window] {
        &self.state.windows
    }

    /// Finds the best cover of all changed cells, which lie within `all`; returns whether none can cost less.
    pub fn run(&mut self, grid: &Grid, all: Area, price: Price, max_windows: usize, effort: u64) -> bool {
        (self.state.best, self.state.effort, self.state.spent_out) = (f64::INFINITY, effort, false);
        self.state.chosen.clear();
        self.state.record(grid, price.of_area(grid, all), [Some(all), None]);
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
                self.state.chosen.extend(self.cuts.cut(grid, price, all, most));
                let sum = self.state.chosen.iter().map(|piece| price.of_area(grid, *piece)).sum();
                self.state.record(grid, sum, [None, None]);
                self.state.chosen.clear();
            }
            if !worth(&self.state, windows, cells) {
                continue;
            }
            self.search(price, windows);
            if self.state.spent_out {
                return false;
            }
        }
        max_windows <= most || !worth(&self.state, most + 1, apart)
    }

    /// Looks for covers of the filled grid with up to `windows` windows that beat the best.
    fn search(&mut self, price: Price, windows: usize) {
        let field = Field { grid: &self.filled, price };
        self.nodes.resize_with(self.nodes.len().max(windows), Node::default);
        self.nodes[0].rows.clone_from(&self.filled.rows);
        if windows > 2 {
            self.waste.survey(&self.filled);
        }
        field.place(&mut self.nodes, &mut self.waste, 0.0, windows, &mut self.state);
    }
}

impl Field<'_> {
    /// Tries every window over the first uncovered cell, cheapest bound first, and for each the rest in turn. `spent` is
    /// the cost of the windows placed so far, `left` how many may still be placed (two or more).
    fn place(&self, nodes: &mut [Node], waste: &mut Waste, spent: f64, left: usize, state: &mut State) {
        let Some((node, deeper)) = nodes.split_first_mut() else { return };
        let floor = spent + self.price.window * left as f64 + cells_alone(self.grid, self.price, &node.rows);
        if floor >= state.best || !node.survey(self.grid, state) {
            return;
        }
        if left == 2 {
            return self.place_last_two(node, spent, floor, state);
        }
        self.find_places(node, floor, state);
        for index in 0..node.places.len() {
            let Candidate { least, area } = node.places[index];
            if least >= state.best || !state.step(4 * node.rows.len()) {
                return;
            }
            let Some(next) = deeper.first_mut() else { return };
            next.take(&node.rows, area);
            let spent = spent + self.price.of_area(self.grid, area);
            state.chosen.push(area);
            if next.rows.iter().all(|row| *row == 0) {
                state.record(self.grid, spent, [None, None]);
            } else if self.hope(next, waste, spent, least, left - 1, state.best) {
                self.place(deeper, waste, spent, left - 1, state);
            }
            state.chosen.pop();
        }
    }

    /// Whether `left` more windows may still lead to less than the best cover; `least` is a bound that leaves their
    /// waste out. Counts as uncovered what two windows cannot leave out anyway.
    fn hope(&self, node: &mut Node, waste: &mut Waste, spent: f64, least: f64, left: usize, best: f64) -> bool {
        if least + waste.of_sharing(self.grid, self.price, &node.rows, left) >= best {
            return false;
        }
        // Not before: the waste is counted on the grid's own unchanged cells, which must not be filled by then.
        if left == 2 {
            fill(&mut node.rows, &mut node.below, 2);
        }
        spent + self.price.window * left as f64 + rows_alone(self.grid, self.price, &node.rows, left) < best
    }

    /// Lists the tight windows over the first uncovered cell whose bound is below the best cover, lowest bound first.
    /// `floor` is what a cover costs at least that wastes nothing from here on.
    fn find_places(&self, node: &mut Node, floor: f64, state: &mut State) {
        let mut places = std::mem::take(&mut node.places);
        places.clear();
        for (area, tight_from) in node.corners() {
            let mut grown = Grown { area, least: floor, taken: 0 };
            while self.grow(node, &mut grown) && grown.least < state.best {
                if grown.is_tight(tight_from) {
                    places.push(Candidate { least: grown.least, area: grown.area });
                }
            }
            if !state.step(grown.area.bottom - area.top) {
                return;
            }
        }
        places.sort_by(|a, b| a.least.total_cmp(&b.least));
        node.places = places;
    }

    /// Tries every window over the first uncovered cell together with the one window that the rest then needs.
    fn place_last_two(&self, node: &Node, spent: f64, floor: f64, state: &mut State) {
        for (area, tight_from) in node.corners() {
            let outside = !(below_bit(area.right) & !below_bit(area.left));
            let (mut beside, mut beside_top, mut beside_bottom) = (0, usize::MAX, 0);
            let mut grown = Grown { area, least: floor, taken: 0 };
            while self.grow(node, &mut grown) && grown.least < state.best {
                let bottom = grown.area.bottom;
                let row = node.rows[bottom - 1] & outside;
                if row != 0 {
                    beside |= row;
                    beside_top = beside_top.min(bottom - 1);
                    beside_bottom = bottom;
                }
                if !grown.is_tight(tight_from) {
                    continue;
                }
                let onward = node.onward[bottom];
                let all = beside | onward.all;
                let rest = (all != 0).then_some(Area {
                    top: beside_top.min(onward.top),
                    bottom: beside_bottom.max(onward.bottom),
                    left: all.trailing_zeros() as usize,
                    right: 128 - all.leading_zeros() as usize,
                });
                let cost = |area: Area| self.price.of_area(self.grid, area);
                let both = spent + cost(grown.area) + rest.map_or(0.0, cost);
                state.record(self.grid, both, [Some(grown.area), rest]);
            }
            if !state.step(grown.area.bottom - area.top) {
                return;
            }
        }
    }

    /// Lets a window take one row more and counts what it wastes there. False if there is none.
    fn grow(&self, node: &Node, grown: &mut Grown) -> bool {
        let (at, area) = (grown.area.bottom, &mut grown.area);
        if at == node.rows.len() {
            return false;
        }
        area.bottom += 1;
        let per_row = self.grid.left.len();
        let sums = &node.sums[at * per_row..][..per_row];
        grown.taken = sums[area.right] - sums[area.left];
        let lines = f64::from(self.grid.top[at + 1] - self.grid.top[at]);
        grown.least += lines * self.price.byte * f64::from(self.grid.width(*area) - grown.taken);
        // A line whose uncovered bytes are not all taken needs a further window, and is paid for again.
        if grown.taken == 0 || grown.taken < sums[per_row - 1] {
            grown.least += lines * self.price.line;
        }
        true
    }
}

/// A window that grows row by row.
struct Grown {
    area: Area,
    /// What any cover with it costs at least.
    least: f64,
    /// Uncovered bytes it takes on each line of its last row.
    taken: u32,
}

impl Grown {
    /// Whether uncovered cells touch the last row and, since `tight_from` lies within, both sides.
    fn is_tight(&self, tight_from: usize) -> bool {
        self.taken > 0 && self.area.bottom > tight_from
    }
}

impl Node {
    /// Fills the tables of the uncovered cells. False if the effort is spent.
    fn survey(&mut self, grid: &Grid, state: &mut State) -> bool {
        self.sums.clear();
        self.first.clear();
        self.first.resize(grid.left.len() - 1, usize::MAX);
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
        let mut onward = Onward { all: 0, top: usize::MAX, bottom: 0 };
        self.onward.clear();
        self.onward.resize(self.rows.len() + 1, onward);
        for (at, row) in self.rows.iter().enumerate().rev() {
            if *row != 0 {
                onward = Onward { all: onward.all | row, top: at, bottom: onward.bottom.max(at + 1) };
            }
            self.onward[at] = onward;
        }
        state.step(self.sums.len())
    }

    /// The top edges, without height, of all windows over the first uncovered cell, each with the first row by which
    /// both its sides touch an uncovered cell.
    fn corners(&self) -> impl Iterator<Item = (Area, usize)> {
        let top = self.rows.iter().position(|row| *row != 0).unwrap_or(self.rows.len());
        let corner = self.rows.get(top).map_or(0, |row| row.trailing_zeros() as usize);
        let sides = (0..=corner).flat_map(move |left| (corner..self.first.len()).map(move |right| (left, right)));
        sides
            .map(move |(left, right)| {
                let area = Area { top, bottom: top, left, right: right + 1 };
                (area, self.first[left].max(self.first[right]))
            })
            .filter(|(_, tight_from)| *tight_from != usize::MAX)
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

//! What a cover must cost at least: bounds that let the search drop most of its branches.
//!
//! Each holds for every cover of the uncovered cells and leaves out the set-up of windows, which the search adds.

use super::grid::below_bit;
use super::{Grid, MOST_WINDOWS, Price};

/// Cost of the uncovered bytes and of each line with any, as if nothing else were sent and no window set up.
pub(super) fn cells_alone(grid: &Grid, price: Price, rows: &[u128]) -> f64 {
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
pub(super) fn rows_alone(grid: &Grid, price: Price, rows: &[u128], windows: usize) -> f64 {
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

/// Rows looked at for cells that lie far apart; more find better ones and take longer.
const SAMPLED_ROWS: usize = 12;

/// What windows waste on unchanged cells: tables over one grid.
#[derive(Debug, Default)]
pub(super) struct Waste {
    /// Unchanged bytes in the rows above and the columns left of each corner of the grid, row by row.
    bytes: Vec<u32>,
    /// Lines without a change above each row, and in all.
    lines: Vec<u32>,
    /// Scratch: cells at the ends of their rows, with the least waste that joins them to one already picked.
    ends: Vec<(usize, usize, f64)>,
}

impl Waste {
    /// Fills the tables for a grid.
    pub fn survey(&mut self, grid: &Grid) {
        let columns = grid.left.len();
        self.bytes.clear();
        self.bytes.resize(columns, 0);
        self.lines.clear();
        self.lines.push(0);
        for (at, row) in grid.rows.iter().enumerate() {
            let height = grid.top[at + 1] - grid.top[at];
            let mut sum = 0;
            self.bytes.push(0);
            for column in 1..columns {
                if row >> (column - 1) & 1 == 0 {
                    sum += height * (grid.left[column] - grid.left[column - 1]);
                }
                self.bytes.push(sum + self.bytes[at * columns + column]);
            }
            self.lines.push(self.lines[at] + if *row == 0 { height } else { 0 });
        }
    }

    /// What every window that holds both cells (row, column) wastes.
    fn between(&self, columns: usize, price: Price, one: (usize, usize), other: (usize, usize)) -> f64 {
        let (top, bottom) = (one.0.min(other.0), one.0.max(other.0) + 1);
        let (left, right) = (one.1.min(other.1), one.1.max(other.1) + 1);
        let sum = |row: usize, column: usize| self.bytes[row * columns + column];
        let bytes = sum(bottom, right) + sum(top, left) - sum(top, right) - sum(bottom, left);
        price.byte * f64::from(bytes) + price.line * f64::from(self.lines[bottom] - self.lines[top])
    }

    /// What `windows` windows waste at least on covering the uncovered `rows`: of `windows + 1` cells that lie far
    /// apart, two must share a window.
    pub fn of_sharing(&mut self, grid: &Grid, price: Price, rows: &[u128], windows: usize) -> f64 {
        self.ends.clear();
        let taken = rows.iter().filter(|row| **row != 0).count().div_ceil(SAMPLED_ROWS).max(1);
        for (at, row) in rows.iter().enumerate().filter(|(_, row)| **row != 0).step_by(taken) {
            let (first, last) = (row.trailing_zeros() as usize, 127 - row.leading_zeros() as usize);
            self.ends.push((at, first, f64::INFINITY));
            if last != first {
                self.ends.push((at, last, f64::INFINITY));
            }
        }
        let mut ends = std::mem::take(&mut self.ends);
        let mut picked = ends.first().map(|end| (end.0, end.1));
        let mut least = f64::INFINITY;
        for _ in 0..windows {
            let Some(pick) = picked else { break };
            let mut farthest = 0.0;
            picked = None;
            for (row, column, nearest) in &mut ends {
                *nearest = nearest.min(self.between(grid.left.len(), price, pick, (*row, *column)));
                if *nearest > farthest {
                    (farthest, picked) = (*nearest, Some((*row, *column)));
                }
            }
            least = least.min(farthest);
        }
        self.ends = ends;
        least
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    const PRICE: Price = Price { window: 50.0, byte: 3.0, line: 0.5 };
    const SIDE: usize = 5;

    type Bytes = [[bool; SIDE]; SIDE];

    fn grid(bytes: &Bytes) -> Grid {
        let changed: Vec<u8> = bytes.as_flattened().iter().map(|changed| u8::from(*changed)).collect();
        let mut grid = Grid::default();
        assert!(grid.read(&changed, SIDE), "few enough columns");
        grid
    }

    fn random_bytes(random: &mut ChaCha8Rng) -> Bytes {
        let share = random.random_range(0.1..0.7);
        let mut bytes = [[false; SIDE]; SIDE];
        bytes.as_flattened_mut().iter_mut().for_each(|changed| *changed = random.random_bool(share));
        bytes[random.random_range(0..SIDE)][random.random_range(0..SIDE)] = true;
        bytes
    }

    fn cost(bytes: usize, lines: usize) -> f64 {
        PRICE.byte * bytes as f64 + PRICE.line * lines as f64
    }

    fn alone(bytes: &Bytes) -> f64 {
        let lines = bytes.iter().filter(|line| line.contains(&true)).count();
        cost(bytes.as_flattened().iter().filter(|changed| **changed).count(), lines)
    }

    /// The cheapest cover of a line by up to so many intervals, every choice of them tried.
    fn line_alone(line: &[bool; SIDE], windows: usize) -> f64 {
        let Some(first) = line.iter().position(|changed| *changed) else { return 0.0 };
        let mut least = f64::INFINITY;
        for end in first + 1..=SIDE {
            let mut rest = *line;
            rest[..end].fill(false);
            let here = cost(end - first, 1);
            match (rest.contains(&true), windows) {
                (false, _) => least = least.min(here),
                (true, 2..) => least = least.min(here + line_alone(&rest, windows - 1)),
                _ => {}
            }
        }
        least
    }

    #[test]
    fn bounds_of_cells_and_lines_are_those_counted_one_by_one() {
        let mut random = ChaCha8Rng::seed_from_u64(5);
        for _ in 0..300 {
            let bytes = random_bytes(&mut random);
            let grid = grid(&bytes);
            assert!((cells_alone(&grid, PRICE, &grid.rows) - alone(&bytes)).abs() < 1e-9, "{bytes:?}");
            for windows in 1..=MOST_WINDOWS {
                let expected: f64 = bytes.iter().map(|line| line_alone(line, windows)).sum();
                let found = rows_alone(&grid, PRICE, &grid.rows, windows);
                assert!((found - expected).abs() < 1e-9, "{bytes:?}, {windows}: {found}, {expected}");
            }
        }
    }

    /// Rectangles as first and last line, first and last byte.
    fn rectangles() -> Vec<[usize; 4]> {
        let spans = || (0..SIDE).flat_map(|from| (from..SIDE).map(move |to| (from, to)));
        spans().flat_map(|(top, bottom)| spans().map(move |(left, right)| [top, bottom, left, right])).collect()
    }

    fn holds([top, bottom, left, right]: [usize; 4], y: usize, x: usize) -> bool {
        (top..=bottom).contains(&y) && (left..=right).contains(&x)
    }

    /// What a rectangle sends in vain.
    fn wasted(bytes: &Bytes, area: [usize; 4]) -> f64 {
        let [top, bottom, left, right] = area;
        let unchanged = |line: &[bool; SIDE]| line[left..=right].iter().filter(|changed| !**changed).count();
        let lines = bytes[top..=bottom].iter().filter(|line| !line.contains(&true)).count();
        cost(bytes[top..=bottom].iter().map(unchanged).sum(), lines)
    }

    #[test]
    fn no_two_windows_waste_less_than_is_said() {
        let mut random = ChaCha8Rng::seed_from_u64(6);
        let all = rectangles();
        let mut some = 0;
        for _ in 0..40 {
            let bytes = random_bytes(&mut random);
            let grid = grid(&bytes);
            let mut waste = Waste::default();
            waste.survey(&grid);
            let said = waste.of_sharing(&grid, PRICE, &grid.rows, 2);
            let cells = || (0..SIDE).flat_map(|y| (0..SIDE).map(move |x| (y, x))).filter(|(y, x)| bytes[*y][*x]);
            let cover =
                |one: &[usize; 4], other: &[usize; 4]| cells().all(|(y, x)| holds(*one, y, x) || holds(*other, y, x));
            let pairs = all.iter().flat_map(|one| all.iter().map(move |other| (one, other)));
            let least = pairs
                .filter(|(one, other)| cover(one, other))
                .map(|(one, other)| wasted(&bytes, *one) + if one == other { 0.0 } else { wasted(&bytes, *other) })
                .fold(f64::INFINITY, f64::min);
            assert!(said <= least + 1e-9 || !said.is_finite(), "{bytes:?}: {said}, {least}");
            some += usize::from(said > 0.0 && said.is_finite());
        }
        assert!(some > 10, "{some} grids have a bound");
    }

    /// By hand: of three corners of a square of five bytes two share a window, at least the two of the first line, with the
    /// three bytes between them.
    #[test]
    fn of_three_corners_two_share_a_window() {
        let mut bytes = [[false; SIDE]; SIDE];
        (bytes[0][0], bytes[0][4], bytes[4][0]) = (true, true, true);
        let grid = grid(&bytes);
        let mut waste = Waste::default();
        waste.survey(&grid);
        assert_eq!(waste.of_sharing(&grid, PRICE, &grid.rows, 2), cost(3, 0));
        // One window has the first cell and the one farthest from it, with three bytes and three lines between them.
        assert_eq!(waste.of_sharing(&grid, PRICE, &grid.rows, 1), cost(3, 3));
    }
}

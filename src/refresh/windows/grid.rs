//! Changed bytes as a small grid: lines and byte columns that change alike are taken together.
//!
//! Not for choosing windows.

use super::Window;

/// Most columns of a grid: the bits of a row.
const MOST_COLUMNS: usize = 128;

/// Rows and columns of a [`Grid`], ends excluded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Area {
    pub top: usize,
    pub bottom: usize,
    pub left: usize,
    pub right: usize,
}

/// Which cells change; a cell is a rectangle of bytes.
#[derive(Clone, Debug, Default)]
pub(super) struct Grid {
    /// One bit per column, the leftmost the lowest: set where the cell changes.
    pub rows: Vec<u128>,
    /// First line of each row, and the line after the last.
    pub top: Vec<u32>,
    /// First byte of each column, and the byte after the last.
    pub left: Vec<u32>,
    /// Scratch: per byte column, whether it differs from the one before in any line.
    differs: Vec<u8>,
    /// Scratch: lines with a change.
    lines: Vec<u32>,
    /// Scratch of [`fill`].
    below: Vec<u128>,
}

impl Grid {
    /// Reads lines of `stride` bytes. Returns whether each column is one of bytes that change alike.
    pub fn read(&mut self, changed: &[u8], stride: usize) -> bool {
        self.lines.clear();
        self.differs.clear();
        self.differs.resize(stride, 0);
        for (y, line) in changed.chunks_exact(stride).enumerate() {
            if line.iter().fold(0, |all, byte| all | byte) == 0 {
                continue;
            }
            self.lines.push(y as u32);
            for ((differs, before), byte) in self.differs[1..].iter_mut().zip(line).zip(&line[1..]) {
                *differs |= u8::from(*before != 0) ^ u8::from(*byte != 0);
            }
        }
        self.left.clear();
        self.left.push(0);
        self.left.extend((1..stride as u32).filter(|x| self.differs[*x as usize] != 0));
        let whole = self.left.len() <= MOST_COLUMNS;
        if !whole {
            thin(&mut self.left);
        }
        self.left.push(stride as u32);
        self.read_rows(changed, stride, whole);
        whole
    }

    fn read_rows(&mut self, changed: &[u8], stride: usize, whole: bool) {
        self.rows.clear();
        self.top.clear();
        let mut end = 0;
        for &y in &self.lines {
            let line = &changed[y as usize * stride..][..stride];
            let row = if whole { row_of_starts(line, &self.left) } else { row_of_spans(line, &self.left) };
            if y > end && !self.rows.is_empty() {
                self.rows.push(0);
                self.top.push(end);
            }
            if y > end || self.rows.last() != Some(&row) {
                self.rows.push(row);
                self.top.push(y);
            }
            end = y + 1;
        }
        self.top.push(end);
    }

    /// The smallest area with all changed cells, if there are any.
    pub fn bounds(&self) -> Option<Area> {
        let all = self.rows.iter().fold(0, |all, row| all | row);
        let top = self.rows.iter().position(|row| *row != 0)?;
        let bottom = self.rows.iter().rposition(|row| *row != 0)? + 1;
        Some(Area { top, bottom, left: all.trailing_zeros() as usize, right: 128 - all.leading_zeros() as usize })
    }

    /// Lines of an area.
    pub fn height(&self, area: Area) -> u32 {
        self.top[area.bottom] - self.top[area.top]
    }

    /// Bytes along the line of an area.
    pub fn width(&self, area: Area) -> u32 {
        self.left[area.right] - self.left[area.left]
    }

    /// An area as a window of the panel.
    pub fn window(&self, area: Area) -> Window {
        Window { x: self.left[area.left] * 8, y: self.top[area.top], w: self.width(area) * 8, h: self.height(area) }
    }

    /// Becomes a copy of another grid.
    pub fn copy(&mut self, other: &Self) {
        self.rows.clone_from(&other.rows);
        self.top.clone_from(&other.top);
        self.left.clone_from(&other.left);
    }

    /// [`fill`] for this grid, which can make more rows and columns alike.
    pub fn fill(&mut self, windows: usize) {
        if matches!(windows, 2 | 3) {
            fill(&mut self.rows, &mut self.below, windows);
            self.merge_rows();
            self.merge_columns();
        }
    }

    fn merge_rows(&mut self) {
        let mut kept = 0;
        for at in 0..self.rows.len() {
            if at == 0 || self.rows[at] != self.rows[kept - 1] {
                self.rows[kept] = self.rows[at];
                self.top[kept] = self.top[at];
                kept += 1;
            }
        }
        let end = self.top[self.rows.len()];
        self.rows.truncate(kept);
        self.top.truncate(kept);
        self.top.push(end);
    }

    fn merge_columns(&mut self) {
        let columns = self.left.len() - 1;
        let differs = self.rows.iter().fold(1, |all, row| all | (row ^ (row << 1)));
        let starts = differs & below_bit(columns);
        if starts.count_ones() as usize == columns {
            return;
        }
        for row in &mut self.rows {
            let (old, mut rest) = (*row, starts);
            *row = 0;
            let mut bit = 0;
            while rest != 0 {
                *row |= (old >> rest.trailing_zeros() & 1) << bit;
                rest &= rest - 1;
                bit += 1;
            }
        }
        let mut column = 0;
        self.left.retain(|_| {
            column += 1;
            column > columns || starts >> (column - 1) & 1 == 1
        });
    }
}

/// Which columns change in a line, where all bytes of a column change alike. `left` holds the starts and the end.
fn row_of_starts(line: &[u8], left: &[u32]) -> u128 {
    let half = |starts: &[u32]| {
        let bits = starts.iter().enumerate().map(|(bit, start)| u64::from(line[*start as usize] != 0) << bit);
        bits.fold(0, |all, bit| all | bit)
    };
    let starts = &left[..left.len() - 1];
    let (low, high) = starts.split_at(starts.len().min(64));
    u128::from(half(low)) | u128::from(half(high)) << 64
}

/// Which columns have any change in a line.
fn row_of_spans(line: &[u8], left: &[u32]) -> u128 {
    let any = |ends: &[u32]| line[ends[0] as usize..ends[1] as usize].iter().any(|byte| *byte != 0);
    left.windows(2).enumerate().fold(0, |row, (column, ends)| row | u128::from(any(ends)) << column)
}

/// Counts as changed what no cover with two (or three) windows leaves out: cells with changed ones in more than two (or
/// three) of the four directions. `below` is scratch.
pub(super) fn fill(rows: &mut [u128], below: &mut Vec<u128>, windows: usize) {
    let mut again = true;
    while again {
        again = false;
        below.clear();
        let mut all = 0;
        for row in rows.iter().rev() {
            below.push(all);
            all |= row;
        }
        let mut above = 0;
        for (row, below) in rows.iter_mut().zip(below.iter().rev()) {
            let (mut after, mut before) = (0, 0);
            if *row != 0 {
                after = u128::MAX << row.trailing_zeros();
                before = u128::MAX >> row.leading_zeros();
            }
            let enclosed = if windows == 2 {
                (above & below & (after | before)) | (after & before & (above | below))
            } else {
                above & below & after & before
            };
            again |= enclosed & !*row != 0 && windows == 2;
            *row |= enclosed;
            above |= *row;
        }
    }
}

/// The bits below one.
pub(super) fn below_bit(bit: usize) -> u128 {
    if bit >= 128 { u128::MAX } else { (1 << bit) - 1 }
}

/// Leaves out column starts until few enough are left, but keeps the first change and the end of the last.
fn thin(starts: &mut Vec<u32>) {
    let last = starts.len() - 1;
    let step = starts.len().div_ceil(MOST_COLUMNS - 4);
    let mut at = 0;
    starts.retain(|_| {
        at += 1;
        at <= 2 || at - 1 == last || (at - 1) % step == 0
    });
}

//! How often each region of the panel is driven, and how often since it was last cleaned by a full refresh.
//!
//! A region is a square of [`CELL`] pixels of the upright picture, the width that a byte addresses. A partial refresh
//! drives every region that one of its windows touches, a full refresh all of them.

use embedded_graphics::prelude::Size;
use embedded_graphics::primitives::Rectangle;

/// Pixels along the side of a region.
pub const CELL: u32 = 8;

/// Counts of every region, row by row.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Activity {
    columns: usize,
    rows: usize,
    full: u64,
    /// Whether there were partial refreshes since the last full one.
    driven: bool,
    /// Partial refreshes since the last full one.
    since_full: Vec<u32>,
    /// Partial refreshes before the last full one.
    before: Vec<u32>,
    /// Most partial refreshes between two full ones, so far.
    longest: Vec<u32>,
    /// Partial refreshes so far, and the one that last took each region.
    turn: u32,
    taken: Vec<u32>,
}

/// The counts of one region.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RegionCounts {
    /// Full refreshes.
    pub full: u64,
    /// Partial refreshes.
    pub partial: u64,
    /// Most partial refreshes between two full ones.
    pub longest: u32,
}

impl RegionCounts {
    /// Drives of either kind.
    pub fn drives(&self) -> u64 {
        self.full + self.partial
    }
}

impl Activity {
    /// A panel of this many pixels that was never driven.
    pub fn new(size: Size) -> Self {
        let (columns, rows) = (size.width.div_ceil(CELL) as usize, size.height.div_ceil(CELL) as usize);
        let none = vec![0; columns * rows];
        Self {
            columns,
            rows,
            full: 0,
            driven: false,
            since_full: none.clone(),
            before: none.clone(),
            longest: none.clone(),
            turn: 0,
            taken: none,
        }
    }

    /// Columns and rows of regions.
    pub fn size(&self) -> (usize, usize) {
        (self.columns, self.rows)
    }

    /// Counts a full refresh.
    pub fn full(&mut self) {
        self.full += 1;
        if !std::mem::take(&mut self.driven) {
            return;
        }
        for ((since, before), longest) in self.since_full.iter_mut().zip(&mut self.before).zip(&mut self.longest) {
            *before += *since;
            *longest = (*longest).max(*since);
            *since = 0;
        }
    }

    /// Counts a partial refresh with these windows of the upright picture.
    pub fn partial(&mut self, windows: impl IntoIterator<Item = Rectangle>) {
        self.driven = true;
        self.turn = self.turn.wrapping_add(1);
        for window in windows {
            let Some(far) = window.bottom_right() else { continue };
            let cell = |pixel: i32| pixel.max(0) as usize / CELL as usize;
            let columns = cell(window.top_left.x)..(cell(far.x) + 1).min(self.columns);
            for row in cell(window.top_left.y)..(cell(far.y) + 1).min(self.rows) {
                let driven = row * self.columns + columns.start..row * self.columns + columns.end;
                for (count, taken) in self.since_full[driven.clone()].iter_mut().zip(&mut self.taken[driven]) {
                    // Windows of one refresh may meet in a region.
                    *count += u32::from(*taken != self.turn);
                    *taken = self.turn;
                }
            }
        }
    }

    /// The counts of a region; nothing outside the panel.
    pub fn at(&self, column: usize, row: usize) -> RegionCounts {
        let index = (column < self.columns && row < self.rows).then_some(row * self.columns + column);
        let of = |counts: &[u32]| index.and_then(|index| counts.get(index)).copied().unwrap_or(0);
        let since = of(&self.since_full);
        RegionCounts {
            full: self.full,
            partial: u64::from(of(&self.before)) + u64::from(since),
            longest: of(&self.longest).max(since),
        }
    }

    /// The counts of every region with its column and row.
    pub fn regions(&self) -> impl Iterator<Item = ((usize, usize), RegionCounts)> + '_ {
        (0..self.rows).flat_map(move |row| (0..self.columns).map(move |column| ((column, row), self.at(column, row))))
    }

    /// The region with the largest of a count; the first of several. `None` where nothing was driven.
    pub fn most(&self, of: impl Fn(&RegionCounts) -> u64) -> Option<((usize, usize), RegionCounts)> {
        let most = self.regions().map(|(_, counts)| of(&counts)).max().filter(|most| *most > 0)?;
        self.regions().find(|(_, counts)| of(counts) == most)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_graphics::prelude::Point;

    fn window(x: i32, y: i32, w: u32, h: u32) -> Rectangle {
        Rectangle::new(Point::new(x, y), Size::new(w, h))
    }

    #[test]
    fn regions_touched_by_a_window_are_driven() {
        let mut activity = Activity::new(Size::new(20, 17));
        assert_eq!(activity.size(), (3, 3), "the last column and row are cut");
        activity.partial([window(7, 8, 2, 1)]);
        let driven: Vec<_> = activity.regions().filter(|(_, counts)| counts.partial == 1).map(|(at, _)| at).collect();
        assert_eq!(driven, [(0, 1), (1, 1)]);
        activity.partial([window(0, 8, 8, 2), window(0, 12, 8, 2)]);
        assert_eq!(activity.at(0, 1).partial, 2, "two windows of one refresh drive a region once");
        activity.partial([window(16, 16, 100, 100), window(0, 0, 0, 3)]);
        assert_eq!(activity.at(2, 2).partial, 1, "cut at the edge; an empty window drives nothing");
        assert_eq!(activity.at(0, 0).partial, 0);
    }

    #[test]
    fn a_full_refresh_cleans_and_the_longest_run_stays() {
        let mut activity = Activity::new(Size::new(16, 8));
        let left = window(0, 0, 8, 8);
        for run in [3, 5, 2] {
            activity.full();
            (0..run).for_each(|_| activity.partial([left]));
        }
        assert_eq!(activity.at(0, 0), RegionCounts { full: 3, partial: 10, longest: 5 });
        assert_eq!(activity.at(1, 0), RegionCounts { full: 3, partial: 0, longest: 0 });
        assert_eq!(activity.most(RegionCounts::drives).map(|(at, counts)| (at, counts.drives())), Some(((0, 0), 13)));
    }
}

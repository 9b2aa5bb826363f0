//! Which aligned windows one update sends: the cheapest set of windows that covers every changed byte.
//!
//! Not for pixels, mounting or packing: it reads the exclusive-or of two frames in the panel's native packing, and
//! nothing else. Costs come in one quantity `Q` (energy, charge or time) that the caller chooses.
//!
//! # How, and how far exact
//! Finding the cheapest cover by rectangles is hard in general, but windows are few. The search takes one window more
//! at a time and each time looks only for covers that beat what it has:
//!
//! 1. Neighbouring lines, and neighbouring byte columns, that change alike become one: some cheapest cover never ends a
//!    window between them, since all of them may as well be covered like the cheapest of them.
//! 2. An unchanged byte that has changed ones in d of the four directions (in its line and in its column) can stay
//!    uncovered only if d windows or more keep clear of it. So for two windows bytes with d >= 3 count as changed, for
//!    three windows those with d = 4. Holes and noise inside a changed region vanish so, and step 1 is repeated.
//! 3. The uncovered line highest up must be where some window begins, so windows are placed there in turn, each tight
//!    around the uncovered bytes it takes; what is left for the last window is its bounding box. A placement is dropped
//!    when a bound on what it leads to is no less than the best cover known. The bound is the cost so far, the set-up
//!    of the windows to come, and the greatest of: the uncovered bytes and lines alone; these, and what two of several
//!    far apart bytes waste that must share a window; the best intervals in each line taken for itself.
//!
//! Two windows take time in proportion to (line groups) * (column groups)^2 at most, each window more multiplies that;
//! the bounds leave little of it while there are no more separate changed regions than windows.
//!
//! The result is the least cost there is over all covers with up to `max_windows` windows, overlapping ones included
//! and to within rounding, whenever [`Cover::exact`] is set. It is not set when the search ran out of its effort
//! ([`WindowSearch::with_effort`]), when more than [`MOST_WINDOWS`] windows might pay, or when more than 128 columns
//! differ from their neighbours, so that some had to be taken together (source axes above 1024 pixels only). Then it is
//! the best cover found, at least as good as cutting the changed region in two again and again where that saves most,
//! and never dearer than the one bounding window.

mod cut;
mod grid;
mod least;
mod search;

use std::fmt;

use crate::units::Quantity;
use grid::{Area, Grid};
use search::Search;

/// Covers with more windows than this are not looked for.
pub const MOST_WINDOWS: usize = 8;

/// A rectangle of the panel in native pixels: x along the source axis (the axis of the bytes), y counts gate lines.
///
/// `x` and `w` are multiples of 8. On a panel whose width is no multiple of 8, `x + w` can reach past it into the
/// padding of the last byte.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Window {
    /// First pixel along the source axis.
    pub x: u32,
    /// First line.
    pub y: u32,
    /// Pixels along the source axis.
    pub w: u32,
    /// Lines.
    pub h: u32,
}

impl Window {
    /// Bytes sent for this window, for one plane.
    pub fn bytes(&self) -> u64 {
        u64::from(self.w / 8) * u64::from(self.h)
    }
}

/// What a window costs: `per_window + per_byte * bytes + per_line * lines`, each at least zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WindowCost<Q> {
    /// Commands, waiting and set-up of one window.
    pub per_window: Q,
    /// Each byte sent.
    pub per_byte: Q,
    /// Each line a window spans (its drive).
    pub per_line: Q,
}

impl<Q: Quantity> WindowCost<Q> {
    /// The cost of one window.
    pub fn of(&self, window: &Window) -> Q {
        Q::from(self.plain().of(u64::from(window.h), window.bytes()))
    }

    fn plain(&self) -> Price {
        Price { window: self.per_window.into(), byte: self.per_byte.into(), line: self.per_line.into() }
    }
}

/// [`WindowCost`] as plain numbers in one unit.
#[derive(Clone, Copy, Debug)]
struct Price {
    window: f64,
    byte: f64,
    line: f64,
}

impl Price {
    fn of(&self, lines: u64, bytes: u64) -> f64 {
        self.window + self.line * lines as f64 + self.byte * bytes as f64
    }

    fn of_area(&self, grid: &Grid, area: Area) -> f64 {
        let lines = u64::from(grid.height(area));
        self.of(lines, lines * u64::from(grid.width(area)))
    }
}

/// Windows that cover all changes.
#[derive(Clone, Debug, PartialEq)]
pub struct Cover<Q> {
    /// The windows, from the top line down; none if nothing changed. They may overlap.
    pub windows: Vec<Window>,
    /// Their cost together.
    pub cost: Q,
    /// No cover with as many windows as were allowed costs less.
    pub exact: bool,
}

/// Why there is no cover.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WindowFault {
    /// The bytes are not a whole number of lines, or more than 2^29 bytes in all.
    Shape,
    /// A cost is negative or not a finite number.
    Cost,
}

impl fmt::Display for WindowFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Shape => "the changed bytes must be whole lines of the stride, 2^29 bytes at most",
            Self::Cost => "window costs must be finite and zero or more",
        })
    }
}

impl std::error::Error for WindowFault {}

/// The search with its buffers, to be kept for many updates.
#[derive(Debug)]
pub struct WindowSearch {
    effort: u64,
    grid: Grid,
    search: Search,
}

impl Default for WindowSearch {
    fn default() -> Self {
        Self::with_effort(50_000)
    }
}

impl WindowSearch {
    /// A search that gives up after so many steps (of a few nanoseconds each; 50,000 unless told otherwise) for one
    /// update, and then returns the best cover so far.
    pub fn with_effort(steps: u64) -> Self {
        Self { effort: steps, grid: Grid::default(), search: Search::default() }
    }

    /// Finds the cheapest windows for one update.
    ///
    /// `changed` is the exclusive-or of the two frames: lines of `stride` bytes, one line per gate line; a byte that is
    /// not zero must be covered. `max_windows` counts as one if it is zero.
    ///
    /// # Errors
    /// [`WindowFault`] for bytes that are not whole lines and costs that are no such thing.
    pub fn cheapest<Q: Quantity>(
        &mut self,
        changed: &[u8],
        stride: usize,
        cost: &WindowCost<Q>,
        max_windows: usize,
    ) -> Result<Cover<Q>, WindowFault> {
        let price = cost.plain();
        if ![price.window, price.byte, price.line].iter().all(|part| part.is_finite() && *part >= 0.0) {
            return Err(WindowFault::Cost);
        }
        if changed.is_empty() {
            return Ok(Cover { windows: Vec::new(), cost: Q::from(0.0), exact: true });
        }
        if stride == 0 || !changed.len().is_multiple_of(stride) || changed.len() > 1 << 29 {
            return Err(WindowFault::Shape);
        }
        let whole = self.grid.read(changed, stride);
        let Some(bounds) = self.grid.bounds() else {
            return Ok(Cover { windows: Vec::new(), cost: Q::from(0.0), exact: true });
        };
        let proven = self.search.run(&self.grid, bounds, price, max_windows, self.effort);
        let mut windows = self.search.best().to_vec();
        windows.sort_unstable_by_key(|window| (window.y, window.x));
        let sum = windows.iter().map(|window| price.of(u64::from(window.h), window.bytes())).sum::<f64>();
        Ok(Cover { windows, cost: Q::from(sum), exact: proven && (whole || max_windows <= 1) })
    }
}

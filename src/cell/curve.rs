//! Piecewise-linear tables over one axis: open-circuit voltage, capacity over temperature, efficiency over current.
//!
//! Not for tables over two axes (see [`super::surface`]) and not for smooth fits: what lies between two rows is the
//! straight line through them, and what lies outside is refused unless the caller asks for clamping by name.

use crate::units::Quantity;
use std::fmt;
use std::marker::PhantomData;

/// Why rows cannot become a table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TableFault {
    /// No row at all.
    Empty,
    /// A value is infinite or not a number; rows count from 0.
    NotFinite {
        /// Index of the row.
        row: usize,
    },
    /// The first column does not rise from the row before to this one.
    NotIncreasing {
        /// Index of the row, from 0.
        row: usize,
    },
    /// A two-axis table has the wrong number of values in a row.
    Ragged {
        /// Index of the row, from 0.
        row: usize,
        /// Values that the row should have.
        expected: usize,
        /// Values that it has.
        found: usize,
    },
}

impl fmt::Display for TableFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => write!(f, "the table has no rows; it needs at least one"),
            Self::NotFinite { row } => {
                write!(f, "row {} of the table holds a value that is not a finite number", row + 1)
            }
            Self::NotIncreasing { row } => {
                write!(
                    f,
                    "row {} of the table does not lie above the row before it; the axis must rise strictly",
                    row + 1
                )
            }
            Self::Ragged { row, expected, found } => {
                write!(f, "row {} of the table has {found} values; expected {expected}, one for each column", row + 1)
            }
        }
    }
}

impl std::error::Error for TableFault {}

/// A piecewise-linear function of one variable on plain numbers; [`Table`] is the form that keeps the units.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    xs: Vec<f64>,
    ys: Vec<f64>,
}

impl Curve {
    /// A curve through the given points.
    ///
    /// # Errors
    /// No points, a value that is not finite, or abscissae that do not rise strictly.
    pub fn new(points: impl IntoIterator<Item = (f64, f64)>) -> Result<Self, TableFault> {
        let (xs, ys): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
        rising(&xs)?;
        if let Some(row) = ys.iter().position(|y| !y.is_finite()) {
            return Err(TableFault::NotFinite { row });
        }
        Ok(Self { xs, ys })
    }

    /// The value at `x`; `None` outside the table and for NaN.
    pub fn at(&self, x: f64) -> Option<f64> {
        let (low, high) = self.domain();
        (low <= x && x <= high).then(|| self.at_clamped(x))
    }

    /// The value at `x`, or that of the nearer end outside the table.
    pub fn at_clamped(&self, x: f64) -> f64 {
        let (i, share) = place(&self.xs, x);
        mix(self.ys[i], *self.ys.get(i + 1).unwrap_or(&self.ys[i]), share)
    }

    /// The abscissa at which the curve has the value `y`, for a curve that never turns back.
    /// On a flat stretch it is the end met first. `None` outside the values, or when the curve turns back.
    pub fn inverse(&self, y: f64) -> Option<f64> {
        let falls = self.ys.first() > self.ys.last();
        let in_order = |a: f64, b: f64| if falls { a >= b } else { a <= b };
        if !self.ys.windows(2).all(|pair| in_order(pair[0], pair[1])) {
            return None;
        }
        if *self.ys.first()? == y {
            return self.xs.first().copied();
        }
        let i =
            self.ys.windows(2).position(|pair| in_order(pair[0], y) && in_order(y, pair[1]) && pair[0] != pair[1])?;
        Some(mix(self.xs[i], self.xs[i + 1], (y - self.ys[i]) / (self.ys[i + 1] - self.ys[i])))
    }

    /// The first and last abscissa.
    pub fn domain(&self) -> (f64, f64) {
        (self.xs[0], self.xs[self.xs.len() - 1])
    }

    /// The rows, in rising order.
    pub fn points(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.xs.iter().copied().zip(self.ys.iter().copied())
    }
}

/// A [`Curve`] whose columns have units.
#[derive(Clone, Debug, PartialEq)]
pub struct Table<X, Y> {
    curve: Curve,
    units: PhantomData<(X, Y)>,
}

impl<X: Quantity, Y: Quantity> Table<X, Y> {
    /// A table of the given rows.
    ///
    /// # Errors
    /// As [`Curve::new`].
    pub fn new(rows: impl IntoIterator<Item = (X, Y)>) -> Result<Self, TableFault> {
        Ok(Self { curve: Curve::new(rows.into_iter().map(|(x, y)| (x.into(), y.into())))?, units: PhantomData })
    }

    /// A table with one row: a constant that is only known at `x`; with [`Table::at_clamped`] a constant everywhere.
    ///
    /// # Errors
    /// A value that is not finite.
    pub fn single(x: X, y: Y) -> Result<Self, TableFault> {
        Self::new([(x, y)])
    }

    /// The value at `x`; `None` outside the table.
    pub fn at(&self, x: X) -> Option<Y> {
        self.curve.at(x.into()).map(Y::from)
    }

    /// The value at `x`, or that of the nearer end outside the table.
    pub fn at_clamped(&self, x: X) -> Y {
        Y::from(self.curve.at_clamped(x.into()))
    }

    /// Where the table has the value `y`; see [`Curve::inverse`].
    pub fn inverse(&self, y: Y) -> Option<X> {
        self.curve.inverse(y.into()).map(X::from)
    }

    /// The first and last entry of the first column.
    pub fn domain(&self) -> (X, X) {
        let (low, high) = self.curve.domain();
        (X::from(low), X::from(high))
    }

    /// The rows, in rising order.
    pub fn rows(&self) -> impl Iterator<Item = (X, Y)> + '_ {
        self.curve.points().map(|(x, y)| (X::from(x), Y::from(y)))
    }
}

/// Refuses an axis that is empty, not finite or not strictly rising.
pub(super) fn rising(xs: &[f64]) -> Result<(), TableFault> {
    if xs.is_empty() {
        return Err(TableFault::Empty);
    }
    if let Some(row) = xs.iter().position(|x| !x.is_finite()) {
        return Err(TableFault::NotFinite { row });
    }
    match xs.windows(2).position(|pair| pair[0] >= pair[1]) {
        Some(row) => Err(TableFault::NotIncreasing { row: row + 1 }),
        None => Ok(()),
    }
}

/// The row at or before `x`, and the share of the way to the next one; clamped to the ends.
pub(super) fn place(xs: &[f64], x: f64) -> (usize, f64) {
    place_by(xs.len(), |row| xs[row], x)
}

/// The row at or before `x` of rows told by number, and the share of the way to the next one; clamped to the ends.
pub fn place_by(rows: usize, at: impl Fn(usize) -> f64, x: f64) -> (usize, f64) {
    let (mut low, mut high) = (0, rows);
    while low < high {
        let middle = low.midpoint(high);
        if at(middle) <= x { low = middle + 1 } else { high = middle }
    }
    let row = low.saturating_sub(1);
    if row + 1 >= rows { (row, 0.0) } else { (row, ((x - at(row)) / (at(row + 1) - at(row))).clamp(0.0, 1.0)) }
}

/// The value a share of the way from `a` to `b`; exact at both ends.
pub fn mix(a: f64, b: f64, share: f64) -> f64 {
    a * (1.0 - share) + b * share
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Celsius, Ratio};

    fn curve(points: &[(f64, f64)]) -> Curve {
        Curve::new(points.iter().copied()).unwrap()
    }

    #[test]
    fn lines_between_rows_and_nothing_outside() {
        let c = curve(&[(0.0, 1.0), (2.0, 5.0), (3.0, 4.0)]);
        assert_eq!((c.at(0.0), c.at(1.0), c.at(2.5), c.at(3.0)), (Some(1.0), Some(3.0), Some(4.5), Some(4.0)));
        assert_eq!((c.at(-0.001), c.at(3.001), c.at(f64::NAN)), (None, None, None));
        assert_eq!((c.at_clamped(-9.0), c.at_clamped(9.0)), (1.0, 4.0));
        assert_eq!(curve(&[(1.0, 7.0)]).at(1.0), Some(7.0));
    }

    #[test]
    fn the_inverse_undoes_the_curve_and_refuses_one_that_turns_back() {
        let up = curve(&[(0.0, 1.0), (1.0, 2.0), (2.0, 2.0), (3.0, 6.0)]);
        assert_eq!(
            (up.inverse(1.0), up.inverse(1.5), up.inverse(2.0), up.inverse(4.0)),
            (Some(0.0), Some(0.5), Some(1.0), Some(2.5))
        );
        assert_eq!((up.inverse(0.9), up.inverse(6.1)), (None, None));
        assert_eq!(curve(&[(0.0, 4.0), (2.0, 0.0)]).inverse(1.0), Some(1.5));
        assert_eq!(curve(&[(0.0, 4.0), (2.0, 0.0), (3.0, 1.0)]).inverse(3.0), None);
    }

    #[test]
    fn faults_name_their_row() {
        assert_eq!(Curve::new([]), Err(TableFault::Empty));
        assert_eq!(Curve::new([(0.0, 1.0), (0.0, 2.0)]), Err(TableFault::NotIncreasing { row: 1 }));
        assert_eq!(Curve::new([(0.0, f64::NAN)]), Err(TableFault::NotFinite { row: 0 }));
        assert!(TableFault::NotIncreasing { row: 1 }.to_string().starts_with("row 2 of the table does not lie above"));
    }

    #[test]
    fn a_typed_table_keeps_its_units() {
        let t = Table::new([(Celsius(0.0), Ratio(0.8)), (Celsius(20.0), Ratio(1.0))]).unwrap();
        assert_eq!(t.at(Celsius(10.0)), Some(Ratio(0.9)));
        assert_eq!(t.domain(), (Celsius(0.0), Celsius(20.0)));
    }
}

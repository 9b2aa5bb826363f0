//! Tables over two axes: internal resistance over temperature and state of charge, efficiency over current and input.
//!
//! Between the four corners of a mesh the value is bilinear. Not for one axis: see [`super::curve`].

use super::curve::{Table, TableFault, mix, place, rising};
use crate::units::Quantity;
use std::marker::PhantomData;

/// A bilinear table `z(x, y)`.
#[derive(Clone, Debug, PartialEq)]
pub struct Surface<X, Y, Z> {
    xs: Vec<f64>,
    ys: Vec<f64>,
    /// One row of values for every `x`, each as long as `ys`.
    rows: Vec<Vec<f64>>,
    units: PhantomData<(X, Y, Z)>,
}

impl<X: Quantity, Y: Quantity, Z: Quantity> Surface<X, Y, Z> {
    /// A table with one row of values for every `x` and in it one value for every `y`.
    ///
    /// # Errors
    /// An axis that is empty or does not rise strictly, a missing or surplus value, a value that is not finite.
    pub fn new(xs: &[X], ys: &[Y], rows: &[Vec<Z>]) -> Result<Self, TableFault> {
        let numbers = |values: &[Z]| values.iter().map(|z| (*z).into()).collect::<Vec<f64>>();
        let xs: Vec<f64> = xs.iter().map(|x| (*x).into()).collect();
        let ys: Vec<f64> = ys.iter().map(|y| (*y).into()).collect();
        rising(&xs)?;
        rising(&ys)?;
        if rows.len() != xs.len() {
            return Err(TableFault::Ragged { row: rows.len().min(xs.len()), expected: xs.len(), found: rows.len() });
        }
        for (row, values) in rows.iter().enumerate() {
            if values.len() != ys.len() {
                return Err(TableFault::Ragged { row, expected: ys.len(), found: values.len() });
            }
            if values.iter().any(|z| !(*z).into().is_finite()) {
                return Err(TableFault::NotFinite { row });
            }
        }
        Ok(Self { xs, ys, rows: rows.iter().map(|row| numbers(row)).collect(), units: PhantomData })
    }

    /// The value at (`x`, `y`); `None` outside either axis.
    pub fn at(&self, x: X, y: Y) -> Option<Z> {
        let at: f64 = y.into();
        let inside = self.ys[0] <= at && at <= self.ys[self.ys.len() - 1];
        if inside { self.at_y_clamped(x, y) } else { None }
    }

    /// The value at (`x`, `y`): `None` outside the first axis, the nearer end outside the second.
    pub fn at_y_clamped(&self, x: X, y: Y) -> Option<Z> {
        let (i, share) = self.row_of(x)?;
        let (j, along) = place(&self.ys, y.into());
        let in_row = |row: &[f64]| mix(row[j], *row.get(j + 1).unwrap_or(&row[j]), along);
        let next = self.rows.get(i + 1).unwrap_or(&self.rows[i]);
        Some(Z::from(mix(in_row(&self.rows[i]), in_row(next), share)))
    }

    /// The cut through the table at `x`: a table over the second axis. `None` outside the first axis.
    pub fn cut(&self, x: X) -> Option<Table<Y, Z>> {
        let (i, share) = self.row_of(x)?;
        let next = self.rows.get(i + 1).unwrap_or(&self.rows[i]);
        let rows = self.ys.iter().zip(self.rows[i].iter().zip(next));
        Table::new(rows.map(|(y, (a, b))| (Y::from(*y), Z::from(mix(*a, *b, share))))).ok()
    }

    /// The entries of the first axis.
    pub fn first_axis(&self) -> Vec<X> {
        self.xs.iter().map(|x| X::from(*x)).collect()
    }

    /// The entries of the second axis.
    pub fn second_axis(&self) -> Vec<Y> {
        self.ys.iter().map(|y| Y::from(*y)).collect()
    }

    /// First and last entry of the first axis.
    pub fn domain(&self) -> (X, X) {
        (X::from(self.xs[0]), X::from(self.xs[self.xs.len() - 1]))
    }

    /// All values, row by row.
    pub fn values(&self) -> impl Iterator<Item = Z> + '_ {
        self.rows.iter().flatten().map(|z| Z::from(*z))
    }

    fn row_of(&self, x: X) -> Option<(usize, f64)> {
        let at: f64 = x.into();
        (self.xs[0] <= at && at <= self.xs[self.xs.len() - 1]).then(|| place(&self.xs, at))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Celsius, Ohms, Ratio};

    fn table() -> Surface<Celsius, Ratio, Ohms> {
        let rows = [vec![Ohms(8.0), Ohms(4.0)], vec![Ohms(2.0), Ohms(1.0)]];
        Surface::new(&[Celsius(-10.0), Celsius(10.0)], &[Ratio(0.0), Ratio(1.0)], &rows).unwrap()
    }

    #[test]
    fn bilinear_inside_and_refused_outside_in_temperature() {
        let t = table();
        assert_eq!(t.at(Celsius(0.0), Ratio(0.5)), Some(Ohms(3.75)));
        assert_eq!(t.at(Celsius(10.0), Ratio(1.0)), Some(Ohms(1.0)));
        assert_eq!(t.at_y_clamped(Celsius(-10.1), Ratio(0.5)), None);
        assert_eq!((t.at(Celsius(0.0), Ratio(1.1)), t.at_y_clamped(Celsius(0.0), Ratio(1.1))), (None, Some(Ohms(2.5))));
    }

    #[test]
    fn a_cut_agrees_with_the_table() {
        let cut = table().cut(Celsius(5.0)).unwrap();
        assert_eq!(cut.at(Ratio(0.25)), table().at(Celsius(5.0), Ratio(0.25)));
        assert!(table().cut(Celsius(11.0)).is_none());
    }

    #[test]
    fn a_short_row_is_named() {
        let rows = [vec![Ohms(1.0), Ohms(1.0)], vec![Ohms(1.0)]];
        let made = Surface::new(&[Celsius(0.0), Celsius(1.0)], &[Ratio(0.0), Ratio(1.0)], &rows);
        assert_eq!(made, Err(TableFault::Ragged { row: 1, expected: 2, found: 1 }));
    }
}

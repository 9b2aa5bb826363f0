//! Share of the rated capacity that a cell gives, over temperature and the rate of its discharge.
//!
//! Cold takes far less from a discharge of months than from one of hours, so a table holds one column for each rate, in
//! multiples of C (1 C empties the rated capacity in an hour). Between two rates the share goes with the logarithm of the
//! rate; slower than the slowest is as the slowest, faster than the fastest as the fastest. Not for what a load's voltage
//! drop costs: that is the internal resistance.

use super::curve::{Table, TableFault};
use super::surface::Surface;
use crate::units::{Celsius, Ratio};

/// Shares of the rated capacity.
#[derive(Clone, Debug, PartialEq)]
pub struct Capacity {
    /// Over temperature and the natural logarithm of the rate in C.
    shares: Surface<Celsius, Ratio, Ratio>,
}

impl Capacity {
    /// The same at any rate.
    ///
    /// # Errors
    /// None in practice: a table is sound.
    pub fn at_any_rate(table: &Table<Celsius, Ratio>) -> Result<Self, TableFault> {
        let (temperatures, shares): (Vec<Celsius>, Vec<Vec<Ratio>>) = table.rows().map(|(t, s)| (t, vec![s])).unzip();
        Ok(Self { shares: Surface::new(&temperatures, &[Ratio(0.0)], &shares)? })
    }

    /// One table over temperature for each rate in C, the slowest first; all of the same temperatures.
    ///
    /// # Errors
    /// See [`TableFault`]: rates that do not rise or are not above 0, tables of other temperatures.
    pub fn over_rate(tables: &[(f64, Table<Celsius, Ratio>)]) -> Result<Self, TableFault> {
        let temperatures: Vec<Celsius> = tables.first().ok_or(TableFault::Empty)?.1.rows().map(|row| row.0).collect();
        for (row, (_, table)) in tables.iter().enumerate() {
            let (expected, found) = (temperatures.len(), table.rows().count());
            if expected != found || table.rows().zip(&temperatures).any(|(row, t)| row.0 != *t) {
                return Err(TableFault::Ragged { row, expected, found });
            }
        }
        let rates: Vec<Ratio> = tables.iter().map(|(rate, _)| Ratio(rate.ln())).collect();
        let row = |t: &Celsius| tables.iter().filter_map(|(_, table)| table.at(*t)).collect::<Vec<_>>();
        Ok(Self { shares: Surface::new(&temperatures, &rates, &temperatures.iter().map(row).collect::<Vec<_>>())? })
    }

    /// The share at a temperature and a rate in C; `None` outside the temperatures.
    pub fn at(&self, temperature: Celsius, rate: f64) -> Option<Ratio> {
        self.shares.at_y_clamped(temperature, Ratio(rate.max(f64::MIN_POSITIVE).ln()))
    }

    /// First and last temperature.
    pub fn domain(&self) -> (Celsius, Celsius) {
        self.shares.domain()
    }

    /// Each rate in C with its shares over temperature.
    pub fn tables(&self) -> Vec<(f64, Vec<(Celsius, Ratio)>)> {
        let temperatures = self.shares.first_axis();
        let of = |rate: Ratio| {
            let row = |t: &Celsius| Some((*t, self.shares.at_y_clamped(*t, rate)?));
            (rate.0.exp(), temperatures.iter().filter_map(row).collect())
        };
        self.shares.second_axis().into_iter().map(of).collect()
    }

    /// All shares.
    pub fn values(&self) -> impl Iterator<Item = Ratio> + '_ {
        self.shares.values()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(cold: f64) -> Table<Celsius, Ratio> {
        Table::new([(Celsius(0.0), Ratio(cold)), (Celsius(20.0), Ratio(1.0))]).unwrap()
    }

    #[test]
    fn between_two_rates_the_share_goes_with_the_logarithm() {
        let capacity = Capacity::over_rate(&[(0.01, table(0.96)), (1.0, table(0.80))]).unwrap();
        let at = |rate| capacity.at(Celsius(0.0), rate).unwrap().0;
        assert!((at(0.1) - 0.88).abs() < 1e-12, "halfway in decades: {}", at(0.1));
        assert_eq!((at(0.0), at(1e-6), at(5.0)), (0.96, 0.96, 0.80));
        assert!((capacity.at(Celsius(10.0), 0.1).unwrap().0 - 0.94).abs() < 1e-12);
        assert_eq!(capacity.at(Celsius(-1.0), 0.1), None);
    }

    #[test]
    fn tables_that_do_not_fit_are_refused() {
        assert!(Capacity::over_rate(&[(1.0, table(0.8)), (0.1, table(0.9))]).is_err());
        assert!(Capacity::over_rate(&[(0.0, table(0.8)), (0.1, table(0.9))]).is_err());
        let one = Table::new([(Celsius(20.0), Ratio(1.0))]).unwrap();
        assert!(Capacity::over_rate(&[(0.1, table(0.8)), (1.0, one)]).is_err());
        let any = Capacity::at_any_rate(&table(0.7)).unwrap();
        assert_eq!((any.at(Celsius(0.0), 1e-9), any.at(Celsius(0.0), 9.0)), (Some(Ratio(0.7)), Some(Ratio(0.7))));
    }
}

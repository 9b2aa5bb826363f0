//! What the internal resistance of a battery is made of.
//!
//! Not for what it does under a load: see [`super::peak`].

use super::case::outside;
use super::{Cell, CellFault};
use crate::units::{Celsius, Ohms, Ratio};

/// The factors of a resistance at one state of charge and temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ResistanceFactors {
    /// One new cell, as it is stated.
    pub new: Ohms,
    /// The designer's factor on the chemistry's table.
    pub stated: Ratio,
    /// The chemistry's table at the state of charge and the temperature.
    pub table: Ratio,
    /// What the film of a rest adds to the table's factor.
    pub film: Ratio,
    /// Growth with age.
    pub age: Ratio,
    /// Cells in series.
    pub series: u32,
}

impl ResistanceFactors {
    /// Of a cell at a state of charge (clamped to the table) and a temperature, as old and as long at rest as it says.
    ///
    /// # Errors
    /// A temperature outside the tables.
    pub fn of(cell: &Cell, state_of_charge: Ratio, temperature: Celsius) -> Result<Self, CellFault> {
        let chemistry = &cell.chemistry;
        let table = chemistry.resistance.cut(temperature).ok_or_else(|| {
            outside("the internal resistance over temperature", temperature, chemistry.resistance.domain())
        })?;
        // The film is told as a share of the half-full cell's resistance.
        let film = chemistry.film.as_ref().map_or(0.0, |film| film.after(cell.rest).0);
        Ok(Self {
            new: cell.resistance,
            stated: cell.resistance_factor,
            table: table.at_clamped(state_of_charge),
            film: Ratio(film * table.at_clamped(Ratio(0.5)).0),
            age: growth(cell)?,
            series: cell.series,
        })
    }

    /// The resistance of the pack with its film.
    pub fn product(&self) -> Ohms {
        let one = self.new.0 * self.stated.0 * self.age.0 * f64::from(self.series);
        Ohms(one * (self.table.0 + self.film.0))
    }
}

/// By how much the resistance has grown with age: at a constant rate that follows the temperature, compounded.
pub(super) fn growth(cell: &Cell) -> Result<Ratio, CellFault> {
    Ok(Ratio((cell.age.0 * cell.ageing_share()?.0 * cell.chemistry.resistance_growth.0).exp()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cell::chemistry::{Chemistry, ChemistryKind};
    use crate::units::{Coulombs, Seconds, YEAR};

    /// The product is what lives and corners are calculated with, between the rows of the tables too.
    #[test]
    fn the_factors_make_the_resistance_that_is_used() {
        for kind in [ChemistryKind::LithiumIon, ChemistryKind::LithiumThionylChloride] {
            let chemistry = Chemistry::built_in(kind).expect("a built-in chemistry");
            let mut cell = Cell::typical(chemistry.into(), Coulombs(3000.0));
            (cell.resistance, cell.resistance_factor, cell.series) = (Ohms(0.2), Ratio(1.3), 2);
            (cell.age, cell.rest) = (Seconds(2.5 * YEAR), Seconds(0.8 * YEAR));
            for (soc, temperature) in [(0.04, 1.0), (0.5, 20.0), (0.77, 33.0), (1.0, 0.0)] {
                let factors =
                    ResistanceFactors::of(&cell, Ratio(soc), Celsius(temperature)).expect("within the tables");
                let used = cell.at(Celsius(temperature)).expect("within the tables").worst_resistance(Ratio(soc));
                assert!((factors.product().0 / used.0 - 1.0).abs() < 1e-9, "{factors:?} for {used}");
                assert!(factors.age.0 > 1.0);
            }
        }
    }
}

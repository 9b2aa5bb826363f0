//! What time, warmth, cycles and rest do to a cell: factors over temperature, cycle life, the film of a rested cell.
//!
//! Plain tables of a chemistry. Not for how they act along a discharge: see [`super::Case`] and [`super::ageing`].

use super::curve::{Table, TableFault};
use crate::units::{Celsius, PerSecond, Ratio, Seconds};

/// Rates are stated at this temperature; the factors over temperature are relative to it.
pub const STATED_AT: Celsius = Celsius(20.0);

/// How many full cycles leave how much of the capacity, charged to the chemistry's largest voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CycleLife {
    /// Full cycles: the charge put in, over the charge between 0 and 1.
    pub cycles: f64,
    /// Share of the capacity that is left after them.
    pub left: Ratio,
}

impl CycleLife {
    /// The rate at which capacity fades at so many cycles a second: `left^(n / cycles) = exp(-rate t)`.
    pub fn fades(&self, cycles: PerSecond) -> PerSecond {
        PerSecond(-self.left.0.ln() * cycles.0 / self.cycles)
    }
}

/// Factors that double with every 10 kelvin, 1 at [`STATED_AT`]; rows every 5 kelvin from -50 to 90 degrees Celsius.
///
/// # Errors
/// None in practice: the rows rise.
pub(super) fn doubling() -> Result<Table<Celsius, Ratio>, TableFault> {
    let at = |step: i32| Celsius(f64::from(step) * 5.0);
    Table::new((-10..=18).map(|step| (at(step), Ratio(((at(step) - STATED_AT).0 / 10.0).exp2()))))
}

/// The film that a rested cell grows, as resistance beside that of the half-full cell at the same temperature: it stands
/// in the way of the first load and breaks within seconds.
#[derive(Clone, Debug, PartialEq)]
pub struct Film {
    /// Relative resistance over the time of rest.
    pub over_rest: Table<Seconds, Ratio>,
}

impl Film {
    /// Its resistance after a rest, relative to the cell's own.
    pub fn after(&self, rest: Seconds) -> Ratio {
        self.over_rest.at_clamped(rest)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn five_hundred_cycles_leave_what_is_stated() {
        let life = CycleLife { cycles: 500.0, left: Ratio(0.8) };
        let (a_day, days) = (0.25 / 86_400.0, 2_000.0 * 86_400.0);
        let rate = life.fades(PerSecond(a_day));
        assert!(((-rate.0 * days).exp() - 0.8).abs() < 1e-12);
    }

    /// BU-802b in substance (from memory): self-discharge about doubles for each 10 degrees Celsius.
    #[test]
    fn rates_double_with_every_ten_kelvin() {
        let table = doubling().unwrap();
        let at = |celsius| table.at(Celsius(celsius)).unwrap().0;
        assert_eq!((at(20.0), at(30.0), at(0.0)), (1.0, 2.0, 0.25));
        // Straight lines between the rows stay within 2 % of the law.
        assert!((at(22.5) / 0.25f64.exp2() - 1.0).abs() < 0.02 && at(22.5) > 0.25f64.exp2());
    }
}

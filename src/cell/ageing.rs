//! Life on one charge of a cell that ages meanwhile: it stores less and its resistance grows.
//!
//! The life is cut into pieces of equal time; in each the cell is as old as in its middle. From piece to piece the state
//! of charge stays: a share of what is stored fades with the capacity. A voltage that falls too low hangs on the
//! resistance of that very moment; the pieces around it are cut again, and once more. For a constant current `I`, self-discharge `k` and
//! fading `a` the life of charge `Q` without a reserve is then near to `ln(1 + (a + k) Q / I) / (a + k)`, as fading acts
//! on the charge left like self-discharge.

use super::life::{CutOff, Discharge, EndedBy, Life, LifeFault};
use super::{Cell, CellFault};
use crate::units::{Celsius, Coulombs, Seconds};
use std::fmt;

/// Pieces that a life is cut into, if it lasts as long as that of a cell that does not age.
const PIECES: f64 = 8.0;
/// Smallest piece, as a share of such a life.
const LEAST: f64 = 1.0 / (PIECES * PIECES * PIECES);

/// Why there is no life.
#[derive(Clone, Debug, PartialEq)]
pub enum AgeingFault {
    /// The cell cannot be, or the temperature is outside its tables.
    Cell(CellFault),
    /// The load or the limit cannot be.
    Life(LifeFault),
}

impl fmt::Display for AgeingFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Cell(fault) => write!(f, "{fault}"),
            Self::Life(fault) => write!(f, "{fault}"),
        }
    }
}

impl std::error::Error for AgeingFault {}

impl From<CellFault> for AgeingFault {
    fn from(fault: CellFault) -> Self {
        Self::Cell(fault)
    }
}

impl From<LifeFault> for AgeingFault {
    fn from(fault: LifeFault) -> Self {
        Self::Life(fault)
    }
}

/// A cell in use from its age on, and what ends its life beside the charge.
#[derive(Clone, Copy, Debug)]
pub struct Ageing<'a> {
    /// The cell at the beginning.
    pub cell: &'a Cell,
    /// Its mean temperature.
    pub temperature: Celsius,
    /// The coldest temperature, at which it must not fall below a cut-off.
    pub coldest: Celsius,
    /// Reasons to stop early.
    pub cut_offs: &'a [CutOff],
    /// Limit of age or of rated life, counted from the beginning of the discharge.
    pub age_limit: Option<Seconds>,
}

impl Ageing<'_> {
    /// The life, each piece of it by `discharge` from a charge on; the one that is given is as for a cell of one age.
    ///
    /// # Errors
    /// See [`AgeingFault`].
    pub fn run(
        &self,
        discharge: impl Fn(&Discharge<'_>, Coulombs) -> Result<Life, LifeFault>,
    ) -> Result<Life, AgeingFault> {
        let young = self.cell.at(self.temperature)?.judged_as(&self.cell.at(self.coldest)?);
        let whole = Discharge { case: &young, cut_offs: self.cut_offs, age_limit: self.age_limit };
        let first = discharge(&whole, young.start())?;
        if !young.wears() || first.time.0 <= 0.0 {
            return Ok(first);
        }
        let mut piece = first.time / PIECES;
        let mut sum = Life::NOTHING;
        let mut state = young.state_of_charge(young.start());
        let mut piece_before = (sum, state);
        loop {
            let limit = self.age_limit.map_or(f64::INFINITY, |limit| (limit - sum.time).0.max(0.0));
            let length = Seconds(limit.min(piece.0));
            let case = young.older(sum.time + length / 2.0);
            let from = case.charge(state);
            let cut = Discharge { case: &case, cut_offs: self.cut_offs, age_limit: Some(length) };
            let part = discharge(&cut, from)?;
            let sagged = matches!(part.ended_by, EndedBy::VoltageTooLow { .. });
            if sagged && piece > first.time * LEAST {
                // Where it begins too low, it fell so late in the piece before, which was calculated at its middle.
                if part.time.0 <= 0.0 {
                    (sum, state) = piece_before;
                }
                piece = piece / PIECES;
                continue;
            }
            piece_before = (sum, state);
            sum = sum.then(part);
            let reached = self.age_limit.is_some_and(|limit| sum.time >= limit * (1.0 - 1e-12));
            if part.ended_by != EndedBy::AgeLimit || reached || part.time.0 <= 0.0 {
                // What is left has faded to the end of the piece.
                let faded = young.older(sum.time).factors().whole() / case.factors().whole();
                return Ok(Life { left: sum.left * faded, ..sum });
            }
            state = case.state_of_charge(case.floor() + part.left);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cell::chemistry::{Chemistry, ChemistryKind};
    use crate::cell::load::MeanLoad;
    use crate::cell::peak::LoadCurrent;
    use crate::units::{Amps, PerSecond, Ratio, YEAR};

    fn cell(ageing: f64, self_discharge: f64) -> Cell {
        let mut chemistry = Chemistry::built_in(ChemistryKind::LithiumIon).unwrap();
        chemistry.ageing = PerSecond(ageing / YEAR);
        if ageing == 0.0 {
            chemistry.resistance_growth = PerSecond(0.0);
        }
        let mut cell = Cell::typical(chemistry.into(), Coulombs(360.0));
        // So much at 25 degrees Celsius, the temperature of these tests.
        cell.self_discharge = PerSecond(1.0);
        cell.self_discharge = PerSecond(self_discharge / YEAR / cell.at(Celsius(25.0)).unwrap().self_discharge().0);
        cell
    }

    fn life(cell: &Cell, microamps: f64, age_limit: Option<Seconds>) -> Life {
        let load = MeanLoad::always(LoadCurrent::current(Amps(microamps * 1e-6))).unwrap();
        let ageing = Ageing { cell, temperature: Celsius(25.0), coldest: Celsius(25.0), cut_offs: &[], age_limit };
        ageing.run(|discharge, from| discharge.between(from, discharge.case.floor(), &load)).unwrap()
    }

    #[test]
    fn fading_shortens_the_life_as_self_discharge_does() {
        for (a, k, microamps) in [(0.05, 0.0, 2.0), (0.04, 0.03, 3.0), (0.2, 0.1, 1.0), (0.04, 0.02, 50.0)] {
            let cell = cell(a, k);
            let (charge, current) = (cell.usable_charge(Celsius(25.0)).unwrap().0, microamps * 1e-6);
            let rate = (a + k) / YEAR;
            let closed = (1.0 + rate * charge / current).ln() / rate;
            let found = life(&cell, microamps, None).time.0;
            assert!((found / closed - 1.0).abs() < 2e-3, "{a} {k}: {found} for {closed}");
        }
    }

    #[test]
    fn a_case_grown_older_is_that_of_an_older_cell() {
        let cell = Cell { age: Seconds(0.3 * YEAR), ..cell(0.05, 0.02) };
        let (temperature, by) = (Celsius(15.0), Seconds(1.7 * YEAR));
        let grown = cell.at(temperature).unwrap().older(by);
        let older = Cell { age: cell.age + by, ..cell.clone() }.at(temperature).unwrap();
        let close = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 1e-12, "{a} {b}");
        close(grown.start().0, older.start().0);
        close(grown.resistance(Ratio(0.3)).0, older.resistance(Ratio(0.3)).0);
        assert!(older.start() < cell.at(temperature).unwrap().start());
    }

    #[test]
    fn a_cell_that_does_not_age_is_calculated_in_one_piece() {
        let cell = cell(0.0, 0.03);
        let load = MeanLoad::always(LoadCurrent::current(Amps(2e-6))).unwrap();
        let case = cell.at(Celsius(25.0)).unwrap();
        let one = Discharge { case: &case, cut_offs: &[], age_limit: None }.run(&load).unwrap();
        assert_eq!(life(&cell, 2.0, None), one);
    }

    /// A capacity that hardly fades changes nothing against one that does not: the resistance grows in both.
    #[test]
    fn resistance_grows_where_the_capacity_does_not_fade() {
        let of = |fade: f64| {
            let mut chemistry = Chemistry::built_in(ChemistryKind::LithiumManganeseDioxide).unwrap();
            chemistry.ageing = PerSecond(fade / YEAR);
            chemistry.resistance_growth = PerSecond(0.2 / YEAR);
            let cell = Cell::typical(chemistry.into(), Coulombs(810.0));
            let load = MeanLoad::always(LoadCurrent::current(Amps(3e-6))).unwrap();
            let cut_offs =
                [CutOff { peak: LoadCurrent::current(Amps(0.012)).into(), minimum: crate::units::Volts(2.4) }];
            let temperature = Celsius(20.0);
            Ageing { cell: &cell, temperature, coldest: temperature, cut_offs: &cut_offs, age_limit: None }
                .run(|discharge, from| discharge.between(from, discharge.case.floor(), &load))
                .unwrap()
        };
        let (none, trace) = (of(0.0), of(1e-8));
        assert_eq!(none.ended_by, EndedBy::VoltageTooLow { cut_off: 0 });
        assert_eq!(none.ended_by, trace.ended_by);
        assert!((none.time / trace.time - 1.0).abs() < 1e-5, "{none:?} {trace:?}");
    }

    #[test]
    fn a_cold_hour_ends_it_before_the_mean_temperature_would() {
        let mut cell = cell(0.02, 0.02);
        cell.resistance = crate::units::Ohms(8.0);
        let load = MeanLoad::always(LoadCurrent::current(Amps(50e-6))).unwrap();
        let cut_offs = [CutOff { peak: LoadCurrent::current(Amps(0.03)).into(), minimum: crate::units::Volts(3.2) }];
        let of = |coldest: f64| {
            let ageing = Ageing {
                cell: &cell,
                temperature: Celsius(25.0),
                coldest: Celsius(coldest),
                cut_offs: &cut_offs,
                age_limit: None,
            };
            ageing.run(|discharge, from| discharge.between(from, discharge.case.floor(), &load)).unwrap()
        };
        let (mild, cold) = (of(25.0), of(-10.0));
        assert!(cold.time < mild.time && cold.ended_by == EndedBy::VoltageTooLow { cut_off: 0 }, "{cold:?} {mild:?}");
    }

    /// What is left after a time `t`: `(Q + I / r) e^(-r t) - I / r` with the rate `r = a + k`, as fading acts on the
    /// charge left like self-discharge. Limits within the first piece, within others and at the end of one.
    #[test]
    fn what_is_left_at_a_limit_of_age_has_faded_until_then() {
        for (a, k, microamps) in [(0.05, 0.0, 2.0), (0.2, 0.1, 1.0), (0.3, 0.02, 5.0)] {
            let cell = cell(a, k);
            let (charge, current) = (cell.usable_charge(Celsius(25.0)).unwrap().0, microamps * 1e-6);
            let whole = life(&Cell { age: Seconds(0.0), ..cell.clone() }, microamps, None).time;
            for share in [0.01, 0.1, 0.2, 0.5, 0.9] {
                let (limit, rate) = (whole * share, (a + k) / YEAR);
                let found = life(&cell, microamps, Some(limit));
                let left = (charge + current / rate) * (-rate * limit.0).exp() - current / rate;
                assert_eq!(found.ended_by, EndedBy::AgeLimit);
                assert!((found.left.0 - left).abs() < 3e-4 * charge, "{a} {k} {share}: {} for {left}", found.left);
            }
        }
    }

    #[test]
    fn a_limit_of_age_ends_it_on_the_second() {
        let limit = Seconds(1.3 * YEAR);
        let found = life(&cell(0.05, 0.02), 2.0, Some(limit));
        assert!((found.time / limit - 1.0).abs() < 1e-9 && found.ended_by == EndedBy::AgeLimit);
        let long = life(&cell(0.05, 0.02), 2_000.0, Some(limit));
        assert!(long.time < limit && long.ended_by == EndedBy::ChargeExhausted);
    }
}

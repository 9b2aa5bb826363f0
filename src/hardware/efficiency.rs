//! Efficiency of switching regulators: over the output current, and over the input voltage where that is known too.
//!
//! Between rows linear in the logarithm of the current, over which data sheets draw it (common practice), and linear in the
//! input voltage; beyond them the nearest counts, which the lint `efficiency-unknown` points out.

use crate::cell::curve::{mix, place_by};
use crate::parameters::{Input, ParameterSample};
use crate::units::{Amps, Ratio, Volts};

/// Efficiency at output currents, smallest first; at least one.
pub type Rows = Vec<EfficiencyRow>;

/// The efficiency at an output current.
#[derive(Clone, Copy, Debug)]
pub struct EfficiencyRow {
    /// The output current.
    pub at: Amps,
    /// Its logarithm, taken once: the table is looked up millions of times.
    log: f64,
    /// The share that reaches the output.
    pub share: Input<Ratio>,
}

impl EfficiencyRow {
    /// A row of a table.
    pub fn new(at: Amps, share: Input<Ratio>) -> Self {
        Self { at, log: at.0.ln(), share }
    }
}

/// Share of a switching regulator's input that reaches its output, its quiescent current not counted.
#[derive(Clone, Debug)]
pub enum Efficiency {
    /// The same at every input voltage.
    OverCurrent(Rows),
    /// At several input voltages, lowest first; at least one.
    OverInput(Vec<(Volts, Rows)>),
}

impl Efficiency {
    /// The share at an output current and an input voltage.
    pub fn at(&self, parameters: &ParameterSample, output: Amps, input: Volts) -> Ratio {
        let log = output.0.ln();
        let over_current = |rows: &Rows| {
            let (below, along) = place_by(rows.len(), |row| rows[row].log, log);
            let value = |row: usize| parameters.of(rows[row.min(rows.len() - 1)].share).0;
            mix(value(below), value(below + 1), along)
        };
        let share = match self {
            Self::OverCurrent(rows) => over_current(rows),
            Self::OverInput(columns) => {
                let (below, along) = place_by(columns.len(), |column| columns[column].0.0, input.0);
                let of = |column: usize| over_current(&columns[column.min(columns.len() - 1)].1);
                if along == 0.0 { of(below) } else { mix(of(below), of(below + 1), along) }
            }
        };
        Ratio(share.clamp(0.01, 1.0))
    }

    /// The smallest current of the table that is used at an input voltage.
    pub fn first(&self, input: Volts) -> Amps {
        let rows = match self {
            Self::OverCurrent(rows) => rows,
            Self::OverInput(columns) => &columns[place_by(columns.len(), |column| columns[column].0.0, input.0).0].1,
        };
        rows.first().map_or(Amps(0.0), |row| row.at)
    }

    /// The output currents from the largest first to the smallest last row of its columns: where all of them are known.
    /// `None` for a single row, which states one share for every current.
    pub fn known(&self) -> Option<(Amps, Amps)> {
        let columns: Vec<&Rows> = match self {
            Self::OverCurrent(rows) => vec![rows],
            Self::OverInput(columns) => columns.iter().map(|(_, rows)| rows).collect(),
        };
        let ends = columns
            .into_iter()
            .filter(|rows| rows.len() > 1)
            .filter_map(|rows| Some((rows.first()?.at, rows.last()?.at)));
        ends.reduce(|a, b| (if b.0 > a.0 { b.0 } else { a.0 }, if b.1 < a.1 { b.1 } else { a.1 }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parameters::Inputs;

    #[test]
    fn linear_over_the_logarithm_of_the_current_and_over_the_input() {
        let mut inputs = Inputs::default();
        let mut rows = |shares: [f64; 2]| -> Rows {
            let enter = |share: f64| inputs.enter("e", [Ratio(share); 3], None);
            [Amps(0.001), Amps(0.1)]
                .into_iter()
                .zip(shares.map(enter))
                .map(|(at, share)| EfficiencyRow::new(at, share))
                .collect()
        };
        let columns = vec![(Volts(2.0), rows([0.6, 0.8])), (Volts(4.0), rows([0.8, 0.9]))];
        let (one, both) = (Efficiency::OverCurrent(columns[0].1.clone()), Efficiency::OverInput(columns));
        let parameters = inputs.typical();
        let close = |efficiency: &Efficiency, current: f64, input: f64, expected: f64| {
            let found = efficiency.at(&parameters, Amps(current), Volts(input)).0;
            assert!((found - expected).abs() < 1e-12, "{found} at {current} A, {input} V");
        };
        // By hand: 10 mA lie halfway from 1 to 100 mA: 70 % and 85 %, halfway between the inputs 77.5 %.
        close(&both, 0.01, 3.0, 0.775);
        // Beyond the rows and columns the nearest counts, down to no current at all.
        close(&both, 0.01, 1.0, 0.7);
        close(&both, 0.2, 9.0, 0.9);
        close(&one, 0.0001, 9.0, 0.6);
        close(&one, 0.0, 9.0, 0.6);
        assert_eq!(both.known(), Some((Amps(0.001), Amps(0.1))));
    }
}

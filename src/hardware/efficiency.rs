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
        let share = match self {
            Self::OverCurrent(rows) => over_current(parameters, rows, log),
            Self::OverInput(columns) => {
                over_input(columns, input, |column| over_current(parameters, &columns[column].1, log))
            }
        };
        Ratio(share.clamp(0.01, 1.0))
    }

    /// Gives the shares at an output current and several input voltages, one after the other: the current is looked up once
    /// for all of them.
    pub fn at_each(
        &self,
        parameters: &ParameterSample,
        output: Amps,
        inputs: impl Iterator<Item = Volts>,
        mut give: impl FnMut(Ratio),
    ) {
        let Self::OverInput(columns) = self else {
            let share = self.at(parameters, output, Volts(0.0));
            return inputs.for_each(|_| give(share));
        };
        let log = output.0.ln();
        let shares: Vec<f64> = columns.iter().map(|(_, rows)| over_current(parameters, rows, log)).collect();
        inputs.for_each(|input| give(Ratio(over_input(columns, input, |column| shares[column]).clamp(0.01, 1.0))));
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

/// Over the logarithm of the current.
fn over_current(parameters: &ParameterSample, rows: &Rows, log: f64) -> f64 {
    let (below, along) = place_by(rows.len(), |row| rows[row].log, log);
    let value = |row: usize| parameters.of(rows[row.min(rows.len() - 1)].share).0;
    mix(value(below), value(below + 1), along)
}

/// Between the columns next to an input voltage, each with its share.
fn over_input(columns: &[(Volts, Rows)], input: Volts, share: impl Fn(usize) -> f64) -> f64 {
    let (below, along) = place_by(columns.len(), |column| columns[column].0.0, input.0);
    if along == 0.0 { share(below) } else { mix(share(below), share((below + 1).min(columns.len() - 1)), along) }
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
        // At many inputs at once the same as one by one.
        for (efficiency, current) in [(&both, 0.01), (&both, 0.2), (&one, 0.003)] {
            let inputs = [1.0, 2.0, 2.7, 4.0, 9.0].map(Volts);
            let alone = inputs.map(|input| efficiency.at(&parameters, Amps(current), input));
            let mut all = Vec::new();
            efficiency.at_each(&parameters, Amps(current), inputs.into_iter(), |share| all.push(share));
            assert_eq!(all, alone);
        }
    }
}

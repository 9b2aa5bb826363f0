//! The list of every uncertain number of a project, and one draw from it.
//!
//! All physical inputs of a device (currents, times, capacities, rates) stand once in [`Inputs`], with their
//! spread and source. The model holds typed handles ([`Input`]); a computation reads their values from a
//! [`ParameterSample`]: the typical device, the worst one, or one drawn at random. This is what makes spread,
//! sensitivity, explanations and the list of assumptions work for every input without a word in the physics.

use crate::random;
use crate::units::Quantity;
use rand::RngExt;
use std::marker::PhantomData;

/// A handle to one input, typed by its quantity.
pub struct Input<Q> {
    index: usize,
    quantity: PhantomData<fn() -> Q>,
}

impl<Q> Clone for Input<Q> {
    fn clone(&self) -> Self {
        *self
    }
}
impl<Q> Copy for Input<Q> {}
impl<Q> std::fmt::Debug for Input<Q> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Input({})", self.index)
    }
}

impl<Q> Input<Q> {
    /// The position in [`Inputs::rows`].
    pub fn index(self) -> usize {
        self.index
    }
}

/// One input as the project states it, in SI units.
#[derive(Clone, Debug)]
pub struct InputRow {
    /// Where it stands in the project: `board.mcu.sleep`.
    pub path: String,
    /// The value as a person reads it: `1.9 uA`.
    pub shown: String,
    /// The SI unit.
    pub si: &'static str,
    /// Smallest value a device may have.
    pub min: f64,
    /// The typical value.
    pub typ: f64,
    /// Largest value a device may have.
    pub max: f64,
    /// Where the value comes from; `None` makes it an assumption.
    pub source: Option<String>,
}

/// Units of rates and the time that each is of, in seconds.
const RATES: [(&str, f64); 3] =
    [("%/month", crate::units::YEAR / 12.0), ("%/year", crate::units::YEAR), ("%/day", 86_400.0)];

impl InputRow {
    /// Whether the value has a source: a document or a measurement, not somebody's memory.
    pub fn sourced(&self) -> bool {
        self.source.as_ref().is_some_and(|source| !source.trim_start().starts_with("memory"))
    }

    /// Another value of this input as a person reads it; charges in mAh where the project says them so.
    pub fn show(&self, value: f64) -> String {
        match self.si {
            "C" if self.shown.ends_with("Ah") => format!("{} mAh", crate::units::figures(value / 3.6)),
            // Rates as the project states them: min, typical and max of one row have one unit.
            "1/s" => match RATES.iter().find(|(unit, _)| self.shown.ends_with(unit)) {
                Some((unit, span)) => format!("{} {unit}", crate::units::figures(100.0 * value * span)),
                None => crate::units::show_si(value, self.si),
            },
            si => crate::units::show_si(value, si),
        }
    }
}

/// Every input of one project.
#[derive(Clone, Debug, Default)]
pub struct Inputs {
    rows: Vec<InputRow>,
    /// For each row the stream of its random draws.
    streams: Vec<u64>,
}

impl Inputs {
    /// Enters an input and returns its handle. The spread must satisfy `min <= typ <= max`.
    pub fn enter<Q: Quantity>(&mut self, path: &str, spread: [Q; 3], source: Option<String>) -> Input<Q> {
        let [min, typ, max] = spread.map(Into::into);
        self.rows.push(InputRow {
            path: path.to_owned(),
            shown: crate::units::show(spread[1]),
            si: Q::SI,
            min,
            typ,
            max,
            source,
        });
        Input { index: self.rows.len() - 1, quantity: PhantomData }
    }

    /// Gives each input a stream of random draws of its own. `about` tells what an input is for, names left out: draws
    /// then depend neither on names nor on the order of inputs. Nor do they depend on the typical value, so that a
    /// design with another value is compared on the same devices; of inputs for the same thing, the smaller comes first.
    pub fn settle_streams(&mut self, about: impl Fn(&InputRow) -> String) {
        let contents: Vec<String> = self.rows.iter().map(|row| format!("{} {}", about(row), row.si)).collect();
        let mut order: Vec<usize> = (0..self.rows.len()).collect();
        order.sort_by(|a, b| {
            let (a, b) = (&self.rows[*a], &self.rows[*b]);
            a.typ.total_cmp(&b.typ).then(a.min.total_cmp(&b.min)).then(a.max.total_cmp(&b.max))
        });
        let streams = random::streams(order.iter().map(|index| contents[*index].as_str()));
        self.streams = vec![0; self.rows.len()];
        for (index, stream) in order.into_iter().zip(streams) {
            self.streams[index] = stream;
        }
    }

    /// All inputs in the order they were entered.
    pub fn rows(&self) -> &[InputRow] {
        &self.rows
    }

    /// The row behind a handle.
    pub fn row<Q>(&self, input: Input<Q>) -> &InputRow {
        &self.rows[input.index]
    }

    /// The device in which every input has its typical value.
    pub fn typical(&self) -> ParameterSample {
        ParameterSample { values: self.rows.iter().map(|row| row.typ).collect() }
    }

    /// The device of a number drawn at random: each input from a triangular law over `min`, `typ`, `max`.
    ///
    /// The triangular law is the plain choice where only a typical and a limit value are published
    /// (ISO/IEC Guide 98-3, GUM, 4.3.9). An input's draws are its own: see [`Inputs::settle_streams`].
    pub fn draw(&self, seed: u64, number: u32) -> ParameterSample {
        let draw = |(index, row): (usize, &InputRow)| {
            if row.max <= row.min {
                return row.typ;
            }
            let stream = self.streams.get(index).copied().unwrap_or(index as u64);
            triangular(row, random::part(seed, stream, u64::from(number)).random())
        };
        ParameterSample { values: self.rows.iter().enumerate().map(draw).collect() }
    }
}

/// The inverse of the triangular distribution function at `u` in 0..1.
fn triangular(row: &InputRow, u: f64) -> f64 {
    let width = row.max - row.min;
    if width <= 0.0 {
        return row.typ;
    }
    let below = row.typ - row.min;
    if u * width < below {
        row.min + (u * width * below).sqrt()
    } else {
        row.max - ((1.0 - u) * width * (row.max - row.typ)).sqrt()
    }
}

/// One value for every input: one particular device.
#[derive(Clone, Debug, PartialEq)]
pub struct ParameterSample {
    values: Vec<f64>,
}

impl ParameterSample {
    /// The value of an input on this device.
    pub fn of<Q: Quantity>(&self, input: Input<Q>) -> Q {
        Q::from(self.values[input.index])
    }

    /// The same device with one input scaled by a factor, for sensitivities.
    pub fn scaled(&self, index: usize, factor: f64) -> Self {
        let mut values = self.values.clone();
        values[index] *= factor;
        Self { values }
    }

    /// The same device with another value, in SI units, at a position of [`Inputs::rows`].
    pub fn with(&self, index: usize, value: f64) -> Self {
        let mut values = self.values.clone();
        values[index] = value;
        Self { values }
    }

    /// The bare SI value at a position of [`Inputs::rows`].
    pub fn value(&self, index: usize) -> f64 {
        self.values[index]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Amps;

    /// Ageing of 2 to 8 % a year once read 2 %/year to 0.667 %/month.
    #[test]
    fn rates_of_a_row_have_one_unit() {
        let row = InputRow {
            path: "battery.ageing".to_owned(),
            shown: "4 %/year".to_owned(),
            si: "1/s",
            min: 0.02 / crate::units::YEAR,
            typ: 0.04 / crate::units::YEAR,
            max: 0.08 / crate::units::YEAR,
            source: None,
        };
        assert_eq!([row.min, row.typ, row.max].map(|rate| row.show(rate)), ["2 %/year", "4 %/year", "8 %/year"]);
    }

    #[test]
    fn drawn_values_stay_in_range_and_have_the_triangular_mean() {
        let mut inputs = Inputs::default();
        let current = inputs.enter("a", [Amps(1.0), Amps(2.0), Amps(6.0)], None);
        let draws: Vec<f64> = (0..20_000).map(|number| inputs.draw(1, number).of(current).0).collect();
        assert!(draws.iter().all(|x| (1.0..=6.0).contains(x)));
        let mean = draws.iter().sum::<f64>() / draws.len() as f64;
        assert!((mean - 3.0).abs() < 0.03, "mean of a triangular distribution is (min + typ + max) / 3, got {mean}");
    }
}

//! Projects side by side: their figures, findings and pictures, each against the first.
//!
//! Not for calculating: every figure comes from the budget. Reading a project from a repository and swapping a
//! profile are in [`crate::compare`].

mod facts;
pub mod frames;

pub use facts::{Better, Fact, Measure, Unit, facts};

use crate::budget::figure::Figure;
use crate::evaluation::Evaluation;
use frames::{FrameRow, frame_rows};

/// One figure of every side, the first side's first.
#[derive(Clone, Debug)]
pub struct FigureRow {
    /// Its name in JSON, with the unit.
    pub key: String,
    /// Its group in tables.
    pub group: &'static str,
    /// Its name in tables.
    pub what: &'static str,
    /// Which direction is the better one.
    pub better: Better,
    /// One value for each side.
    pub values: Vec<Measure>,
    /// Numbers of other rows that are read together with these, in the same unit: lives.
    pub beside: Vec<f64>,
}

/// How a value stands to that of the first side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Delta {
    /// Relative change; `None` where the first is zero.
    pub relative: Option<f64>,
    /// The difference of small whole counts, of which a share says little.
    pub count: Option<f64>,
    /// Whether it is an improvement; `None` where neither direction is better.
    pub improves: Option<bool>,
}

impl FigureRow {
    /// Whether it says the same of every side.
    pub fn alike(&self) -> bool {
        let mut values = self.values.iter().map(ToString::to_string);
        let first = values.next();
        values.all(|value| Some(value) == first)
    }

    /// How the value of a side differs from the first's; `None` where it does not, or cannot be compared.
    pub fn step(&self, side: usize) -> Option<Delta> {
        let (first, other) = (self.values.first()?.number()?, self.values.get(side)?.number()?);
        if first == other || self.values.first()?.to_string() == self.values.get(side)?.to_string() {
            return None;
        }
        let relative = (first != 0.0).then(|| (other - first) / first.abs());
        let counts = |measure: &Measure| matches!(measure, Measure::Number(Unit::Count | Unit::Rate, Some(n)) if n.fract() == 0.0 && *n < 100.0);
        let count = (counts(self.values.first()?) && counts(self.values.get(side)?)).then_some(other - first);
        let improves = match self.better {
            Better::Less => Some(other < first),
            Better::More => Some(other > first),
            Better::Neither => None,
        };
        Some(Delta { relative, count, improves })
    }
}

impl FigureRow {
    /// The values of the sides in one unit.
    pub fn texts(&self) -> Vec<String> {
        let unit = self.values.iter().find_map(|value| match value {
            Measure::Number(unit, Some(_)) => Some(*unit),
            _ => None,
        });
        let Some(unit) = unit else { return self.values.iter().map(ToString::to_string).collect() };
        let scale = unit.scale(self.values.iter().filter_map(Measure::number).chain(self.beside.iter().copied()));
        let text = |value: &Measure| match value {
            Measure::Number(_, Some(number)) => scale.show(*number),
            _ => value.to_string(),
        };
        self.values.iter().map(text).collect()
    }

    /// As [`FigureRow::texts`] without the unit, and the unit that all of them have; empty where there is none.
    pub fn bare_texts(&self) -> (Vec<String>, String) {
        let texts = self.texts();
        let numbers = || {
            let of = |(value, _): &(&Measure, &String)| matches!(value, Measure::Number(_, Some(_)));
            self.values.iter().zip(&texts).filter(of).map(|(_, text)| text)
        };
        let unit = numbers().next().and_then(|text| text.rsplit_once(' ')).map_or("", |(_, unit)| unit).to_owned();
        let end = format!(" {unit}");
        if unit.is_empty() || !numbers().all(|text| text.ends_with(&end)) {
            return (texts, String::new());
        }
        (texts.iter().map(|text| text.strip_suffix(&end).unwrap_or(text).to_owned()).collect(), unit)
    }
}

impl Delta {
    /// The change in words: `+12 %`, `new`.
    pub fn shown(&self) -> String {
        if let Some(count) = self.count {
            return format!("{count:+}");
        }
        match self.relative {
            None => "was none".to_owned(),
            Some(change) if change.abs() >= 9.995 => format!("x {}", crate::units::figures(1.0 + change)),
            Some(change) => {
                let sign = if change < 0.0 { '-' } else { '+' };
                let tenths = (change * 1000.0).round().abs();
                // A change that shows is never said to be none.
                let size = if tenths == 0.0 { "<0.1".to_owned() } else { crate::units::figures(tenths / 10.0) };
                format!("{sign}{size} %")
            }
        }
    }
}

/// Everything that a comparison says.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// Figures.
    pub rows: Vec<FigureRow>,
    /// Pictures that differ, by screen and locale.
    pub frames: Vec<FrameRow>,
    /// Pictures compared with the first side's, for each side.
    pub compared: Vec<usize>,
}

/// Figures told in one unit, with as many decimals as the smallest of them needs.
const LIVES: [Figure; 3] = [Figure::LifeP10, Figure::Life, Figure::LifeP90];

/// Sets sides beside the first one.
pub fn compare(sides: &[Evaluation]) -> Comparison {
    compare_refs(&sides.iter().collect::<Vec<_>>())
}

/// As [`compare`], where the sides are kept elsewhere.
pub fn compare_refs(sides: &[&Evaluation]) -> Comparison {
    let mut rows: Vec<FigureRow> = Vec::new();
    for side in sides {
        // Every side has the same facts in the same order.
        for (index, fact) in facts(side).into_iter().enumerate() {
            let Fact { key, group, what, better, value } = fact;
            match rows.get_mut(index) {
                Some(row) => row.values.push(value),
                None => rows.push(FigureRow { key, group, what, better, values: vec![value], beside: Vec::new() }),
            }
        }
    }
    // The three lives are told alike. What lasts much longer than they, as a panel's rated refreshes may, is not among
    // them: lives of months were once told in whole years for it.
    let of_life = |row: &&mut FigureRow| LIVES.iter().any(|figure| figure.key() == row.key);
    let lives: Vec<f64> =
        rows.iter_mut().filter(of_life).flat_map(|row| row.values.iter().filter_map(Measure::number)).collect();
    rows.iter_mut().filter(of_life).for_each(|row| row.beside.clone_from(&lives));
    let (frames, compared) = frame_rows(sides);
    Comparison { rows, frames, compared }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(better: Better, values: [f64; 2]) -> FigureRow {
        let values = values.map(|value| Measure::Number(Unit::Joules, Some(value))).to_vec();
        FigureRow { key: "k".to_owned(), group: "g", what: "w", better, values, beside: Vec::new() }
    }

    #[test]
    fn changes_are_relative_to_the_first_and_know_the_better_way() {
        let step = row(Better::Less, [2.0, 2.25]).step(1).expect("they differ");
        assert_eq!((step.shown().as_str(), step.improves), ("+12.5 %", Some(false)));
        // Once "-0 %".
        let step = row(Better::Less, [2.0, 1.9997]).step(1);
        assert!(step.is_none_or(|step| step.shown() == "-<0.1 %"));
        assert_eq!(Delta { relative: Some(-1e-4), count: None, improves: None }.shown(), "-<0.1 %");
        let step = row(Better::More, [2.0, 1.0]).step(1).expect("they differ");
        assert_eq!((step.shown().as_str(), step.improves), ("-50 %", Some(false)));
        assert_eq!(row(Better::Less, [2.0, 2.0]).step(1), None);
        assert_eq!(row(Better::Less, [2.0, 2.000_000_1]).step(1), None, "what reads the same is no change");
        assert_eq!(
            row(Better::Neither, [0.0, 1.0]).step(1),
            Some(Delta { relative: None, count: None, improves: None })
        );
        let values = [1.0, 0.0].map(|value| Measure::Number(Unit::Count, Some(value))).to_vec();
        let errors = FigureRow { values, ..row(Better::Less, [1.0, 0.0]) };
        assert_eq!(errors.step(1).expect("they differ").shown(), "-1", "once -100 %");
        assert_eq!(row(Better::Less, [8.63, 0.544]).texts(), ["8.63 J", "0.54 J"], "one unit a row");
        // P10 once read 638 d and P90 2.07 years.
        let values = [638.0, 500.0].map(|days| Measure::Number(Unit::Days, Some(days))).to_vec();
        let life = FigureRow { values, beside: vec![756.0], ..row(Better::More, [0.0, 0.0]) };
        assert_eq!(life.texts(), ["1.75 years", "1.37 years"]);
        assert_eq!(
            row(Better::Less, [8.63, 0.544]).bare_texts(),
            (vec!["8.63".to_owned(), "0.54".to_owned()], "J".to_owned())
        );
        let values = vec![Measure::Number(Unit::Count, Some(12.0)), Measure::Rare(3.0 / 7.0, "3 in 7 days".to_owned())];
        let rare = FigureRow { values, ..row(Better::Less, [0.0, 0.0]) };
        assert_eq!(rare.texts(), ["12", "3 in 7 days"], "once 0.429");
        assert_eq!(rare.step(1).expect("they differ").shown(), "-96.4 %");
        assert_eq!(row(Better::Less, [1.0, 30.0]).step(1).expect("they differ").shown(), "x 30");
    }
}

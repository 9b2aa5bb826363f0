//! The rows of a comparison: the figures of the budget's table, and what is compared in words.

use crate::budget::figure::{self, Figure, Group};
use crate::budget::fleet::Fleet;
use crate::evaluation::Evaluation;
use crate::source::fault::Level;
use crate::units::figures;
use std::fmt;

pub use crate::budget::figure::{Better, Unit};

/// A figure of one side.
#[derive(Clone, Debug, PartialEq)]
pub enum Measure {
    /// A number in the unit of its row; `None` where the budget has none.
    Number(Unit, Option<f64>),
    /// A count a day of something so rare that it is said in words how often it was in the days that were simulated.
    Rare(f64, String),
    /// Words.
    Words(String),
}

impl Measure {
    /// The number that JSON holds, in the unit of its key; `None` for words and what is unknown.
    pub fn number(&self) -> Option<f64> {
        match self {
            Self::Number(_, number) => *number,
            Self::Rare(rate, _) => Some(*rate),
            Self::Words(_) => None,
        }
    }
}

impl fmt::Display for Measure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(unit, Some(number)) => f.write_str(&unit.show(*number)),
            Self::Number(_, None) => f.write_str("none"),
            Self::Rare(_, words) | Self::Words(words) => f.write_str(words),
        }
    }
}

/// One figure of one side.
#[derive(Clone, Debug)]
pub struct Fact {
    /// Its name in JSON, with the unit.
    pub key: String,
    /// Its group in tables.
    pub group: &'static str,
    /// Its name in tables.
    pub what: &'static str,
    /// Which direction is the better one.
    pub better: Better,
    /// The figure.
    pub value: Measure,
}

/// The figures of a side; the same in the same order for every side.
pub fn facts(side: &Evaluation) -> Vec<Fact> {
    let (device, budget) = (&side.device, &side.budget);
    let size = device.panel.size();
    let panel = format!("{} x {} px, {} px per inch", size.width, size.height, figures(device.panel.ppi()));
    let known = |note: &str| if note.is_empty() { "(no note)".to_owned() } else { note.to_owned() };
    let limited_by = budget.life.as_ref().map_or("unknown".to_owned(), Fleet::limited_by);
    let words = |group: Group, key: &str, what: &'static str, words: String| Fact {
        key: key.to_owned(),
        group: group.name(),
        what,
        better: Better::Neither,
        value: Measure::Words(words),
    };
    let mut facts = vec![
        words(Group::Hardware, "panel", "panel", panel),
        words(Group::Hardware, "panel_note", "panel type", known(&device.panel.note)),
        words(Group::Hardware, "battery_note", "battery type", known(&device.battery.note)),
        words(Group::Memory, "buffer", "buffer", figure::buffer_name(device, budget)),
    ];
    facts.extend(Figure::ALL.iter().map(|figure| {
        let row = figure.row();
        let value = match figure.value(device, budget) {
            Some(rate) if figure.is_rare(rate, budget) => Measure::Rare(rate, figure.text(device, budget)),
            value => Measure::Number(row.unit, value),
        };
        Fact { key: figure.key(), group: row.group.name(), what: row.title, better: row.better, value }
    }));
    facts.push(words(Group::Life, "limited_by", "limited by", limited_by));
    for (key, what, level) in [("errors", "errors", Level::Error), ("warnings", "warnings", Level::Warning)] {
        let value = Measure::Number(Unit::Count, Some(side.count(level) as f64));
        facts.push(Fact { key: key.to_owned(), group: "findings", what, better: Better::Less, value });
    }
    facts
}

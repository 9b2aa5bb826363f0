//! An explanation as a table: what, value, where it comes from.

use super::Explanation;
use crate::budget::figure::Figure;
use crate::parameters::Input;
use crate::table::table;
use crate::units::Quantity;
use comfy_table::CellAlignment;
use std::fmt::Display;

/// An explanation while it is written.
pub struct Account<'a> {
    subject: &'a super::Subject<'a>,
    title: String,
    formula: String,
    rows: Vec<[String; 3]>,
    notes: String,
    results: Vec<(&'static str, f64)>,
}

impl<'a> Account<'a> {
    /// Begins with what is explained and its formula.
    pub fn new(subject: &'a super::Subject<'a>, title: impl Into<String>, formula: impl Into<String>) -> Self {
        let (title, formula) = (title.into(), formula.into());
        Self { subject, title, formula, rows: Vec::new(), notes: String::new(), results: Vec::new() }
    }

    /// A step.
    pub fn row(&mut self, what: impl Display, value: impl Display, from: impl Display) {
        self.rows.push([what.to_string(), value.to_string(), from.to_string()]);
    }

    /// An input with its spread and source.
    pub fn input<Q: Quantity>(&mut self, what: &str, input: Input<Q>) {
        let row = self.subject.device.inputs.row(input);
        let source = row.source.clone().unwrap_or_else(|| "assumption".to_owned());
        self.row(what, &row.shown, format!("{}: {source}", row.path));
    }

    /// The result, with its place in the budget's JSON.
    pub fn result(&mut self, pointer: &'static str, value: impl Into<f64>, what: &str, shown: impl Display) {
        self.results.push((pointer, value.into()));
        self.row(what, shown, "result");
    }

    /// A figure of the table as the result.
    pub fn figure(&mut self, figure: Figure, what: &str) {
        self.figure_from(figure, what, "result");
    }

    /// A figure of the table, with what it comes from.
    pub fn figure_from(&mut self, figure: Figure, what: &str, from: impl Display) {
        let (device, budget) = (self.subject.device, self.subject.budget);
        self.results.extend(figure.value(device, budget).map(|value| (figure.row().pointer, value)));
        self.row(what, figure.text(device, budget), from);
    }

    /// A result of which only the JSON tells.
    pub fn also(&mut self, pointer: &'static str, value: impl Into<f64>) {
        self.results.push((pointer, value.into()));
    }

    /// A paragraph under the table.
    pub fn note(&mut self, text: impl Display) {
        self.notes += &format!("{text}\n");
    }

    /// The explanation.
    pub fn done(self) -> Explanation {
        let mut rows = table(&["", "value", "from"]);
        for row in self.rows {
            rows.add_row(row);
        }
        if let Some(column) = rows.column_mut(1) {
            column.set_cell_alignment(CellAlignment::Right);
        }
        let text = format!("{}\n{}\n\n{rows}\n{}", self.title, self.formula, self.notes);
        Explanation { text, results: self.results }
    }
}

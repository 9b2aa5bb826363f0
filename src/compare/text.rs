//! A comparison as tables for a terminal.

use crate::evaluation::Evaluation;
use crate::figures::comparison::Comparison;
use crate::source::fault::Level;
use crate::table::table;
use comfy_table::{CellAlignment, Table};
use std::collections::BTreeSet;

/// The whole comparison.
pub fn text(sides: &[Evaluation], comparison: &Comparison) -> String {
    let mut out = String::new();
    let labels: Vec<&str> = sides.iter().map(|side| side.label.as_str()).collect();
    let headings: Vec<&str> = [""].into_iter().chain(labels.iter().copied()).collect();
    let groups: Vec<&str> = comparison.rows.iter().map(|row| row.group).collect();
    let mut done = BTreeSet::new();
    for group in groups.into_iter().filter(|group| done.insert(*group)) {
        let mut rows = table(&headings);
        for row in comparison.rows.iter().filter(|row| row.group == group) {
            let value = |(side, value): (usize, &crate::figures::comparison::Measure)| match row.step(side) {
                Some(step) => format!("{value} ({})", step.shown()),
                None => value.to_string(),
            };
            let values = row.values.iter().enumerate().map(value);
            rows.add_row([row.what.to_owned()].into_iter().chain(values));
        }
        right(&mut rows);
        out += &format!("== {group} ==\n{rows}\n\n");
    }
    out + &found(sides) + &frames(&headings, comparison)
}

fn right(rows: &mut Table) {
    for index in 1.. {
        match rows.column_mut(index) {
            Some(column) => column.set_cell_alignment(CellAlignment::Right),
            None => return,
        };
    }
}

/// The findings of each side by name.
fn found(sides: &[Evaluation]) -> String {
    let mut out = String::new();
    for side in sides.iter().filter(|side| !side.findings.is_empty()) {
        out += &format!("{}:\n", side.label);
        for fault in side.findings.iter().map(|finding| &finding.fault) {
            let level = if fault.level == Level::Error { "error" } else { "warning" };
            let id = fault.id.map_or(String::new(), |id| format!("[{id}]"));
            out += &format!("  {level}{id}: {}\n", fault.message);
        }
        out += "\n";
    }
    out
}

fn frames(headings: &[&str], comparison: &Comparison) -> String {
    let mut out = "== images, with sample values ==\n".to_owned();
    if comparison.frames.is_empty() {
        return out + &format!("all {} are the same\n", comparison.compared.first().unwrap_or(&0));
    }
    let mut rows = table(headings);
    for row in &comparison.frames {
        let name = if row.locale.is_empty() { row.screen.clone() } else { format!("{} ({})", row.screen, row.locale) };
        rows.add_row([name].into_iter().chain(row.differences.iter().map(|difference| difference.shown())));
    }
    right(&mut rows);
    out += &format!("{rows}\npixels that differ from the first; images not listed are the same\n");
    out
}

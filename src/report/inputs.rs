//! Every input with its spread and source, those without a source first, and the cautions.

use super::figure::{facts, typeset};
use crate::budget::summary::cautions;
use crate::evaluation::Evaluation;
use crate::parameters::InputRow;
use maud::{Markup, html};

/// The sections on inputs and cautions.
pub fn section(side: &Evaluation) -> Markup {
    let rows = side.device.inputs.rows();
    let (sourced, assumed): (Vec<&InputRow>, Vec<&InputRow>) = rows.iter().partition(|row| row.sourced());
    html! {
        section id="inputs" aria-labelledby="h-inputs" {
            h2 id="h-inputs" { "Inputs and assumptions" }
            p.prose {
                "Every figure in this report comes from these " (rows.len()) " inputs. "
                @if assumed.is_empty() { "All of them have a source." }
                @else { (assumed.len()) " have no source and are assumptions: replace those at the top of their list first." }
            }
            h3 { "Assumptions" }
            (table(side, "Assumptions", &assumed))
            h3 { "With a source" }
            (table(side, "Inputs with a source", &sourced))
            h3 { "Every figure" }
            details { summary { "The whole table, under their titles" } dl.facts { (facts(side, |_| true)) } }
        }
        section id="cautions" aria-labelledby="h-cautions" {
            h2 id="h-cautions" { "Cautions" }
            ul.prose.cautions { @for caution in cautions(&side.device) { li { (caution) } } }
        }
    }
}

/// A table of inputs, those that move the life most first.
fn table(side: &Evaluation, name: &str, rows: &[&InputRow]) -> Markup {
    let effect = |row: &InputRow| {
        side.budget
            .sensitivity(&side.device)
            .iter()
            .find(|entry| entry.input == row.path)
            .map_or(0.0, |entry| entry.elasticity)
    };
    let mut rows: Vec<(&InputRow, f64)> = rows.iter().map(|row| (*row, effect(row))).collect();
    rows.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    let sources = rows.iter().any(|(row, _)| row.source.is_some());
    html! {
        @if rows.is_empty() { p.faint { "None." } } @else {
            div.wide role="group" aria-label=(name) tabindex="0" {
                table.stack.inputs {
                    caption.visually-hidden { (name) }
                    thead { tr {
                        th scope="col" { "Input" } th.n scope="col" { "Min" } th.n scope="col" { "Typ" } th.n scope="col" { "Max" }
                        th.n scope="col" { "Sensitivity" }
                        @if sources { th scope="col" { "Source" } }
                    } }
                    tbody {
                        @for (row, effect) in rows {
                            tr {
                                th.path scope="row" { (row.path) }
                                td.n data-label="Min" { @if row.min < row.typ { (typeset(row.show(row.min))) } }
                                td.n data-label="Typical" { (typeset(&row.shown)) }
                                td.n data-label="Max" { @if row.max > row.typ { (typeset(row.show(row.max))) } }
                                td.n data-label="Sensitivity" { @if effect.abs() >= 0.005 { (typeset(format!("{effect:+.2} %"))) } }
                                @if sources { td.source { (row.source.as_deref().unwrap_or("")) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

//! The project beside others: a table of figures, and the pictures that differ.

use super::figure::typeset;
use super::picture::{Shelf, thumbnail};
use crate::evaluation::Evaluation;
use crate::figures::comparison::frames::Difference;
use crate::figures::comparison::{Comparison, Delta, FigureRow, Measure, compare_refs};
use maud::{Markup, html};
use std::collections::BTreeSet;

/// Screens that are shown; the rest are only counted.
const PICTURES: usize = 12;

/// The project's alternatives: their figures side by side, those that are the same everywhere left out.
pub fn alternatives(sides: &[&Evaluation]) -> Markup {
    let mut comparison = compare_refs(sides);
    let all = comparison.rows.len();
    comparison.rows.retain(|row| !row.alike());
    html! {
        section id="alternatives" aria-labelledby="h-alternatives" {
            h2 id="h-alternatives" { "Alternatives" }
            p.prose { "The project as it is, " strong { (sides[0].label) } ", beside each alternative that it states; changes are against it." }
            (figures(sides, &comparison, "Figures of the alternatives"))
            p.faint { (all - comparison.rows.len()) " figures are the same in all of them." }
        }
    }
}

/// The section.
pub fn section(sides: &[&Evaluation], locale: &str, shelf: &mut Shelf) -> Markup {
    let comparison = compare_refs(sides);
    html! {
        section id="against" aria-labelledby="h-against" {
            h2 id="h-against" { "Comparison" }
            p.prose { "Changes are against " strong { (sides[0].label) } "." }
            (figures(sides, &comparison, "Comparison of figures"))
            (pictures(sides, &comparison, locale, shelf))
        }
    }
}

fn figures(sides: &[&Evaluation], comparison: &Comparison, caption: &str) -> Markup {
    let mut done = BTreeSet::new();
    let groups: Vec<&str> = comparison.rows.iter().map(|row| row.group).filter(|group| done.insert(*group)).collect();
    html! {
        div.wide role="group" aria-label=(caption) tabindex="0" {
            table.stack.against {
                caption.visually-hidden { (caption) }
                thead { tr { th scope="col" { span.visually-hidden { "Figure" } } @for side in sides { th.n scope="col" { (side.label) } } } }
                @for group in groups {
                    tbody {
                        tr.group { th colspan=(sides.len() + 1) scope="colgroup" { (group) } }
                        @for row in comparison.rows.iter().filter(|row| row.group == group && known(row)) { (figure_row(sides, row)) }
                    }
                }
            }
        }
    }
}

/// Whether any side has the figure at all.
fn known(row: &FigureRow) -> bool {
    row.texts().iter().any(|text| text != "none")
}

fn figure_row(sides: &[&Evaluation], row: &FigureRow) -> Markup {
    let class = |value: &Measure| if matches!(value, Measure::Words(_)) { "n words" } else { "n" };
    let (texts, unit) = row.bare_texts();
    html! {
        tr {
            th scope="row" { (row.what) @if !unit.is_empty() { ", " (typeset(format!("1 {unit}")).trim_start_matches("1\u{a0}")) } }
            @for (index, (value, text)) in row.values.iter().zip(&texts).enumerate() {
                td class=(class(value)) data-label=(sides[index].label) {
                    @match value { Measure::Words(words) => { (words.replace(" x ", " × ")) } _ => { (typeset(text)) } }
                    @if let Some(step) = row.step(index) { (change(step)) }
                }
            }
        }
    }
}

fn change(step: Delta) -> Markup {
    let (class, word) = match step.improves {
        Some(true) => ("better", ", better"),
        Some(false) => ("worse", ", worse"),
        None => ("", ""),
    };
    html! { br; span class=(format!("change {class}")) { (typeset(step.shown())) (word) } }
}

/// Pictures in one locale; those in others are counted.
fn pictures(sides: &[&Evaluation], comparison: &Comparison, locale: &str, shelf: &mut Shelf) -> Markup {
    if comparison.frames.is_empty() {
        return html! { p.prose { "All " (comparison.compared.first().copied().unwrap_or(0)) " images are the same, pixel for pixel." } };
    }
    let shown: Vec<_> = comparison.frames.iter().filter(|row| row.locale == locale).take(PICTURES).collect();
    let rest = comparison.frames.len() - shown.len();
    html! {
        h3 { "Images that differ" }
        div.wide role="group" aria-label="Images that differ" tabindex="0" {
            table.stack.ways.differ {
                caption.visually-hidden { "Images that differ" }
                thead { tr { th scope="col" { "Screen" } @for side in sides { th scope="col" { (side.label) } } } }
                tbody {
                    @for row in shown {
                        tr {
                            th scope="row" { (row.screen) }
                            @for (side, difference) in sides.iter().zip(&row.differences) {
                                td data-label=(side.label) { (picture(side, &row.screen, &row.locale, *difference, shelf)) }
                            }
                        }
                    }
                }
            }
        }
        @if rest > 0 { p.faint { (rest) " more images differ, in this and other locales." } }
    }
}

fn picture(side: &Evaluation, screen: &str, locale: &str, difference: Difference, shelf: &mut Shelf) -> Markup {
    let device = &side.device;
    let found = device.screen(screen).zip(device.locales.iter().position(|name| name == locale));
    html! {
        @if let Some((id, locale)) = found {
            @let frame = device.draw(id, locale, &device.sample());
            (thumbnail(shelf, &frame, &[], false, &format!("{screen} of {}", side.label))) br;
        }
        span.faint { (difference.shown()) }
    }
}

//! The result: in large figures at the top, in sentences and with the three changes that would help most further down.

use super::figure::{days, of, typeset};
use super::findings::count;
use super::words;
use crate::budget::figure::Figure;
use crate::evaluation::Evaluation;
use crate::figures::advice::{Advice, Improvement, advice, at_once};
use crate::source::fault::Level;
use crate::units::figures;
use maud::{Markup, html};

/// Changes that are shown.
const SHOWN: usize = 3;

/// The section.
pub fn section(side: &Evaluation) -> Markup {
    html! {
        section id="short" aria-labelledby="h-short" {
            h2 id="h-short" { "Summary" }
            (tiles(side))
        }
    }
}

/// The result in sentences, and what would change it most; after the contact sheet and the map.
pub fn in_words(side: &Evaluation) -> Markup {
    html! {
        section id="result" aria-labelledby="h-result" {
            h2 id="h-result" { "The result in words" }
            div.prose {
                (words::life(side))
                (words::energy(side))
                (words::refreshes(side))
            }
            (help(side))
        }
    }
}

/// The few figures that everybody asks for.
fn tiles(side: &Evaluation) -> Markup {
    let budget = &side.budget;
    let errors = side.count(Level::Error);
    html! {
        dl.tiles {
            div.first {
                dt { "Battery life, median (P50)" }
                @match &budget.life {
                    Ok(_) => {
                        dd { (of(side, Figure::Life)) }
                        dd.note {
                            (of(side, Figure::LifeP10)) " (P10) to " (of(side, Figure::LifeP90)) " (P90)"
                        }
                    }
                    Err(_) => { dd { "unknown" } }
                }
            }
            div {
                dt { "Energy a day" }
                dd { (of(side, Figure::Energy)) }
                dd.note { "mean " (of(side, Figure::MeanPower)) }
            }
            div {
                dt { "Refreshes a day" }
                dd { (of(side, Figure::Refreshes)) }
                dd.note { (of(side, Figure::Full)) " of them full" }
            }
            div {
                dt { "Limits and lints" }
                dd { @if errors == 0 { "passed" } @else { (errors) " broken" } }
                dd.note { a href="#findings" { (count(side.count(Level::Warning), "warning")) } }
            }
        }
    }
}

/// The changes that would help most.
fn help(side: &Evaluation) -> Markup {
    let Advice { changes, together, assumption, at_once: ending } = advice(&side.files, &side.device, &side.budget);
    html! {
        h3 { "What would help most" }
        @if let Some(ending) = ending {
            p.prose { (at_once(ending)) }
        } @else if changes.is_empty() {
            p.prose { "No single change that was tried (a current halved, an interval doubled, a rule of the refresh policy dropped) would lengthen the life by half a percent." }
        } @else {
            ol.changes {
                @for change in changes.iter().take(SHOWN) { (row(change)) }
            }
            p.faint {
                "Each tried alone on the same random devices, median against median: a current halved, an interval doubled, or one rule of the policy dropped. Changes that break a limit are left out."
                @if let Some(together) = together { " The first three together: +" (typeset(days(together))) "." }
            }
        }
        @if let Some((path, elasticity)) = &assumption {
            p.faint { "The assumption that moves the life most is " code { (path) } ": 1\u{a0}% more of it changes the life by " (typeset(format!("{elasticity:+.2} %"))) ". Measure it first." }
        }
    }
}

fn row(change: &Improvement) -> Markup {
    html! {
        li {
            span.gain { "+" (typeset(days(change.gain))) }
            div {
                p { (sentence(&change.words)) " " span.faint { "In return, " (change.price) "." } @if let Some(residue) = &change.residue { " " span.faint { (sentence(residue)) } } }
                p.try {
                    span.faint { (typeset(format!("{} % longer", figures((change.share.0 * 1000.0).round() / 10.0)))) " · try it: " }
                    code { "--set " (change.set.quoted()) }
                }
            }
        }
    }
}

/// The first letter large, a full stop at the end.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters
        .next()
        .map_or(String::new(), |first| format!("{}{}.", first.to_uppercase(), typeset_words(letters.as_str())))
}

/// Units in a sentence: only the micro sign; lines may break anywhere.
fn typeset_words(words: &str) -> String {
    typeset(words).replace('\u{a0}', " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn orders_become_sentences() {
        assert_eq!(sentence("let it sleep at 2 uA"), "Let it sleep at 2 µA.");
    }
}

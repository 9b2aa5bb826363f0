//! The battery's life with its spread, and what moves it.

use super::figure::{facts, figure, typeset};
use super::scale::{Mark, MarkKind, Scale};
use crate::budget::figure::Figure;
use crate::budget::regimes::rows;
use crate::evaluation::Evaluation;
use crate::units::column::Scale as UnitScale;
use crate::units::{DAY, Quantity, Seconds, figures};
use maud::{Markup, html};

/// Inputs that are listed by their effect.
const LISTED: usize = 10;
/// Effects below this are not listed.
const LEAST: f64 = 0.005;

/// The section.
pub fn section(side: &Evaluation) -> Markup {
    html! {
        section id="life" aria-labelledby="h-life" {
            h2 id="h-life" { "Battery life" }
            @match &side.budget.life {
                Err(why) => { p.prose { "The life is unknown: " (why.to_string()) "." } }
                Ok(life) => { (spread(side, life)) }
            }
            (regimes(side))
            h3 { "What moves it most" }
            (sensitivity(side))
        }
    }
}

/// What the device does at which state of charge; nothing where that is one and the same.
fn regimes(side: &Evaluation) -> Markup {
    let rows = rows(&side.device, &side.budget.counts);
    html! {
        @if !rows.is_empty() {
            h3 { "By state of charge" }
            p.prose { "What the instrument does depends on its battery; the life goes through all of these stretches." }
            div.wide role="group" aria-label="What the instrument does by state of charge" tabindex="0" {
                table {
                    caption.visually-hidden { "What the instrument does by state of charge" }
                    thead { tr { th scope="col" { "State of charge" } th.n scope="col" { "Refreshes a day" } th.n scope="col" { "Mean current" } } }
                    tbody {
                        @for (row, (from, until, refreshes, current)) in rows.into_iter().enumerate() {
                            @let at = |key: &str| format!("/use/regimes/{row}/{key}");
                            tr {
                                th scope="row" { (figure(&at("from_state_of_charge"), from, from)) " to " (figure(&at("to_state_of_charge"), until, until)) }
                                td.n { (figure(&at("refreshes_per_day"), refreshes, figures(refreshes))) }
                                td.n { (figure(&at("mean_current_a"), current, current)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn spread(side: &Evaluation, life: &crate::budget::fleet::Fleet) -> Markup {
    let [low, middle, high] = [&life.p10, &life.p50, &life.p90].map(|life| life.time);
    let asked = side.device.limits.life.as_ref().map(|limit| limit.value);
    let most = Seconds(asked.map_or(high.0, |asked| asked.0.max(high.0)) * 1.3);
    // In one unit, that of the lives, wherever the scale ends.
    let lives = UnitScale::of([low, middle, high].map(f64::from), Seconds::SI);
    let told = |time: Seconds| lives.show(time.0);
    let mark = |at: Seconds, label: String, kind: MarkKind| Mark { at: at / DAY, label, kind };
    let mut marks = vec![
        mark(low, format!("P10 {}", told(low)), MarkKind::Low),
        mark(high, format!("P90 {}", told(high)), MarkKind::High),
        mark(middle, format!("P50 {}", told(middle)), MarkKind::Main),
    ];
    marks.extend(asked.map(|asked| mark(asked, format!("limit {}", told(asked)), MarkKind::Limit)));
    let scale = Scale {
        from: 0.0,
        to: most / DAY,
        ends: ["0".to_owned(), told(most)],
        marks,
        words: format!(
            "Life from {} (P10) over {} (P50) to {} (P90){}",
            told(low),
            told(middle),
            told(high),
            asked.map_or(String::new(), |asked| format!("; the project asks for {}", told(asked)))
        ),
    };
    html! {
        (scale.markup())
        dl.facts {
            (facts(side, |figure| matches!(figure, Figure::LifeP10 | Figure::Life | Figure::LifeP90)))
            (facts(side, |figure| matches!(figure, Figure::Devices | Figure::VoltageEnded)))
            @for (row, (ending, share)) in life.limits().into_iter().enumerate() {
                div { dt { "Limited by " (ending.words()) } dd { (figure(&format!("/life/limited_by/{row}/share"), share, share)) } }
            }
        }
        p.prose {
            "The spread is that of a Monte Carlo of random devices: every input within its tolerances; usage differs between owners ("
            (typeset(side.device.usage.spread)) " standard deviation), and so does the temperature (" (typeset(format!("{} K", crate::units::figures(side.device.usage.climate_spread.0)))) "). Self-discharge and ageing are counted."
        }
    }
}

fn sensitivity(side: &Evaluation) -> Markup {
    let listed: Vec<_> = side
        .budget
        .sensitivity(&side.device)
        .iter()
        .enumerate()
        .filter(|(_, entry)| entry.elasticity.abs() >= LEAST)
        .take(LISTED)
        .collect();
    let most = listed.iter().map(|(_, entry)| entry.elasticity.abs()).fold(f64::MIN_POSITIVE, f64::max);
    html! {
        @if listed.is_empty() { p.prose { "No input moves the life: it ends by age or by the panel's rated refreshes." } }
        @else {
            div.wide role="group" aria-label="Effect of inputs on the life" tabindex="0" {
                table.bars {
                    caption.visually-hidden { "Effect of inputs on the life" }
                    thead { tr { th scope="col" { "One percent more of" } th scope="col" { span.visually-hidden { "Bar" } } th.n scope="col" { "changes the life by" } } }
                    tbody {
                        @for (row, entry) in listed {
                            tr {
                                th.path scope="row" { (entry.input) }
                                td.bar { (signed_bar(entry.elasticity / most)) }
                                td.n { (figure(&format!("/sensitivity/{row}/elasticity"), entry.elasticity, format!("{:+.2} %", entry.elasticity))) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A bar to the right of the middle for more life, to the left for less.
fn signed_bar(share: f64) -> Markup {
    let width = 50.0 * share.abs().min(1.0);
    let x = if share < 0.0 { 50.0 - width } else { 50.0 };
    html! {
        svg.bar width="100%" height="14" aria-hidden="true" focusable="false" {
            line.zero x1="50%" x2="50%" y1="0" y2="14" {}
            rect class=(if share < 0.0 { "always" } else { "refresh" }) x=(format!("{x:.2}%")) y="1" height="12" width=(format!("{width:.2}%")) {}
        }
    }
}

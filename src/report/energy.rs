//! Energy of a day by cause as bars, and the refresh policy beside the minimum-energy schedule.

use super::figure::{facts, figure, of, typeset};
use super::words::Parts;
use crate::budget::figure::{Figure, Group, Topic};
use crate::cost::consumer::{Consumer, ConsumerKind};
use crate::evaluation::Evaluation;
use crate::units::column::Scale;
use crate::units::{Joules, Quantity};
use maud::{Markup, html};

/// The sections on energy and policy.
pub fn section(side: &Evaluation) -> Markup {
    html! {
        section id="energy" aria-labelledby="h-energy" {
            h2 id="h-energy" { "Where the energy goes" }
            p.prose {
                "A mean day of " (of(side, Figure::SimulatedDays))
                " simulated ones, at the battery, stated at " (typeset(side.budget.voltage)) " (open circuit, half full). The causes add up to the whole."
            }
            (causes(side))
        }
        section id="policy" aria-labelledby="h-policy" {
            h2 id="h-policy" { "Refresh policy" }
            (policy(side))
        }
    }
}

fn bar(share: f64, class: &str) -> Markup {
    let percent = format!("{:.2}%", (100.0 * share).clamp(0.0, 100.0));
    html! {
        svg.bar width="100%" height="14" aria-hidden="true" focusable="false" {
            rect class=(class) x="0" y="1" height="12" width=(percent) {}
        }
    }
}

fn causes(side: &Evaluation) -> Markup {
    let (device, budget) = (&side.device, &side.budget);
    let total: Joules = budget.causes.iter().map(|(_, energy)| *energy).sum();
    let scale = Scale::of(budget.causes.iter().map(|(_, energy)| energy.0).chain([total.0]), Joules::SI);
    let largest = budget.causes.iter().map(|(_, energy)| energy.0).fold(f64::MIN_POSITIVE, f64::max);
    let parts = Parts::of(budget);
    let part = |name: &str, energy: Joules, shade: &str| {
        html! { li { span class=(format!("swatch {shade}")) {} (name) " " strong { (typeset(scale.show(energy.0))) } } }
    };
    html! {
        ul.legend {
            (part("refreshes", parts.refreshes, "refresh"))
            (part("events", parts.events, "event"))
            (part("always on", parts.always, "always"))
        }
        div.wide role="group" aria-label="Energy of a day by cause" tabindex="0" {
            table.bars {
                caption.visually-hidden { "Energy of a day by cause" }
                thead { tr {
                    th scope="col" { "Cause" } th scope="col" { span.visually-hidden { "Bar" } } th.n scope="col" { "Energy" } th.n scope="col" { "Share" }
                } }
                tbody {
                    @for (place, (cause, energy)) in budget.causes.iter().enumerate() {
                        tr {
                            th scope="row" { (cause.label(device)) }
                            td.bar { (bar(energy.0 / largest, shade(*cause))) }
                            td.n { (figure(&format!("/per_day/energy_by_cause_j/{place}/energy_j"), *energy, scale.show(energy.0))) }
                            td.n { (share(*energy / total)) }
                        }
                    }
                }
                tfoot { tr {
                    th scope="row" { "all" } td {} td.n { (of(side, Figure::Energy)) } td.n { (typeset("100 %")) }
                } }
            }
        }
    }
}

/// A share of the whole; what would read as nothing is called small instead.
fn share(of_whole: f64) -> String {
    let percent = 100.0 * of_whole;
    if percent > 0.0 && percent < 0.05 { typeset("<0.1 %") } else { typeset(format!("{percent:.1} %")) }
}

/// How a cause's bar is filled.
fn shade(cause: Consumer) -> &'static str {
    match cause.kind() {
        ConsumerKind::Refresh => "refresh",
        ConsumerKind::Event | ConsumerKind::Work => "event",
        ConsumerKind::Sleep | ConsumerKind::Quiescent | ConsumerKind::Load => "always",
    }
}

fn policy(side: &Evaluation) -> Markup {
    let [yours, cheapest] = side.budget.policy;
    let most = yours.0.max(cheapest.0).max(f64::MIN_POSITIVE);
    let spare = (yours - cheapest) / Joules(yours.0.max(f64::MIN_POSITIVE));
    let rows =
        [("this policy", Figure::PolicyEnergy, yours), ("minimum-energy schedule", Figure::MinimumEnergy, cheapest)];
    html! {
        p.prose {
            "The minimum-energy schedule of full and partial refreshes for the same updates, known beforehand, is the reference. "
            @if spare < 0.005 { "This policy is within 0.5 % of that minimum." }
            @else { "This policy takes " (typeset(format!("{:.1} %", 100.0 * spare))) " more than it must." }
        }
        table.bars {
            caption.visually-hidden { "Energy of a day's refreshes" }
            thead { tr { th scope="col" { "Refreshes of a day" } th scope="col" { span.visually-hidden { "Bar" } } th.n scope="col" { "Energy" } } }
            tbody {
                @for (name, which, energy) in rows {
                    tr {
                        th scope="row" { (name) }
                        td.bar { (bar(energy.0 / most, "refresh")) }
                        td.n { (of(side, which)) }
                    }
                }
            }
        }
        dl.facts {
            (facts(side, |figure| {
                let row = figure.row();
                let a_day = matches!(row.group, Group::Refreshes | Group::Use | Group::Energy) && row.pointer.starts_with("/per_day/");
                (a_day || row.topic == Topic::Updates) && !matches!(figure, Figure::Energy | Figure::SimulatedDays)
            }))
        }
    }
}

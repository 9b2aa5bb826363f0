//! Energy of a day by cause as bars, and the refresh policy beside the cheapest legal one.

use super::figure::{figure, typeset};
use super::words::Parts;
use crate::budget::summary::Budget;
use crate::cost::consumer::{Consumer, Kind};
use crate::device::Device;
use crate::evaluation::Evaluation;
use crate::units::{Amps, DAY, Joules, figures};
use maud::{Markup, html};

/// The sections on energy and policy.
pub fn section(side: &Evaluation) -> Markup {
    html! {
        section id="energy" aria-labelledby="h-energy" {
            h2 id="h-energy" { "Where the energy goes" }
            p.prose {
                "A mean day of " (figure("/per_day/simulated_days", side.budget.tally.days, figures(side.budget.tally.days)))
                " simulated ones, at the battery, stated at " (typeset(side.budget.voltage)) " (open circuit, half full). The causes add up to the whole."
            }
            (causes(&side.device, &side.budget))
        }
        section id="policy" aria-labelledby="h-policy" {
            h2 id="h-policy" { "Refresh policy" }
            (policy(&side.budget))
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

fn causes(device: &Device, budget: &Budget) -> Markup {
    let total: Joules = budget.causes.iter().map(|(_, energy)| *energy).sum();
    let largest = budget.causes.iter().map(|(_, energy)| energy.0).fold(f64::MIN_POSITIVE, f64::max);
    let parts = Parts::of(budget);
    let part = |name: &str, energy: Joules, shade: &str| {
        html! { li { span class=(format!("swatch {shade}")) {} (name) " " strong { (typeset(energy)) } } }
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
                            td.n { (figure(&format!("/per_day/energy_by_cause_j/{place}/energy_j"), *energy, energy)) }
                            td.n { (share(*energy / total)) }
                        }
                    }
                }
                tfoot { tr {
                    th scope="row" { "all" } td {} td.n { (figure("/per_day/energy_j", total, total)) } td.n { (typeset("100 %")) }
                } }
            }
        }
    }
}

/// A share of the whole; what would read as nothing is called small instead.
fn share(of_whole: f64) -> String {
    let percent = 100.0 * of_whole;
    if percent > 0.0 && percent < 0.05 { typeset("< 0.1 %") } else { typeset(format!("{percent:.1} %")) }
}

/// How a cause's bar is filled.
fn shade(cause: Consumer) -> &'static str {
    match cause.kind() {
        Kind::Refresh => "refresh",
        Kind::Event | Kind::Work => "event",
        Kind::Sleep | Kind::Quiescent | Kind::Load => "always",
    }
}

fn policy(budget: &Budget) -> Markup {
    let tally = &budget.tally;
    let [yours, cheapest] = budget.policy;
    let most = yours.0.max(cheapest.0).max(f64::MIN_POSITIVE);
    let spare = (yours - cheapest) / Joules(yours.0.max(f64::MIN_POSITIVE));
    let rows = [("this policy", "yours_energy_j", yours), ("cheapest legal", "cheapest_energy_j", cheapest)];
    html! {
        p.prose {
            "The cheapest legal sequence of full and partial refreshes for the same updates, known beforehand, is the yardstick. "
            @if spare < 0.005 { "This policy leaves nothing to gain without other rules." }
            @else { "This policy takes " (typeset(format!("{:.1} %", 100.0 * spare))) " more than it must." }
        }
        table.bars {
            caption.visually-hidden { "Energy of a day's refreshes" }
            thead { tr { th scope="col" { "Refreshes of a day" } th scope="col" { span.visually-hidden { "Bar" } } th.n scope="col" { "Energy" } } }
            tbody {
                @for (name, key, energy) in rows {
                    tr {
                        th scope="row" { (name) }
                        td.bar { (bar(energy.0 / most, "refresh")) }
                        td.n { (figure(&format!("/policy/{key}"), energy, energy)) }
                    }
                }
            }
        }
        dl.facts {
            (count("Full", "/per_day/full", tally.per_day(tally.full)))
            (count("Partial", "/per_day/partial", tally.per_day(tally.partial)))
            (count("Flashes seen", "/per_day/flashes_seen", tally.per_day(tally.flashes_seen)))
            (count("Presses", "/per_day/presses", tally.per_day(tally.presses)))
            (count("Lost presses", "/per_day/lost_presses", tally.per_day(tally.lost_presses)))
            (count("Unassigned presses", "/per_day/unassigned_presses", tally.per_day(tally.idle_presses)))
            (count("Journeys", "/per_day/journeys", tally.per_day(tally.journeys.iter().map(|journeys| journeys.made).sum())))
            (count("Derailed journeys", "/per_day/derailed_journeys", tally.per_day(tally.derailed())))
            (count("Refused updates", "/per_day/refused", tally.per_day(tally.refused)))
            @let charge = budget.energy_per_day().0 / budget.voltage.0;
            div { dt { "Charge a day" } dd { (figure("/per_day/charge_per_day_c", charge, format!("{} mAh", figures(charge / 3.6)))) } }
            @let current = charge / DAY.0;
            div { dt { "Mean current" } dd { (figure("/per_day/mean_current_a", current, Amps(current))) } }
        }
    }
}

fn count(name: &str, pointer: &str, value: f64) -> Markup {
    html! { div { dt { (name) " a day" } dd { (figure(pointer, value, figures(value))) } } }
}

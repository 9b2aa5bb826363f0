//! The sentences of the summary: what the life is, where the energy goes. Figures in them are figures of the budget.

use super::figure::{of, typeset};
use crate::budget::figure::Figure;
use crate::budget::summary::Budget;
use crate::cost::always_on::{always_on, events};
use crate::cost::consumer::{Consumer, ConsumerKind};
use crate::evaluation::Evaluation;
use crate::units::{DAY, Joules, figures};
use maud::{Markup, html};

/// Energy of a day in the three parts that a person can tell apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parts {
    /// Refreshing the screen, regulator losses included.
    pub refreshes: Joules,
    /// Events beside their drawing, such as radio reports.
    pub events: Joules,
    /// What is always there.
    pub always: Joules,
}

impl Parts {
    /// The parts of a budget's day.
    pub fn of(budget: &Budget) -> Self {
        let sum = |mine: &dyn Fn(ConsumerKind) -> bool| -> Joules {
            budget.causes.iter().filter(|(cause, _)| mine(cause.kind())).map(|(_, energy)| *energy).sum()
        };
        Self {
            refreshes: sum(&|kind| kind == ConsumerKind::Refresh),
            events: sum(&|kind| kind == ConsumerKind::Event),
            always: sum(&|kind| kind != ConsumerKind::Refresh && kind != ConsumerKind::Event),
        }
    }
}

/// How long it lasts and what ends it.
pub fn life(side: &Evaluation) -> Markup {
    let budget = &side.budget;
    let life = match &budget.life {
        Ok(life) => life,
        Err(why) => return html! { p { "How long the battery lasts is unknown: " (why.to_string()) "." } },
    };
    let source = if side.device.board.charger.is_some() { "one charge" } else { "one battery" };
    html! {
        p {
            "On " (source) ", the median device runs for " (of(side, Figure::Life)) " (P50); P10 is " (of(side, Figure::LifeP10)) ", P90 "
            (of(side, Figure::LifeP90)) ". It is limited by " (life.limited_by()) "."
        }
    }
}

/// Where the joules go.
pub fn energy(side: &Evaluation) -> Markup {
    let budget = &side.budget;
    let parts = Parts::of(budget);
    // Summed as the budget sums it, so that the figure is the same to the last bit.
    let total: Joules = budget.causes.iter().map(|(_, energy)| *energy).sum();
    if total.0 <= 0.0 {
        return html! { p { "The device takes no energy at all, which cannot be right: check its currents." } };
    }
    let share = |part: Joules| figures((100.0 * (part / total)).round());
    html! {
        p {
            "A day takes " (of(side, Figure::Energy)) " from the battery, a mean of "
            (of(side, Figure::MeanPower)) ". Of every 100 J, " strong { (share(parts.refreshes)) " refresh the screen" } ", "
            @if parts.events.0 > 0.0 { (share(parts.events)) " go into events such as " (first_event(side)) ", " }
            "and " (share(parts.always)) " into what is always on, whether anybody looks or not. "
            (comparisons(side))
        }
    }
}

/// The event that takes most, by its name.
fn first_event(side: &Evaluation) -> String {
    let event = side.budget.causes.iter().map(|(cause, _)| *cause).find(|cause| cause.kind() == ConsumerKind::Event);
    event.map_or(String::new(), |event| format!("the {}", spoken(event, side)))
}

/// A consumer's name in a sentence.
fn spoken(what: Consumer, side: &Evaluation) -> String {
    let name = match what.kind() {
        ConsumerKind::Quiescent => what.label(&side.device),
        _ => what.name(&side.device),
    };
    name.replace(['-', '_'], " ")
}

/// Loads set beside one another: the one that surprises most, and the largest in full refreshes.
fn comparisons(side: &Evaluation) -> Markup {
    let (device, budget) = (&side.device, &side.budget);
    let parameters = device.inputs.typical();
    let rates = budget.counts.rates();
    let mut others = always_on(device, &parameters, device.battery.nominal());
    others.extend(events(device, &parameters, &rates, device.battery.nominal()));
    let energy = |load_current: &crate::cell::peak::LoadCurrent| budget.voltage * load_current.at(budget.voltage) * DAY;
    let largest =
        others.iter().map(|load| (load.what, energy(&load.load_current))).max_by(|a, b| a.1.0.total_cmp(&b.1.0));
    let loads = others
        .iter()
        .filter(|load| load.what.kind() == ConsumerKind::Load)
        .map(|load| (load.what, energy(&load.load_current)));
    let load = loads.max_by(|a, b| a.1.0.total_cmp(&b.1.0));
    let panel = others.iter().find(|load| load.what == Consumer::PanelSleep).map(|load| energy(&load.load_current));
    let full = budget.screens.first().map(|screen| screen.energy);
    let name = |what: Consumer| spoken(what, side);
    html! {
        @if let (Some((who, energy)), Some(full)) = (largest, full.filter(|full| full.0 > 0.0)) {
            "The " (name(who)) " takes as much as " (figures((energy / full).round().max(0.0))) " full refreshes a day. "
        }
        @if let (Some((who, energy)), Some(panel)) = (load, panel) {
            @if energy > budget.policy[0] {
                "The " (name(who)) " alone costs more than all refreshes of the screen. "
            } @else if energy > panel && panel.0 > 0.0 {
                "The " (name(who)) " costs " (typeset(figures(rounded(energy / panel)))) " times as much as the sleeping panel. "
            }
        }
    }
}

/// A factor with two figures: more would say more than is known.
fn rounded(factor: f64) -> f64 {
    if factor >= 10.0 { factor.round() } else { (factor * 10.0).round() / 10.0 }
}

/// How often the screen is refreshed.
pub fn refreshes(side: &Evaluation) -> Markup {
    let budget = &side.budget;
    html! {
        p {
            @let a_day = |figure: Figure| typeset(figure.a_day(&side.device, budget));
            "Refreshes of the display: full " (a_day(Figure::Full)) ", partial " (a_day(Figure::Partial))
            "; full ones that a user sees: " (a_day(Figure::FlashesSeen)) ". "
            (latency(side))
            @let is = |figure: Figure| figure.value(&side.device, budget).is_some_and(|rate| rate > 0.0);
            @if is(Figure::Dropped) {
                " " strong { "Presses dropped" } " during refresh: " (a_day(Figure::Dropped)) "."
            }
            @if is(Figure::Blocked) {
                " " strong { "Updates blocked" } ", their temperature outside the waveform table: "
                (a_day(Figure::Blocked)) "."
            }
        }
        @if !crate::budget::summary::supply_holds(budget) {
            p.alarm {
                strong { "Supply fails. " }
                @match &budget.supply_corners {
                    Ok(supply_corners) => { "A battery that is " (crate::budget::supply_corners::words(&supply_corners.worst)) " falls below what the rails need." }
                    Err(why) => { (why.to_string()) "." }
                }
            }
        }
    }
}

fn latency(side: &Evaluation) -> Markup {
    if Figure::LatencyMedian.value(&side.device, &side.budget).is_none() {
        return html! {};
    }
    html! {
        "From key to display it takes " (of(side, Figure::LatencyMedian)) " (median) and " (of(side, Figure::LatencyP95)) " (p95)."
    }
}

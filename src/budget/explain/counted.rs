//! How figures come about that are counted or picked: counts of a day, the largest updates, the worst residue, wear.

use super::account::Account;
use super::{Explanation, Subject};
use crate::budget::figure::{Figure, Topic};
use crate::budget::residue::worst;
use crate::budget::usage::rated;
use crate::units::{figures, grouped, plain_time};

/// What the simulation counted.
pub fn counts(subject: &Subject<'_>) -> Option<Explanation> {
    let days = subject.budget.counts.days;
    let formula = "a day = the number counted in the simulated days / the days";
    let mut account = Account::new(subject, "Refreshes, presses and journeys of a day", formula);
    for figure in Figure::of_topic(Topic::Counts) {
        let row = figure.row();
        let from = match (figure, figure.value(subject.device, subject.budget)) {
            (Figure::SimulatedDays, _) => "usage.days".to_owned(),
            (_, Some(rate)) => {
                let number = grouped(&figures((rate * days).round()));
                format!("{number} in {} days", figures(days))
            }
            (_, None) => String::new(),
        };
        account.figure_from(figure, row.title, from);
    }
    Some(account.done())
}

/// The longest and the most expensive updates.
pub fn updates(subject: &Subject<'_>) -> Option<Explanation> {
    let (device, budget) = (subject.device, subject.budget);
    let formula = "the largest of all full refreshes of a screen, and of all transitions with sample values";
    let title = format!("Longest and most expensive updates at {}", budget.temperature);
    let mut account = Account::new(subject, title, formula);
    let id = |screen: crate::screen::ScreenId| device.screens[screen.0].id.as_str();
    let screen = |by: fn(&crate::budget::summary::ScreenCost) -> f64| {
        let most = budget.screens.iter().max_by(|a, b| by(a).total_cmp(&by(b)));
        most.map_or(String::new(), |cost| format!("--explain {}", id(cost.screen)))
    };
    let way = |by: fn(&crate::budget::transition::Transition) -> f64| {
        let most = budget.transitions.iter().max_by(|a, b| by(a).total_cmp(&by(b)));
        most.map_or(String::new(), |way| {
            let (from, to) = (id(way.from), id(way.to));
            format!("by {}, {} px change; --explain {from}:{to}", way.by(device), way.change.changed)
        })
    };
    account.row("full refreshes", budget.screens.len(), "one for each screen");
    account.row("transitions", budget.transitions.len(), "keys, timers and events that change the frame");
    for (figure, from) in [
        (Figure::FullLatency, screen(|cost| cost.latency.0)),
        (Figure::FullEnergy, screen(|cost| cost.energy.0)),
        (Figure::Latency, way(|way| way.change.latency.0)),
        (Figure::UpdateEnergy, way(|way| way.change.energy.0)),
    ] {
        account.figure_from(figure, figure.row().title, from);
    }
    Some(account.done())
}

/// The worst ghosting residue.
pub fn residue(subject: &Subject<'_>) -> Option<Explanation> {
    let (device, counts) = (subject.device, &subject.budget.counts);
    let (stated, ghost) = (device.panel.residue?, worst(device, counts)?);
    let formula =
        "residue = what one partial refresh leaves x partial refreshes of a pixel since its last full one, at most 1";
    let mut account = Account::new(subject, "Worst ghosting residue", formula);
    account.input("one partial refresh", stated);
    account.row("partial refreshes", ghost.worst.partials, "of those pixels between two full ones");
    account.figure_from(Figure::Residue, "residue", "share of the contrast");
    account.figure_from(Figure::ResidueTime, "it stays for", "until the next full refresh");
    account.note(ghost.words(device));
    Some(account.done())
}

/// Cycles of the battery and rated refreshes of the panel.
pub fn wear(subject: &Subject<'_>) -> Option<Explanation> {
    let (device, budget) = (subject.device, subject.budget);
    let (counts, rated) = (&budget.counts, rated(device, &budget.counts));
    if counts.charges.is_none() && rated.is_none() {
        return None;
    }
    let formula =
        "rated refreshes last: rated / refreshes a day; cycle life: cycles of the chemistry / full cycles a day";
    let mut account = Account::new(subject, "Wear of panel and battery", formula);
    if let Some((refreshes, _)) = rated {
        account.row("rated refreshes", grouped(&refreshes.to_string()), "panel.rated-refreshes");
        account.figure_from(Figure::Refreshes, "refreshes a day", "--explain counts");
        account.figure(Figure::RatedRefreshes, "rated refreshes last");
    }
    if let Some(charges) = &counts.charges {
        let days = plain_time(crate::units::DAY * counts.days);
        account.row(
            "full cycles",
            figures(charges.cycles()),
            format!("charge put in, over the usable charge, in {days}"),
        );
        account.figure(Figure::FullCycles, "full cycles a year");
        account.figure(Figure::CycleLife, "cycle life, spread evenly");
    }
    Some(account.done())
}

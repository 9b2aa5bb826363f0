//! How the figures of a day come about.

use super::account::Account;
use super::{Explanation, Subject};
use crate::budget::figure::Figure;
use crate::cost::always_on::{Rates, always_on, events};
use crate::cost::consumer::Consumer;
use crate::cost::how::how;
use crate::cost::phases::{by_cause, phases};
use crate::hardware::load::{Drawn, Shape};
use crate::refresh::policy::Reason;
use crate::units::column::Scale;
use crate::units::{DAY, Joules, Quantity, Seconds, figures};

/// The energy of a mean day.
pub fn day(subject: &Subject<'_>) -> Option<Explanation> {
    let (device, parameters, counts) = (subject.device, &subject.parameters, &subject.budget.counts);
    let volts = device.battery.nominal();
    let mut work = counts.by_people.clone();
    work += &counts.by_itself;
    let all = phases(device, parameters, &work, device.battery.nominal());
    let formula = format!(
        "Refreshes: the phases of all updates of {} simulated days, over those days. Always-on loads and events: load current x {volts} x 1 d",
        figures(counts.days)
    );
    let mut account = Account::new(subject, "Energy of a mean day, at the battery", formula);
    let mut sum = Joules(0.0);
    let mut rows: Vec<(String, Joules, String)> = Vec::new();
    for phase in &all {
        let energy = phase.draw.energy_at(volts) / counts.days;
        sum += energy;
        rows.push((
            format!("refreshes: {}", phase.name),
            energy,
            format!("{} a day; {}", phase.time / counts.days, phase.how),
        ));
    }
    let (_, loss) = by_cause(&all, volts);
    rows.push((
        "  of which regulator loss".to_owned(),
        loss / counts.days,
        "included above: what is taken less what reaches the rails".to_owned(),
    ));
    let rates = counts.rates();
    for load in always_on(device, parameters, device.battery.nominal()).into_iter().chain(events(
        device,
        parameters,
        &rates,
        device.battery.nominal(),
    )) {
        let energy = volts * load.load_current.at(volts) * DAY;
        sum += energy;
        rows.push((load.what.label(device), energy, how(device, parameters, &rates, volts, load.what).to_string()));
    }
    let scale = Scale::of(rows.iter().map(|(_, energy, _)| energy.0).chain([sum.0]), Joules::SI);
    for (what, energy, from) in rows {
        account.row(what, scale.show(energy.0), from);
    }
    account.result(Figure::Energy.row().pointer, sum, "a day", scale.show(sum.0));
    account.figure_from(Figure::RefreshEnergy, "of it refreshes", "the rows above that begin so");
    account.figure_from(Figure::MeanPower, "mean power", "energy / 1 d");
    account.figure_from(Figure::MeanCurrent, "mean current", format!("mean power / {volts}"));
    account.figure_from(Figure::Charge, "charge a day", format!("energy / {volts}"));
    Some(account.done())
}

/// Always-on loads.
pub fn always_on_loads(subject: &Subject<'_>) -> Option<Explanation> {
    let (device, parameters) = (subject.device, &subject.parameters);
    let volts = device.battery.nominal();
    let formula =
        format!("linear rail: I_battery = I_rail; switching rail: I_battery = V_rail I_rail / (efficiency x {volts})");
    let mut account = Account::new(subject, "Always-on loads", formula);
    let mut sum = crate::units::Amps(0.0);
    for load in always_on(device, parameters, device.battery.nominal()) {
        let current = load.load_current.at(volts);
        sum += current;
        account.row(load.what.label(device), current, how(device, parameters, &Rates::default(), volts, load.what));
    }
    account.row("all", sum, format!("{} a day", volts * sum * DAY));
    let rates = subject.budget.counts.rates();
    for load in events(device, parameters, &rates, volts) {
        if let Consumer::Load(index) = load.what {
            let held = rates.held.get(index).copied().unwrap_or_default();
            let from = format!("mean; while its condition holds, {held} of the simulated time");
            account.row(load.what.label(device), load.load_current.at(volts), from);
        }
    }
    let board = &device.board;
    account.input("MCU sleep", board.mcu.sleep);
    account.input("panel sleep", device.panel.sleep);
    if let Some(memory) = &board.memory {
        account.input("SRAM standby", memory.standby);
    }
    for load in &board.loads {
        let drawn = match &load.shape {
            Shape::Always(drawn) => vec![*drawn],
            Shape::Pulses { steps, .. } => steps.iter().map(|step| step.drawn).collect(),
        };
        for drawn in drawn {
            match drawn {
                Drawn::Current(current) => account.input(&load.name, current),
                Drawn::Power(power) => account.input(&load.name, power),
            }
        }
    }
    Some(account.done())
}

/// The refresh policy.
pub fn policy(subject: &Subject<'_>) -> Option<Explanation> {
    let (device, budget) = (subject.device, subject.budget);
    let (policy, counts) = (&device.policy, &budget.counts);
    let formula = "Yours: each update as the policy decides without knowing the next. Minimum energy: the shortest path over (update, \
                   partials since the last full) through the same updates under the same rules, exact";
    let mut account = Account::new(subject, "Full and partial refreshes", formula);
    account.row("partials in a row", policy.max_partials, "policy.max-partials");
    account.row(
        "a full refresh at least every",
        policy.full_every.map_or("never".to_owned(), crate::units::plain_time),
        "policy.full-every",
    );
    account.row("updates of the device keep apart", policy.min_interval, "policy.min-interval");
    let screens =
        device.screens.iter().zip(&policy.full_on).filter(|(_, full)| **full).map(|(screen, _)| screen.id.as_str());
    account.row("screens entered in full", screens.clone().count(), screens.collect::<Vec<_>>().join(", "));
    account.figure(Figure::Full, "full a day");
    for (reason, count) in Reason::ALL.into_iter().zip(counts.reasons).filter(|(_, count)| *count > 0) {
        account.row("of these", figures(counts.per_day(count)), reason.words());
    }
    account.figure(Figure::Partial, "partial a day");
    account.figure(Figure::PolicyEnergy, "yours, a day");
    account.figure(Figure::MinimumEnergy, "minimum-energy schedule, a day");
    Some(account.done())
}

/// From a press to its picture.
pub fn latency(subject: &Subject<'_>) -> Option<Explanation> {
    let (device, counts) = (subject.device, &subject.budget.counts);
    let mut sorted: Vec<f64> = counts.answers.iter().map(|answer| answer.latency.0).collect();
    sorted.sort_by(f64::total_cmp);
    let (shortest, longest) = (*sorted.first()?, *sorted.last()?);
    let formula = "Each press waits until the panel is free, then for the phases of its update up to the end of the drive; a share of \
                   the presses is answered within the latency at that place among all, in rising order";
    let mut account = Account::new(subject, "Key-to-display latency", formula);
    let work = &counts.by_people;
    // Presses whose picture came with a refresh of the device's own have no updates of theirs.
    let own = if work.updates > 0.0 {
        phases(device, &subject.parameters, work, device.battery.nominal())
    } else {
        Vec::new()
    };
    for phase in own.into_iter().filter(|phase| phase.before_visible) {
        let share = format!("{}; all of {} updates for people, averaged", phase.how, figures(work.updates));
        account.row(phase.name, phase.time / work.updates, share);
    }
    account.row("presses answered", sorted.len(), format!("of {} in {} days", counts.presses, figures(counts.days)));
    account.row("min", Seconds(shortest), "");
    account.figure(Figure::LatencyMedian, "median");
    account.figure(Figure::LatencyP95, "p95");
    account.row("the slowest", Seconds(longest), "");
    if let Some(limit) = Figure::Latency.limit(device) {
        account.row("limit", Seconds(limit), "limits.latency");
    }
    Some(account.done())
}

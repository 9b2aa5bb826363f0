//! What a simulation counted, as tables and JSON: why refreshes were full, each key's presses, the time of each screen,
//! the panel's wear, the charges.

use super::figure::{Figure, rare};
use super::residue::worst;
use super::summary::Budget;
use crate::device::Device;
use crate::refresh::activity::{CELL, RegionCounts};
use crate::refresh::policy::Reason;
use crate::simulate::counts::Counts;
use crate::simulate::stationary::{Memory, law};
use crate::table::table;
use crate::units::column::Scale;
use crate::units::{DAY, Quantity, Seconds, figures, grouped, plain_time};
use crate::usage::person::Journeys;
use comfy_table::{CellAlignment, Table};
use serde_json::{Map, Value, json};
use std::fmt::Write as _;

/// The tables under the day's counts.
pub fn text(device: &Device, budget: &Budget) -> String {
    let counts = &budget.counts;
    let mut out = String::new();
    let parts = [
        reasons(counts),
        keys(counts),
        journeys(device, counts),
        screens(device, counts),
        wear(device, budget),
        charges(device, budget),
        super::regimes::text(device, counts),
    ];
    for part in parts.into_iter().filter(|part| !part.is_empty()) {
        let _ = write!(out, "\n{part}");
    }
    if device.usage.climate.is_yearly() && counts.days < 364.0 {
        out += "\nThe temperature moves over the year, but only these days are simulated: refreshes, energy and life are of \
                their season.\n";
    }
    out
}

fn right(mut table: Table) -> Table {
    for column in table.column_iter_mut().skip(1) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    table
}

/// A count of the simulation as a number a day; of rare ones, which a short simulation says little about, how many there were.
pub fn a_day(counts: &Counts, count: u64) -> String {
    let rate = counts.per_day(count);
    match rare(rate, counts.days) {
        true => format!("{count} in {} days", figures(counts.days)),
        false => grouped(&figures(rate)),
    }
}

/// Counts of the simulation as numbers a day under one another: with as many decimals as the largest of them needs.
fn all_a_day(counts: &Counts, all: impl Iterator<Item = u64> + Clone) -> impl Fn(u64) -> String {
    let days = counts.days;
    let per_day = counts.per_day(1);
    let scale = Scale::of(all.map(|count| count as f64 * per_day), "");
    move |count| match rare(count as f64 * per_day, days) {
        true => format!("{count} in {} days", figures(days)),
        false if count == 0 => "0".to_owned(),
        false => scale.show(count as f64 * per_day),
    }
}

/// A share in percent; what is more than nothing is not printed as nothing.
pub fn percent(share: f64, decimals: usize) -> String {
    let (percent, least) = (100.0 * share, 0.1_f64.powi(decimals as i32));
    match percent > 0.0 && percent < least / 2.0 {
        true => format!("<{least} %", least = figures(least)),
        false => format!("{percent:.decimals$} %"),
    }
}

fn reasons(counts: &Counts) -> String {
    let mut rows = table(&["full because", "a day", "share"]);
    let mut all: Vec<_> = Reason::ALL.into_iter().zip(counts.reasons).filter(|(_, count)| *count > 0).collect();
    all.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    if all.is_empty() {
        return String::new();
    }
    let a_day = all_a_day(counts, all.iter().map(|(_, count)| *count));
    for (reason, count) in &all {
        let share = percent(*count as f64 / counts.full as f64, 1);
        rows.add_row([reason.words().to_owned(), a_day(*count), share]);
    }
    format!("{}\n", right(rows))
}

fn keys(counts: &Counts) -> String {
    if counts.presses == 0 {
        return String::new();
    }
    let slowest = (0..counts.keys.len()).filter_map(|key| counts.latency_of(key, 1.0)).map(|time| time.0);
    let scale = Scale::of(slowest, Seconds::SI);
    let made = all_a_day(counts, counts.keys.iter().map(|key| key.made));
    let lost = all_a_day(counts, counts.keys.iter().map(|key| key.lost));
    let idle = all_a_day(counts, counts.keys.iter().map(|key| key.idle));
    let mut rows = table(&["key", "pressed a day", "dropped", "unassigned", "median", "p95", "max"]);
    for (key, presses) in counts.keys.iter().enumerate().filter(|(_, presses)| presses.made > 0) {
        let within = |share| counts.latency_of(key, share).map_or("none".to_owned(), |time| scale.show(time.0));
        rows.add_row([
            format!("{}", key + 1),
            made(presses.made),
            lost(presses.lost),
            idle(presses.idle),
            within(0.5),
            within(0.95),
            within(1.0),
        ]);
    }
    format!("{}\n", right(rows))
}

fn screens(device: &Device, counts: &Counts) -> String {
    let law = law(device).ok();
    let heading = "in the long run";
    let mut rows = match law {
        Some(_) => table(&["screen", "entered a day", "share of time", heading]),
        None => table(&["screen", "entered a day", "share of time"]),
    };
    let entered = all_a_day(counts, counts.entries.iter().copied());
    let mut never = Vec::new();
    for (index, screen) in device.screens.iter().enumerate() {
        let in_the_long_run = law.as_ref().map_or(0.0, |law| law.share[index].0);
        if counts.entries[index] == 0 && counts.shown[index] == Seconds(0.0) && in_the_long_run == 0.0 {
            never.push(screen.id.as_str());
            continue;
        }
        let share = counts.shown[index] / (DAY * counts.days);
        let mut row = vec![screen.id.clone(), entered(counts.entries[index]), percent(share, 2)];
        row.extend(law.as_ref().map(|law| percent(law.share[index].0, 2)));
        rows.add_row(row);
    }
    let note = match law {
        Some(_) => "The flow has no memory: the last column is its stationary distribution, by linear algebra.\n",
        None => "",
    };
    let unseen = if never.is_empty() {
        String::new()
    } else {
        format!("Not shown in {} days: {}.\n", figures(counts.days), never.join(", "))
    };
    format!("{}\n{note}{unseen}", right(rows))
}

/// What became of each journey, where some of them stop or are not begun.
fn journeys(device: &Device, counts: &Counts) -> String {
    if counts.derailed() == 0 {
        return String::new();
    }
    let all = || device.usage.journeys.iter().zip(&counts.journeys);
    let of = |what: fn(&Journeys) -> u64| all_a_day(counts, counts.journeys.iter().map(what));
    let (made, stopped, unreached) =
        (of(|journeys| journeys.made), of(|journeys| journeys.stopped), of(|journeys| journeys.unreached));
    let mut rows = table(&["journey", "made a day", "stopped early", "not begun"]);
    for (journey, became) in all() {
        rows.add_row([journey.name.clone(), made(became.made), stopped(became.stopped), unreached(became.unreached)]);
    }
    format!(
        "{}\nStopped: a key did nothing on what was in front. Not begun: nothing led from there to the journey's screen.\n",
        right(rows)
    )
}

fn wear(device: &Device, budget: &Budget) -> String {
    let counts = &budget.counts;
    let mut out = String::new();
    if let Some(((column, row), region)) = counts.activity.most(|region| u64::from(region.longest)) {
        let (x, y) = (column as u32 * CELL, row as u32 * CELL);
        let _ = writeln!(
            out,
            "Max. partial refreshes of one region between two full ones: {}, at {x}, {y} px.",
            region.longest
        );
    }
    if let Some(ghost) = worst(device, counts) {
        let _ = writeln!(out, "{}", ghost.words(device));
    }
    if let Some((rated, _)) = rated(device, counts) {
        let [last, a_day] = [Figure::RatedRefreshes, Figure::Refreshes].map(|figure| figure.text(device, budget));
        let rated = grouped(&rated.to_string());
        let _ = writeln!(out, "The panel's rated {rated} refreshes last {last} at {a_day} a day.");
    }
    out
}

/// The panel's rated refreshes and how long they last. `None` without a rating, or where nothing is refreshed.
pub fn rated(device: &Device, counts: &Counts) -> Option<(u64, Seconds)> {
    let rated = device.panel.rated_refreshes?;
    let a_day = counts.per_day(counts.full + counts.partial);
    (a_day > 0.0).then(|| (rated, DAY * (rated as f64 / a_day)))
}

fn charges(device: &Device, budget: &Budget) -> String {
    let counts = &budget.counts;
    let Some(charges) = &counts.charges else { return String::new() };
    let mut out = format!(
        "At the charger {} times in {} days: the state of charge stays above {:.1} % (full at {:.1} %), {} full cycles a year.\n",
        charges.count,
        figures(counts.days),
        100.0 * charges.lowest.0,
        100.0 * charges.full.0,
        Figure::FullCycles.text(device, budget)
    );
    if Figure::CycleLife.value(device, budget).is_some() {
        let life = Figure::CycleLife.text(device, budget);
        let _ = writeln!(out, "The battery's cycle life, spread evenly, is {life} at that rate.");
    }
    if let Some(empty) = charges.empty {
        let _ = writeln!(out, "The battery is down to its reserve after {}: charge more often.", plain_time(empty));
    }
    if let Some(charging) = device.usage.charging.filter(|charging| f64::from(charging.every) >= counts.days) {
        let _ = writeln!(
            out,
            "The charger comes every {} d, {} are simulated: the charge goes on by their mean.",
            charging.every,
            plain_time(DAY * counts.days)
        );
    }
    if charges.refused > 0 {
        let _ = writeln!(out, "{} charges could not be made: see the charging time.", charges.refused);
    }
    out
}

/// The JSON of the counts; numbers are of a day unless their keys say otherwise.
pub fn json(device: &Device, counts: &Counts) -> Map<String, Value> {
    let full_because: Map<String, Value> = Reason::ALL
        .into_iter()
        .zip(counts.reasons)
        .filter(|(_, count)| *count > 0)
        .map(|(reason, count)| (reason.id().to_owned(), json!(counts.per_day(count))))
        .collect();
    let key = |(key, presses): (usize, &crate::simulate::counts::Presses)| {
        let within = |share| counts.latency_of(key, share).map(|time| time.0);
        json!({
            "key": key + 1,
            "presses": counts.per_day(presses.made),
            "dropped": counts.per_day(presses.lost),
            "unassigned": counts.per_day(presses.idle),
            "latency_s": { "p50": within(0.5), "p95": within(0.95), "max": within(1.0) },
        })
    };
    let law = law(device);
    let screen = |(index, screen): (usize, &crate::screen::Screen)| {
        json!({
            "id": screen.id,
            "entered": counts.per_day(counts.entries[index]),
            "time_fraction": counts.shown[index] / (DAY * counts.days),
            "stationary_fraction": law.as_ref().ok().map(|law| law.share[index].0),
        })
    };
    let longest = counts.activity.most(|region| u64::from(region.longest));
    let busiest = counts.activity.most(RegionCounts::drives);
    let place = |found: Option<((usize, usize), RegionCounts)>| {
        found.map(|((column, row), _)| json!({ "x": column as u32 * CELL, "y": row as u32 * CELL }))
    };
    let mut all = Map::new();
    all.insert("full_because".into(), full_because.into());
    if let Some(ghost) = worst(device, counts) {
        all.insert("residue".into(), ghost.json(device));
    }
    all.insert("keys".into(), counts.keys.iter().enumerate().map(key).collect::<Vec<_>>().into());
    all.insert("screens".into(), device.screens.iter().enumerate().map(screen).collect::<Vec<_>>().into());
    all.insert(
        "regions".into(),
        json!({
            "side_px": CELL,
            "max_partials_between_full": longest.map_or(0, |(_, region)| region.longest),
            "max_partials_at": place(longest),
            "busiest_at": place(busiest),
            "busiest_drives": busiest.map_or(0.0, |(_, region)| counts.per_day(region.drives())),
        }),
    );
    all.insert(
        "charges".into(),
        json!(counts.charges.map(|charges| json!({
            "count": counts.per_day(charges.count),
            "full_state_of_charge": charges.full.0,
            "lowest_state_of_charge": charges.lowest.0,
            "full_cycles": charges.cycles() / counts.days,
            "empty_after_s": charges.empty.map(|time| time.0),
            "refused": charges.refused,
        }))),
    );
    let regimes = super::regimes::json(device, counts);
    if !regimes.is_empty() {
        all.insert("regimes".into(), regimes.into());
    }
    all.insert("stationary_unknown".into(), json!(law.err().map(|memory| memory_words(device, &memory))));
    all
}

/// Why a flow has no stationary law, in words.
pub fn memory_words(device: &Device, memory: &Memory) -> String {
    match memory {
        Memory::Timer(screen) => format!("the screen {} has a timer", device.screens[screen.0].id),
        Memory::Event(event) => {
            format!("the event {} has hours, an interval or a condition", device.events[*event].name)
        }
        Memory::Journey(journey) => {
            format!("the journey {} has hours or several presses", device.usage.journeys[*journey].name)
        }
        Memory::Parts => "the screens fall into parts that are never left".to_owned(),
    }
}

//! What a simulation counted, as tables and JSON: why refreshes were full, each key's presses, the time of each screen,
//! the panel's wear, the charges.

use super::life::cycle_life;
use super::residue::worst;
use crate::budget::figure::rare;
use crate::device::Device;
use crate::refresh::activity::{CELL, Counts};
use crate::refresh::policy::Reason;
use crate::simulate::stationary::{Memory, law};
use crate::simulate::tally::Tally;
use crate::table::table;
use crate::units::column::Scale;
use crate::units::{DAY, Quantity, Seconds, figures, grouped, plain_time};
use comfy_table::{CellAlignment, Table};
use serde_json::{Map, Value, json};
use std::fmt::Write as _;

/// The tables under the day's counts.
pub fn text(device: &Device, tally: &Tally) -> String {
    let mut out = String::new();
    let parts = [
        reasons(tally),
        keys(tally),
        screens(device, tally),
        wear(device, tally),
        charges(device, tally),
        super::regimes::text(device, tally),
    ];
    for part in parts.into_iter().filter(|part| !part.is_empty()) {
        let _ = write!(out, "\n{part}");
    }
    if device.usage.climate.is_yearly() && tally.days < 364.0 {
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
pub fn a_day(tally: &Tally, count: u64) -> String {
    let rate = tally.per_day(count);
    match rare(rate, tally.days) {
        true => format!("{count} in {} days", figures(tally.days)),
        false => grouped(&figures(rate)),
    }
}

fn reasons(tally: &Tally) -> String {
    let mut rows = table(&["full because", "a day", "share"]);
    let mut all: Vec<_> = Reason::ALL.into_iter().zip(tally.reasons).filter(|(_, count)| *count > 0).collect();
    all.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    if all.is_empty() {
        return String::new();
    }
    for (reason, count) in all {
        let share = 100.0 * count as f64 / tally.full as f64;
        rows.add_row([reason.words().to_owned(), a_day(tally, count), format!("{share:.1} %")]);
    }
    format!("{}\n", right(rows))
}

fn keys(tally: &Tally) -> String {
    if tally.presses == 0 {
        return String::new();
    }
    let slowest = (0..tally.keys.len()).filter_map(|key| tally.latency_of(key, 1.0)).map(|time| time.0);
    let scale = Scale::of(slowest, Seconds::SI);
    let mut rows = table(&["key", "pressed a day", "dropped", "unassigned", "median", "p95", "max"]);
    for (key, presses) in tally.keys.iter().enumerate().filter(|(_, presses)| presses.made > 0) {
        let within = |share| tally.latency_of(key, share).map_or("none".to_owned(), |time| scale.show(time.0));
        let count = |count: u64| a_day(tally, count);
        rows.add_row([
            format!("{}", key + 1),
            count(presses.made),
            count(presses.lost),
            count(presses.idle),
            within(0.5),
            within(0.95),
            within(1.0),
        ]);
    }
    format!("{}\n", right(rows))
}

fn screens(device: &Device, tally: &Tally) -> String {
    let law = law(device).ok();
    let heading = "in the long run";
    let mut rows = match law {
        Some(_) => table(&["screen", "entered a day", "share of time", heading]),
        None => table(&["screen", "entered a day", "share of time"]),
    };
    for (index, screen) in device.screens.iter().enumerate() {
        let share = tally.shown[index] / (DAY * tally.days);
        let mut row = vec![screen.id.clone(), a_day(tally, tally.entries[index]), format!("{:.2} %", 100.0 * share)];
        row.extend(law.as_ref().map(|law| format!("{:.2} %", 100.0 * law.share[index].0)));
        rows.add_row(row);
    }
    let note = match law {
        Some(_) => "The flow has no memory: the last column is its stationary distribution, by linear algebra.\n",
        None => "",
    };
    format!("{}\n{note}", right(rows))
}

fn wear(device: &Device, tally: &Tally) -> String {
    let mut out = String::new();
    if let Some(((column, row), counts)) = tally.activity.most(|counts| u64::from(counts.longest)) {
        let (x, y) = (column as u32 * CELL, row as u32 * CELL);
        let _ = writeln!(
            out,
            "Max. partial refreshes of one region between two full ones: {}, at {x}, {y} px.",
            counts.longest
        );
    }
    if let Some(ghost) = worst(device, tally) {
        let _ = writeln!(out, "{}", ghost.words(device));
    }
    if let Some((rated, time)) = rated(device, tally) {
        let a_day = figures(tally.per_day(tally.full + tally.partial));
        let _ = writeln!(
            out,
            "The panel's rated {} refreshes last {} at {a_day} a day.",
            grouped(&rated.to_string()),
            plain_time(time)
        );
    }
    out
}

/// The panel's rated refreshes and how long they last. `None` without a rating, or where nothing is refreshed.
pub fn rated(device: &Device, tally: &Tally) -> Option<(u64, Seconds)> {
    let rated = device.panel.rated_refreshes?;
    let a_day = tally.per_day(tally.full + tally.partial);
    (a_day > 0.0).then(|| (rated, DAY * (rated as f64 / a_day)))
}

fn charges(device: &Device, tally: &Tally) -> String {
    let Some(charges) = &tally.charges else { return String::new() };
    let mut out = format!(
        "At the charger {} times in {} days: the state of charge stays above {:.1} % (full at {:.1} %), {} full cycles a year.\n",
        charges.count,
        figures(tally.days),
        100.0 * charges.lowest.0,
        100.0 * charges.full.0,
        figures(charges.cycles() / tally.days * 365.25)
    );
    if let Some(time) = cycle_life(device, tally) {
        let _ = writeln!(out, "The battery's cycle life, spread evenly, is {} at that rate.", plain_time(time));
    }
    if let Some(empty) = charges.empty {
        let _ = writeln!(out, "The battery is down to its reserve after {}: charge more often.", plain_time(empty));
    }
    if charges.refused > 0 {
        let _ = writeln!(out, "{} charges could not be made: see the charging time.", charges.refused);
    }
    out
}

/// The JSON of the counts; numbers are of a day unless their keys say otherwise.
pub fn json(device: &Device, tally: &Tally) -> Map<String, Value> {
    let full_because: Map<String, Value> = Reason::ALL
        .into_iter()
        .zip(tally.reasons)
        .filter(|(_, count)| *count > 0)
        .map(|(reason, count)| (reason.id().to_owned(), json!(tally.per_day(count))))
        .collect();
    let key = |(key, presses): (usize, &crate::simulate::tally::Presses)| {
        let within = |share| tally.latency_of(key, share).map(|time| time.0);
        json!({
            "key": key + 1,
            "presses": tally.per_day(presses.made),
            "dropped": tally.per_day(presses.lost),
            "unassigned": tally.per_day(presses.idle),
            "latency_s": { "p50": within(0.5), "p95": within(0.95), "max": within(1.0) },
        })
    };
    let law = law(device);
    let screen = |(index, screen): (usize, &crate::screen::Screen)| {
        json!({
            "id": screen.id,
            "entered": tally.per_day(tally.entries[index]),
            "time_fraction": tally.shown[index] / (DAY * tally.days),
            "stationary_fraction": law.as_ref().ok().map(|law| law.share[index].0),
        })
    };
    let longest = tally.activity.most(|counts| u64::from(counts.longest));
    let busiest = tally.activity.most(Counts::drives);
    let place = |found: Option<((usize, usize), Counts)>| {
        found.map(|((column, row), _)| json!({ "x": column as u32 * CELL, "y": row as u32 * CELL }))
    };
    let mut all = Map::new();
    all.insert("full_because".into(), full_because.into());
    if let Some(ghost) = worst(device, tally) {
        all.insert("residue".into(), ghost.json(device));
    }
    all.insert("keys".into(), tally.keys.iter().enumerate().map(key).collect::<Vec<_>>().into());
    all.insert("screens".into(), device.screens.iter().enumerate().map(screen).collect::<Vec<_>>().into());
    all.insert(
        "regions".into(),
        json!({
            "side_px": CELL,
            "max_partials_between_full": longest.map_or(0, |(_, counts)| counts.longest),
            "max_partials_at": place(longest),
            "busiest_at": place(busiest),
            "busiest_drives": busiest.map_or(0.0, |(_, counts)| tally.per_day(counts.drives())),
        }),
    );
    all.insert("rated_refreshes_last_days".into(), json!(rated(device, tally).map(|(_, time)| time / DAY)));
    all.insert(
        "charges".into(),
        json!(tally.charges.map(|charges| json!({
            "count": tally.per_day(charges.count),
            "full_state_of_charge": charges.full.0,
            "lowest_state_of_charge": charges.lowest.0,
            "full_cycles": charges.cycles() / tally.days,
            "cycle_life_days": cycle_life(device, tally).map(|time| time / DAY),
            "empty_after_s": charges.empty.map(|time| time.0),
            "refused": charges.refused,
        }))),
    );
    let regimes = super::regimes::json(device, tally);
    if !regimes.is_empty() {
        all.insert("regimes".into(), regimes.into());
    }
    all.insert("flow_memory".into(), json!(law.err().map(|memory| memory_words(device, &memory))));
    all
}

/// Why a flow has no stationary law, in words.
pub fn memory_words(device: &Device, memory: &Memory) -> String {
    match memory {
        Memory::Timer(screen) => format!("the screen {} has a timer", device.screens[screen.0].id),
        Memory::Event(event) => {
            format!("the event {} keeps hours, an interval or a condition", device.events[*event].name)
        }
        Memory::Journey(journey) => {
            format!("the journey {} has hours or several presses", device.usage.journeys[*journey].name)
        }
        Memory::Parts => "the screens fall into parts that are never left".to_owned(),
    }
}

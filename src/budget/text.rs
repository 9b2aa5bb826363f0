//! A budget as tables for a terminal.

use super::corners::words;
use super::memory::{Unpacking, cycles_per_byte, unpackings};
use super::summary::{Budget, cautions, supply_holds};
use crate::device::Device;
use crate::refresh::update::Mode;
use crate::table::table;
use crate::units::{DAY, Seconds, figures, plain_time};
use comfy_table::{CellAlignment, Table};
use std::fmt::Write as _;

fn right(table: &mut Table, from: usize) {
    for index in from.. {
        match table.column_mut(index) {
            Some(column) => column.set_cell_alignment(CellAlignment::Right),
            None => return,
        };
    }
}

/// The whole budget.
pub fn text(device: &Device, budget: &Budget) -> String {
    let mut out = format!("{}\n", device.name);
    if !device.note.is_empty() {
        out += &format!("{}\n", device.note);
    }
    let parts: [(&str, String); 9] = [
        ("In short", short(device, budget)),
        ("Memory", memory(device, budget)),
        ("Screens, full refresh", screens(device, budget)),
        ("Transitions", transitions(device, budget)),
        ("A day of use", day(budget) + &super::usage::text(device, &budget.tally)),
        ("Energy of a day, at the battery", causes(device, budget)),
        ("Supply and life", supply(budget)),
        ("What moves the life most", sensitivity(budget)),
        ("Assumptions and cautions", notes(device, budget)),
    ];
    for (title, part) in parts {
        out += &format!("\n== {title} ==\n{part}");
    }
    out
}

fn short(device: &Device, budget: &Budget) -> String {
    let mut out = String::new();
    let tally = &budget.tally;
    match &budget.life {
        Ok(life) => {
            let time = |life: &super::life::Life| plain_time(life.time);
            let _ = writeln!(
                out,
                "life      {} (P50), {} (P10) to {} (P90); limited by {}",
                time(&life.p50),
                time(&life.p10),
                time(&life.p90),
                life.limited_by()
            );
        }
        Err(why) => {
            let _ = writeln!(out, "life      unknown: {why}");
        }
    }
    let total: f64 = budget.causes.iter().map(|(_, energy)| energy.0).sum();
    let refresh: f64 = budget.refreshes_per_day().0;
    let _ = writeln!(
        out,
        "energy    {} a day, {} % of it for refreshes; mean power {}",
        crate::units::Joules(total),
        figures(100.0 * refresh / total),
        crate::units::Joules(total) / DAY
    );
    let _ = writeln!(
        out,
        "refreshes {} full and {} partial a day; policy takes {} a day, the cheapest legal one {}",
        figures(tally.per_day(tally.full)),
        figures(tally.per_day(tally.partial)),
        budget.policy[0],
        budget.policy[1]
    );
    let voltage = budget.worst_voltage().map_or("brown-out".to_owned(), |volts| format!("{volts}"));
    let verdict = if supply_holds(budget) { "enough" } else { "NOT ENOUGH" };
    let _ = match &budget.corners {
        Ok(corners) => writeln!(
            out,
            "supply    {voltage} under peak load, {}, all tolerances at their worst; {} needed: {verdict}",
            words(&corners.worst),
            corners.needed
        ),
        Err(why) => writeln!(out, "supply    unknown: {why}"),
    };
    let (short, all) = budget.ended_by_voltage();
    if short > 0 {
        let _ = writeln!(out, "          {short} of {all} random devices end by their voltage");
    }
    if let Ok(usable) = &budget.usable {
        let _ = writeln!(out, "battery   {} mAh usable when new at {}", figures(usable.0 / 3.6), budget.temperature);
    }
    if let Some(time) = budget.charge_time {
        let _ = writeln!(out, "charging  {} from the reserve, the device running", plain_time(time));
    }
    let size = device.panel.size();
    let _ = writeln!(
        out,
        "panel     {} x {} px, {} px per inch, {} B a frame",
        size.width,
        size.height,
        figures(device.panel.ppi()),
        device.panel.plane_bytes()
    );
    out
}

fn memory(device: &Device, budget: &Budget) -> String {
    let mut rows = table(&["buffer", "RAM", "external", "fits", "one full refresh"]);
    for scheme in &budget.schemes {
        let chosen = if scheme.buffer == device.policy.buffer { " (yours)" } else { "" };
        rows.add_row([
            format!("{}{chosen}", scheme.name),
            scheme.ram.to_string(),
            scheme.memory.to_string(),
            if scheme.fits { "yes" } else { "no" }.to_owned(),
            scheme.energy.to_string(),
        ]);
    }
    right(&mut rows, 1);
    let stock = &device.stock;
    let total = stock.images + stock.fonts + stock.strings;
    format!(
        "{rows}\nflash: {} B of images, {} B of glyphs, {} B of strings, {total} B in all\n{}",
        stock.images,
        stock.fonts,
        stock.strings,
        unpacked(device)
    )
}

/// What compressed backgrounds cost, in one line: their sizes and the dearest to unpack.
fn unpacked(device: &Device) -> String {
    let all = unpackings(device, &device.inputs.typical());
    let Some(dearest) = all.iter().max_by(|a, b| a.cycles.total_cmp(&b.cycles)) else { return String::new() };
    let sum = |of: fn(&Unpacking) -> usize| all.iter().map(of).sum::<usize>();
    let (cycles, stated) = cycles_per_byte(device);
    format!(
        "backgrounds: {} B, {} B compressed; the dearest (`{}`) takes {} and {} to unpack at {} cycles a byte{}\n",
        sum(|unpacking| unpacking.amounts.bytes),
        sum(|unpacking| unpacking.amounts.stored),
        device.screens[dearest.amounts.screen.0].id,
        dearest.time,
        dearest.energy,
        figures(cycles),
        if stated { "" } else { " (assumed)" }
    )
}

fn screens(device: &Device, budget: &Budget) -> String {
    let mut rows = table(&["screen", "black", "visible after", "energy", "charge", "bytes sent"]);
    for cost in &budget.screens {
        rows.add_row([
            device.screens[cost.screen.0].id.clone(),
            cost.black.to_string(),
            cost.latency.to_string(),
            cost.energy.to_string(),
            format!("{} uAh", figures(cost.charge.0 / 3.6e-3)),
            figures(cost.bytes),
        ]);
    }
    right(&mut rows, 1);
    format!("{rows}\n")
}

fn transitions(device: &Device, budget: &Budget) -> String {
    let mut rows = table(&["from", "to", "by", "pixels", "windows (x y w h)", "mode", "visible after", "energy"]);
    for way in &budget.transitions {
        let windows =
            way.windows.iter().map(|w| format!("{} {} {} {}", w.top_left.x, w.top_left.y, w.size.width, w.size.height));
        rows.add_row([
            device.screens[way.from.0].id.clone(),
            device.screens[way.to.0].id.clone(),
            way.by(device),
            way.changed.to_string(),
            windows.collect::<Vec<_>>().join("\n"),
            way.mode.name().to_owned(),
            way.latency.to_string(),
            way.energy.to_string(),
        ]);
    }
    for index in [3, 6, 7] {
        if let Some(column) = rows.column_mut(index) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    format!("{rows}\nwith sample values, at {}, in a quiet moment (no partial refreshes before)\n", budget.temperature)
}

fn day(budget: &Budget) -> String {
    let tally = &budget.tally;
    let per_day = |count: u64| figures(tally.per_day(count));
    let latency = |share: f64| tally.latency(share).map_or("none".to_owned(), |time: Seconds| time.to_string());
    let mut rows = table(&["", "a day"]);
    let lines = [
        ("full refreshes", per_day(tally.full)),
        ("  of these only to renew the picture", per_day(tally.idle_full)),
        ("  of these seen by somebody looking", per_day(tally.flashes_seen)),
        ("partial refreshes", per_day(tally.partial)),
        ("windows sent", per_day(tally.windows)),
        ("pixels changed", per_day(tally.changed_pixels)),
        ("presses", per_day(tally.presses)),
        ("  of these lost while the panel was busy", per_day(tally.lost_presses)),
        ("updates refused by the temperature tables", per_day(tally.refused)),
        ("journeys made", per_day(tally.journeys.iter().map(|journeys| journeys.made).sum())),
        ("  journeys derailed", per_day(tally.derailed())),
        ("press to visible, half of them within", latency(0.5)),
        ("press to visible, 95 % within", latency(0.95)),
    ];
    for (what, value) in lines {
        rows.add_row([what.to_owned(), value]);
    }
    right(&mut rows, 1);
    format!("{rows}\nmean of {} simulated days\n", figures(tally.days))
}

fn causes(device: &Device, budget: &Budget) -> String {
    let total: f64 = budget.causes.iter().map(|(_, energy)| energy.0).sum();
    let mut rows = table(&["cause", "energy", "share"]);
    for (cause, energy) in &budget.causes {
        rows.add_row([cause.label(device), energy.to_string(), format!("{:.1} %", 100.0 * energy.0 / total)]);
    }
    rows.add_row(["all".to_owned(), crate::units::Joules(total).to_string(), "100 %".to_owned()]);
    right(&mut rows, 1);
    format!("{rows}\n")
}

fn supply(budget: &Budget) -> String {
    let corners = match &budget.corners {
        Ok(corners) => corners,
        Err(why) => return format!("unknown: {why}\n"),
    };
    let mut rows = table(&["battery", "temperature", "open circuit", "full refresh", "partial refresh"]);
    for (index, corner) in corners.rows.iter().flat_map(|row| row.corners.iter().enumerate()).take(8) {
        let under = |mode: Mode| {
            let row = corners.rows.iter().find(|row| row.mode == mode);
            let Some(corner) = row.and_then(|row| row.corners.get(index)) else { return String::new() };
            let short = if corner.terminal.reaches(corners.needed) { "" } else { " NOT ENOUGH" };
            corner.terminal.volts().map_or("collapses".to_owned(), |volts| format!("{volts}{short}"))
        };
        let at = corner.temperature.to_string();
        rows.add_row([words(corner), at, corner.ocv.to_string(), under(Mode::Full), under(Mode::Partial)]);
    }
    right(&mut rows, 1);
    let mut out = format!(
        "{rows}\nvoltage under the hardest pull; {} needed; aged is {}\n",
        corners.needed,
        plain_time(corners.aged)
    );
    let _ = match corners.largest_update {
        Some(mode) => writeln!(
            out,
            "Cold, empty and aged the battery can give the panel {}; a full refresh takes {} at its hardest. It can still \
             draw a {} refresh,\nand the charge kept back pays for {} of them.",
            corners.largest_current,
            corners.full_current,
            mode.name(),
            figures(corners.reserve_updates)
        ),
        None => writeln!(
            out,
            "Cold, empty and aged the battery can give the panel {}; a full refresh takes {} at its hardest. It can draw NO \
             update: keep more back,\nor draw the last screen earlier.",
            corners.largest_current, corners.full_current
        ),
    };
    if let Ok(fleet) = &budget.life {
        let devices: u32 = fleet.endings.values().sum();
        for (ending, count) in &fleet.endings {
            let _ = writeln!(out, "{count} of {devices} random devices are limited by {}.", ending.words());
        }
    }
    out
}

fn sensitivity(budget: &Budget) -> String {
    let mut rows = table(&["input", "1 % more changes the life by"]);
    for entry in budget.sensitivity.iter().filter(|entry| entry.elasticity.abs() >= 0.005).take(10) {
        rows.add_row([entry.input.clone(), format!("{:+.2} %", entry.elasticity)]);
    }
    right(&mut rows, 1);
    format!("{rows}\n")
}

fn notes(device: &Device, budget: &Budget) -> String {
    let mut out = String::new();
    if !budget.assumptions.is_empty() {
        out += "These inputs have no source and are assumptions:\n";
        for line in &budget.assumptions {
            let _ = writeln!(out, "  {line}");
        }
    }
    for caution in cautions(device) {
        let _ = writeln!(out, "! {caution}");
    }
    out
}

//! The sections of a budget's answer, each a table with what belongs to it.

use super::Look;
use crate::budget::corners::{Row, words};
use crate::budget::figure::{Figure, Group};
use crate::budget::summary::{Budget, cautions};
use crate::budget::usage;
use crate::cell::peak::Corner;
use crate::device::Device;
use crate::table::{table, wrap};
use crate::units::{Volts, figures, plain_time};
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

/// Ways to buffer the image, and what lies in flash.
pub fn memory(device: &Device, budget: &Budget) -> String {
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
    let flash = [Figure::FlashImages, Figure::FlashFonts, Figure::FlashStrings, Figure::Flash];
    let flash = flash.map(|figure| format!("{} {}", figure.row().title, figure.text(device, budget)));
    let mut out = format!("{rows}\n{}\n", flash.join("; "));
    let live = |figure: &&Figure| figure.row().pointer.starts_with("/memory/c_live/");
    for figure in Figure::ALL.iter().filter(live).filter(|figure| figure.value(device, budget).is_some()) {
        let _ = writeln!(out, "{}: {}", figure.row().title, figure.text(device, budget));
    }
    out
}

/// A full refresh of each screen.
pub fn screens(device: &Device, budget: &Budget) -> String {
    let mut rows = table(&["screen", "black", "latency", "energy", "charge", "bytes sent"]);
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

/// Every transition with its windows.
pub fn transitions(device: &Device, budget: &Budget) -> String {
    let mut rows = table(&["from", "to", "by", "pixels", "windows (x y w h)", "mode", "latency", "energy"]);
    for way in &budget.transitions {
        let windows = way
            .change
            .windows
            .iter()
            .map(|w| format!("{} {} {} {}", w.top_left.x, w.top_left.y, w.size.width, w.size.height));
        rows.add_row([
            device.screens[way.from.0].id.clone(),
            device.screens[way.to.0].id.clone(),
            way.by(device),
            way.change.changed.to_string(),
            windows.collect::<Vec<_>>().join("\n"),
            way.change.mode.name().to_owned(),
            way.change.latency.to_string(),
            way.change.energy.to_string(),
        ]);
    }
    for index in [3, 6, 7] {
        if let Some(column) = rows.column_mut(index) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    format!("{rows}\nwith sample values, at {}, in a quiet moment (no partial refreshes before)\n", budget.temperature)
}

/// What a mean day has, and the tables of its counts.
pub fn day(device: &Device, budget: &Budget) -> String {
    let mut rows = table(&["a mean day", ""]);
    let listed = |figure: &&Figure| matches!(figure.row().group, Group::Refreshes | Group::Use | Group::Latency);
    for figure in Figure::ALL.iter().filter(listed) {
        rows.add_row([figure.row().title.to_owned(), figure.text(device, budget)]);
    }
    right(&mut rows, 1);
    format!("{rows}\n{}", usage::text(device, &budget.tally))
}

/// Energy of a mean day by cause.
pub fn causes(device: &Device, budget: &Budget) -> String {
    let total: f64 = budget.causes.iter().map(|(_, energy)| energy.0).sum();
    let mut rows = table(&["cause", "energy", "share"]);
    for (cause, energy) in &budget.causes {
        rows.add_row([cause.label(device), energy.to_string(), format!("{:.1} %", 100.0 * energy.0 / total)]);
    }
    rows.add_row(["all".to_owned(), crate::units::Joules(total).to_string(), "100 %".to_owned()]);
    right(&mut rows, 1);
    format!("{rows}\n")
}

/// The battery under its peak loads: the worst corner of each kind of update, and what ends the random devices.
pub fn supply(device: &Device, budget: &Budget, look: Look) -> String {
    let corners = match &budget.corners {
        Ok(corners) => corners,
        Err(why) => return wrap(&format!("unknown: {why}"), look.width, 0),
    };
    let mut rows =
        table(&["peak load", "weakest when", "temperature", "open circuit", "droop", "under load", "margin"]);
    let row_of = |row: &Row, corner: &Corner| {
        let under = |of: &dyn Fn(Volts) -> Volts| match corner.terminal.volts() {
            Some(volts) => millivolts(of(volts)),
            None => "brown-out".to_owned(),
        };
        [
            row.mode.name().to_owned(),
            words(corner),
            corner.temperature.to_string(),
            corner.ocv.to_string(),
            under(&|volts| corner.ocv - volts),
            corner.terminal.volts().map_or("brown-out".to_owned(), |volts| volts.to_string()),
            under(&|volts| volts - corners.needed),
        ]
    };
    for row in &corners.rows {
        if let Some(corner) = row.worst() {
            rows.add_row(row_of(row, corner));
        }
    }
    right(&mut rows, 2);
    let mut notes = format!(
        "{} needed. Every input stands at the end of its tolerance that leaves the smallest margin; aged is {}. Cold, empty \
         and aged the battery can give the panel {}; a full refresh takes {} at its peak. ",
        corners.needed,
        plain_time(corners.aged),
        corners.largest_current,
        corners.full_current,
    );
    notes += &match corners.largest_update {
        Some(mode) => format!(
            "It can still draw a {} refresh, and the reserve pays for {} of them. ",
            mode.name(),
            figures(corners.reserve_updates)
        ),
        None => "It can draw NO update: keep a larger reserve, or draw the last screen earlier. ".to_owned(),
    };
    if let Ok(life) = &budget.life {
        let all: u32 = life.endings.values().sum();
        let limits = life.endings.iter().map(|(ending, count)| format!("{count} of {all} by {}", ending.words()));
        notes += &format!("Random devices are limited: {}.", limits.collect::<Vec<_>>().join(", "));
    }
    let mut out = format!("{rows}\n{}", wrap(&notes, look.width, 0));
    for figure in [Figure::Usable, Figure::ChargeTime, Figure::LastScreen] {
        let _ = writeln!(out, "{}: {}", figure.row().title, figure.text(device, budget));
    }
    out
}

fn millivolts(volts: Volts) -> String {
    format!("{} mV", figures((volts.0 * 1e3).round()))
}

/// What moves the median life.
pub fn sensitivity(budget: &Budget) -> String {
    let mut rows = table(&["input", "1 % more, change of P50"]);
    for entry in budget.sensitivity.iter().filter(|entry| entry.elasticity.abs() >= 0.005).take(10) {
        rows.add_row([entry.input.clone(), format!("{:+.2} %", entry.elasticity)]);
    }
    right(&mut rows, 1);
    format!("{rows}\n")
}

/// Inputs without a source.
pub fn assumptions(budget: &Budget) -> String {
    if budget.assumptions.is_empty() {
        return "every input has a source\n".to_owned();
    }
    let lines = budget.assumptions.iter().map(|line| format!("  {line}\n"));
    format!("these inputs have no source:\n{}", lines.collect::<String>())
}

/// What to be careful with, wrapped.
pub fn careful(device: &Device, look: Look) -> String {
    cautions(device).iter().map(|caution| wrap(&format!("! {caution}"), look.width, 2)).collect()
}

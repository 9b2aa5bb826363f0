//! The sections of a budget's answer, each a table with what belongs to it.

use super::Look;
use crate::budget::cautions::beside_supply;
use crate::budget::figure::{Figure, Group};
use crate::budget::summary::{Budget, cautions};
use crate::budget::supply_corners::words;
use crate::budget::usage;
use crate::cell::peak::Corner;
use crate::device::Device;
use crate::screen::ScreenId;
use crate::table::{fit, table, wrap};
use crate::units::column::{Scale, column};
use crate::units::{Joules, Quantity, Volts, figures, grouped, plain_time};
use comfy_table::{CellAlignment, Table};
use embedded_graphics::primitives::Rectangle;
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
pub fn memory(device: &Device, budget: &Budget, look: Look) -> String {
    let energies = column(&budget.schemes.iter().map(|scheme| scheme.energy).collect::<Vec<_>>());
    let mut rows = table(&["buffer", "RAM", "external", "fits", "one full refresh"]);
    for (scheme, energy) in budget.schemes.iter().zip(energies) {
        let chosen = if scheme.buffer == device.policy.buffer { " (chosen)" } else { "" };
        rows.add_row([
            format!("{}{chosen}", scheme.name),
            scheme.ram.to_string(),
            scheme.memory.to_string(),
            if budget.room(device, scheme).is_some() { "yes" } else { "no" }.to_owned(),
            energy,
        ]);
    }
    right(&mut rows, 1);
    fit(&mut rows, look.width);
    let flash = [Figure::FlashImages, Figure::FlashFonts, Figure::FlashStrings, Figure::Flash];
    let flash = flash.map(|figure| format!("{} {}", figure.row().title, figure.text(device, budget)));
    let mut out = format!("{rows}\n{}", wrap(&flash.join("; "), look.width, 0));
    let live = |figure: &&Figure| figure.row().pointer.starts_with("/memory/c_live/");
    let mut parts = table(&["exported as c-live", ""]);
    for figure in Figure::ALL.iter().filter(live).filter(|figure| figure.value(device, budget).is_some()) {
        let title = figure.row().title;
        parts.add_row([title.strip_prefix("c-live: ").unwrap_or(title).to_owned(), figure.text(device, budget)]);
    }
    if !parts.is_empty() {
        right(&mut parts, 1);
        let _ = writeln!(out, "\n{parts}");
    }
    out
}

/// A full refresh of each screen.
pub fn screens(device: &Device, budget: &Budget, look: Look) -> String {
    let latencies = column(&budget.screens.iter().map(|cost| cost.latency).collect::<Vec<_>>());
    let energies = column(&budget.screens.iter().map(|cost| cost.energy).collect::<Vec<_>>());
    let charges = column(&budget.screens.iter().map(|cost| cost.charge).collect::<Vec<_>>());
    let black = column(&budget.screens.iter().map(|cost| cost.black).collect::<Vec<_>>());
    let bytes: Vec<String> = budget.screens.iter().map(|cost| grouped(&figures(cost.bytes))).collect();
    let costs = [("latency", latencies), ("energy", energies), ("charge", charges), ("bytes sent", bytes)];
    // What is the same of every screen is said once.
    let alike = |values: &[String]| values.len() > 1 && values.windows(2).all(|pair| pair[0] == pair[1]);
    let (same, listed): (Vec<_>, Vec<_>) = costs.iter().partition(|(_, values)| alike(values));
    let headings: Vec<&str> = ["screen", "black"].into_iter().chain(listed.iter().map(|(name, _)| *name)).collect();
    let mut rows = table(&headings);
    for (index, cost) in budget.screens.iter().enumerate() {
        let values = listed.iter().map(|(_, values)| values[index].clone());
        rows.add_row([device.screens[cost.screen.0].id.clone(), black[index].clone()].into_iter().chain(values));
    }
    right(&mut rows, 1);
    fit(&mut rows, look.width);
    let said = same.iter().map(|(name, values)| format!("{name} {}", values[0])).collect::<Vec<_>>().join(", ");
    let note = if said.is_empty() { String::new() } else { wrap(&format!("each: {said}"), look.width, 0) };
    format!("{rows}\n{note}")
}

/// Every transition with its windows.
pub fn transitions(device: &Device, budget: &Budget, look: Look) -> String {
    let latencies = column(&budget.transitions.iter().map(|way| way.change.latency).collect::<Vec<_>>());
    let energies = column(&budget.transitions.iter().map(|way| way.change.energy).collect::<Vec<_>>());
    let mut all: Vec<Row> = Vec::new();
    for ((way, latency), energy) in budget.transitions.iter().zip(latencies).zip(energies) {
        let id = |screen: ScreenId| device.screens[screen.0].id.clone();
        let row = Row {
            from: vec![id(way.from)],
            pixels: vec![way.change.changed],
            windows: vec![windows(&way.change.windows)],
            same: [
                id(way.to),
                way.by(device),
                if way.change.changed == 0 { "none" } else { way.change.mode.name() }.to_owned(),
                latency,
                energy,
            ],
        };
        // A screen that leads to itself stands alone.
        let alike =
            |known: &Row| known.same == row.same && [&known.from, &row.from].iter().all(|from| from[0] != row.same[0]);
        match all.iter_mut().find(|known| alike(known)) {
            Some(known) => known.join(row),
            None => all.push(row),
        }
    }
    let mut rows = table(&["from", "to", "by", "pixels", "windows", "mode", "latency", "energy"]);
    let (common, own): (Vec<Row>, Vec<Row>) = all.into_iter().partition(|row| row.from.len() >= COMMON);
    let folded = common.len();
    let mut own: Vec<[String; 8]> = own.into_iter().flat_map(Row::each).collect();
    own.sort_by_key(|cells| device.screens.iter().position(|screen| screen.id == cells[0]));
    for cells in common.into_iter().map(Row::once).chain(own) {
        rows.add_row(cells);
    }
    for index in [3, 6, 7] {
        if let Some(column) = rows.column_mut(index) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    fit(&mut rows, look.width);
    let mut note = format!(
        "with sample values, at {}, with no partial refreshes before; windows: x y width height",
        budget.temperature
    );
    if folded > 0 {
        note += "; what several screens lead to by the same cause at the same cost stands once: --format json has each";
    }
    format!("{rows}\n{}", wrap(&note, look.width, 0))
}

/// From so many screens on, transitions of the same cause and cost share a row.
const COMMON: usize = 3;

/// Transitions that differ only in where they begin and in their pixels.
struct Row {
    from: Vec<String>,
    pixels: Vec<u64>,
    windows: Vec<String>,
    same: [String; 5],
}

impl Row {
    fn join(&mut self, other: Self) {
        self.from.extend(other.from);
        self.pixels.extend(other.pixels);
        self.windows.extend(other.windows);
    }

    /// One row for all of them.
    fn once(self) -> [String; 8] {
        let [to, by, mode, latency, energy] = self.same;
        let (min, max) = (self.pixels.iter().min(), self.pixels.iter().max());
        let text = |pixels: Option<&u64>| pixels.map(|pixels| grouped(&pixels.to_string())).unwrap_or_default();
        let pixels = if min == max { text(min) } else { format!("{} to {}", text(min), text(max)) };
        let alike = self.windows.windows(2).all(|pair| pair[0] == pair[1]);
        let windows = self.windows.into_iter().next().filter(|_| alike).unwrap_or_else(|| "various".to_owned());
        [format!("{} screens", self.from.len()), to, by, pixels, windows, mode, latency, energy]
    }

    /// A row for each.
    fn each(self) -> Vec<[String; 8]> {
        let [to, by, mode, latency, energy] = self.same;
        let one = |((from, pixels), windows): ((String, u64), String)| {
            let [to, by, mode] = [&to, &by, &mode].map(String::clone);
            [from, to, by, grouped(&pixels.to_string()), windows, mode, latency.clone(), energy.clone()]
        };
        self.from.into_iter().zip(self.pixels).zip(self.windows).map(one).collect()
    }
}

/// Windows a line each.
fn windows(windows: &[Rectangle]) -> String {
    let one =
        |w: &Rectangle| format!("{}\u{a0}{}\u{a0}{}\u{a0}{}", w.top_left.x, w.top_left.y, w.size.width, w.size.height);
    windows.iter().map(one).collect::<Vec<_>>().join("\n")
}

/// What a mean day has, and the tables of its counts.
pub fn day(device: &Device, budget: &Budget) -> String {
    let mut rows = table(&["a mean day", ""]);
    let listed = |figure: &&Figure| matches!(figure.row().group, Group::Refreshes | Group::Use | Group::Latency);
    // Of what there is not, such as a residue that the project does not state, there is no row.
    for figure in Figure::ALL.iter().filter(listed).filter(|figure| figure.value(device, budget).is_some()) {
        rows.add_row([figure.row().title.to_owned(), figure.text(device, budget)]);
    }
    right(&mut rows, 1);
    format!("{rows}\n{}", usage::text(device, budget))
}

/// Every figure of the table that there is, by its group.
pub fn figures_of(device: &Device, budget: &Budget, look: Look) -> String {
    let mut rows = table(&["group", "figure", "", "as an argument"]);
    for figure in Figure::ALL.iter().filter(|figure| figure.value(device, budget).is_some()) {
        let row = figure.row();
        rows.add_row([row.group.name(), row.title, figure.text(device, budget).as_str(), row.name]);
    }
    if let Some(column) = rows.column_mut(2) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    fit(&mut rows, look.width);
    format!("{rows}\n")
}

/// Energy of a mean day by cause.
pub fn causes(device: &Device, budget: &Budget) -> String {
    let total: Joules = budget.causes.iter().map(|(_, energy)| *energy).sum();
    let scale = Scale::of(budget.causes.iter().map(|(_, energy)| energy.0).chain([total.0]), Joules::SI);
    let mut rows = table(&["cause", "energy", "share"]);
    for (cause, energy) in &budget.causes {
        rows.add_row([cause.label(device), scale.show(energy.0), share(*energy, total)]);
    }
    rows.add_row(["all".to_owned(), scale.show(total.0), share(total, total)]);
    right(&mut rows, 1);
    format!("{rows}\n")
}

/// A part of an energy in percent.
pub fn share(energy: Joules, total: Joules) -> String {
    usage::percent(energy.0 / total.0.max(f64::MIN_POSITIVE), 1)
}

/// The battery under its peak loads: the worst corner of each kind of update, and what ends the random devices.
pub fn supply(device: &Device, budget: &Budget, look: Look) -> String {
    let supply_corners = match &budget.supply_corners {
        Ok(supply_corners) => supply_corners,
        Err(why) => return wrap(&format!("unknown: {why}"), look.width, 0),
    };
    let mut rows =
        table(&["peak load", "weakest when", "temperature", "open circuit", "droop", "under load", "margin"]);
    let row_of = |corner: &Corner| {
        let under = |of: &dyn Fn(Volts) -> Volts| match corner.terminal.volts() {
            Some(volts) => millivolts(of(volts)),
            None => "brown-out".to_owned(),
        };
        [
            words(corner),
            corner.temperature.to_string(),
            corner.ocv.to_string(),
            under(&|volts| corner.ocv - volts),
            corner.terminal.volts().map_or("brown-out".to_owned(), |volts| volts.to_string()),
            under(&|volts| volts - supply_corners.needed),
        ]
    };
    // Kinds of update that fare alike share a row.
    let mut listed: Vec<(String, [String; 6])> = Vec::new();
    for row in &supply_corners.rows {
        let Some(cells) = row.worst().map(row_of) else { continue };
        match listed.iter_mut().find(|(_, known)| *known == cells) {
            Some((modes, _)) => *modes += &format!(", {}", row.mode.name()),
            None => listed.push((row.mode.name().to_owned(), cells)),
        }
    }
    for (modes, cells) in listed {
        rows.add_row([modes].into_iter().chain(cells));
    }
    right(&mut rows, 2);
    fit(&mut rows, look.width);
    let mut notes = format!(
        "{} needed. Every input stands at the end of its tolerance that leaves the smallest margin; aged is {}. Cold, empty \
         and aged the battery can give the panel {}; a full refresh takes {} at its peak. ",
        supply_corners.needed,
        plain_time(supply_corners.aged),
        supply_corners.largest_current,
        supply_corners.full_current,
    );
    notes += &match supply_corners.largest_update {
        Some(mode) => format!(
            "The battery can still supply a {} refresh, and the reserve covers {} of them. ",
            mode.name(),
            figures(supply_corners.reserve_updates)
        ),
        None => "The battery can supply NO update: keep a larger reserve, or draw the last screen earlier. ".to_owned(),
    };
    if let Ok(life) = &budget.life {
        let all: u32 = life.endings.values().sum();
        let limits = life.endings.iter().map(|(ending, count)| format!("{count} of {all} by {}", ending.words()));
        notes += &format!("Random devices are limited: {}.", limits.collect::<Vec<_>>().join(", "));
    }
    let mut out = format!("{rows}\n{}", wrap(&notes, look.width, 0));
    for caution in beside_supply(device, budget) {
        out += &look.caution(&caution);
    }
    for figure in [Figure::Usable, Figure::ChargeTime, Figure::LastScreen] {
        // A primary cell is never charged.
        if figure == Figure::ChargeTime && budget.charge_time.is_none() {
            continue;
        }
        let _ = writeln!(out, "{}: {}", figure.row().title, figure.text(device, budget));
    }
    out
}

fn millivolts(volts: Volts) -> String {
    format!("{} mV", figures((volts.0 * 1e3).round()))
}

/// What moves the median life.
pub fn sensitivity(device: &Device, budget: &Budget) -> String {
    let mut rows = table(&["input", "1 % more, change of P50"]);
    for entry in budget.sensitivity(device).iter().filter(|entry| entry.elasticity.abs() >= 0.005).take(10) {
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

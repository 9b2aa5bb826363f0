//! A comparison as tables for a terminal.

use crate::evaluation::Evaluation;
use crate::figures::comparison::frames::{Difference, FrameRow};
use crate::figures::comparison::{Comparison, FigureRow};
use crate::look::Look;
use crate::source::fault::{Fault, Level};
use crate::table::{fit, table};
use crate::units::count;
use comfy_table::{CellAlignment, Table};
use std::collections::BTreeSet;

/// Longest name of a project that heads a column; longer ones are listed above and stand in the columns as letters.
const LONGEST: usize = 22;

/// The comparison: what differs, and how much is the same; `all` lists that too.
pub fn text(sides: &[Evaluation], comparison: &Comparison, all: bool, look: Look) -> String {
    let labels: Vec<&str> = sides.iter().map(|side| side.label.as_str()).collect();
    let long = labels.iter().any(|label| label.chars().count() > LONGEST) || labels.len() * (LONGEST + 2) > look.width;
    let letter = |index: usize| (b'A' + index as u8) as char;
    let names: Vec<String> = match long {
        true => (0..labels.len()).map(|index| letter(index).to_string()).collect(),
        false => labels.iter().map(|label| (*label).to_owned()).collect(),
    };
    let mut out = String::new();
    if long {
        let line = |(index, label): (usize, &&str)| look.after(&format!("{}  ", letter(index)), label);
        out += &(labels.iter().enumerate().map(line).collect::<String>() + "\n");
    }
    let headings: Vec<&str> = [""].into_iter().chain(names.iter().map(String::as_str)).collect();
    let groups: Vec<&str> = comparison.rows.iter().map(|row| row.group).collect();
    let (mut done, mut same) = (BTreeSet::new(), 0);
    for group in groups.into_iter().filter(|group| done.insert(*group)) {
        let of: Vec<&FigureRow> = comparison.rows.iter().filter(|row| row.group == group).collect();
        let listed: Vec<&FigureRow> = of.iter().copied().filter(|row| all || !row.alike()).collect();
        same += of.len() - listed.len();
        if listed.is_empty() {
            continue;
        }
        let mut rows = table(&headings);
        for row in listed {
            rows.add_row(cells(row));
        }
        right(&mut rows);
        fit(&mut rows, look.width);
        out += &format!("{}{rows}\n\n", look.heading(group));
    }
    if same > 0 {
        out += &format!("{}: --all lists them\n\n", count(same, "figure is the same", "figures are the same"));
    }
    out + &found(sides, look) + &frames(&headings, comparison, look)
}

/// A row's name and values; what is the same everywhere is said once where it is long.
fn cells(row: &FigureRow) -> Vec<String> {
    let value = |(side, value): (usize, String)| match row.step(side) {
        Some(step) => format!("{value} ({})", step.shown()),
        None => value,
    };
    let mut values: Vec<String> = row.texts().into_iter().enumerate().map(value).collect();
    if row.alike() && values.first().is_some_and(|first| first.chars().count() > LONGEST) {
        values.iter_mut().skip(1).for_each(|value| *value = "the same".to_owned());
    }
    [row.what.to_owned()].into_iter().chain(values).collect()
}

fn right(rows: &mut Table) {
    for index in 1.. {
        match rows.column_mut(index) {
            Some(column) => column.set_cell_alignment(CellAlignment::Right),
            None => return,
        };
    }
}

/// The findings: those of every side once, then each side's own by its name.
fn found(sides: &[Evaluation], look: Look) -> String {
    let line = |fault: &Fault| {
        let level = if fault.level == Level::Error { "error" } else { "warning" };
        let id = fault.id.map_or(String::new(), |id| format!("[{id}]"));
        format!("{level}{id}: {}", fault.message)
    };
    let all: Vec<Vec<String>> =
        sides.iter().map(|side| side.findings.iter().map(|finding| line(&finding.fault)).collect()).collect();
    let shared = |line: &&String| all.iter().all(|lines| lines.contains(line));
    let mut out = String::new();
    let mut part = |title: &str, lines: Vec<&String>| {
        if !lines.is_empty() {
            let lines: String = lines.into_iter().map(|line| look.after("  ", line)).collect();
            out += &format!("{title}:\n{lines}\n");
        }
    };
    part("in all of them", all.iter().take(1).flatten().filter(shared).collect());
    for (side, lines) in sides.iter().zip(&all) {
        part(&side.label, lines.iter().filter(|line| !shared(line)).collect());
    }
    out
}

fn frames(headings: &[&str], comparison: &Comparison, look: Look) -> String {
    let mut out = look.heading("images, with sample values");
    if comparison.frames.is_empty() {
        return out + &format!("all {} are the same\n", comparison.compared.first().unwrap_or(&0));
    }
    let mut rows = table(headings);
    let (only, both): (Vec<&FrameRow>, Vec<&FrameRow>) = comparison.frames.iter().partition(|row| one_sided(row));
    // Of panels of different sizes no pixel can be compared: one line says so.
    let (sizes, both): (Vec<&FrameRow>, Vec<&FrameRow>) = both.into_iter().partition(|row| other_size(row));
    for row in &both {
        let name = if row.locale.is_empty() { row.screen.clone() } else { format!("{} ({})", row.screen, row.locale) };
        rows.add_row([name].into_iter().chain(row.differences.iter().map(|difference| difference.shown())));
    }
    right(&mut rows);
    fit(&mut rows, look.width);
    if !both.is_empty() {
        out += &format!("{rows}\npixels that differ from the first; images not listed are the same\n");
    }
    if !sizes.is_empty() {
        let screens: BTreeSet<&str> = sizes.iter().map(|row| row.screen.as_str()).collect();
        let names = screens.into_iter().collect::<Vec<_>>().join(", ");
        out += &look.after(&format!("other size ({}): ", count(sizes.len(), "image", "images")), &names);
    }
    for side in 1..headings.len().saturating_sub(1) {
        for (what, wanted) in [("gone", Difference::Gone), ("new", Difference::New)] {
            let images = only.iter().filter(|row| row.differences.get(side) == Some(&wanted));
            let screens: BTreeSet<&str> = images.clone().map(|row| row.screen.as_str()).collect();
            if !screens.is_empty() {
                let names = screens.into_iter().collect::<Vec<_>>().join(", ");
                let count = count(images.count(), "image", "images");
                out += &look.after(&format!("{what} in {} ({count}): ", headings[side + 1]), &names);
            }
        }
    }
    out
}

/// Whether an image has another size wherever it is not the first's.
fn other_size(row: &FrameRow) -> bool {
    row.differences.iter().all(|difference| matches!(difference, Difference::Size | Difference::Same))
}

/// Whether an image is only gone or new: then there are no pixels to compare.
fn one_sided(row: &FrameRow) -> bool {
    row.differences.iter().all(|difference| matches!(difference, Difference::Gone | Difference::New | Difference::Same))
        && row.differences.iter().any(|difference| *difference != Difference::Same)
}

//! A measured update over time as a picture, with the predicted phases under it where a project is known.
//!
//! The trace was streamed and its rows are gone, so those of the updates that are drawn are read once more. Not for
//! layout: see [`crate::timeline::update`].

use super::against::{Against, Compared};
use super::format::opened;
use super::kinds::{Name, UpdateKind};
use super::rows::Rows;
use super::{Settings, Trace, Update, Wrong};
use crate::cost::curve::{Curve, Piece};
use crate::plot::scene::Scene;
use crate::source::fault::Fault;
use crate::timeline::update::{Measured, UpdatePlot, scene};
use crate::units::{Amps, Seconds, Volts};
use std::path::Path;

/// Columns that an update is drawn in: several rows of the trace fall into one.
const COLUMNS: usize = 2400;
/// Kinds that are drawn.
const MOST: usize = 3;
/// What is drawn after the update's end, as a share of it, so that its fall is seen.
const AFTER: f64 = 0.04;

/// The picture: of each kind of update the one whose charge is typical.
///
/// # Errors
/// When the file cannot be read again, or holds no whole update.
pub fn chart(
    path: &Path,
    settings: &Settings,
    trace: &Trace,
    kinds: &[UpdateKind],
    against: Option<&Against>,
) -> Result<Scene, Fault> {
    let compared = |kind: usize| against.and_then(|against| against.compared.iter().find(|one| one.kind == kind));
    let all = kinds.iter().enumerate().filter_map(|(index, kind)| Some((index, kind, typical(trace, kind)?)));
    let drawn: Vec<_> = match against {
        Some(_) => all.filter(|(index, ..)| compared(*index).is_some()).take(MOST).collect(),
        None => all.take(MOST).collect(),
    };
    if drawn.is_empty() {
        let fault = Fault::plain(format!("{}: there is no whole update to draw", path.display()));
        return Err(fault.help("record a trace with at least one, or leave --plot out"));
    }
    let updates: Vec<&Update> = drawn.iter().map(|(.., update)| *update).collect();
    let columns = columns(path, settings, &updates).map_err(|wrong| wrong.fault(path))?;
    let shown: Vec<UpdatePlot> = drawn
        .iter()
        .zip(columns)
        .map(|((index, kind, update), columns)| {
            let volts = against.map_or(Volts(0.0), |against| against.voltage);
            let known = compared(*index);
            let measured = Measured { label: "measured".to_owned(), columns };
            let typical = known.map(|known| predicted(known, volts));
            UpdatePlot {
                title: title(kind, known),
                note: note(trace, update, known),
                typical,
                worst: None,
                measured: Some(measured),
            }
        })
        .collect();
    Ok(scene(&shown))
}

/// The whole update of a kind whose charge is nearest to the typical one.
fn typical<'a>(trace: &'a Trace, kind: &UpdateKind) -> Option<&'a Update> {
    let far = |update: &Update| (update.charge - kind.charge.typ).0.abs();
    kind.updates.iter().filter_map(|index| trace.updates.get(*index)).min_by(|a, b| far(a).total_cmp(&far(b)))
}

fn title(kind: &UpdateKind, known: Option<&Compared>) -> String {
    let name = match kind.name {
        Name::Full => "A full refresh",
        Name::Partial => "A partial refresh",
        Name::Other => "An update",
    };
    match known {
        Some(known) if kind.name == Name::Partial => format!("{name}, as {}", known.what),
        _ => name.to_owned(),
    }
}

fn note(trace: &Trace, update: &Update, known: Option<&Compared>) -> String {
    let at = update.start + trace.origin;
    let mut note =
        format!("Measured at {at}: {} in {}, above a baseline of {}", update.charge, update.duration, update.baseline);
    if let Some(known) = known {
        let all = known.total.predicted;
        note += &format!("; predicted {} in {}, above sleep", all.current * all.duration, all.duration);
    }
    note + "."
}

/// The predicted phases as a curve.
fn predicted(known: &Compared, volts: Volts) -> Curve {
    let mut begins = Seconds(0.0);
    let pieces = known.predicted.iter().map(|phase| {
        let (time, current) = (phase.part.duration, phase.part.current);
        let piece = Piece { name: phase.name, cause: phase.cause, begins, time, current };
        begins += time;
        piece
    });
    Curve { pieces: pieces.collect(), volts }
}

/// What falls into one column.
#[derive(Clone, Copy)]
struct Column {
    low: f64,
    high: f64,
    sum: f64,
    rows: f64,
}

const NOTHING: Column = Column { low: f64::INFINITY, high: f64::NEG_INFINITY, sum: 0.0, rows: 0.0 };

/// A measured update in columns of time, from its beginning.
type Columns = Vec<(Seconds, [Amps; 3])>;

/// The rows of some updates, above their baselines.
fn columns(path: &Path, settings: &Settings, updates: &[&Update]) -> Result<Vec<Columns>, Wrong> {
    let (file, format) = opened(path)?;
    let mut rows = Rows::new(file, &format, settings.shunt, format.lines_before);
    let mut found = vec![vec![NOTHING; COLUMNS]; updates.len()];
    while let Some(row) = rows.next()? {
        let Some(current) = row.current else { continue };
        for (update, columns) in updates.iter().zip(&mut found) {
            let share = (row.time - update.start) / (update.duration * (1.0 + AFTER));
            if (0.0..1.0).contains(&share) {
                let column = &mut columns[(share * COLUMNS as f64) as usize];
                let above = (current - update.baseline).0;
                (column.low, column.high) = (column.low.min(above), column.high.max(above));
                (column.sum, column.rows) = (column.sum + above, column.rows + 1.0);
            }
        }
    }
    let placed = |(update, columns): (&&Update, Vec<Column>)| {
        let wide = update.duration * (1.0 + AFTER) / COLUMNS as f64;
        let seen = columns.into_iter().enumerate().filter(|(_, column)| column.rows > 0.0);
        let one = |(index, column): (usize, Column)| {
            let currents = [column.low, column.sum / column.rows, column.high];
            (wide * (index as f64 + 0.5), currents.map(Amps))
        };
        seen.map(one).collect()
    };
    Ok(updates.iter().zip(found).map(placed).collect())
}

//! A measured current over time: the updates in it, their phases, and how they compare with the budget.
//!
//! A trace is streamed once from first row to last, after a short look at parts of it that finds baseline and noise.
//! Memory grows with the number of updates, never with the number of rows. Not for simulated currents: those are
//! [`crate::cost::phases`], which [`against`] sets beside the measured ones.

pub mod against;
pub mod align;
pub mod baseline;
pub mod bins;
pub mod bursts;
pub mod chart;
pub mod detect;
pub mod format;
pub mod json;
pub mod kinds;
pub mod number;
pub mod profile;
pub mod repeats;
pub mod ripple;
pub mod rows;
pub mod spread;
pub mod steps;
pub mod text;

use crate::source::fault::Fault;
use crate::units::{Amps, Coulombs, Joules, Ohms, Seconds, Volts};
use std::io::{Read, Seek};
use std::path::Path;

/// What decides how a trace is read.
#[derive(Clone, Copy, Debug)]
pub struct Settings {
    /// Supply voltage, for energies; a supply voltage measured in the trace goes before it.
    pub voltage: Option<Volts>,
    /// The trace gives the voltage over this resistance instead of a current.
    pub shunt: Option<Ohms>,
    /// Current above the baseline at which an update begins; `None`: from the trace's noise and range.
    pub threshold: Option<Amps>,
    /// What is shorter is a pulse and no update.
    pub min_duration: Seconds,
    /// The current must be back at the baseline for this long before an update is over.
    pub min_gap: Seconds,
    /// What stays up for longer is a new baseline.
    pub longest: Seconds,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            voltage: None,
            shunt: None,
            threshold: None,
            min_duration: Seconds(0.03),
            min_gap: Seconds(0.05),
            longest: Seconds(120.0),
        }
    }
}

/// What a trace says.
#[derive(Clone, Debug)]
pub struct Trace {
    /// How the file is called in messages.
    pub file: String,
    /// Headings of the columns that were read: time, current or shunt voltage, supply voltage.
    pub headings: Vec<String>,
    /// Time of the first row, as the file counts it.
    pub origin: Seconds,
    /// Rows with a current.
    pub rows: u64,
    /// Rows without one.
    pub missing: u64,
    /// Spans without rows that are too long to bridge, and their time together.
    pub gaps: (u64, Seconds),
    /// From the first row to the last, gaps included.
    pub time: Seconds,
    /// Median time between rows where the trace was looked at for its baseline.
    pub interval: Seconds,
    /// Median current outside of updates.
    pub baseline: Amps,
    /// Standard deviation of the current around the baseline, robust.
    pub noise: Amps,
    /// Current above the baseline at which an update begins.
    pub threshold: Amps,
    /// Integral of the current by the trapezoid rule, gaps left out.
    pub charge: Coulombs,
    /// The updates in their order.
    pub updates: Vec<Update>,
    /// What rose above the threshold too shortly to be an update.
    pub pulses: Pulses,
    /// What a reader must know.
    pub cautions: Vec<String>,
}

/// What rose above the threshold too shortly to be an update.
#[derive(Clone, Copy, Debug, Default)]
pub struct Pulses {
    /// How many.
    pub count: u64,
    /// Their charge above the baseline.
    pub charge: Coulombs,
}

/// One update (or anything else that lasts as long).
#[derive(Clone, Debug)]
pub struct Update {
    /// When it begins, from the trace's first row: halfway between the last row before it and its first row.
    pub start: Seconds,
    /// How long it lasts.
    pub duration: Seconds,
    /// The baseline that was subtracted.
    pub baseline: Amps,
    /// Charge above the baseline.
    pub charge: Coulombs,
    /// Energy above the baseline; `None` where no voltage is known.
    pub energy: Option<Joules>,
    /// Largest current, baseline included.
    pub peak: Amps,
    /// Its beginning or end is not in the trace.
    pub cut: bool,
    /// Its parts of even current, in order.
    pub steps: Vec<Plateau>,
}

/// A part of an update in which the current keeps its level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plateau {
    /// When it begins, from the update's beginning.
    pub start: Seconds,
    /// How long it lasts.
    pub duration: Seconds,
    /// Mean current above the baseline.
    pub current: Amps,
    /// Largest current above the baseline.
    pub peak: Amps,
}

impl Plateau {
    /// Charge above the baseline.
    pub fn charge(&self) -> Coulombs {
        self.current * self.duration
    }
}

/// Reads a trace.
///
/// # Errors
/// When the file cannot be read or understood, its times do not rise, a cell is no number, or the meter was at the end
/// of its range; each with the line and what to do.
pub fn read(path: &Path, settings: &Settings) -> Result<Trace, Fault> {
    detect::read(path, settings).map_err(|wrong| wrong.fault(path))
}

/// As [`read`], from a source of `length` bytes that can be read twice.
///
/// # Errors
/// What is wrong with it.
pub fn read_from(name: &str, source: impl Read + Seek, length: u64, settings: &Settings) -> Result<Trace, Wrong> {
    detect::read_from(name, source, length, settings)
}

/// What is wrong with a trace.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// The line, counted from 1; `None` for the file as a whole.
    pub line: Option<u64>,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub help: String,
}

impl Wrong {
    /// A fault of the whole file.
    pub fn file(what: impl Into<String>, help: impl Into<String>) -> Self {
        Self { line: None, what: what.into(), help: help.into() }
    }

    /// A fault in a line.
    pub fn line(line: u64, what: impl Into<String>, help: impl Into<String>) -> Self {
        Self { line: Some(line), ..Self::file(what, help) }
    }

    fn fault(self, path: &Path) -> Fault {
        let place = match self.line {
            Some(line) => format!("{}:{line}", path.display()),
            None => path.display().to_string(),
        };
        Fault::plain(format!("{place}: {}", self.what)).help(self.help)
    }
}

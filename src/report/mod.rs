//! The report: one HTML file that a client can open from disk, read on any screen or with a screen reader, and print.
//!
//! Every figure comes from the budget and carries its place in the budget's JSON, so that a test can set the two beside
//! each other. Nothing is fetched, and without the script everything can still be seen. Not for writing the file.

mod against;
mod display;
pub mod energy;
mod figure;
mod findings;
mod flow;
pub mod inputs;
mod life;
mod memory;
mod over_time;
mod page;
mod picture;
mod scale;
mod screens;
mod sheet;
mod signs;
pub mod summary;
mod supply;
mod sweeps;
pub mod walk;
pub mod words;

pub use page::page;

use crate::evaluation::Evaluation;

/// What a report is made from.
#[derive(Debug)]
pub struct Content<'a> {
    /// The project.
    pub side: &'a Evaluation,
    /// What was changed in it for this report, as for `--set`.
    pub changes: &'a [String],
    /// The locale of the pictures.
    pub locale: usize,
    /// The project and those it is compared with; empty where it is not.
    pub against: &'a [&'a Evaluation],
    /// The project and its alternatives; empty where it has none.
    pub alternatives: &'a [&'a Evaluation],
}

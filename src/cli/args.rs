//! Every argument of the command line; the comments here are the help texts.

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Design e-paper screens of a battery-powered instrument as text; see their pixels, bytes, joules and battery life.
#[derive(Debug, Parser)]
#[command(name = "inkjoule", version, propagate_version = true, arg_required_else_help = true)]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub verb: Verb,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Write a commented starter project.
    New(super::new::NewArgs),
    /// Validate a project and enforce its limits.
    Check(super::check::CheckArgs),
    /// Draw screens to PNG or PBM files.
    Render(super::render::RenderArgs),
    /// Show the running device in a window or a terminal.
    #[command(after_help = super::preview::KEYS_HELP)]
    Preview(super::preview::PreviewArgs),
    /// Calculate memory, refreshes, energy and battery life.
    Budget(super::budget::BudgetArgs),
    /// Calculate a figure of the budget over a range of one or two inputs: table, CSV, plot.
    Sweep(super::sweep::SweepArgs),
    /// List the built-in panels and batteries, or print one to start from.
    Profiles(super::profiles::ProfilesArgs),
    /// Compare projects, panels, batteries or revisions side by side.
    Compare(super::compare::CompareArgs),
    /// Write one self-contained HTML file with everything.
    Report(super::report::ReportArgs),
    /// List the fonts with their apparent sizes, and draw specimens.
    Fonts(super::fonts::FontsArgs),
    /// Find the updates in a measured current and compare them with a project.
    Trace(super::trace::TraceArgs),
    /// Write files for the firmware.
    Export(super::export::ExportArgs),
    /// Write test images for a new board, and find its packing from what the display shows.
    Bringup(super::bringup::BringupArgs),
    /// Compare a frame read back from a device with the design.
    Verify(super::verify::VerifyArgs),
    /// Print the JSON Schema of the project's files.
    Schema(super::schema::SchemaArgs),
    /// Print a completion script for a shell.
    Completions(super::completions::CompletionsArgs),
    /// Print a page of the guide, or the reference of all keys.
    Guide(super::guide::GuideArgs),
    /// Print the manual page.
    Man(super::man::ManArgs),
}

/// The project and how it is changed for this run; the same for every command that reads one.
#[derive(Clone, Debug, Args)]
pub struct ProjectArgs {
    /// The project: a folder with a device.toml, or that file.
    #[arg(default_value = ".", value_name = "PROJECT")]
    pub project: PathBuf,
    /// Change one value of the project for this run, such as board.mcu.sleep="3 uA". May be repeated.
    #[arg(long = "set", value_name = "PATH=VALUE")]
    pub set: Vec<String>,
    /// Take one of the project's alternatives, as [alternatives.NAME] in device.toml states them; --set comes after it.
    #[arg(long, value_name = "NAME")]
    pub alternative: Option<String>,
}

impl ProjectArgs {
    /// All changes in order: those of the alternative, then each `--set`.
    pub fn changes(&self) -> Vec<String> {
        let alternative = self.alternative.iter().map(|name| format!("{}={name}", crate::project::alternatives::PATH));
        alternative.chain(self.set.iter().cloned()).collect()
    }
}

/// How results are written to standard output.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people.
    #[default]
    Text,
    /// For programs.
    Json,
}

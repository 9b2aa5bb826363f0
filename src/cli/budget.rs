//! `budget`: memory, refreshes, energy and battery life.

use super::args::{Format, ProjectArgs};
use super::drawing::Drawing;
use super::{Outcome, Result, Stop, look, open, print_json, print_styled};
use crate::answer::{self, Content, Section};
use crate::budget::activity;
use crate::budget::explain::{self, update};
use crate::budget::fleet::DEVICES;
use crate::budget::json;
use crate::budget::summary::{Budget, budget_watched, full_work};
use crate::budget::transition::transitions;
use crate::device::Device;
use crate::output::Overwrite;
use crate::source::fault::{Fault, nearest};
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use std::path::PathBuf;

/// Arguments of `budget`.
#[derive(Debug, Args)]
pub struct BudgetArgs {
    #[command(flatten)]
    project: ProjectArgs,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    /// Explain how a figure comes about, with its inputs and their sources: a screen's full refresh (tonight), the ways
    /// between two (tonight:posts), a figure (life, fleet, usable-charge, supply, charging, last-screen, day, standing,
    /// policy, latency, memory, sensitivity; figure:life where a screen has that name), or an input by its path
    /// (battery.capacity).
    #[arg(long, value_name = "WHAT")]
    explain: Option<String>,
    /// Every section, in place of the summary.
    #[arg(long, conflicts_with = "section")]
    all: bool,
    /// Only these sections.
    #[arg(long, value_name = "NAME", value_enum, value_delimiter = ',')]
    section: Vec<Section>,
    /// Draw how often each region of the glass is driven, over the home screen, as a .png or .svg file.
    #[arg(long, value_name = "FILE")]
    activity: Option<PathBuf>,
    /// Overwrite a file that inkjoule did not write.
    #[arg(long)]
    force: bool,
}

/// Prints the budget.
///
/// # Errors
/// When the project cannot be used, or what is to be explained does not exist.
pub fn run(args: &BudgetArgs) -> Result {
    let drawing = args.activity.as_deref().map(Drawing::named).transpose()?;
    let loaded = open(&args.project)?;
    let device = &loaded.device;
    if let Some(what) = &args.explain {
        super::print(&explained(device, what)?)?;
        return Ok(Outcome::Fine);
    }
    let budget = watched(device)?;
    if let Some(drawing) = drawing {
        drawing.write(&activity::scene(device, &budget.tally), Overwrite::of(args.force))?;
    }
    match args.format {
        Format::Text => {
            let of = Content { files: &loaded.files, device, budget: &budget };
            let look = look();
            print_styled(&match (args.all, args.section.as_slice()) {
                (true, _) => answer::whole(of, look),
                (false, []) => answer::short(of, look),
                (false, asked) => answer::sections(of, asked, look),
            })?;
        }
        Format::Json => print_json(&format!("{:#}\n", json::json(device, &budget)))?,
    }
    Ok(Outcome::Fine)
}

/// The budget, with a progress bar where a person waits for it at a terminal.
fn watched(device: &Device) -> std::result::Result<Budget, Fault> {
    let bar = ProgressBar::new(u64::from(DEVICES));
    let style = ProgressStyle::with_template("{bar:30} {pos} of {len} devices, {eta} left");
    bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
    let budget = budget_watched(device, &|| bar.inc(1));
    bar.finish_and_clear();
    budget.refusal(device).map_or(Ok(budget), Err)
}

fn explained(device: &Device, what: &str) -> std::result::Result<String, Stop> {
    let find = |id: &str| {
        device.screen(id).ok_or_else(|| {
            let fault = Fault::plain(format!("there is no screen `{id}`"));
            Stop::from(
                fault.help(nearest(id, device.screens.iter().map(|screen| screen.id.as_str())).unwrap_or_default()),
            )
        })
    };
    let temperature = device.usage.climate.mean();
    let named = what.strip_prefix("figure:");
    if named.is_some() || !what.contains(':') {
        if let Some(screen) = device.screen(what).filter(|_| named.is_none()) {
            let title = format!("Full refresh of {} at {temperature}", device.screens[screen.0].id);
            return Ok(update::explain(device, &title, &full_work(device, temperature)));
        }
        return Ok(explain::explain(device, &watched(device)?, named.unwrap_or(what))?.text);
    }
    let (from, to) = what.split_once(':').unwrap_or((what, what));
    let (from, to) = (find(from)?, find(to)?);
    let ways = transitions(device, &device.inputs.typical(), temperature);
    let ways: Vec<String> = ways
        .iter()
        .filter(|way| way.from == from && way.to == to)
        .map(|way| {
            let title = format!(
                "{what} by {} at {temperature}: {}, {} px change",
                way.by(device),
                way.change.mode.name(),
                way.change.changed
            );
            update::explain(device, &title, &way.change.work)
        })
        .collect();
    match ways.is_empty() {
        true => Err(Fault::plain(format!("nothing leads from {what}"))
            .help("`inkjoule budget` lists the transitions")
            .into()),
        false => Ok(ways.join("\n")),
    }
}

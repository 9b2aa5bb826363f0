//! `budget`: memory, refreshes, energy and battery life.

use super::args::{Format, ProjectArgs};
use super::drawing::Drawing;
use super::{Outcome, Result, Stop, open, print};
use crate::budget::activity;
use crate::budget::explain::explain;
use crate::budget::summary::{budget, full_work, transitions};
use crate::budget::{json, text};
use crate::design::fault::{Fault, nearest};
use crate::device::Device;
use clap::Args;
use std::path::PathBuf;

/// Arguments of `budget`.
#[derive(Debug, Args)]
pub struct BudgetArgs {
    #[command(flatten)]
    project: ProjectArgs,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    /// Explain one update phase by phase: a screen's full refresh (tonight), or the ways between two (tonight:posts).
    #[arg(long, value_name = "SCREEN[:SCREEN]")]
    explain: Option<String>,
    /// Draw how often each region of the glass is driven, over the home screen, as a .png or .svg file.
    #[arg(long, value_name = "FILE")]
    activity: Option<PathBuf>,
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
        print(&explained(device, what)?)?;
        return Ok(Outcome::Fine);
    }
    let budget = budget(device);
    if let Some(drawing) = drawing {
        drawing.write(&activity::scene(device, &budget.tally))?;
    }
    match args.format {
        Format::Text => print(&text::text(device, &budget))?,
        Format::Json => print(&format!("{:#}\n", json::json(device, &budget)))?,
    }
    Ok(Outcome::Fine)
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
    let Some((from, to)) = what.split_once(':') else {
        let id = &device.screens[find(what)?.0].id;
        let title = format!("Full refresh of {id} at {temperature}");
        return Ok(explain(device, &title, &full_work(device, temperature)));
    };
    let (from, to) = (find(from)?, find(to)?);
    let ways = transitions(device, &device.inputs.typical(), temperature);
    let ways: Vec<String> = ways
        .iter()
        .filter(|way| way.from == from && way.to == to)
        .map(|way| {
            let title =
                format!("{what} by {} at {temperature}: {}, {} px change", way.trigger, way.mode.name(), way.changed);
            explain(device, &title, &way.work)
        })
        .collect();
    match ways.is_empty() {
        true => Err(Fault::plain(format!("nothing leads from {what}"))
            .help("`inkjoule budget` lists the transitions")
            .into()),
        false => Ok(ways.join("\n")),
    }
}

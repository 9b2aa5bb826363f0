//! `budget`: memory, refreshes, energy and battery life.

use super::args::{Format, ProjectArgs};
use super::drawing::{Drawing, theme};
use super::{Outcome, Result, Stop, look, open, print_json, print_styled};
use crate::answer::{self, Content, Section};
use crate::budget::activity;
use crate::budget::explain::{self, update};
use crate::budget::fleet::DEVICES;
use crate::budget::json;
use crate::budget::summary::{Budget, budget_watched, screen_work};
use crate::budget::transition::transitions;
use crate::device::Device;
use crate::output::Overwrite;
use crate::plot::scene::Scene;
use crate::refresh::work::Work;
use crate::screen::ScreenId;
use crate::source::fault::{Fault, nearest};
use crate::timeline;
use crate::timeline::update::UpdatePlot;
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
    /// Explain how a figure comes about, with its inputs and their sources: a screen's full refresh (tonight), the
    /// transitions between two (tonight:posts), a topic (life, fleet, usable-charge, battery, supply, charging, wear, last-screen,
    /// day, always-on, counts, policy, residue, latency, updates, memory, flash, sensitivity; figure:life where a screen has that
    /// name), a figure by its name in `sweep --figure` (life-days), or an input by its path (battery.capacity).
    #[arg(long, value_name = "WHAT")]
    explain: Option<String>,
    /// With --explain of an update: draw its current over time, typical and worst, as a .png or .svg file.
    #[arg(long, value_name = "FILE", requires = "explain")]
    plot: Option<PathBuf>,
    /// Every section instead of the summary.
    #[arg(long, conflicts_with = "section")]
    all: bool,
    /// Only these sections.
    #[arg(long, value_name = "NAME", value_enum, value_delimiter = ',')]
    section: Vec<Section>,
    /// Draw how often each region of the display is driven, over the home screen, as a .png or .svg file.
    #[arg(long, value_name = "FILE")]
    activity: Option<PathBuf>,
    /// Draw a typical day as a strip: screens, refreshes, power, temperature, charge, as a .png or .svg file.
    #[arg(long, value_name = "FILE")]
    day: Option<PathBuf>,
    /// Draw for a dark page.
    #[arg(long)]
    dark: bool,
    /// Overwrite a file that inkjoule did not write.
    #[arg(long)]
    force: bool,
}

/// Prints the budget.
///
/// # Errors
/// When the project cannot be used, or what is to be explained does not exist.
pub fn run(args: &BudgetArgs) -> Result {
    let named = |path: &Option<PathBuf>| path.as_deref().map(|path| Drawing::named(path, theme(args.dark))).transpose();
    let (drawing, plot, strip) = (named(&args.activity)?, named(&args.plot)?, named(&args.day)?);
    let loaded = open(&args.project)?;
    let device = &loaded.device;
    if let Some(what) = &args.explain {
        let updates = updates(device, what)?;
        if let Some(plot) = plot {
            plot.write(&scene(device, what, &updates)?, Overwrite::of(args.force))?;
        }
        super::print_fitted(&explained(device, what, &updates)?)?;
        return Ok(Outcome::Fine);
    }
    let budget = watched(device)?;
    if let Some(drawing) = drawing {
        drawing.write(&activity::scene(device, &budget.counts), Overwrite::of(args.force))?;
    }
    if let Some(strip) = strip {
        let scene = timeline::day::usual(device, &budget.counts, 0);
        strip.write(&scene, Overwrite::of(args.force))?;
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

/// An update that is explained: its title and work.
type Update = (String, Work);

/// The updates that a name stands for: a screen's full refresh, or the transitions from one screen to another; none where it
/// is a figure's name.
fn updates(device: &Device, what: &str) -> std::result::Result<Vec<Update>, Stop> {
    let find = |id: &str| {
        device.screen(id).ok_or_else(|| {
            let fault = Fault::plain(format!("there is no screen `{id}`"));
            Stop::from(
                fault.help(nearest(id, device.screens.iter().map(|screen| screen.id.as_str())).unwrap_or_default()),
            )
        })
    };
    let temperature = device.usage.climate.mean();
    if what.starts_with("figure:") {
        return Ok(Vec::new());
    }
    let Some((from, to)) = what.split_once(':') else {
        let full = |screen: ScreenId| {
            let title = format!("Full refresh of {} at {temperature}", device.screens[screen.0].id);
            (title, screen_work(device, screen, temperature))
        };
        return Ok(device.screen(what).map(full).into_iter().collect());
    };
    let (from, to) = (find(from)?, find(to)?);
    let ways = transitions(device, &device.inputs.typical(), temperature);
    let ways = ways.into_iter().filter(|way| way.from == from && way.to == to);
    let updates: Vec<Update> = ways
        .map(|way| {
            let by = way.by(device);
            let (mode, changed) = (way.change.mode.name(), way.change.changed);
            (format!("{what} by {by} at {temperature}: {mode}, {changed} px change"), way.change.work)
        })
        .collect();
    match updates.is_empty() {
        true => Err(Fault::plain(format!("nothing leads from {what}"))
            .help("`inkjoule budget` lists the transitions")
            .into()),
        false => Ok(updates),
    }
}

fn explained(device: &Device, what: &str, updates: &[Update]) -> std::result::Result<String, Stop> {
    if updates.is_empty() {
        let figure = what.strip_prefix("figure:").unwrap_or(what);
        return Ok(explain::explain(device, &watched(device)?, figure)?.text);
    }
    let texts = updates.iter().map(|(title, work)| update::explain(device, title, work));
    Ok(texts.collect::<Vec<_>>().join("\n"))
}

/// The picture of what is explained: updates over time.
fn scene(device: &Device, what: &str, updates: &[Update]) -> std::result::Result<Scene, Fault> {
    if updates.is_empty() {
        let fault = Fault::plain(format!("`{what}` is not an update, so it has no curve"));
        return Err(fault.help("name a screen (its full refresh) or two screens with a colon between"));
    }
    // Transitions under conditions may be many; a picture of the first ones is still a picture.
    const MOST: usize = 6;
    let shown: Vec<UpdatePlot> =
        updates.iter().take(MOST).map(|(title, work)| UpdatePlot::of(device, title, work)).collect();
    Ok(timeline::update::scene(&shown))
}

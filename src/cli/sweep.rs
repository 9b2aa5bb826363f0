//! `sweep`: figures of the budget over a range of one or two inputs, as a table and as a plot.

use super::drawing::{Drawing, theme};
use super::{Outcome, Result, Stop, look, print, print_json, print_styled};
use crate::budget::figure::Figure;
use crate::figures::sweep::chart::{MOST_CURVES, chart};
use crate::figures::sweep::range::{self, Spacing};
use crate::figures::sweep::{Swept, sweep};
use crate::output::Overwrite;
use crate::plot::layout::layout;
use crate::project::{load_files, set};
use crate::source::fault::Fault;
use crate::source::files::Files;
use crate::sweep::text;
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};

/// Values of the second input, unless it is a list.
const CURVES: usize = 5;

/// Arguments of `sweep`.
#[derive(Debug, Args)]
pub struct SweepArgs {
    /// The project: a folder with a device.toml, or that file; left out: the current folder.
    #[arg(value_name = "PROJECT")]
    first: String,
    /// The input, as for --set: board.mcu.sleep.
    #[arg(value_name = "PATH")]
    second: Option<String>,
    /// Its values: FROM..TO with units (1uA..10uA, 3..20) or a list (2.8V,3.0V,3.3V).
    #[arg(value_name = "RANGE", allow_hyphen_values = true)]
    third: Option<String>,
    /// The values one by one, in place of RANGE.
    #[arg(long, value_name = "A,B,C", allow_hyphen_values = true)]
    list: Option<String>,
    /// A second input and its values: every combination is calculated.
    #[arg(long, num_args = 2, value_names = ["PATH", "RANGE"], allow_hyphen_values = true)]
    and: Option<Vec<String>>,
    /// Values of the range, its ends included.
    #[arg(long, default_value_t = 13)]
    steps: usize,
    /// Equal ratios between the values of the range instead of equal differences.
    #[arg(long)]
    log: bool,
    /// The figure; several for further columns, the first one is plotted.
    #[arg(long, value_enum, value_delimiter = ',', default_value = "life-days")]
    figure: Vec<Figure>,
    /// A limit for the first figure, such as "90 d" or "2 s"; without it, the project's own.
    #[arg(long, value_name = "VALUE")]
    limit: Option<String>,
    /// Change another value of the project for this run. May be repeated.
    #[arg(long = "set", value_name = "PATH=VALUE")]
    set: Vec<String>,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t)]
    format: SweepFormat,
    /// Draw the first figure to this file, .svg or .png.
    #[arg(long, value_name = "FILE", help_heading = "Output")]
    plot: Option<PathBuf>,
    /// Draw for a dark page.
    #[arg(long, requires = "plot")]
    dark: bool,
    /// Overwrite a file that inkjoule did not write.
    #[arg(long, help_heading = "Output")]
    force: bool,
}

/// How a sweep is written to standard output.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum SweepFormat {
    /// A table for people.
    #[default]
    Text,
    /// For programs.
    Json,
    /// Columns of numbers.
    Csv,
}

/// Calculates the sweep, prints it and draws the plot.
///
/// # Errors
/// When the range, the limit or the plot's name cannot be used, or the project cannot with one of the values.
pub fn run(args: &SweepArgs) -> Result {
    let (project, path, range) = args.asked()?;
    let plot = args.plot.as_deref().map(|path| Drawing::named(path, theme(args.dark))).transpose()?;
    let spacing = if args.log { Spacing::Log } else { Spacing::Linear };
    let first = range::values(range, args.steps, spacing)?;
    let second = match args.and.as_deref() {
        Some([path, range]) => Some((path, range::values(range, CURVES, Spacing::Linear)?)),
        _ => None,
    };
    if let (Some(_), Some((path, values))) = (&plot, &second)
        && values.values.len() > MOST_CURVES
    {
        let fault = Fault::plain(format!(
            "a plot with a curve for each of {} values of {path} cannot be read",
            values.values.len()
        ));
        return Err(fault.help(format!("name at most {MOST_CURVES} values, or leave --plot out")).into());
    }
    if plot.is_some() && first.words {
        let fault = Fault::plain("a plot has numbers along its axis; these values are words");
        return Err(fault.help("name the words with --and for a curve each, or leave --plot out").into());
    }
    let limit = args.limit.as_ref().map(|text| args.figure[0].row().unit.parse(text)).transpose();
    let limit = limit.map_err(|why| Fault::plain(format!("--limit: {why}")))?;

    let mut files = Files::read(Path::new(project))?;
    set::apply_all(&mut files, &args.set)?;
    let stop = |failed: Box<crate::project::ProjectFault>| Stop { faults: failed.faults, sources: failed.sources };
    let loaded = load_files(files.clone()).map_err(stop)?;
    let device = &loaded.device;
    let mut inputs = vec![Swept::new(device, &files, path, first, spacing)];
    inputs.extend(second.map(|(path, values)| Swept::new(device, &files, path, values, Spacing::Linear)));
    let limit = limit.or_else(|| args.figure[0].limit(device));
    let done = sweep(device, &files, inputs, args.figure.clone(), limit).map_err(stop)?;

    if let Some(plot) = plot {
        plot.write(&layout(&chart(&done)), Overwrite::of(args.force))?;
    }
    match args.format {
        SweepFormat::Text => print_styled(&text::text(&done, look()))?,
        SweepFormat::Json => print_json(&format!("{:#}\n", text::json(&done)))?,
        SweepFormat::Csv => {
            print(&text::csv(&done).map_err(|why| Fault::plain(format!("cannot write the columns: {why}")))?)?
        }
    }
    Ok(Outcome::Fine)
}

impl SweepArgs {
    /// Project, path and range: the project may be left out, the range stands in `--list`.
    fn asked(&self) -> std::result::Result<(&str, &str, &str), Fault> {
        let given = [Some(&self.first), self.second.as_ref(), self.third.as_ref(), self.list.as_ref()];
        let given: Vec<&str> = given.into_iter().flatten().map(String::as_str).collect();
        match given[..] {
            [project, path, range] => Ok((project, path, range)),
            [path, range] => Ok((".", path, range)),
            [_] => Err(Fault::plain("sweep needs the path of an input and its values")
                .help("write `inkjoule sweep PROJECT board.mcu.sleep 1uA..10uA`")),
            _ => Err(Fault::plain("the values stand both as RANGE and in --list").help("leave one of them out")),
        }
    }
}

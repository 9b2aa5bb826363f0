//! `trace`: a measured current, its updates, and how they compare with a project.

use super::args::{Format, ProjectArgs};
use super::drawing::{Drawing, theme};
use super::{Outcome, Result, look, open, print_json, print_styled};
use crate::output::{self, Overwrite};
use crate::source::fault::Fault;
use crate::trace::against::against;
use crate::trace::chart::chart;
use crate::trace::kinds::kinds;
use crate::trace::profile::{Known, panel_table, profile};
use crate::trace::{Settings, json, read, text};
use crate::units::{Amps, Celsius, Ohms, Quantity, Seconds, ValueFault, Volts, stated};
use clap::Args;
use std::path::PathBuf;

/// Arguments of `trace`.
#[derive(Debug, Args)]
pub struct TraceArgs {
    /// The measured current: a table of time and current (or voltage across a shunt) with a comma, semicolon or tab
    /// between, and headings with units such as t [ms];I [uA].
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Supply voltage, for energies, such as "3.7 V". A supply voltage in the file overrides it.
    #[arg(long, value_parser = quantity::<Volts>)]
    voltage: Option<Volts>,
    /// The file has the voltage across this shunt resistor, such as "1 Ohm".
    #[arg(long, value_parser = quantity::<Ohms>)]
    shunt: Option<Ohms>,
    /// Temperature at which it was measured, such as "21 °C"; with --against also `project` for the mean of its usage.
    /// Without it 25 °C are assumed.
    #[arg(long, value_parser = measured_at, allow_hyphen_values = true)]
    temperature: Option<MeasuredAt>,
    /// Compare the measured phases with those that a project predicts.
    #[arg(long, value_name = "PROJECT")]
    against: Option<PathBuf>,
    /// With --against: change one value of the project for this run, as elsewhere. May be repeated.
    #[arg(long, value_name = "PATH=VALUE", requires = "against")]
    set: Vec<String>,
    /// Write a panel profile with the measured times and currents.
    #[arg(long, value_name = "OUT.toml")]
    profile: Option<PathBuf>,
    /// Draw an update of each kind over time, as a .png or .svg file; with --against, over the predicted phases.
    #[arg(long, value_name = "FILE")]
    plot: Option<PathBuf>,
    /// Draw for a dark page.
    #[arg(long, requires = "plot")]
    dark: bool,
    /// Overwrite a file that inkjoule did not write.
    #[arg(long)]
    force: bool,
    /// An update begins this far above the baseline; derived from the noise and the range of the trace if not given.
    #[arg(long, value_parser = quantity::<Amps>)]
    threshold: Option<Amps>,
    /// Anything shorter is a pulse, not an update.
    #[arg(long, value_parser = quantity::<Seconds>, default_value = "30 ms")]
    min_duration: Seconds,
    /// Updates closer together than this count as one.
    #[arg(long, value_parser = quantity::<Seconds>, default_value = "50 ms")]
    min_gap: Seconds,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

fn quantity<Q: Quantity>(text: &str) -> std::result::Result<Q, ValueFault> {
    stated(text)
}

/// Where the temperature of a measurement comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
enum MeasuredAt {
    /// It is stated.
    Stated(Celsius),
    /// The mean of the project's usage.
    Project,
}

fn measured_at(text: &str) -> std::result::Result<MeasuredAt, ValueFault> {
    if text == "project" { Ok(MeasuredAt::Project) } else { stated(text).map(MeasuredAt::Stated) }
}

/// The temperature where none is stated.
const ROOM: Celsius = Celsius(25.0);

/// Reads the trace, prints what is in it, and writes the profile.
///
/// # Errors
/// When the trace or the project cannot be used, or the profile cannot be written.
pub fn run(args: &TraceArgs) -> Result {
    let settings = Settings {
        voltage: args.voltage,
        shunt: args.shunt,
        threshold: args.threshold,
        min_duration: args.min_duration,
        min_gap: args.min_gap,
        ..Settings::default()
    };
    let positive = [("--threshold", args.threshold.map(f64::from)), ("--voltage", args.voltage.map(f64::from))];
    if let Some((name, _)) = positive.into_iter().find(|(_, value)| value.is_some_and(|value| value <= 0.0)) {
        return Err(Fault::plain(format!("{name} must be more than zero")).into());
    }
    let plot = args.plot.as_deref().map(|path| Drawing::named(path, theme(args.dark))).transpose()?;
    let loaded = match &args.against {
        Some(project) => {
            Some((open(&ProjectArgs { project: project.clone(), set: args.set.clone(), alternative: None })?, project))
        }
        None => None,
    };
    // Without a voltage of its own the trace's energies are stated at the project's.
    let nominal = loaded.as_ref().map(|(loaded, _)| loaded.device.battery.nominal());
    let trace = read(&args.file, &Settings { voltage: settings.voltage.or(nominal), ..settings })?;
    let mut kinds = kinds(&trace);
    let temperature = match (args.temperature, &loaded) {
        (None, _) => ROOM,
        (Some(MeasuredAt::Stated(stated)), _) => stated,
        (Some(MeasuredAt::Project), Some((loaded, _))) => loaded.device.usage.climate.mean(),
        (Some(MeasuredAt::Project), None) => {
            let fault = Fault::plain("no project says at which temperature it was measured");
            return Err(fault.help("name the project with --against, or state --temperature \"21 °C\"").into());
        }
    };
    let assumed = args.temperature.is_none();
    let against = match &loaded {
        Some((loaded, _)) => {
            let measured = (temperature, assumed);
            Some(against(&loaded.device, &mut kinds, measured, args.voltage)?)
        }
        None => None,
    };
    if let Some(plot) = plot {
        let scene = chart(&args.file, &settings, &trace, &kinds, against.as_ref())?;
        plot.write(&scene, Overwrite::of(args.force))?;
    }
    let mut shown = match args.format {
        Format::Text => text::text(&trace, &kinds, against.as_ref(), look()),
        Format::Json => format!("{:#}\n", json::json(&trace, &kinds, against.as_ref())),
    };
    if let Some(path) = &args.profile {
        let known = loaded.as_ref().zip(against.as_ref()).map(|((loaded, project), against)| Known {
            device: &loaded.device,
            panel: panel_table(project).unwrap_or_default(),
            against,
        });
        let profile = profile(&trace, &kinds, temperature, known.as_ref());
        output::write(path, profile.as_bytes(), Overwrite::of(args.force))?;
        if args.format == Format::Text {
            shown += &text::written(path, temperature, !assumed);
        }
    }
    match args.format {
        Format::Text => print_styled(&shown)?,
        Format::Json => print_json(&shown)?,
    }
    Ok(Outcome::Fine)
}

//! `export`: files for the firmware.

use super::args::ProjectArgs;
use super::packing::{PackingArgs, print_packing};
use super::render::{bounded, locales, screens};
use super::{Outcome, Result, open, print};
use crate::export::{Order, TARGETS, design_hash, explain, target};
use crate::firmware::drawing::Drawing;
use crate::hardware::packing::unmounted_packing;
use crate::output::{self, Overwrite};
use crate::render::Show;
use crate::source::fault::Fault;
use crate::units::count;
use clap::Args;
use clap::builder::{PossibleValue, PossibleValuesParser};
use std::path::PathBuf;

/// Arguments of `export`.
#[derive(Debug, Args)]
pub struct ExportArgs {
    #[command(flatten)]
    project: ProjectArgs,
    /// The languages or formats, separated by commas. May be repeated.
    #[arg(long, value_name = "FORMAT", default_value = "c", value_delimiter = ',', value_parser = formats())]
    to: Vec<String>,
    /// Say which pixel lands in which bit, and draw it in packing.png, instead of exporting.
    #[arg(long)]
    explain: bool,
    /// Only these screens; all of them otherwise. May be repeated.
    #[arg(long = "screen", value_name = "ID")]
    screens: Vec<String>,
    /// Only this locale; every locale otherwise.
    #[arg(long)]
    locale: Option<String>,
    /// Which values the fields have in the images.
    #[arg(long, value_enum, default_value_t = Show::Sample)]
    values: Show,
    /// First part of every name in generated code, and the files' name.
    #[arg(long, value_name = "NAME", default_value = "screens")]
    prefix: String,
    /// Section that the compiler places large arrays in.
    #[arg(long, value_name = "SECTION")]
    section: Option<String>,
    #[command(flatten)]
    packing: PackingArgs,
    /// The folder to write to.
    #[arg(long, value_name = "FOLDER", default_value = "firmware", help_heading = "Output")]
    out: PathBuf,
    /// Overwrite files that inkjoule did not write.
    #[arg(long, help_heading = "Output")]
    force: bool,
}

fn formats() -> PossibleValuesParser {
    PossibleValuesParser::new(TARGETS.iter().map(|target| PossibleValue::new(target.name).help(target.about)))
}

/// Writes the files.
///
/// # Errors
/// When the project, a name, the packing or the folder cannot be used.
pub fn run(args: &ExportArgs) -> Result {
    let mut loaded = open(&args.project)?;
    // What the command line says of the packing counts like the profile, for windows and planes, too.
    loaded.device.panel.packing = args.packing.over(&loaded.device.panel);
    let device = &loaded.device;
    let order = Order {
        device,
        screens: screens(device, &args.screens)?,
        locales: locales(device, args.locale.as_deref())?,
        values: args.values.values(device),
        packing: device.panel.packing.clone(),
        prefix: args.prefix.clone(),
        section: args.section.clone(),
        design: design_hash(loaded.sources.iter().map(|(_, text)| text)),
    };
    bounded(device, order.screens.len() * order.locales.len(), 1)?;
    if args.explain {
        let size = device.panel.size();
        let picture = explain::picture(&order.packing, size.width, size.height)?;
        output::write_set(&args.out, &[("packing.png".to_owned(), picture)], Overwrite::of(args.force))?;
        let panel = &device.panel;
        let own = unmounted_packing(&order.packing, panel.mounted, panel.mirrored);
        let text = explain::text(&order.packing, size.width, size.height)?;
        super::print_fitted(&text)?;
        // To be pasted: never broken into lines.
        print_packing("\nin the project's [panel]", &own)?;
        return Ok(Outcome::Fine);
    }
    let (mut files, mut draws) = (Vec::new(), false);
    for name in &args.to {
        let Some(target) = target(name) else {
            return Err(Fault::plain(format!("there is no format `{name}`")).into());
        };
        files.extend((target.write)(&order)?);
        draws |= target.draws;
    }
    output::write_set(&args.out, &files, Overwrite::of(args.force))?;
    print(&format!("{} in {}\n", count(files.len(), "file", "files"), args.out.display()))?;
    if draws {
        super::print_fitted(&own_areas(&order)?)?;
    }
    Ok(Outcome::Fine)
}

/// What is left to the firmware's own code, in one line; nothing where everything is drawn.
fn own_areas(order: &Order<'_>) -> std::result::Result<String, Fault> {
    let own = Drawing::of(order)?.own;
    let mut screens: Vec<_> = own.iter().map(|area| area.screen.0).collect();
    screens.dedup();
    let plural = |count: usize, one: &str| format!("{count} {one}{}", if count == 1 { "" } else { "s" });
    let named = own.iter().map(|area| {
        let (corner, size) = (area.area.top_left, area.area.size);
        let title = area.title(order.device);
        format!("{title} at {}, {}, {} x {} px ({})", corner.x, corner.y, size.width, size.height, area.why)
    });
    let named: Vec<String> = named.collect();
    let (areas, on) = (plural(own.len(), "area"), plural(screens.len(), "screen"));
    let verb = if own.len() == 1 { "is" } else { "are" };
    Ok(if own.is_empty() {
        String::new()
    } else {
        format!("{areas} on {on} {verb} drawn by your code: {}\n", named.join("; "))
    })
}

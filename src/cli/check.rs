//! `check`: validation and limits.

use super::args::{Format, ProjectArgs};
use super::{Outcome, Result, Stop, print, show};
use crate::check::limits;
use crate::design::fault::{Fault, Level};
use crate::design::load;
use crate::design::source::Sources;
use clap::Args;
use serde_json::json;

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct CheckArgs {
    #[command(flatten)]
    project: ProjectArgs,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

/// Checks a project; findings go to standard error, or as JSON to standard output.
///
/// # Errors
/// When the project cannot be read.
pub fn run(args: &CheckArgs) -> Result {
    let loaded = match load(&args.project.project, &args.project.set) {
        Ok(loaded) => loaded,
        Err(failed) if args.format == Format::Json => {
            print(&findings(&failed.faults, &failed.sources))?;
            return Err(Stop { faults: Vec::new(), sources: Sources::default() });
        }
        Err(failed) => return Err(Stop { faults: failed.faults, sources: failed.sources }),
    };
    let mut faults = loaded.warnings;
    faults.extend(limits(&loaded.device));
    let errors = faults.iter().filter(|fault| fault.level == Level::Error).count();
    match args.format {
        Format::Json => print(&findings(&faults, &loaded.sources))?,
        Format::Text => {
            show(&faults, &loaded.sources);
            let device = &loaded.device;
            print(&format!(
                "{}: {} screens, {} fields, {} locales: {} errors, {} warnings\n",
                device.name,
                device.screens.len(),
                device.fields.len(),
                device.locales.len(),
                errors,
                faults.len() - errors
            ))?;
        }
    }
    Ok(if errors > 0 { Outcome::Broken } else { Outcome::Fine })
}

fn findings(faults: &[Fault], sources: &Sources) -> String {
    let finding = |fault: &Fault| {
        json!({
            "level": if fault.level == Level::Error { "error" } else { "warning" },
            "id": fault.id,
            "message": fault.message,
            "place": fault.span.as_ref().map(|span| sources.place(span)),
            "label": fault.label,
            "help": fault.help,
        })
    };
    format!("{:#}\n", json!({ "schema": 1, "findings": faults.iter().map(finding).collect::<Vec<_>>() }))
}

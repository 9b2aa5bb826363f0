//! `report`: one HTML file with everything.

use super::args::ProjectArgs;
use super::compare::{MOST, files, side};
use super::{Outcome, Result, print};
use crate::output::{self, Overwrite};
use crate::project::alternatives;
use crate::report::{Content, page};
use clap::Args;
use std::path::PathBuf;

/// Arguments of `report`.
#[derive(Debug, Args)]
pub struct ReportArgs {
    #[command(flatten)]
    project: ProjectArgs,
    /// Compare with this project too: a folder, or FOLDER@REVISION. May be repeated.
    #[arg(long, value_name = "PROJECT")]
    against: Vec<String>,
    /// The locale of the images; the first one otherwise.
    #[arg(long)]
    locale: Option<String>,
    /// The file to write.
    #[arg(long, value_name = "FILE", default_value = "report.html")]
    out: PathBuf,
    /// Overwrite a file that inkjoule did not write.
    #[arg(long)]
    force: bool,
}

/// Writes the report.
///
/// # Errors
/// When a project cannot be used, there is no such locale, or the file cannot be written.
pub fn run(args: &ReportArgs) -> Result {
    let named = args.project.project.to_string_lossy().into_owned();
    let changes = args.project.changes();
    let ours = side(named.clone(), files(&named, &changes)?)?;
    let locale = match &args.locale {
        None => 0,
        Some(name) => super::render::locale(&ours.device, name)?,
    };
    let others = args.against.iter().map(|other| side(other.clone(), files(other, &[])?));
    let others = others.collect::<std::result::Result<Vec<_>, _>>()?;
    // The others come first: changes are those from the first of them to this project.
    let against: Vec<_> = others.iter().chain([&ours]).collect();
    let chosen = changes.iter().any(|change| alternatives::chosen(change).is_some());
    let names = if chosen { Vec::new() } else { alternatives::names(&files(&named, &[])?) };
    let of = |name: &String| {
        let choice = [format!("{}={name}", alternatives::PATH)];
        side(name.clone(), files(&named, &[&choice[..], &changes[..]].concat())?)
    };
    let stated = names.iter().take(MOST).map(of).collect::<std::result::Result<Vec<_>, _>>()?;
    let beside: Vec<_> = std::iter::once(&ours).chain(&stated).collect();
    let html = page(&Content { side: &ours, changes: &changes, locale, against: &against, alternatives: &beside });
    output::write(&args.out, html.as_bytes(), Overwrite::of(args.force))?;
    print(&format!("{} ({} kB)\n", args.out.display(), (html.len() + 500) / 1000))?;
    Ok(Outcome::Fine)
}

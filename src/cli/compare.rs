//! `compare`: projects, panels, batteries or revisions side by side.

use super::args::Format;
use super::{Outcome, Result, Stop, look, print_json, print_styled};
use crate::compare::{json, revision, text};
use crate::evaluation::Evaluation;
use crate::figures::advice::advice;
use crate::figures::comparison::compare;
use crate::project::swap::{Swapped, swap};
use crate::project::{alternatives, set};
use crate::source::fault::Fault;
use crate::source::files::Files;
use clap::Args;
use std::path::Path;

/// Projects that one comparison may have.
pub const MOST: usize = 12;

/// Arguments of `compare`.
#[derive(Debug, Args)]
pub struct CompareArgs {
    /// Projects; the others are compared with the first: folders, or FOLDER@REVISION for a project as it
    /// stood at a revision of its git repository.
    #[arg(default_value = ".", value_name = "PROJECT")]
    projects: Vec<String>,
    /// Add the first project with another panel profile. Several may follow.
    #[arg(long = "panel", value_name = "NAME", num_args = 1..)]
    panels: Vec<String>,
    /// Add the first project with another battery profile. Several may follow.
    #[arg(long = "battery", value_name = "NAME", num_args = 1..)]
    batteries: Vec<String>,
    /// Add these alternatives of the first project; those of a project that stands alone are all added.
    #[arg(long = "alternative", value_name = "NAME", num_args = 1..)]
    alternatives: Vec<String>,
    /// Change one value of every project for this run. May be repeated.
    #[arg(long = "set", value_name = "PATH=VALUE")]
    set: Vec<String>,
    /// List equal figures too.
    #[arg(long)]
    all: bool,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

/// Prints the comparison.
///
/// # Errors
/// When a project, revision or profile cannot be used, or there is nothing to compare with.
pub fn run(args: &CompareArgs) -> Result {
    let stated = args.projects.len() + args.panels.len() + args.batteries.len() + args.alternatives.len();
    let alternatives = match stated < 2 {
        true => alternatives::names(&files(&args.projects[0], &[])?),
        false => args.alternatives.clone(),
    };
    let count = stated - args.alternatives.len() + alternatives.len();
    if count < 2 {
        return Err(alone(args)?.into());
    }
    if count > MOST {
        return Err(Fault::plain(format!("at most {MOST} projects can be compared at once")).into());
    }
    let mut named = Vec::new();
    for project in &args.projects {
        named.push((project.clone(), files(project, &args.set)?));
    }
    let first = named[0].1.clone();
    let swaps = [(Swapped::Panel, &args.panels), (Swapped::Battery, &args.batteries)];
    for (part, profile) in swaps.into_iter().flat_map(|(part, names)| names.iter().map(move |name| (part, name))) {
        named.push((format!("{} {profile}", part.table()), swap(&first, part, profile)?));
    }
    for name in &alternatives {
        let chosen = [format!("{}={name}", alternatives::PATH)];
        named.push((name.clone(), files(&args.projects[0], &[&chosen[..], &args.set[..]].concat())?));
    }
    let sides =
        named.into_iter().map(|(label, files)| side(label, files)).collect::<std::result::Result<Vec<_>, _>>()?;
    let comparison = compare(&sides);
    match args.format {
        Format::Text => print_styled(&text::text(&sides, &comparison, args.all, look()))?,
        Format::Json => print_json(&format!("{:#}\n", json::json(&sides, &comparison)))?,
    }
    Ok(Outcome::Fine)
}

/// What is said where there is nothing to compare with: what to add, in words that can be copied.
fn alone(args: &CompareArgs) -> std::result::Result<Fault, Stop> {
    let project = &args.projects[0];
    let fault = Fault::plain("one project alone cannot be compared");
    // `--set` changes all that is compared alike; a change to compare with belongs into an alternative.
    let (why, set) = match args.set.is_empty() {
        false => ("--set changes every project of a comparison; to compare with and without it, ", args.set.clone()),
        true => {
            let side = side(project.clone(), files(project, &[])?)?;
            let best = advice(&side.files, &side.device, &side.budget).changes.into_iter().next();
            let best = best.map(|change| format!("{}={}", change.set.path, change.set.value));
            ("", vec![best.unwrap_or_else(|| "board.mcu.sleep=1 uA".to_owned())])
        }
    };
    let set: toml_edit::Array = set.into_iter().collect();
    let help = format!(
        "{why}add to its device.toml\n\n    [alternatives.changed]\n    set = {set}\n\nand run `inkjoule compare {project}` \
         again; or name a second project, a revision ({project}@HEAD~1), --battery NAME or --panel NAME (`inkjoule profiles` \
         lists them)"
    );
    Ok(fault.help(help))
}

/// The files of a project in a folder or at a revision, with changes as for `--set`.
pub fn files(project: &str, changes: &[String]) -> std::result::Result<Files, Stop> {
    let mut files = match revision::split(project) {
        Some((folder, revision)) => revision::read(&folder, &revision)?,
        None => Files::read(Path::new(project))?,
    };
    set::apply_all(&mut files, changes)?;
    Ok(files)
}

/// A project with its budget and findings.
pub fn side(label: String, files: Files) -> std::result::Result<Evaluation, Stop> {
    Evaluation::of(label, files).map_err(|failed| Stop { faults: failed.faults, sources: failed.sources })
}

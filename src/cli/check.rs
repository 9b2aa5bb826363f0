//! `check`: validation, lints and limits.

use super::args::ProjectArgs;
use super::baseline::{BaselineArgs, Told, told};
use super::render::locales;
use super::{Outcome, Result, Stop, files, look, open, print, print_json, print_styled, refused, show, show_findings};
use crate::budget::summary::budget;
use crate::check;
use crate::device::Device;
use crate::lint::picture::{SCALE, picture};
use crate::lint::{Evidence, Finding, Subject};
use crate::machine::explore::{Exploration, STATES};
use crate::output::{self, Overwrite};
use crate::project::watch::{WatchedProject, watch};
use crate::project::{Loaded, alternatives, load_files};
use crate::sarif::{self, Entry, Folder, Run};
use crate::source::fault::{Fault, Level};
use crate::source::levels::{LINTS, Levels};
use crate::source::spans::{Sources, Span};
use crate::table::{fit, table};
use crate::units::count;
use crate::visible::one_line;
use clap::{Args, ValueEnum};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::mpsc::channel;

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct CheckArgs {
    #[command(flatten)]
    project: ProjectArgs,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t)]
    pub(super) format: CheckFormat,
    /// List every warning; without it, those of one kind beyond the third are only counted.
    #[arg(long)]
    pub(super) all: bool,
    /// Check again whenever a file of the project changes, until Ctrl-C.
    #[arg(long, conflicts_with_all = ["lints", "accept"])]
    watch: bool,
    /// Only this locale; `pseudo` is always there, made from the project's own words about 40 % longer.
    #[arg(long)]
    locale: Option<String>,
    /// Draw each finding that can be seen into this folder: the screen with the affected part marked; and each screen that
    /// differs from its accepted frame, removed pixels in blue and new ones in orange.
    #[arg(long, value_name = "FOLDER")]
    images: Option<PathBuf>,
    /// List every lint with its level in this project, and stop.
    #[arg(long)]
    lints: bool,
    #[command(flatten)]
    baseline: BaselineArgs,
    /// Overwrite files that inkjoule did not write.
    #[arg(long, help_heading = "Output")]
    force: bool,
}

/// How findings are written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(super) enum CheckFormat {
    /// For people.
    #[default]
    Text,
    /// For programs.
    Json,
    /// SARIF 2.1.0, for editors, code review and continuous integration.
    Sarif,
}

/// Checks a project; findings go to standard error, or as JSON or SARIF to standard output.
///
/// # Errors
/// When the project cannot be read.
pub fn run(args: &CheckArgs) -> Result {
    if args.lints && args.format == CheckFormat::Sarif {
        let fault = Fault::plain("the list of lints is no result of a check, so there is no SARIF of it");
        return Err(fault.help("write --format json; the SARIF log of a check lists every rule").into());
    }
    if args.lints {
        return list(&levels(args)?, args.format);
    }
    if !args.watch {
        return once(args);
    }
    if args.format != CheckFormat::Text {
        let fault = Fault::plain("--watch prints one result after another, which is not one document");
        return Err(fault.help("leave --format out, or run `check` once").into());
    }
    watched(args)
}

/// Checks again and again. Whatever is wrong in between, the next change may mend it.
fn watched(args: &CheckArgs) -> Result {
    let place = WatchedProject { project: args.project.project.clone(), set: args.project.changes() };
    let (send, changes) = channel();
    // Begun before the first look, so that no change falls between the two.
    let _watch = watch(place, move |files| drop(send.send(files.to_vec())))?;
    loop {
        if let Err(stop) = once(args) {
            show(&stop.faults, &stop.sources);
        }
        print("-- waiting for changes; Ctrl-C ends\n")?;
        let Ok(files) = changes.recv() else { return Ok(Outcome::Fine) };
        print(&again(&files))?;
    }
}

/// The line between two checks.
fn again(files: &[PathBuf]) -> String {
    let names: Vec<String> = files.iter().take(3).map(|file| one_line(&file.display().to_string())).collect();
    let more = files.len() - names.len();
    match (names.is_empty(), more) {
        (true, _) => "\n-- files changed: checked again\n".to_owned(),
        (false, 0) => format!("\n-- {} changed: checked again\n", names.join(", ")),
        (false, more) => format!("\n-- {} and {more} more changed: checked again\n", names.join(", ")),
    }
}

fn once(args: &CheckArgs) -> Result {
    let loaded = match files(&args.project, args.locale.as_deref()).and_then(load_files) {
        Ok(loaded) => loaded,
        Err(failed) => return refused::refused(*failed, args),
    };
    let locales = locales(&loaded.device, args.locale.as_deref())?;
    let subject = Subject::new(&loaded.device, locales);
    let mut findings = check::all(&loaded.warnings, &subject, &budget(&loaded.device));
    findings.extend(alternatives(args, &loaded).into_iter().map(|fault| Finding { fault, shown: None }));
    let names = names(&loaded, &findings);
    let overwrite = Overwrite::of(args.force);
    let told = told(&loaded, &args.baseline, overwrite)?;
    if let Some(folder) = &args.images {
        let mut files = drawn(&loaded, &findings, &names)?;
        files.extend(told.pictures());
        output::write_set(folder, &files, overwrite)?;
    }
    report(&loaded, (&findings, subject.explored()), args, &names, &told)
}

/// Alternatives of the project that cannot be used, each with the first thing that is wrong with it.
fn alternatives(args: &CheckArgs, loaded: &Loaded) -> Vec<Fault> {
    if args.project.alternative.is_some() {
        return Vec::new();
    }
    let names = alternatives::names(&loaded.files).into_iter();
    names
        .filter_map(|name| {
            let project = ProjectArgs { alternative: Some(name.clone()), ..args.project.clone() };
            let failed = files(&project, args.locale.as_deref()).and_then(load_files).err()?;
            let first = failed.faults.into_iter().find(|fault| fault.level == Level::Error)?;
            let fault = Fault::plain(format!("the alternative `{name}` cannot be used: {}", first.message));
            Some(Fault { help: first.help, ..fault })
        })
        .collect()
}

fn report(
    loaded: &Loaded,
    (findings, explored): (&[Finding], &Exploration),
    args: &CheckArgs,
    names: &[Option<String>],
    told: &Told,
) -> Result {
    let errors = findings.iter().filter(|finding| finding.fault.level == Level::Error).count();
    let outcome = if errors > 0 || told.differs() { Outcome::Broken } else { Outcome::Fine };
    match args.format {
        CheckFormat::Text => in_text(loaded, (findings, explored), args, told)?,
        CheckFormat::Json => in_json(loaded, (findings, explored), args, names, told)?,
        CheckFormat::Sarif => {
            let device = &loaded.device;
            let differing = told.faults(loaded);
            let shown =
                |shown: &Evidence| (device.screens[shown.screen.0].id.as_str(), device.locales[shown.locale].as_str());
            let found = findings
                .iter()
                .map(|finding| Entry { fault: &finding.fault, shown: finding.shown.as_ref().map(shown) });
            let told = differing.iter().map(|fault| Entry { fault, shown: None });
            let entries: Vec<Entry<'_>> = found.chain(told).collect();
            sarif(args, &entries, &loaded.sources, &device.levels, u8::from(outcome == Outcome::Broken))?;
        }
    }
    Ok(outcome)
}

pub(super) fn sarif(
    args: &CheckArgs,
    entries: &[Entry<'_>],
    sources: &Sources,
    levels: &Levels,
    status: u8,
) -> std::result::Result<(), Stop> {
    let here = std::env::current_dir().unwrap_or_default();
    let folder = Folder::of(&args.project.project, &here);
    print_json(&format!("{:#}\n", sarif::document(&Run { entries, sources, levels, folder, status })))
}

fn in_json(
    loaded: &Loaded,
    (findings, found): (&[Finding], &Exploration),
    args: &CheckArgs,
    names: &[Option<String>],
    told: &Told,
) -> std::result::Result<(), Stop> {
    let drawn = args.images.is_some();
    let all = findings.iter().zip(names).map(|(finding, name)| {
        let mut value = json(&finding.fault, &loaded.sources);
        if let Some(shown) = &finding.shown {
            value["screen"] = json!(loaded.device.screens[shown.screen.0].id);
            value["locale"] = json!(loaded.device.locales[shown.locale]);
        }
        if drawn {
            value["image"] = json!(name);
        }
        value
    });
    let mut document = document(all.collect());
    let loose: Vec<&str> = found.loose.iter().map(|field| loaded.device.fields[field.0].name.as_str()).collect();
    document["flow"] = json!({
        "states": found.states, "complete": found.complete, "bound": STATES, "fields_taken_both_ways": loose
    });
    if !matches!(told, Told::Nothing) {
        document["baseline"] = told.json(loaded);
    }
    print_json(&format!("{document:#}\n"))
}

fn in_text(
    loaded: &Loaded,
    (findings, found): (&[Finding], &Exploration),
    args: &CheckArgs,
    told: &Told,
) -> std::result::Result<(), Stop> {
    let faults: Vec<Fault> = findings.iter().map(|finding| finding.fault.clone()).collect();
    let kept = if args.all { usize::MAX } else { LISTED };
    let errors = faults.iter().filter(|fault| fault.level == Level::Error).count();
    let warnings = faults.len() - errors;
    show_findings(&folded(faults, kept), &loaded.sources);
    let device = &loaded.device;
    let look = look();
    let counted = [
        count(device.screens.len(), "screen", "screens"),
        count(device.fields.len(), "field", "fields"),
        count(device.locales.len(), "locale", "locales"),
    ]
    .join(", ");
    let (errors, warnings) = (count(errors, "error", "errors"), count(warnings, "warning", "warnings"));
    let long = [&device.name, &counted, &errors, &warnings].map(|text| text.chars().count()).iter().sum::<usize>() + 6;
    print_styled(&format!(
        "{}:{}{counted}: {}, {warnings}\n",
        look.bold(&device.name),
        if long > look.width { "\n" } else { " " },
        look.verdict(&errors, errors.starts_with("0 ")),
    ))?;
    super::print_fitted(&explored(device, found))?;
    super::print_fitted(&told.text(loaded))
}

/// Warnings of one kind beyond this many are only counted.
pub(super) const LISTED: usize = 3;

/// The findings with no more than `kept` warnings of one kind, and no more errors of one kind about one place; after the
/// last of these how many more there are. Errors at places of their own are all kept.
pub(super) fn folded(faults: Vec<Fault>, kept: usize) -> Vec<Fault> {
    type Kind = (&'static str, Level, Option<Span>);
    let kind = |fault: &Fault| -> Option<Kind> {
        match fault.level {
            Level::Error => Some((fault.id?, Level::Error, Some(fault.span.clone()?))),
            level => Some((fault.id?, level, None)),
        }
    };
    let all: Vec<Kind> = faults.iter().filter_map(kind).collect();
    let mut seen: Vec<(Kind, usize)> = Vec::new();
    let mut listed = Vec::new();
    for fault in faults {
        let Some(kind) = kind(&fault) else {
            listed.push(fault);
            continue;
        };
        let place = seen.iter().position(|(known, _)| *known == kind).unwrap_or_else(|| {
            seen.push((kind.clone(), 0));
            seen.len() - 1
        });
        seen[place].1 += 1;
        // Errors about one place say the same of other transitions: the worst alone is enough.
        let kept = if kind.1 == Level::Error && kept <= LISTED { 1 } else { kept };
        let more = all.iter().filter(|one| **one == kind).count().saturating_sub(kept);
        if seen[place].1 <= kept {
            listed.push(fault);
        }
        if seen[place].1 == kept && more > 0 {
            let mut rest = Fault::plain(format!("and {more} more of `{}`", kind.0)).lint(kind.0);
            rest.level = kind.1;
            listed.push(rest.help("`inkjoule check --all` lists them"));
        }
    }
    listed
}

/// How far the states of the flow were looked at.
fn explored(device: &Device, found: &Exploration) -> String {
    let loose: Vec<String> = found.loose.iter().map(|field| format!("`{}`", device.fields[field.0].name)).collect();
    let both = match loose.as_slice() {
        [] => String::new(),
        names => format!(
            "conditions on {} are assumed both true and false: with each of their values there would be too many states\n",
            names.join(", ")
        ),
    };
    let count = match found.complete {
        true if found.states == 1 => "the only state of the flow explored\n".to_owned(),
        true => format!("all {} states of the flow explored\n", found.states),
        false => format!(
            "{} states of the flow explored, which is the bound: there are more, and nothing is said about those\n",
            found.states
        ),
    };
    count + &both
}

/// Findings of one kind beyond this many are not drawn.
const DRAWN: usize = 25;

/// For each finding the file that its image is written to.
fn names(loaded: &Loaded, findings: &[Finding]) -> Vec<Option<String>> {
    let mut drawn: BTreeMap<Option<&str>, usize> = BTreeMap::new();
    let one = |(index, finding): (usize, &Finding)| {
        let drawn = drawn.entry(finding.fault.id).or_default();
        *drawn += 1;
        name(loaded, index, finding).filter(|_| *drawn <= DRAWN)
    };
    findings.iter().enumerate().map(one).collect()
}

/// The file that a finding's image is written to.
fn name(loaded: &Loaded, index: usize, finding: &Finding) -> Option<String> {
    let screen = &loaded.device.screens[finding.shown.as_ref()?.screen.0].id;
    Some(format!("{:02}-{}-{screen}.png", index + 1, finding.fault.id.unwrap_or("finding")))
}

/// The images of findings.
fn drawn(
    loaded: &Loaded,
    findings: &[Finding],
    names: &[Option<String>],
) -> std::result::Result<Vec<(String, Vec<u8>)>, Stop> {
    let mut files = Vec::new();
    for (finding, name) in findings.iter().zip(names) {
        if let (Some(shown), Some(name)) = (&finding.shown, name) {
            let device = &loaded.device;
            let place = [device.screens[shown.screen.0].id.as_str(), device.locales[shown.locale].as_str()];
            let place: Vec<&str> = place.into_iter().filter(|word| !word.is_empty()).collect();
            let caption = format!("{}: {} (x {SCALE})", finding.fault.id.unwrap_or("finding"), place.join(", "));
            files.push((name.clone(), picture(device, shown, &caption)?));
        }
    }
    Ok(files)
}

pub(super) fn json(fault: &Fault, sources: &Sources) -> Value {
    json!({
        "level": level(fault.level),
        "id": fault.id,
        "message": fault.message,
        "place": fault.span.as_ref().map(|span| sources.place(span)),
        "label": fault.label,
        "help": fault.help,
    })
}

pub(super) fn document(findings: Vec<Value>) -> Value {
    json!({ "schema": 1, "findings": findings })
}

fn level(level: Level) -> &'static str {
    match level {
        Level::Off => "off",
        Level::Warning => "warning",
        Level::Error => "error",
    }
}

/// The levels of a project; the usual ones where none is named and none lies here.
fn levels(args: &CheckArgs) -> std::result::Result<Levels, Stop> {
    let here = args.project.project.as_path() == Path::new(".");
    if here && args.project.set.is_empty() && !Path::new("device.toml").exists() {
        return Ok(Levels::default());
    }
    Ok(open(&args.project)?.device.levels)
}

/// Prints every lint.
fn list(levels: &Levels, format: CheckFormat) -> Result {
    if format == CheckFormat::Json {
        let lint = |lint: &crate::source::levels::Lint| json!({ "id": lint.id, "level": level(levels.of_lint(lint)), "usual": level(lint.level), "about": lint.about });
        print_json(&format!("{:#}\n", json!({ "schema": 1, "lints": LINTS.iter().map(lint).collect::<Vec<_>>() })))?;
    } else {
        let mut table = table(&["id", "level", "finds"]);
        for lint in LINTS {
            table.add_row([lint.id, level(levels.of_lint(lint)), lint.about]);
        }
        fit(&mut table, look().width);
        print(&format!("{table}\n"))?;
    }
    Ok(Outcome::Fine)
}

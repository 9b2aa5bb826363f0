//! `check`: validation, lints and limits.

use super::args::{Format, ProjectArgs};
use super::baseline::{BaselineArgs, Told, told};
use super::render::locales;
use super::{Outcome, Result, Stop, files, look, open, print, print_json, print_styled, show};
use crate::assets::pseudo::PSEUDO;
use crate::budget::summary::budget;
use crate::check::check;
use crate::lint::picture::{SCALE, picture};
use crate::lint::{self, Finding, Subject};
use crate::machine::explore::{Exploration, STATES, explore};
use crate::output::{self, Overwrite};
use crate::project::{Failed, Loaded, load_files};
use crate::source::fault::{Fault, Level};
use crate::source::levels::{LINTS, Levels};
use crate::source::spans::Sources;
use crate::table::{fit, table};
use crate::units::count;
use clap::Args;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct CheckArgs {
    #[command(flatten)]
    project: ProjectArgs,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    /// Only this locale; `pseudo` is always there, made from the project's own words about 40 % longer.
    #[arg(long)]
    locale: Option<String>,
    /// Draw each finding that can be seen into this folder: the screen with what is concerned marked; and each screen that
    /// is not as accepted, what is gone in blue and what is new in orange.
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

/// Checks a project; findings go to standard error, or as JSON to standard output.
///
/// # Errors
/// When the project cannot be read.
pub fn run(args: &CheckArgs) -> Result {
    if args.lints {
        return list(&levels(args)?, args.format);
    }
    let loaded = match files(&args.project, args.locale.as_deref()).and_then(load_files) {
        Ok(loaded) => loaded,
        Err(failed) => return refused(*failed, args.format),
    };
    let locales = locales(&loaded.device, args.locale.as_deref())?;
    let plain = loaded.warnings.iter().map(|fault| Finding { fault: fault.clone(), shown: None });
    let findings: Vec<Finding> = plain.chain(check(&loaded.device, &budget(&loaded.device), locales)).collect();
    let names: Vec<Option<String>> =
        findings.iter().enumerate().map(|(index, finding)| name(&loaded, index, finding)).collect();
    let overwrite = Overwrite::of(args.force);
    let told = told(&loaded, &args.baseline, overwrite)?;
    if let Some(folder) = &args.images {
        let mut files = drawn(&loaded, &findings, &names)?;
        files.extend(told.pictures());
        output::write_set(folder, &files, overwrite)?;
    }
    report(&loaded, &findings, args, &names, &told)
}

fn refused(failed: Failed, format: Format) -> Result {
    let Failed { mut faults, sources, draft } = failed;
    // What the screens show is known although the project cannot be used.
    if let Some(device) = &draft {
        let locales = (0..device.locales.len()).filter(|locale| device.locales[*locale] != PSEUDO).collect();
        faults.extend(lint::drawn(&Subject::new(device, locales)).into_iter().map(|finding| finding.fault));
    }
    if format == Format::Json {
        let findings: Vec<Value> = faults.iter().map(|fault| json(fault, &sources)).collect();
        print_json(&format!("{:#}\n", document(findings)))?;
        return Err(Stop { faults: Vec::new(), sources: Sources::default() });
    }
    Err(Stop { faults, sources })
}

fn report(loaded: &Loaded, findings: &[Finding], args: &CheckArgs, names: &[Option<String>], told: &Told) -> Result {
    let errors = findings.iter().filter(|finding| finding.fault.level == Level::Error).count();
    if args.format == Format::Json {
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
        let found = explore(&loaded.device, STATES);
        document["flow"] = json!({ "states": found.states, "complete": found.complete, "bound": STATES });
        if !matches!(told, Told::Nothing) {
            document["baseline"] = told.json(loaded);
        }
        print_json(&format!("{document:#}\n"))?;
    } else {
        let faults: Vec<Fault> = findings.iter().map(|finding| finding.fault.clone()).collect();
        show(&faults, &loaded.sources);
        let device = &loaded.device;
        let look = look();
        print_styled(&format!(
            "{}: {}, {}, {}: {}, {}\n",
            look.bold(&device.name),
            count(device.screens.len(), "screen", "screens"),
            count(device.fields.len(), "field", "fields"),
            count(device.locales.len(), "locale", "locales"),
            look.verdict(&count(errors, "error", "errors"), errors == 0),
            count(findings.len() - errors, "warning", "warnings")
        ))?;
        print(&explored(&explore(device, STATES)))?;
        print(&told.text(loaded))?;
    }
    Ok(if errors > 0 || told.differs() { Outcome::Broken } else { Outcome::Fine })
}

/// How far the states of the flow were looked at.
fn explored(found: &Exploration) -> String {
    match found.complete {
        true if found.states == 1 => "1 state of the flow, looked at\n".to_owned(),
        true => format!("{} states of the flow, all looked at\n", found.states),
        false => format!(
            "{} states of the flow looked at, which is the bound: there are more, and nothing is said about those\n",
            found.states
        ),
    }
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

fn json(fault: &Fault, sources: &Sources) -> Value {
    json!({
        "level": level(fault.level),
        "id": fault.id,
        "message": fault.message,
        "place": fault.span.as_ref().map(|span| sources.place(span)),
        "label": fault.label,
        "help": fault.help,
    })
}

fn document(findings: Vec<Value>) -> Value {
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
fn list(levels: &Levels, format: Format) -> Result {
    if format == Format::Json {
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

//! `verify`: a frame read back from a device against the design.

use super::args::{Format, ProjectArgs};
use super::packing::{PackingArgs, print_packing};
use super::render::{locales, screens};
use super::{Outcome, Result, Stop, open, print_json};
use crate::frame::{Packing, rectangle_json};
use crate::hardware::packing::{profile_packing, unmounted_packing};
use crate::output::{self, Overwrite};
use crate::project::Loaded;
use crate::render::Show;
use crate::screen::ScreenId;
use crate::source::fault::Fault;
use crate::verify::dump::{Form, LARGEST, guess, read};
use crate::verify::regions::Region;
use crate::verify::transport::{Transported, transported};
use crate::verify::{Answer, Question, RESEMBLES, picture, verify};
use clap::Args;
use serde_json::json;
use std::io::Read;
use std::path::PathBuf;

/// Arguments of `verify`.
#[derive(Debug, Args)]
pub struct VerifyArgs {
    /// The dump: raw bytes, hexadecimal text, a C array or Intel HEX.
    #[arg(value_name = "DUMP")]
    dump: PathBuf,
    #[command(flatten)]
    project: ProjectArgs,
    /// The form of the dump; detected from its content otherwise.
    #[arg(long = "as", value_enum, value_name = "FORM")]
    form: Option<Form>,
    /// Compare with these screens only; all of them otherwise. May be repeated.
    #[arg(long = "screen", value_name = "ID")]
    screens: Vec<String>,
    /// Compare with this locale only; all of them otherwise.
    #[arg(long)]
    locale: Option<String>,
    /// Which values the fields have.
    #[arg(long, value_enum, default_value_t = Show::Sample)]
    values: Show,
    #[command(flatten)]
    packing: PackingArgs,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t, help_heading = "Output")]
    format: Format,
    /// Write difference.png to this folder where the dump differs.
    #[arg(long, value_name = "FOLDER", help_heading = "Output")]
    out: Option<PathBuf>,
    /// Overwrite files that inkjoule did not write.
    #[arg(long, help_heading = "Output")]
    force: bool,
}

/// Compares. The outcome is fine only if the dump is equal and packed as it should be.
///
/// # Errors
/// When the project or the dump cannot be read, or the dump's size suits no packing.
pub fn run(args: &VerifyArgs) -> Result {
    let loaded = open(&args.project)?;
    let device = &loaded.device;
    let question = Question {
        device,
        screens: screens(device, &args.screens)?,
        locales: locales(device, args.locale.as_deref())?,
        values: args.values.values(device),
        packing: args.packing.over(&device.panel),
    };
    let bytes = bytes(args)?;
    let answer = verify(&question, &bytes);
    if answer.as_ref().is_none_or(|answer| answer.changed > 0)
        && let Some(found) = transported(&question, &bytes, answer.as_ref().map(|answer| answer.changed))
    {
        match args.format {
            Format::Text => super::print_fitted(&format!("{}\n", moved(&loaded, &question, &found)))?,
            Format::Json => print_json(&moved_json(&loaded, &question, &found))?,
        }
        return Ok(Outcome::Broken);
    }
    let Some(answer) = answer else {
        let size = device.panel.size();
        let expected = question.packing.size(size.width, size.height).unwrap_or(0);
        let fault = Fault::plain(format!("the dump has {} bytes, an image of this panel {expected}", bytes.len()));
        return Err(fault.help("say how the dump is written with --as, or give its stride with --stride").into());
    };
    if let (Some(out), true) = (&args.out, answer.changed > 0) {
        let Some(png) = picture::difference(&answer.expected, &answer.found, 2) else {
            return Err(Fault::plain("cannot make the image of the differences").into());
        };
        output::write_set(out, &[("difference.png".to_owned(), png)], Overwrite::of(args.force))?;
    }
    match args.format {
        Format::Text => print_text(&loaded, &answer)?,
        Format::Json => print_json(&json_text(&loaded, &answer))?,
    }
    Ok(if answer.equal() { Outcome::Fine } else { Outcome::Broken })
}

/// What happened to a dump on its way.
fn moved(loaded: &Loaded, question: &Question<'_>, found: &Transported) -> String {
    let screen = found.screen.map(|(screen, locale)| called(loaded, screen, locale)).unwrap_or_default();
    found.words(&screen, &question.packing)
}

fn moved_json(loaded: &Loaded, question: &Question<'_>, found: &Transported) -> String {
    let device = &loaded.device;
    let value = json!({
        "schema": 1,
        "equal": false,
        "resembles": found.screen.is_some(),
        "screen": found.screen.map(|(screen, _)| device.screens[screen.0].id.as_str()),
        "locale": found.screen.map(|(_, locale)| device.locales[locale].as_str()),
        "transport": found.way,
        "bits_that_differ": found.differ,
        "bits_compared": found.compared,
        "words": moved(loaded, question, found),
    });
    format!("{value:#}\n")
}

fn bytes(args: &VerifyArgs) -> std::result::Result<Vec<u8>, Fault> {
    let name = args.dump.display();
    let fail = |why: std::io::Error| Fault::plain(format!("cannot read {name}: {why}"));
    // A pipe may never end, and opening one waits for its writer.
    if !std::fs::metadata(&args.dump).map_err(fail)?.is_file() {
        let fault = Fault::plain(format!("cannot read {name}: it is not a plain file"));
        return Err(fault.help("save the dump to a file first"));
    }
    let mut file = Vec::new();
    // Text takes up to six characters a byte.
    let most = 8 * LARGEST as u64;
    std::fs::File::open(&args.dump).map_err(fail)?.take(most + 1).read_to_end(&mut file).map_err(fail)?;
    if file.len() as u64 > most {
        return Err(Fault::plain(format!("{name} is too large: a dump may have at most {LARGEST} bytes")));
    }
    let form = args.form.unwrap_or_else(|| guess(&file));
    read(&file, form).map_err(|why| Fault::plain(format!("cannot read {name}: {why}")))
}

/// How a screen in a locale is called.
fn called(loaded: &Loaded, screen: ScreenId, locale: usize) -> String {
    let id = &loaded.device.screens[screen.0].id;
    match loaded.device.locales[locale].as_str() {
        "" => format!("`{id}`"),
        locale => format!("`{id}` ({locale})"),
    }
}

/// The packing of the answer as it is written in the project, without the mounting.
fn own_packing(loaded: &Loaded, answer: &Answer) -> Packing {
    let panel = &loaded.device.panel;
    let plain = || unmounted_packing(&answer.packing, panel.mounted, panel.mirrored);
    let own = if answer.as_packed { plain() } else { profile_packing(panel, &answer.packing).unwrap_or_else(plain) };
    let Packing { stride, planes, interleave, .. } = answer.packing;
    Packing { stride, planes, interleave, ..own }
}

fn print_text(loaded: &Loaded, answer: &Answer) -> std::result::Result<(), Stop> {
    let screen = called(loaded, answer.screen, answer.locale);
    super::print_fitted(&compared(answer, &screen))?;
    if !answer.resembles() {
        return Ok(());
    }
    if !answer.as_packed {
        print_packing("the bytes are in this order", &own_packing(loaded, answer))?;
    }
    super::print_fitted(&answer.regions.iter().map(|region| differs(loaded, answer, region)).collect::<String>())
}

/// Which screen the dump is like, and how much.
fn compared(answer: &Answer, screen: &str) -> String {
    let whole = u64::from(answer.expected.width()) * u64::from(answer.expected.height());
    if !answer.resembles() {
        return format!(
            "nothing resembles the dump: {:.0} % of the pixels differ from {screen}, the closest; at most {:.0} % count as a match\n",
            answer.share() * 100.0,
            RESEMBLES * 100.0
        );
    }
    match answer.changed {
        0 if answer.as_packed => format!("equal to {screen}\n"),
        0 => format!("equal to {screen}, but in another packing\n"),
        changed => format!("most like {screen}: {changed} of {whole} pixels differ\n"),
    }
}

/// A region that differs, with the elements that lie there.
fn differs(loaded: &Loaded, answer: &Answer, region: &Region) -> String {
    let area = &region.area;
    format!(
        "  {} x {} at {}, {}: {} pixels, {}\n",
        area.size.width,
        area.size.height,
        area.top_left.x,
        area.top_left.y,
        region.changed,
        elements(loaded, answer, region).join(", ")
    )
}

/// The elements of a region: their names, or their places in the files.
fn elements(loaded: &Loaded, answer: &Answer, region: &Region) -> Vec<String> {
    let items = &loaded.device.screens[answer.screen.0].pictures[answer.locale];
    let name = |index: &usize| {
        let item = items.get(*index)?;
        let place = loaded.sources.place(&item.span);
        Some(if item.name.is_empty() {
            format!("the element at {place}")
        } else {
            format!("`{}` at {place}", item.name)
        })
    };
    let names: Vec<String> = region.items.iter().filter_map(name).collect();
    if names.is_empty() { vec!["no element".to_owned()] } else { names }
}

fn json_text(loaded: &Loaded, answer: &Answer) -> String {
    let region = |region: &Region| {
        let mut row = rectangle_json(&region.area);
        row["changed_px"] = json!(region.changed);
        row["elements"] = json!(elements(loaded, answer, region));
        row
    };
    let value = json!({
        "schema": 1,
        "equal": answer.equal(),
        "resembles": answer.resembles(),
        "screen": loaded.device.screens[answer.screen.0].id,
        "locale": loaded.device.locales[answer.locale],
        "as_packed": answer.as_packed,
        "packing": answer.resembles().then(|| own_packing(loaded, answer)),
        "changed_px": answer.changed,
        "regions": answer.regions.iter().filter(|_| answer.resembles()).map(region).collect::<Vec<_>>(),
    });
    format!("{value:#}\n")
}

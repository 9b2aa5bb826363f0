//! `bringup`: images for the first light of a new board, and what they tell about its packing.

use super::args::ProjectArgs;
use super::packing::{PackingArgs, print_packing};
use super::{Outcome, Result, Stop, open, print};
use crate::bringup::orientation::orientation;
use crate::bringup::patterns::{Pattern, patterns};
use crate::bringup::questions::{QUESTIONS, Question, best, keep, question};
use crate::bringup::windows::{every_origin, other_order};
use crate::bringup::{Seen, every_look, sheet};
use crate::device::Device;
use crate::export::Files;
use crate::export::c::rows::rows;
use crate::export::c::{Gallery, NamedPicture};
use crate::firmware::names::identifier;
use crate::frame::pack::pack;
use crate::frame::{Frame, Packing, files};
use crate::hardware::packing::profile_packing;
use crate::output::{self, Overwrite};
use crate::source::fault::{Fault, nearest};
use crate::units::{Bytes, count};
use clap::Args;
use std::io::BufRead;
use std::path::PathBuf;

/// Arguments of `bringup`.
#[derive(Debug, Args)]
pub struct BringupArgs {
    #[command(flatten)]
    project: ProjectArgs,
    /// Find the packing from what the display shows: answers such as shapes=scrambled,ground=black; without them, questions
    /// on the terminal.
    #[arg(long, value_name = "ANSWERS", num_args = 0..=1, default_missing_value = "", require_equals = true)]
    seen: Option<String>,
    #[command(flatten)]
    packing: PackingArgs,
    /// The folder to write to.
    #[arg(long, value_name = "FOLDER", default_value = "bringup", help_heading = "Output")]
    out: PathBuf,
    /// Overwrite files that inkjoule did not write.
    #[arg(long, help_heading = "Output")]
    force: bool,
}

/// Writes the test set and the sheet, or answers what is seen.
///
/// # Errors
/// When the project, an answer, the packing or the folder cannot be used.
pub fn run(args: &BringupArgs) -> Result {
    let mut loaded = open(&args.project)?;
    // What the command line says of the packing counts like the profile, for origins and planes, too.
    loaded.device.panel.packing = args.packing.over(&loaded.device.panel);
    let device = &loaded.device;
    let packing = &device.panel.packing;
    let size = device.panel.size();
    packing.size(size.width, size.height).map_err(|why| Fault::plain(format!("cannot pack the images: {why}")))?;
    let picture = orientation(size.width, size.height);
    let looks = every_look(&picture, packing);
    match &args.seen {
        None => write(args, device, packing, &looks),
        Some(answers) if answers.is_empty() => ask(device, looks, &picture),
        Some(answers) => answer(device, looks, &picture, answers),
    }
}

fn write(args: &BringupArgs, device: &Device, packing: &Packing, looks: &[Seen]) -> Result {
    let set = patterns(device);
    let png = |frame: &Frame| files::png(frame, 1).map_err(|why| Fault::plain(format!("cannot make the PNG: {why}")));
    let (mut outputs, flash): (Files, usize) = rows(&Gallery {
        title: format!("{}: images for first light", device.name),
        note: device.note.clone(),
        prefix: "bringup".into(),
        section: None,
        size: device.panel.size(),
        packing: packing.clone(),
        pictures: set.iter().map(|pattern| shown(pattern, packing)).collect::<std::result::Result<_, Fault>>()?,
    });
    for pattern in &set {
        outputs.push((format!("patterns/{}.png", pattern.name), png(&pattern.frame)?));
        outputs.push((format!("patterns/{}.bin", pattern.name), shown(pattern, packing)?.bytes));
    }
    for seen in looks {
        outputs.push((format!("seen/{:02}.png", seen.number), png(&seen.frame)?));
    }
    for landed in every_origin(device) {
        outputs.push((format!("origin/{}.png", landed.corner.words().replace(' ', "-")), png(&landed.frame)?));
    }
    if let Some((_, frame)) = other_order(device) {
        outputs.push(("origin/other-order.png".into(), png(&frame)?));
    }
    outputs.push(("sheet.png".into(), sheet::png(looks)?));
    outputs.push(("sheet.html".into(), sheet::html(device, looks, &set).into_bytes()));
    output::write_set(&args.out, &outputs, Overwrite::of(args.force))?;
    super::print_fitted(&format!(
        "{} in {}; bringup.c has all {} images in {} of flash. Send the orientation image to the display and look at \
         sheet.html\n",
        count(outputs.len(), "file", "files"),
        args.out.display(),
        set.len(),
        Bytes(flash as f64)
    ))?;
    Ok(Outcome::Fine)
}

fn shown(pattern: &Pattern, packing: &Packing) -> std::result::Result<NamedPicture, Fault> {
    let bytes = pack(&pattern.frame, packing).map_err(|why| Fault::plain(format!("cannot pack the images: {why}")))?;
    Ok(NamedPicture { name: identifier(&pattern.name), about: format!("{}: {}", pattern.name, pattern.about), bytes })
}

/// Answers from the command line.
fn answer(device: &Device, mut looks: Vec<Seen>, picture: &Frame, answers: &str) -> Result {
    for pair in answers.split(',').map(str::trim).filter(|pair| !pair.is_empty()) {
        let (key, word) = pair.split_once('=').unwrap_or((pair, ""));
        let Some(question) = question(key.trim()) else {
            let help = nearest(key, QUESTIONS.iter().map(|question| question.key)).unwrap_or_default();
            return Err(Fault::plain(format!("there is no question `{key}`")).help(help).into());
        };
        looks = keep(looks, picture, question, chosen(question, word)?);
    }
    result(device, &looks, picture)
}

fn chosen(question: &Question, word: &str) -> std::result::Result<usize, Stop> {
    let word = word.trim();
    let by_number =
        word.parse::<usize>().ok().and_then(|number| number.checked_sub(1)).filter(|at| *at < question.answers.len());
    let found = question.answers.iter().position(|answer| *answer == word).or(by_number);
    found.ok_or_else(|| {
        let fault = Fault::plain(format!("`{word}` is not an answer to `{}`", question.key));
        fault.help(format!("answer one of {}", question.answers.join(", "))).into()
    })
}

/// Questions on the terminal, as few as needed.
fn ask(device: &Device, mut looks: Vec<Seen>, picture: &Frame) -> Result {
    let mut lines = std::io::stdin().lock().lines();
    while let Some(question) = best(&looks, picture).filter(|_| looks.len() > 1) {
        super::print_fitted(&format!("{}\n", question.ask))?;
        for (number, word) in question.answers.iter().enumerate() {
            super::print_fitted(&format!("  {} {word}\n", number + 1))?;
        }
        let Some(Ok(line)) = lines.next() else { break };
        looks = keep(looks, picture, question, chosen(question, &line)?);
    }
    result(device, &looks, picture)
}

fn result(device: &Device, looks: &[Seen], picture: &Frame) -> Result {
    if looks.is_empty() {
        print("No packing looks like that. Look again, or see the sheet that `bringup` writes.\n")?;
        return Ok(Outcome::Broken);
    }
    for seen in looks {
        let own = profile_packing(&device.panel, &seen.packing).unwrap_or_else(|| seen.packing.clone());
        let right = if seen.right { " (as it is now)" } else { "" };
        print_packing(&format!("image {:>2}{right}", seen.number), &own)?;
    }
    if let Some(question) = best(looks, picture).filter(|_| looks.len() > 1) {
        super::print_fitted(&format!(
            "{} of the 64 are left; also answer {}: {}\n",
            looks.len(),
            question.key,
            question.answers.join(", ")
        ))?;
    }
    Ok(Outcome::Fine)
}

//! `check --baseline`: the screens against accepted frames, in every locale, and the separate step that accepts them.
//! Not for comparing the frames; [`crate::verify::baseline`] does.

use super::Stop;
use crate::frame::rectangle_json;
use crate::output::Overwrite;
use crate::project::Loaded;
use crate::sarif::ACCEPTED;
use crate::source::fault::Fault;
use crate::units::count;
use crate::verify::baseline::{Comparison, ScreenChange, accept, compare, pictures};
use clap::Args;
use serde_json::{Value, json};
use std::path::PathBuf;

/// Pixels of a change's image for each pixel of the screen.
const SCALE: u32 = 2;

/// Arguments about accepted frames.
#[derive(Clone, Debug, Default, Args)]
#[command(next_help_heading = "Accepted frames")]
pub struct BaselineArgs {
    /// Compare every screen in every locale, with sample values, with the frames that were accepted in this folder.
    #[arg(long, value_name = "FOLDER", conflicts_with = "locale")]
    baseline: Option<PathBuf>,
    /// Accept the frames as they are now, instead of comparing.
    #[arg(long, requires = "baseline")]
    accept: bool,
}

/// What is there to tell about accepted frames.
pub enum Told {
    /// Nothing was asked.
    Nothing,
    /// So many frames were accepted.
    Accepted(usize),
    /// A comparison.
    Compared(Comparison),
}

/// Compares or accepts, as the arguments want it. The project has been read without an error.
///
/// # Errors
/// When the folder is no baseline, or cannot be read or written.
pub fn told(loaded: &Loaded, args: &BaselineArgs, overwrite: Overwrite) -> std::result::Result<Told, Stop> {
    Ok(match &args.baseline {
        None => Told::Nothing,
        Some(folder) if args.accept => Told::Accepted(accept(&loaded.device, folder, overwrite)?),
        Some(folder) => Told::Compared(compare(&loaded.device, folder)?),
    })
}

impl Told {
    /// Whether the screens are not as accepted.
    pub fn differs(&self) -> bool {
        matches!(self, Self::Compared(comparison) if !comparison.changes.is_empty() || !comparison.gone.is_empty())
    }

    /// An image of each change, by file name.
    pub fn pictures(&self) -> Vec<(String, Vec<u8>)> {
        match self {
            Self::Compared(comparison) => {
                let inside = |(name, bytes)| (format!("changed/{name}"), bytes);
                pictures(comparison, SCALE).into_iter().map(inside).collect()
            }
            _ => Vec::new(),
        }
    }

    /// In words; empty where nothing was asked.
    pub fn text(&self, loaded: &Loaded) -> String {
        match self {
            Self::Nothing => String::new(),
            Self::Accepted(frames) => format!("{} accepted\n", count(*frames, "frame", "frames")),
            Self::Compared(comparison) => {
                let mut text: String = comparison.changes.iter().map(|change| line(loaded, change)).collect();
                text += &comparison.gone.iter().map(|file| format!("gone: {file}\n")).collect::<String>();
                let (changed, same) = (comparison.changes.len(), comparison.same);
                text + &format!(
                    "{} as accepted, {changed} changed or new, {} gone\n",
                    count(same, "frame", "frames"),
                    comparison.gone.len()
                )
            }
        }
    }

    /// Each difference as a finding, at the first element concerned.
    pub fn faults(&self, loaded: &Loaded) -> Vec<Fault> {
        let Self::Compared(comparison) = self else { return Vec::new() };
        let gone = comparison.gone.iter().map(|file| Fault::plain(format!("the screen of {file} is gone")));
        let changed = comparison.changes.iter().map(|change| difference(loaded, change));
        changed.chain(gone).map(|fault| fault.lint(ACCEPTED)).collect()
    }

    /// The same for programs; `null` where nothing was asked.
    pub fn json(&self, loaded: &Loaded) -> Value {
        match self {
            Self::Nothing => Value::Null,
            Self::Accepted(count) => json!({ "accepted": count }),
            Self::Compared(comparison) => json!({
                "same": comparison.same,
                "changes": comparison.changes.iter().map(|change| change_json(loaded, change)).collect::<Vec<_>>(),
                "gone": comparison.gone,
            }),
        }
    }
}

fn line(loaded: &Loaded, change: &ScreenChange) -> String {
    if change.accepted.is_none() {
        return format!("new: {}\n", change.file);
    }
    let mut text = format!("changed: {}, {}\n", change.file, count(change.changed as usize, "pixel", "pixels"));
    for region in &change.regions {
        let area = &region.area;
        text += &format!(
            "  {} x {} at {}, {}: {}\n",
            area.size.width,
            area.size.height,
            area.top_left.x,
            area.top_left.y,
            names(loaded, change, &region.items).join(", ")
        );
    }
    text
}

fn difference(loaded: &Loaded, change: &ScreenChange) -> Fault {
    let screen = &loaded.device.screens[change.screen.0];
    let first = change.regions.iter().flat_map(|region| &region.items).next();
    let item = first.and_then(|index| screen.pictures[change.locale].get(*index));
    let message = match change.accepted.is_none() {
        true => format!("{} is new", change.file),
        false => format!("{} is not as accepted: {}", change.file, count(change.changed as usize, "pixel", "pixels")),
    };
    Fault::at(item.map_or_else(|| screen.span.clone(), |item| item.span.clone()), message)
}

/// What the elements of a region are called.
fn names(loaded: &Loaded, change: &ScreenChange, items: &[usize]) -> Vec<String> {
    let all = &loaded.device.screens[change.screen.0].pictures[change.locale];
    let named: Vec<String> = items.iter().filter_map(|index| Some(all.get(*index)?.called())).collect();
    if named.is_empty() { vec!["no element".to_owned()] } else { named }
}

fn change_json(loaded: &Loaded, change: &ScreenChange) -> Value {
    let region = |region: &crate::verify::regions::Region| {
        let mut row = rectangle_json(&region.area);
        row["changed_px"] = json!(region.changed);
        row["elements"] = json!(names(loaded, change, &region.items));
        row
    };
    json!({
        "screen": loaded.device.screens[change.screen.0].id,
        "locale": loaded.device.locales[change.locale],
        "file": change.file,
        "new": change.accepted.is_none(),
        "changed_px": change.changed,
        "regions": change.regions.iter().map(region).collect::<Vec<_>>(),
    })
}

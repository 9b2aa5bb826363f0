//! Accepted frames in a folder, and what has changed since.
//!
//! A baseline is a folder of PBM files, one for each screen in each locale, named `LOCALE/SCREEN.pbm`, or
//! `SCREEN.pbm` where there is one locale, and of [`MARK`], which says so. Accepting is a separate step; comparing writes
//! nothing.

use super::picture::difference;
use super::regions::{Region, regions};
use crate::device::Device;
use crate::frame::{Frame, files};
use crate::output::{Overwrite, RECORD, remove_own, write_set};
use crate::screen::ScreenId;
use crate::source::fault::Fault;
use std::path::Path;

/// The file that makes a folder a baseline.
pub const MARK: &str = "about.txt";

/// What the mark says.
const MARK_TEXT: &str = "Accepted frames of every screen, written and compared by inkjoule.\n";

/// One screen that is not as it was accepted.
#[derive(Debug)]
pub struct ScreenChange {
    /// The screen.
    pub screen: ScreenId,
    /// The locale, as a position.
    pub locale: usize,
    /// Its file in the baseline.
    pub file: String,
    /// How it was accepted; `None` for a screen that is new.
    pub accepted: Option<Frame>,
    /// How it is now.
    pub now: Frame,
    /// Pixels that differ; all of them if it is new or of another size.
    pub changed: u64,
    /// Where, and the elements there; none if it is new or of another size.
    pub regions: Vec<Region>,
}

/// A comparison with a baseline.
#[derive(Debug, Default)]
pub struct Comparison {
    /// Screens that are as accepted.
    pub same: usize,
    /// Screens that are not, in order.
    pub changes: Vec<ScreenChange>,
    /// Files of the baseline whose screens are gone.
    pub gone: Vec<String>,
}

fn file(device: &Device, screen: ScreenId, locale: usize) -> String {
    let id = &device.screens[screen.0].id;
    if device.locales.len() > 1 { format!("{}/{id}.pbm", device.locales[locale]) } else { format!("{id}.pbm") }
}

/// Every screen in every locale with sample values, and its file.
fn frames(device: &Device) -> Vec<(ScreenId, usize, String, Frame)> {
    let values = device.sample();
    let places = (0..device.locales.len())
        .flat_map(|locale| (0..device.screens.len()).map(move |screen| (ScreenId(screen), locale)));
    places
        .map(|(screen, locale)| (screen, locale, file(device, screen, locale), device.draw(screen, locale, &values)))
        .collect()
}

/// Compares all screens, with sample values, with a folder of accepted frames.
///
/// # Errors
/// When the folder is not there, or a file in it cannot be read.
pub fn compare(device: &Device, folder: &Path) -> Result<Comparison, Fault> {
    if !folder.is_dir() {
        return Err(
            Fault::plain(format!("there is no folder {}", folder.display())).help("accept the frames of today first")
        );
    }
    if !is_baseline(folder) {
        return Err(not_one(folder));
    }
    let values = device.sample();
    let mut comparison = Comparison::default();
    let mut known = Vec::new();
    for (screen, locale, file, now) in frames(device) {
        let path = folder.join(&file);
        let accepted = match std::fs::read(&path) {
            Ok(bytes) => {
                Some(files::read_frame(&bytes).map_err(|why| Fault::plain(format!("{}: {why}", path.display())))?)
            }
            Err(why) if why.kind() == std::io::ErrorKind::NotFound => None,
            Err(why) => return Err(Fault::plain(format!("cannot read {}: {why}", path.display()))),
        };
        known.push(file.clone());
        let all = u64::from(now.width()) * u64::from(now.height());
        let changed = accepted.as_ref().map_or(all, |accepted| accepted.changed_pixels(&now).unwrap_or(all));
        if changed == 0 {
            comparison.same += 1;
            continue;
        }
        let items = &device.screens[screen.0].pictures[locale];
        let regions = accepted.as_ref().map(|accepted| regions(items, &values, accepted, &now)).unwrap_or_default();
        comparison.changes.push(ScreenChange { screen, locale, file, accepted, now, changed, regions });
    }
    comparison.gone = present(folder)?.into_iter().filter(|name| !known.contains(name)).collect();
    Ok(comparison)
}

/// Whether a folder holds accepted frames.
fn is_baseline(folder: &Path) -> bool {
    std::fs::read(folder.join(MARK)).is_ok_and(|text| text == MARK_TEXT.as_bytes())
}

fn not_one(folder: &Path) -> Fault {
    let fault = Fault::plain(format!("{} holds other files, not accepted frames", folder.display()));
    fault.help("name another folder")
}

/// Whether nothing would be mixed with accepted frames: the folder is a baseline, or is empty, or is not there.
fn is_free(folder: &Path) -> Result<bool, Fault> {
    match std::fs::read_dir(folder) {
        Ok(entries) => Ok(is_baseline(folder) || entries.flatten().all(|entry| entry.file_name() == RECORD)),
        Err(why) if why.kind() == std::io::ErrorKind::NotFound => Ok(true),
        Err(why) => Err(Fault::plain(format!("cannot read the folder {}: {why}", folder.display()))),
    }
}

/// PBM files of a baseline, by name.
fn present(folder: &Path) -> Result<Vec<String>, Fault> {
    let read = |folder: &Path| {
        let fail = |why: std::io::Error| Fault::plain(format!("cannot read the folder {}: {why}", folder.display()));
        let entries = std::fs::read_dir(folder).map_err(fail)?.collect::<Result<Vec<_>, _>>().map_err(fail)?;
        Ok::<_, Fault>(
            entries
                .into_iter()
                .map(|entry| (entry.file_name().to_string_lossy().into_owned(), entry.path()))
                .collect::<Vec<_>>(),
        )
    };
    let mut names = Vec::new();
    for (name, path) in read(folder)? {
        if path.is_dir() {
            names.extend(read(&path)?.into_iter().map(|(inner, _)| format!("{name}/{inner}")));
        } else {
            names.push(name);
        }
    }
    names.retain(|name| name.ends_with(".pbm"));
    names.sort();
    Ok(names)
}

/// Makes the frames of today the accepted ones; those of screens that are gone are removed. Returns how many there are.
///
/// # Errors
/// When the folder holds other files, cannot be written, or a frame in it was changed by others.
pub fn accept(device: &Device, folder: &Path, overwrite: Overwrite) -> Result<usize, Fault> {
    if !is_free(folder)? {
        return Err(not_one(folder));
    }
    let mut files: Vec<(String, Vec<u8>)> = vec![(MARK.to_owned(), MARK_TEXT.into())];
    files.extend(frames(device).into_iter().map(|(_, _, file, frame)| (file, files::pbm(&frame))));
    write_set(folder, &files, overwrite)?;
    let gone = present(folder)?.into_iter().filter(|name| !files.iter().any(|(known, _)| known == name));
    remove_own(folder, &gone.collect::<Vec<_>>())?;
    Ok(files.len() - 1)
}

/// A picture of each change, by file name: what is gone in blue, what is new in orange.
pub fn pictures(comparison: &Comparison, scale: u32) -> Vec<(String, Vec<u8>)> {
    let picture = |change: &ScreenChange| {
        let blank = Frame::new(change.now.width(), change.now.height());
        let png = difference(change.accepted.as_ref().unwrap_or(&blank), &change.now, scale)?;
        Some((change.file.replace(".pbm", ".png"), png))
    };
    comparison.changes.iter().filter_map(picture).collect()
}

//! What a swept input is in the project as it stands: the design point.

use crate::device::Device;
use crate::hardware::profiles;
use crate::project::set;
use crate::source::files::Files;
use crate::units::symbols::{factor, from_si, number};
use toml_edit::{DocumentMut, Item};

/// The value at a path, as a number in a unit; `None` where the project does not say it.
pub fn now(device: &Device, files: &Files, path: &str, unit: &str) -> Option<f64> {
    let row = device.inputs.rows().iter().find(|row| row.path == path);
    if let Some(found) = row.and_then(|row| from_si(row.typ, row.si, unit)) {
        return Some(found);
    }
    said(files, path, |item| number_of(item, unit))
}

/// The word at a path, such as a profile's name; `None` where the project does not say it.
pub fn word(files: &Files, path: &str) -> Option<String> {
    said(files, path, |item| item.as_str().map(str::to_owned))
}

/// What the project or its profile says at a path.
fn said<T>(files: &Files, path: &str, pick: impl Fn(&Item) -> Option<T>) -> Option<T> {
    let names = set::names(path).ok()?;
    let (file, keys) = set::placed(&names);
    let document: DocumentMut = std::str::from_utf8(files.bytes(&file)?).ok()?.parse().ok()?;
    if let Some(found) = at(document.as_item(), &keys).and_then(&pick) {
        return Some(found);
    }
    let (table, folder) =
        [("panel", "panels"), ("battery", "batteries")].into_iter().find(|(table, _)| *table == keys[0])?;
    let from = document.get(table)?.get("from")?.as_str()?;
    let own = files.bytes(&format!("{folder}/{from}.toml")).and_then(|bytes| std::str::from_utf8(bytes).ok());
    let profile: DocumentMut = match own {
        Some(text) => text.parse().ok()?,
        None => profiles::whole(folder, from)?.parse().ok()?,
    };
    at(profile.as_item(), &keys[1..]).and_then(pick)
}

fn at<'a>(item: &'a Item, keys: &[&str]) -> Option<&'a Item> {
    let mut at = item;
    for key in keys {
        at = match key.parse::<usize>() {
            Ok(position) if at.is_array() || at.is_array_of_tables() => at.get(position)?,
            _ => at.get(*key)?,
        };
    }
    Some(at)
}

fn number_of(item: &Item, unit: &str) -> Option<f64> {
    let value = item.get("typ").unwrap_or(item);
    if let Some(text) = value.as_str() {
        let (number, symbol) = number(text)?;
        return factor(symbol, unit).map(|factor| number * factor);
    }
    let plain = value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64))?;
    unit.is_empty().then_some(plain)
}

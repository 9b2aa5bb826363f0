//! What a swept input is in the project as it stands: the design point.

use crate::device::Device;
use crate::hardware::profiles;
use crate::source::files::Files;
use crate::units::symbols::{factor, from_si, number};
use toml_edit::{DocumentMut, Item};

/// The value at a path, as a number in a unit; `None` where the project does not say it.
pub fn now(device: &Device, files: &Files, path: &str, unit: &str) -> Option<f64> {
    let row = device.inputs.rows().iter().find(|row| row.path == path);
    if let Some(found) = row.and_then(|row| from_si(row.typ, row.si, unit)) {
        return Some(found);
    }
    let mut keys: Vec<&str> = path.split('.').map(str::trim).collect();
    let file = match keys[0] {
        folder @ ("screens" | "parts" | "strings") if keys.len() > 2 => {
            let file = format!("{folder}/{}.toml", keys[1]);
            keys.drain(..2);
            file
        }
        _ => "device.toml".to_owned(),
    };
    let document: DocumentMut = std::str::from_utf8(files.bytes(&file)?).ok()?.parse().ok()?;
    if let Some(found) = read(document.as_item(), &keys, unit) {
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
    read(profile.as_item(), &keys[1..], unit)
}

fn read(item: &Item, keys: &[&str], unit: &str) -> Option<f64> {
    let mut at = item;
    for key in keys {
        at = match key.parse::<usize>() {
            Ok(position) if at.is_array() || at.is_array_of_tables() => at.get(position)?,
            _ => at.get(*key)?,
        };
    }
    let value = at.get("typ").unwrap_or(at);
    if let Some(text) = value.as_str() {
        let (number, symbol) = number(text)?;
        return factor(symbol, unit).map(|factor| number * factor);
    }
    let plain = value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64))?;
    unit.is_empty().then_some(plain)
}

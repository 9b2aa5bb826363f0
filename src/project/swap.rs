//! Another panel or battery in a project: its table starts from another profile instead.

use crate::hardware::profiles;
use crate::source::fault::{Fault, nearest};
use crate::source::files::Files;
use toml_edit::{DocumentMut, Item, Table, value};

/// What is swapped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Swapped {
    /// The panel; how it is mounted and its rail stay.
    Panel,
    /// The battery.
    Battery,
}

impl Swapped {
    /// The part whose profile a path names, as `battery.from`.
    pub fn named_by(path: &str) -> Option<Self> {
        let names = super::set::names(path).ok()?;
        [Self::Panel, Self::Battery].into_iter().find(|part| names == [part.table(), "from"])
    }

    /// Its table in `device.toml`.
    pub fn table(self) -> &'static str {
        match self {
            Self::Panel => "panel",
            Self::Battery => "battery",
        }
    }

    fn folder(self) -> &'static str {
        match self {
            Self::Panel => "panels",
            Self::Battery => "batteries",
        }
    }

    /// What belongs to the instrument rather than to the part.
    fn stays(self) -> &'static [&'static str] {
        match self {
            Self::Panel => &["mounted", "mirrored", "rail"],
            Self::Battery => &[],
        }
    }
}

/// The project with the table of a part replaced by a profile. Values that the project laid over its old profile
/// belonged to the old part and go with it.
///
/// # Errors
/// When there is no such profile, or `device.toml` is not well-formed.
pub fn swap(files: &Files, part: Swapped, profile: &str) -> Result<Files, Fault> {
    let (table, folder) = (part.table(), part.folder());
    let mut known = files.toml_in(folder);
    known.extend(profiles::names(folder).map(str::to_owned));
    if !known.iter().any(|name| name == profile) {
        let fault = Fault::plain(format!("there is no {table} profile `{profile}`"));
        return Err(fault.help(nearest(profile, known.iter().map(String::as_str)).unwrap_or_default()));
    }
    let text = files.bytes("device.toml").and_then(|bytes| std::str::from_utf8(bytes).ok()).unwrap_or_default();
    let mut document: DocumentMut = text.parse().map_err(|_| {
        Fault::plain(format!("{} is not well-formed TOML", files.shown("device.toml"))).help("run `inkjoule check`")
    })?;
    let mut fresh = Table::new();
    fresh.insert("from", value(profile));
    let old = document.get(table).and_then(Item::as_table_like);
    for key in part.stays() {
        if let Some(item) = old.and_then(|old| old.get(key)) {
            fresh.insert(key, item.clone());
        }
    }
    document.insert(table, Item::Table(fresh));
    let mut swapped = files.clone();
    swapped.replace("device.toml", document.to_string());
    Ok(swapped)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_instrument_stays_and_the_part_goes() {
        let text =
            "name = 'x'\n[panel]\nfrom = 'old'\nmounted = 90\nrail = 'r'\nsleep = '1 uA'\n[panel.full]\nplanes = 2\n";
        let files = Files::from_memory([("device.toml", text), ("panels/mine.toml", "")]);
        let swapped = swap(&files, Swapped::Panel, "mine").expect("a profile of the project");
        let document: DocumentMut = String::from_utf8_lossy(swapped.bytes("device.toml").unwrap()).parse().unwrap();
        let keys: Vec<&str> = document["panel"].as_table().unwrap().iter().map(|(key, _)| key).collect();
        assert_eq!(keys, ["from", "mounted", "rail"]);
        assert_eq!(document["panel"]["from"].as_str(), Some("mine"));
    }

    #[test]
    fn unknown_profiles_are_refused_with_the_nearest() {
        let files = Files::from_memory([("device.toml", "")]);
        let fault = swap(&files, Swapped::Panel, "mono-296x127").expect_err("no such profile");
        assert_eq!(fault.help.as_deref(), Some("did you mean `mono-296x128`?"));
    }
}

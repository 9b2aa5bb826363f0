//! Built-in profiles of panels and batteries under neutral names, written in the project's own format.

/// Folder, name and text of each profile.
pub const PROFILES: &[(&str, &str, &str)] = &[
    ("panels", "mono-2in9", include_str!("panels/mono-2in9.toml")),
    ("batteries", "lithium-ion-pouch", include_str!("batteries/lithium-ion-pouch.toml")),
];

/// A profile's text.
pub fn text(folder: &str, name: &str) -> Option<&'static str> {
    PROFILES.iter().find(|(of, known, _)| *of == folder && *known == name).map(|(_, _, text)| *text)
}

/// Names of the profiles in a folder.
pub fn names(folder: &str) -> impl Iterator<Item = &'static str> {
    PROFILES.iter().filter(move |(of, ..)| *of == folder).map(|(_, name, _)| *name)
}

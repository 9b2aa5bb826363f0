//! Built-in profiles of panels and batteries under neutral names, written in the project's own format.
//!
//! A profile may start from another one with `from`, as a project's own table may start from a profile.

use toml_edit::{Decor, DocumentMut};

macro_rules! profiles {
    ($($folder:literal [$($name:literal)+])+) => {
        &[$($(($folder, $name, include_str!(concat!($folder, "/", $name, ".toml")))),+),+]
    };
}

/// Folder, name and text of each profile.
pub const PROFILES: &[(&str, &str, &str)] = profiles! {
    "panels" [
        "mono-128x96-full"
        "mono-200x200" "mono-200x200-full"
        "mono-250x122" "mono-250x122-full"
        "mono-296x152" "mono-296x152-full"
        "mono-296x128" "mono-296x128-full"
        "mono-480x280" "mono-480x280-full"
        "mono-400x300" "mono-400x300-full"
        "mono-648x480" "mono-648x480-full"
        "mono-800x480" "mono-800x480-full"
    ]
    "batteries" [
        "lithium-ion-pouch-250" "lithium-ion-pouch-250-4v0" "lithium-ion-pouch-250-4v2"
        "lithium-ion-pouch" "lithium-ion-pouch-4v0" "lithium-ion-pouch-4v2"
        "lithium-ion-pouch-2000" "lithium-ion-pouch-2000-4v0" "lithium-ion-pouch-2000-4v2"
        "lithium-iron-phosphate"
        "coin-20mm" "coin-24mm"
        "lithium-thionyl-half-aa" "lithium-iron-disulfide-2-aa" "nickel-metal-hydride-2-aa"
        "alkaline-2-aaa" "alkaline-2-aa" "alkaline-3-aaa" "alkaline-3-aa"
    ]
};

/// Profiles that one may start from, one after the other; a longer chain leads in a circle.
pub const LONGEST_CHAIN: usize = 8;

/// A profile's text.
pub fn text(folder: &str, name: &str) -> Option<&'static str> {
    PROFILES.iter().find(|(of, known, _)| *of == folder && *known == name).map(|(_, _, text)| *text)
}

/// Names of the profiles in a folder.
pub fn names(folder: &str) -> impl Iterator<Item = &'static str> {
    PROFILES.iter().filter(move |(of, ..)| *of == folder).map(|(_, name, _)| *name)
}

/// A profile with everything that it takes over from others, as one text with its comments.
pub fn whole(folder: &str, name: &str) -> Option<String> {
    let mut chain = vec![text(folder, name)?];
    let mut documents: Vec<DocumentMut> = vec![chain[0].parse().ok()?];
    while let Some(from) = documents.last().and_then(|document| document.get("from")?.as_str().map(str::to_owned)) {
        if chain.len() >= LONGEST_CHAIN {
            return None;
        }
        let base = text(folder, &from)?;
        chain.push(base);
        documents.push(base.parse().ok()?);
    }
    let mut base = documents.pop()?;
    while let Some(over) = documents.pop() {
        for (key, item) in over.iter().filter(|(key, _)| *key != "from") {
            base.insert(key, item.clone());
            // The comment above the value goes with it.
            let own = over.key(key).map(|own| own.leaf_decor().clone());
            let says = |decor: &Decor| {
                decor.prefix().and_then(|prefix| prefix.as_str()).is_some_and(|text| text.contains('#'))
            };
            if let (Some(mut place), Some(own)) = (base.key_mut(key), own.filter(says)) {
                *place.leaf_decor_mut() = own;
            }
        }
    }
    Some(base.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_whole_profile_needs_no_other() {
        for (folder, name, _) in PROFILES {
            let text = whole(folder, name).unwrap();
            assert!(!text.contains("from ="), "{folder}/{name}:\n{text}");
            assert!(text.contains("note ="), "{folder}/{name}");
        }
        let whole = whole("batteries", "lithium-ion-pouch-250-4v0").unwrap();
        assert!(whole.contains("charge-voltage = \"4.0 V\"") && whole.contains("250 mAh"), "{whole}");
        assert!(super::whole("panels", "nothing").is_none());
    }
}

//! The faces drawn for this project, compiled into the program.

use super::{Face, bdf};
use std::sync::{Arc, OnceLock};

/// Name and BDF text of each face that is stored.
pub const BUILTIN: &[(&str, &str)] = &[
    ("small", include_str!("../../../fonts/ink-small.bdf")),
    ("text", include_str!("../../../fonts/ink-text.bdf")),
    ("bold", include_str!("../../../fonts/ink-bold.bdf")),
    ("condensed", include_str!("../../../fonts/ink-condensed.bdf")),
    ("small-bold", include_str!("../../../fonts/ink-small-bold.bdf")),
    ("numerals", include_str!("../../../fonts/ink-numerals.bdf")),
    ("numerals-14", include_str!("../../../fonts/ink-numerals-14.bdf")),
    ("numerals-20", include_str!("../../../fonts/ink-numerals-20.bdf")),
    ("numerals-28", include_str!("../../../fonts/ink-numerals-28.bdf")),
];

/// Faces for serial numbers, each with the stored face that it is with a slashed zero.
pub const SLASHED: &[(&str, &str)] = &[
    ("small-slashed", "small"),
    ("condensed-slashed", "condensed"),
    ("small-bold-slashed", "small-bold"),
    ("text-slashed", "text"),
    ("bold-slashed", "bold"),
];

/// Where a face keeps its slashed zero.
const SLASHED_ZERO: char = '\u{e030}';

/// The BDF text of a stored face.
pub fn text(name: &str) -> Option<&'static str> {
    BUILTIN.iter().find(|(known, _)| *known == name).map(|(_, text)| *text)
}

/// The names of all built-in faces.
pub fn names() -> impl Iterator<Item = &'static str> {
    BUILTIN.iter().chain(SLASHED).map(|(name, _)| *name)
}

/// A built-in face by name, read once.
pub fn face(name: &str) -> Option<Arc<Face>> {
    static READ: [OnceLock<Option<Arc<Face>>>; BUILTIN.len() + SLASHED.len()] =
        [const { OnceLock::new() }; BUILTIN.len() + SLASHED.len()];
    let place = names().position(|known| known == name)?;
    READ[place].get_or_init(|| read(name).map(Arc::new)).clone()
}

fn read(name: &str) -> Option<Face> {
    match SLASHED.iter().find(|(known, _)| *known == name) {
        Some((_, plain)) => Some(bdf::read(name, text(plain)?).ok()?.with('0', SLASHED_ZERO)),
        None => bdf::read(name, text(name)?).ok(),
    }
}

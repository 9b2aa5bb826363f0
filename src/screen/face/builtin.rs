//! The faces drawn for this project, compiled into the program.

/// Name and BDF text of each built-in face.
pub const BUILTIN: &[(&str, &str)] = &[
    ("small", include_str!("../../../fonts/ink-small.bdf")),
    ("text", include_str!("../../../fonts/ink-text.bdf")),
    ("bold", include_str!("../../../fonts/ink-bold.bdf")),
    ("numerals", include_str!("../../../fonts/ink-numerals.bdf")),
];

/// The BDF text of a built-in face.
pub fn text(name: &str) -> Option<&'static str> {
    BUILTIN.iter().find(|(known, _)| *known == name).map(|(_, text)| *text)
}

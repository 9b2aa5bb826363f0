//! Projects side by side, written: as text and JSON; projects from a repository's history and swapped profiles, prepared in
//! memory. The comparison itself is [`crate::figures::comparison`].

pub mod json;
pub mod revision;
pub mod text;

//! What screens are made from: the project's fonts, pictures and texts by name, each read once when it is first asked
//! for. Not for opening files: the bytes are in [`crate::source::files`].

pub mod fonts;
pub mod formats;
pub mod pictures;
pub mod pseudo;
mod script;
pub mod strings;
mod svg;

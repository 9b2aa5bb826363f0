//! What a fault rests on: where one of these is itself at fault, nothing follows, and nothing is said.

use super::spans::Span;

/// What a fault is concluded from, and what it takes from others.
#[derive(Clone, Debug, Default)]
pub struct Basis {
    /// The table of `device.toml` from which it is concluded: where a stand-in took its place, nothing follows.
    pub follows: Option<Table>,
    /// The table of which nothing more can be concluded because of this fault.
    pub upsets: Option<Table>,
    /// Places of what it is concluded from beside its own.
    pub places: Vec<Span>,
    /// A name that it is about.
    pub named: Option<Named>,
    /// It says that a text is not well-formed.
    pub syntax: bool,
}

/// A name that a fault is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Named {
    /// One that a table does not have: the table's name in the files and the name.
    Wanted(String, String),
    /// One that nothing uses.
    Unused(String),
}

/// A table of `device.toml` that a stand-in may take the place of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Table {
    /// The panel.
    Panel,
    /// The display with its keys.
    Display,
}

impl Table {
    /// Its name in the file.
    pub fn name(self) -> &'static str {
        match self {
            Self::Panel => "panel",
            Self::Display => "display",
        }
    }
}

//! Why a font's file cannot be used. Not for a font that the project names wrongly: see [`crate::assets`].

use std::fmt;

/// A font's file that cannot be read: what is wrong with it and, in a file of text, on which line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FontFault {
    /// Line, counted from 1; `None` for a file without lines.
    pub line: Option<usize>,
    /// What is wrong.
    pub message: String,
}

impl FontFault {
    /// What is wrong on a line.
    pub fn at(line: usize, message: &str) -> Self {
        Self { line: Some(line), message: message.to_owned() }
    }
}

impl fmt::Display for FontFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(f, "line {line}: {}", self.message),
            None => f.write_str(&self.message),
        }
    }
}

impl std::error::Error for FontFault {}

impl From<String> for FontFault {
    fn from(message: String) -> Self {
        Self { line: None, message }
    }
}

impl From<&str> for FontFault {
    fn from(message: &str) -> Self {
        message.to_owned().into()
    }
}

//! Why a window could not be opened, and what was to be shown in it.

use super::session::Session;
use super::view::View;
use crate::project::watch::WatchedProject;
use std::fmt;

/// Why there is no window.
#[derive(Debug)]
pub enum DisplayFault {
    /// No window system answers.
    Absent {
        /// What is known about it.
        why: String,
        /// What was to be shown, for showing it in another way.
        unopened: Box<(Session, View, WatchedProject)>,
    },
    /// The window system failed while the window was open.
    Failed(String),
}

impl DisplayFault {
    /// The window system failed.
    pub fn failed(why: impl fmt::Display) -> Self {
        Self::Failed(why.to_string())
    }
}

impl fmt::Display for DisplayFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Absent { why, .. } => f.write_str(why),
            Self::Failed(why) => write!(f, "the window system failed: {why}"),
        }
    }
}

impl std::error::Error for DisplayFault {}

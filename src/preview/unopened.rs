//! Why a window could not be opened, and what was to be shown in it.

use super::session::Session;
use super::view::View;
use crate::project::watch::Place;

/// Why there is no window.
#[derive(Debug)]
pub enum NoWindow {
    /// No window system answers.
    Absent {
        /// What is known about it.
        why: String,
        /// What was to be shown, for showing it in another way.
        unopened: Box<(Session, View, Place)>,
    },
    /// The window system failed while the window was open.
    Failed(String),
}

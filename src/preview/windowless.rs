//! The preview of a build without the feature `window`: there is no window to open.

use super::fault::DisplayFault;
use super::session::Session;
use super::view::View;
use crate::project::watch::WatchedProject;
use embedded_graphics::prelude::Size;

/// Gives back what was to be shown.
///
/// # Errors
/// Always: this build has no window.
pub fn run(session: Session, view: View, _size: Option<Size>, place: WatchedProject) -> Result<(), DisplayFault> {
    let why = "this build of inkjoule has no window (feature `window`)".to_owned();
    Err(DisplayFault::Absent { why, unopened: Box::new((session, view, place)) })
}

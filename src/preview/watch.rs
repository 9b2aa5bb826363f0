//! Loads a project again when its files change. Not for noticing that; see [`crate::project::watch`].
//!
//! Loading happens on the watching thread, so the preview stays responsive meanwhile.

use crate::project::watch::{self, Watch, WatchedProject};
use crate::project::{Loaded, ProjectFault, load};
use crate::source::fault::Fault;

/// A project loaded again.
pub type Reload = Result<Loaded, Box<ProjectFault>>;

/// Begins to watch; every change ends in a call of `send` on another thread.
///
/// # Errors
/// When the system cannot watch the folder.
pub fn watch(place: WatchedProject, send: impl Fn(Reload) + Send + 'static) -> Result<Watch, Fault> {
    watch::watch(place.clone(), move |_| send(load(&place.project, &place.set)))
}

//! Saves pictures of the preview where it was started, each under a new name.

use super::canvas::WindowCanvas;
use super::view::Note;
use crate::output::{self, Overwrite};
use std::path::PathBuf;

/// Saves a picture of a screen; gives a remark that says where, or why not.
pub fn save(canvas: &WindowCanvas, screen: &str) -> Note {
    let Some(bytes) = canvas.png() else { return Note::trouble("an empty image cannot be saved") };
    let names = (1..10_000).map(|number| PathBuf::from(format!("preview-{screen}-{number}.png")));
    let Some(path) = names.into_iter().find(|path| !path.exists()) else {
        return Note::trouble("too many images here");
    };
    match output::write(&path, &bytes, Overwrite::Own) {
        Ok(()) => Note::done(format!("saved {}", path.display())),
        Err(fault) => Note::trouble(fault.message),
    }
}

//! Saves pictures of the preview where it was started, each under a new name.

use super::canvas::Canvas;
use crate::output::{self, Overwrite};
use std::path::PathBuf;

/// Saves a picture of a screen; gives a remark that says where, or why not.
pub fn save(canvas: &Canvas, screen: &str) -> String {
    let Some(bytes) = canvas.png() else { return "an empty image cannot be saved".into() };
    let names = (1..10_000).map(|number| PathBuf::from(format!("preview-{screen}-{number}.png")));
    let Some(path) = names.into_iter().find(|path| !path.exists()) else { return "too many images here".into() };
    match output::write(&path, &bytes, Overwrite::Own) {
        Ok(()) => format!("saved {}", path.display()),
        Err(fault) => fault.message,
    }
}

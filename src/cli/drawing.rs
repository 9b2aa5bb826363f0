//! A drawing written to the file that an argument names, its kind told by the file's ending.

use crate::output::{self, Overwrite};
use crate::plot::palette::Theme;
use crate::plot::png::png;
use crate::plot::scene::Scene;
use crate::plot::svg::svg;
use crate::source::fault::Fault;
use std::path::{Path, PathBuf};

/// Pixels of a PNG for each point of the drawing.
const SCALE: f32 = 2.0;

/// A file to be drawn.
pub struct Drawing {
    path: PathBuf,
    kind: DrawingFormat,
    theme: Theme,
}

enum DrawingFormat {
    Svg,
    Png,
}

impl Drawing {
    /// The drawing that an argument names.
    ///
    /// # Errors
    /// When the ending is neither .svg nor .png.
    pub fn named(path: &Path, theme: Theme) -> Result<Self, Fault> {
        let kind = match path.extension().and_then(|ending| ending.to_str()).map(str::to_ascii_lowercase).as_deref() {
            Some("svg") => DrawingFormat::Svg,
            Some("png") => DrawingFormat::Png,
            _ => {
                let fault = Fault::plain(format!("a drawing cannot be written to {}", path.display()));
                return Err(fault.help("name a file that ends in .svg or .png"));
            }
        };
        Ok(Self { path: path.to_owned(), kind, theme })
    }

    /// Writes it.
    ///
    /// # Errors
    /// When the picture is too large or the file cannot be written.
    pub fn write(&self, scene: &Scene, overwrite: Overwrite) -> Result<(), Fault> {
        let bytes = match self.kind {
            DrawingFormat::Svg => svg(scene, self.theme).into_bytes(),
            DrawingFormat::Png => {
                png(scene, SCALE, self.theme).map_err(|why| Fault::plain(format!("cannot make the PNG: {why}")))?
            }
        };
        output::write(&self.path, &bytes, overwrite)
    }
}

/// The theme of pictures that are asked for in the dark, or not.
pub fn theme(dark: bool) -> Theme {
    if dark { Theme::Dark } else { Theme::Light }
}

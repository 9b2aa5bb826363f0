//! Screens as images: which values are shown, and the sheet of all screens. Not for files: see the command line.

use crate::device::Device;
use crate::frame::blit::Paint;
use crate::frame::{Frame, files};
use crate::machine::State;
use crate::machine::canvas::drawn;
use crate::screen::ScreenId;
use crate::screen::face::builtin;
use crate::screen::values::Values;
use crate::source::fault::Fault;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// Which values the fields have in an image.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "cli", derive(clap::ValueEnum))]
pub enum Show {
    /// The sample values of the project.
    #[default]
    Sample,
    /// The values with the widest texts.
    Worst,
}

impl Show {
    /// The values of a device's fields.
    pub fn values(self, device: &Device) -> Values {
        match self {
            Self::Sample => device.sample(),
            Self::Worst => device.worst(),
        }
    }
}

/// Draws screens in a locale.
pub fn frames(device: &Device, screens: &[ScreenId], locale: usize, show: Show) -> Vec<(ScreenId, Frame)> {
    let values = match show {
        Show::Sample => device.sample_in(locale),
        Show::Worst => device.worst(),
    };
    let picture = |screen: ScreenId| match State::sample(device, screen) {
        // A box is seen over the screen that opens it.
        Some(mut state) if device.screens[screen.0].over.is_some() => {
            match show {
                Show::Sample => state.values = device.spoken(state.values, locale),
                Show::Worst => state.values = values.clone(),
            }
            drawn(device, &state, locale)
        }
        _ => device.draw(screen, locale, &values),
    };
    screens.iter().map(|screen| (*screen, picture(*screen))).collect()
}

/// The text, or as much of it as fits before an ellipsis.
fn shortened(text: &str, fits: impl Fn(&str) -> bool) -> String {
    if fits(text) {
        return text.to_owned();
    }
    let cut = text.char_indices().rev().map(|(end, _)| format!("{}...", text[..end].trim_end()));
    cut.into_iter().find(|text| fits(text)).unwrap_or_default()
}

/// One PNG with all images in columns, each in a thin frame over its title.
///
/// # Errors
/// When the image would be too large.
pub fn sheet(device: &Device, locale: usize, drawn: &[(ScreenId, Frame)], scale: u32) -> Result<Vec<u8>, Fault> {
    const GAP: u32 = 16;
    const CAPTION: u32 = 18;
    let size = device.panel.size();
    let columns = match drawn.len() {
        0..=1 => 1,
        2..=8 => 2,
        _ => 3,
    };
    let rows = drawn.len().div_ceil(columns) as u32;
    let cell = Size::new(size.width + 2 + GAP, size.height + 2 + CAPTION + GAP);
    let large =
        || Fault::plain("the sheet would be too large").help("choose screens by --screen, or leave out --sheet");
    let mut picture = Frame::checked(cell.width * columns as u32 + GAP, cell.height * rows + GAP).ok_or_else(large)?;
    let face = builtin::face("text");
    let everywhere = Rectangle::new(Point::zero(), picture.size());
    for (index, (screen, frame)) in drawn.iter().enumerate() {
        let (column, row) = ((index % columns) as u32, (index / columns) as u32);
        let corner = Point::new((GAP + column * cell.width) as i32, (GAP + row * cell.height) as i32);
        picture.fill(Rectangle::new(corner, Size::new(size.width + 2, size.height + 2)), true);
        picture.blit(frame, corner + Point::new(1, 1), everywhere, Paint::Opaque);
        if let Some(face) = &face {
            let screen = &device.screens[screen.0];
            let title = match screen.title(locale) {
                title if title == screen.id => screen.id.clone(),
                title => format!("{title} ({})", screen.id),
            };
            let title = shortened(&title, |text| face.width(text) <= (cell.width - GAP / 2) as i32);
            let base = corner + Point::new(0, size.height as i32 + 2 + CAPTION as i32 - 3);
            face.draw(&title, base, everywhere, Paint::Ink, &mut picture);
        }
    }
    files::png(&picture, scale).map_err(|why| Fault::plain(format!("cannot write the sheet: {why}")))
}

//! Pictures that differ between projects: each screen in each locale, with sample values, against the first side's.

use crate::device::Device;
use crate::evaluation::Evaluation;
use crate::frame::Frame;
use std::collections::BTreeSet;

/// How a picture stands to the first side's.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Difference {
    /// The same, pixel for pixel; also where neither side has it.
    Same,
    /// So many pixels differ.
    Pixels(u64),
    /// The panels have different sizes.
    Size,
    /// Only the first side has it.
    Gone,
    /// The first side does not have it.
    New,
}

/// One screen in one locale.
#[derive(Clone, Debug)]
pub struct FrameRow {
    /// The screen's id.
    pub screen: String,
    /// The locale's name; empty where a project has only one.
    pub locale: String,
    /// For each side, the first side itself included.
    pub differences: Vec<Difference>,
}

impl Difference {
    /// In a few words; nothing for what is the same.
    pub fn shown(self) -> String {
        match self {
            Self::Same => String::new(),
            Self::Pixels(pixels) => format!("{pixels} px"),
            Self::Size => "other size".to_owned(),
            Self::Gone => "gone".to_owned(),
            Self::New => "new".to_owned(),
        }
    }
}

/// Every screen and locale in which some side differs from the first, and how many pictures of each side have a
/// counterpart of their size.
pub fn frame_rows(sides: &[&Evaluation]) -> (Vec<FrameRow>, Vec<usize>) {
    let devices: Vec<&Device> = sides.iter().map(|side| &side.device).collect();
    let samples: Vec<_> = devices.iter().map(|device| device.sample()).collect();
    let screens: BTreeSet<&str> =
        devices.iter().flat_map(|device| &device.screens).map(|screen| screen.id.as_str()).collect();
    let locales: BTreeSet<&str> = devices.iter().flat_map(|device| &device.locales).map(String::as_str).collect();
    let picture = |side: usize, screen: &str, locale: &str| -> Option<Frame> {
        let device = devices[side];
        let locale = device.locales.iter().position(|name| name == locale)?;
        Some(device.draw(device.screen(screen)?, locale, &samples[side]))
    };
    let mut rows = Vec::new();
    let mut compared = vec![0; sides.len()];
    for screen in screens {
        for locale in &locales {
            let first = if sides.is_empty() { None } else { picture(0, screen, locale) };
            let differences: Vec<Difference> = (0..sides.len())
                .map(|side| difference(first.as_ref(), picture(side, screen, locale).as_ref()))
                .collect();
            for (count, difference) in compared.iter_mut().zip(&differences) {
                *count +=
                    usize::from(first.is_some() && matches!(difference, Difference::Same | Difference::Pixels(_)));
            }
            if differences.iter().any(|difference| *difference != Difference::Same) {
                rows.push(FrameRow { screen: screen.to_owned(), locale: (*locale).to_owned(), differences });
            }
        }
    }
    (rows, compared)
}

fn difference(first: Option<&Frame>, other: Option<&Frame>) -> Difference {
    match (first, other) {
        (None, None) => Difference::Same,
        (Some(_), None) => Difference::Gone,
        (None, Some(_)) => Difference::New,
        (Some(first), Some(other)) => match first.changed_pixels(other) {
            Some(0) => Difference::Same,
            Some(pixels) => Difference::Pixels(pixels),
            None => Difference::Size,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pictures_differ_in_pixels_size_or_presence() {
        let (a, b) = (Frame::from_pattern(&["#..#"]), Frame::from_pattern(&["#.#."]));
        assert_eq!(difference(Some(&a), Some(&b)), Difference::Pixels(2));
        assert_eq!(difference(Some(&a), Some(&a)), Difference::Same);
        assert_eq!(difference(Some(&a), Some(&Frame::new(4, 2))), Difference::Size);
        assert_eq!(difference(Some(&a), None), Difference::Gone);
        assert_eq!(difference(None, Some(&a)), Difference::New);
    }
}

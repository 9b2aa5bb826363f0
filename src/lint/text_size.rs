//! `small-text` and `small-matrix`: whether characters are large enough for the eye and have enough pixels to be told
//! apart.

use super::Subject;
use super::cut::quoted;
use super::report::Report;
use crate::screen::face::Face;
use crate::screen::inspect::SetText;
use crate::source::fault::Fault;
use crate::units::Metres;

/// Least height of a capital as the eye sees it, in minutes of arc. ISO 9241-3, as quoted in U.S. NRC, NUREG-0700
/// rev. 2, guideline 1.3.1-4.
pub const LEAST_ARC_MINUTES: f64 = 16.0;

/// Least matrix, width and height in pixels, of digits and upper-case letters. ISO 9241-3, as quoted in published guides.
const LEAST_MATRIX: [u32; 2] = [5, 7];

/// Least matrix for continuous reading. ISO 9241-3, as quoted in published guides.
const LEAST_READING: [u32; 2] = [7, 9];

/// NUREG-0700 rev. 2, 1.3.1-4: `H = 6.283 D MA / 21600`, with height H and distance D in one unit and MA in minutes of
/// arc; its 6.283 is the circle's circumference over its radius, 21600 the minutes of the circle.
const TURN: f64 = std::f64::consts::TAU;
const MINUTES_OF_TURN: f64 = 21_600.0;

/// The angle under which a height is seen from a distance, in minutes of arc.
pub fn arc_minutes(height: Metres, distance: Metres) -> f64 {
    height.0 * MINUTES_OF_TURN / (TURN * distance.0)
}

/// The height that is seen under an angle in minutes of arc.
pub fn height_for(arc_minutes: f64, distance: Metres) -> Metres {
    Metres(TURN * distance.0 * arc_minutes / MINUTES_OF_TURN)
}

pub(super) fn height(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    let (pitch, distance) = (device.panel.pitch[1], device.display.viewing_distance);
    each(subject, |view, item, text| {
        let height = pitch * f64::from(text.face.cap_height);
        let angle = arc_minutes(height, distance);
        if angle < LEAST_ARC_MINUTES {
            let needed = (height_for(LEAST_ARC_MINUTES, distance) / pitch).ceil();
            let far = distance.0 * angle / LEAST_ARC_MINUTES * 100.0;
            let message = format!(
                "the cap height of the font `{}` is {} px: seen from {:.0} cm that is {angle:.1} arcmin",
                text.face.name,
                text.face.cap_height,
                distance.0 * 100.0
            );
            let fault = Fault::at(item.span.clone(), message).label(format!("`{}`", quoted(&text.text))).help(format!(
                "{LEAST_ARC_MINUTES} arcmin are the minimum: {needed} px from there, or {far:.0} cm with this font"
            ));
            report.see_by(text.face.name.clone(), view.shown(view.showing(item), vec![text.room]), 0.0, fault);
        }
    });
}

pub(super) fn matrix(subject: &Subject<'_>, report: &mut Report<'_>) {
    each(subject, |view, item, text| {
        let reading = is_reading(text);
        let least = if reading { LEAST_READING } else { LEAST_MATRIX };
        let found = face_matrix(&text.face);
        if found[0] < least[0] || found[1] < least[1] {
            let what = if reading { "lines of text to read on" } else { "digits and upper-case letters" };
            let message = format!(
                "the font `{}` has a matrix of {} x {} px; {} x {} are the minimum for {what}",
                text.face.name, found[0], found[1], least[0], least[1]
            );
            let fault = Fault::at(item.span.clone(), message)
                .label(format!("`{}`", quoted(&text.text)))
                .help("use a larger font here");
            let key = format!("{} {reading}", text.face.name);
            report.see_by(key, view.shown(view.showing(item), vec![text.room]), 0.0, fault);
        }
    });
}

/// Whether a text is several words in several lines.
fn is_reading(text: &SetText) -> bool {
    let words = text.text.split_whitespace().filter(|word| word.chars().all(char::is_alphabetic)).count();
    words > 1 && text.needs.height as i32 >= 2 * text.face.line_height()
}

/// Calls `see` with every text that has a letter or digit.
fn each(subject: &Subject<'_>, mut see: impl FnMut(&super::subject::View<'_>, &crate::screen::Item, &SetText)) {
    for view in subject.views() {
        for item in view.items {
            for text in item.texts().iter().filter(|text| text.text.chars().any(char::is_alphanumeric)) {
                see(&view, item, text);
            }
        }
    }
}

/// Width and height in pixels of the ink of a face's H, or of its widest digit where it has no capitals.
pub fn face_matrix(face: &Face) -> [u32; 2] {
    let size = |character: char| {
        let ink = &face.glyph(character).ink;
        [ink.width(), ink.height()]
    };
    match face.has('H') {
        true => size('H'),
        false => ('0'..='9').filter(|digit| face.has(*digit)).map(size).max().unwrap_or([0, 0]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Legibility rule of thumb "height = distance / 200" (FAA human-factors training material, "Character and symbol
    /// size"): that is about 17 minutes of arc.
    #[test]
    fn angle_agrees_with_the_rule_of_thumb() {
        let angle = arc_minutes(Metres(0.4 / 200.0), Metres(0.4));
        assert!((angle - 17.2).abs() < 0.05, "{angle}");
    }

    /// The formula as printed, with its rounded constant.
    #[test]
    #[allow(clippy::approx_constant)]
    fn height_agrees_with_the_published_formula() {
        let printed = |distance: f64, minutes: f64| 6.283 * distance * minutes / 21_600.0;
        for (distance, minutes) in [(0.4, 16.0), (0.33, 20.0), (0.7, 22.0)] {
            let height = height_for(minutes, Metres(distance)).0;
            assert!((height / printed(distance, minutes) - 1.0).abs() < 1e-4, "{height}");
        }
    }

    /// Against the exact tangent rather than the formula's arc.
    #[test]
    fn angle_agrees_with_trigonometry() {
        let (height, distance): (f64, f64) = (0.0021, 0.45);
        let exact = 2.0 * (height / 2.0 / distance).atan().to_degrees() * 60.0;
        assert!((arc_minutes(Metres(height), Metres(distance)) / exact - 1.0).abs() < 1e-4);
        assert!((height_for(arc_minutes(Metres(height), Metres(distance)), Metres(distance)).0 - height).abs() < 1e-12);
    }
}

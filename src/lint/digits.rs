//! `uneven-digits`: a live number in a face whose digits differ in width moves when it changes, and its widest text is
//! only bounded.

use super::Subject;
use super::report::Report;
use crate::device::Device;
use crate::screen::Item;
use crate::screen::face::Face;
use crate::screen::template::Piece;
use crate::source::fault::Fault;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    for view in subject.screens() {
        for item in view.items.iter().filter(|item| uses_numbers(subject.device, item)) {
            for text in item.texts().iter().filter(|text| text.text.contains('8')) {
                let digits = ('0'..='9').map(|digit| text.face.glyph(digit).advance);
                let (least, most) = (digits.clone().min().unwrap_or(0), digits.max().unwrap_or(0));
                if least != most {
                    let name = &text.face.name;
                    let message = format!(
                        "the digits of the font `{name}` are {least} to {most} px wide: this number moves when it changes"
                    );
                    let fault = Fault::at(item.span.clone(), message).help("use a font with tabular figures here");
                    report.see(view.shown(view.showing(item), vec![text.room]), f64::from(most - least), fault);
                }
            }
        }
    }
}

/// Pixels by which the widest digit is wider than an 8, which stands for every digit in widest texts.
pub(super) fn unevenness(face: &Face) -> u32 {
    let widest = ('0'..='9').map(|digit| face.glyph(digit).advance).max().unwrap_or(0);
    (widest - face.glyph('8').advance).max(0) as u32
}

/// Whether an element can show a number or a time.
pub(super) fn uses_numbers(device: &Device, item: &Item) -> bool {
    let number = |piece: &Piece| {
        piece
            .any(|one| matches!(one, Piece::Number { .. } | Piece::Shown(_) | Piece::Cell { .. } | Piece::Clock { .. }))
    };
    item.shown().iter().any(|field| device.fields[field.0].pieces.iter().any(number))
}

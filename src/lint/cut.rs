//! `text-cut`: text that does not fit at its widest.
//!
//! Widest is what a field's range and format allow (all digits as wide as the widest, the sign, the decimals), every
//! text of a choice, every month and weekday of a date, in each locale.

use super::Subject;
use super::digits::{unevenness, uses_numbers};
use super::report::Report;
use crate::screen::inspect::SetText;
use crate::screen::typeset::Overflow;
use crate::source::fault::Fault;

/// Characters of a text that a message shows.
const QUOTED: usize = 40;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    for view in subject.views() {
        // What is pushed out has another cause: see `outside`.
        for item in view.items.iter().filter(|item| item.crowd.is_none()) {
            for text in item.texts().iter().filter(|text| text.key.is_none()) {
                let spread = if uses_numbers(subject.device, item) { unevenness(&text.face) } else { 0 };
                if let Some((lack, message)) = lack(text, spread) {
                    let help = "give it more room, use a smaller font or fewer words, or choose overflow = \"ellipsis\" or \"shrink\"";
                    let fault = Fault::at(item.span.clone(), message).help(help);
                    report.see(view.shown(view.showing(item), vec![text.room]), f64::from(lack), fault);
                }
            }
        }
    }
}

/// How many pixels a text lacks, and in which direction. `spread`: pixels by which a digit may be wider than an 8.
fn lack(text: &SetText, spread: u32) -> Option<(u32, String)> {
    let digits = text.text.chars().filter(|c| *c == '8').count() as u32;
    let width = text.needs.width + digits * spread;
    let room = text.room.size;
    if width > room.width && text.overflow != Overflow::Ellipsis {
        let message =
            format!("`{}` is cut off: it needs {width} px of width, there are {}", quoted(&text.text), room.width);
        return Some((width - room.width, message));
    }
    let line = text.face.line_height().max(1) as u32;
    let lines = if text.wraps { (text.needs.height / line).max(1) } else { 1 };
    let height = ink_height(text, lines);
    (height > room.height).then(|| {
        let message = format!(
            "`{}` is cut off: its ink needs {height} px of height, there are {}",
            quoted(&text.text),
            room.height
        );
        (height - room.height, message)
    })
}

/// Height of a text's ink: its lines' pitch, and what the first rises and the last falls at least. Where a text stands
/// in its room is not known here, so this is the least that is needed.
fn ink_height(text: &SetText, lines: u32) -> u32 {
    let line = text.face.line_height().max(1) as u32;
    let glyphs =
        || text.text.chars().map(|character| text.face.glyph(character)).filter(|glyph| glyph.ink.height() > 0);
    let rise = glyphs().map(|glyph| glyph.top).max().unwrap_or(0);
    let fall = glyphs().map(|glyph| glyph.ink.height() as i32 - glyph.top).max().unwrap_or(0);
    // In several lines, capitals without accents are enough for a bound that is never too great.
    if lines > 1 { (lines - 1) * line + text.face.cap_height.max(0) as u32 } else { (rise + fall).max(0) as u32 }
}

/// A text short enough for a message.
pub(super) fn quoted(text: &str) -> String {
    let mut quoted: String = text.chars().take(QUOTED).collect();
    if text.chars().count() > QUOTED {
        quoted.push('…');
    }
    quoted.replace('\n', " ")
}

//! Which parts of the interpreter in C no operation of a design needs, by the names that its header gives them.
//!
//! Not for leaving them out; the export does that.

use super::ink::Ink;
use super::op::{self, Op};
use super::{contents, faces, gauges, history, words};
use std::collections::BTreeSet;

/// Parts that no operation needs.
pub(super) fn spare<'o>(ink: &Ink<'_>, ops: impl Iterator<Item = &'o Op> + Clone) -> Vec<&'static str> {
    let any = |is: fn(&Op) -> bool| ops.clone().any(is);
    let kind = |kind: u8| ops.clone().any(|op| op.head & op::KIND == kind);
    let text = |is: fn(&[words::Token]) -> bool| ops.clone().flat_map(Op::texts).any(|words| is(words));
    let chart = |flags: u8| ops.clone().any(|op| history::has(op, flags));
    let used = |part: &str| ink.used.contains(part);
    let hours = chart(history::CLOCK);
    let parts = [
        ("INK_TILES", kind(op::TILE)),
        ("INK_VALUES", kind(op::VALUE)),
        ("INK_BARS", kind(op::BAR)),
        ("INK_RISING", any(|op| matches!(op.head & op::KIND, op::BAR | op::MARKER) && gauges::rises(op))),
        ("INK_MARKERS", kind(op::MARKER)),
        ("INK_ARCS", kind(op::ARC)),
        ("INK_RING_MARKERS", kind(op::RING_MARKER)),
        ("INK_HISTORIES", kind(op::HISTORY)),
        ("INK_LINE_CHARTS", any(|op| op.head & op::KIND == op::HISTORY && !history::has(op, history::BARS))),
        ("INK_BAR_CHARTS", chart(history::BARS)),
        ("INK_GRIDS", chart(history::GRID)),
        ("INK_ENDS", chart(history::LOW | history::HIGH)),
        ("INK_LIMITS", chart(history::NUMBER | history::FIELD)),
        ("INK_HOURS", hours),
        ("INK_CURSORS", any(history::has_cursor)),
        ("INK_PARTS", any(history::counts_in_parts)),
        ("INK_LONG_CODES", characters(ink) >= usize::from(words::LONG - words::FIRST)),
        ("INK_KERNS", ink.faces.iter().any(|(face, used)| faces::has_kerns(face, used))),
        ("INK_ROWS", kind(op::ROWS)),
        ("INK_PAGES", used("INK_PAGES")),
        ("INK_COUNTED", used("INK_COUNTED")),
        ("INK_CELLS_DIFFER", used("INK_CELLS_DIFFER")),
        ("INK_SCALED", any(|op| op.head & op::KIND == op::BITMAP && op.head & op::EXTRA != 0)),
        ("INK_STANDS", used("INK_STANDS")),
        ("INK_WRAPS", used("INK_WRAPS")),
        ("INK_ELLIPSES", used("INK_ELLIPSES")),
        ("INK_SMALLER", used("INK_SMALLER")),
        ("INK_SPACED", used("INK_SPACED")),
        ("INK_COMPARED", used("INK_COMPARED")),
        ("INK_CLOCKS", text(contents::has_clock)),
        ("INK_DATES", hours || text(contents::has_dates)),
        ("INK_STAMPS", text(contents::has_rare_stamps)),
        ("INK_MARKS", text(contents::has_marks) || any(history::has_marks)),
        ("INK_JOINED", text(contents::has_joined)),
        ("INK_CELLS", text(contents::has_cells)),
        ("INK_PASTS", text(contents::has_past)),
        ("INK_UNITS", text(contents::has_units) || ink.device.fields.iter().any(|field| field.units.is_some())),
    ];
    parts.into_iter().filter(|(_, needed)| !needed).map(|(part, _)| part).collect()
}

/// Different characters, those included that the interpreter knows.
fn characters(ink: &Ink<'_>) -> usize {
    let all: BTreeSet<char> =
        ink.faces.iter().flat_map(|(_, used)| used).copied().chain(words::KNOWN.chars()).collect();
    all.len()
}

/// What a design takes at most, by the names that the header gives it: characters of a text, texts in texts, pixels of a
/// picture's line.
pub(super) fn sizes<'o>(ink: &Ink<'_>, ops: impl Iterator<Item = &'o Op> + Clone) -> Vec<(&'static str, usize)> {
    let nested = ops.clone().flat_map(Op::texts).map(|words| contents::nested(words)).max().unwrap_or(0).max(1);
    // Labels of charts are numbers.
    let text = ops.flat_map(Op::texts).map(|words| contents::longest(words)).max().unwrap_or(0).max(16);
    let bitmaps = ink.bitmaps.iter().map(|frame| frame.width());
    let glyphs = ink.faces.iter().flat_map(|(face, used)| faces::widths(face, used, ink.packing));
    let widest = bitmaps.chain(glyphs).max().unwrap_or(0);
    vec![("INK_TEXT", text.min(words::LONGEST)), ("INK_NESTED", nested), ("INK_WIDEST", widest as usize)]
}

//! A test aid: compares a frame with a picture written as text, and shows both when they differ.
//!
//! Only for tests: [`assert_picture`] panics by design.

use super::bits::Frame;
use std::fmt::Write;

/// Passes if `frame` is exactly the picture in `lines` (`#` ink, anything else paper; the longest line is the width).
///
/// # Panics
/// If they differ, with the expected and the actual picture side by side.
///
/// ```
/// use inkjoule::frame::{Frame, assert::assert_picture};
/// let mut frame = Frame::new(3, 2);
/// frame.set(1, 0, true);
/// assert_picture(&frame, &[".#.", "..."]);
/// ```
#[track_caller]
pub fn assert_picture(frame: &Frame, lines: &[&str]) {
    let expected = Frame::from_pattern(lines);
    assert!(*frame == expected, "the images differ\n{}", side_by_side(&expected, frame));
}

/// Both pictures as text, expected left, actual right; rows that differ are marked with `<` at the end.
pub fn side_by_side(expected: &Frame, actual: &Frame) -> String {
    let title = |name: &str, frame: &Frame| format!("{name} {} x {}", frame.width(), frame.height());
    let (left, right) = (title("expected", expected), title("actual", actual));
    let widths = (left.len().max(expected.width() as usize), right.len().max(actual.width() as usize));
    let mut text = format!("{left:w$}  {right}\n", w = widths.0);
    for y in 0..expected.height().max(actual.height()) {
        let (a, b) = (expected.row_text(y), actual.row_text(y));
        let mark = if a == b { "" } else { "  <" };
        let line = format!("{a:l$}  {b:r$}{mark}", l = widths.0, r = widths.1);
        // Writing to a string cannot fail.
        let _ = writeln!(text, "{}", line.trim_end());
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn differing_rows_are_marked() {
        let text = side_by_side(&Frame::from_pattern(&["#.", ".#"]), &Frame::from_pattern(&["#.", "##", "##"]));
        let expected = [
            "expected 2 x 2  actual 2 x 3",
            "#.              #.",
            ".#              ##            <",
            "                ##            <",
            "",
        ];
        assert_eq!(text, expected.join("\n"));
    }

    #[test]
    #[should_panic(expected = "the images differ")]
    fn a_wrong_pixel_fails() {
        assert_picture(&Frame::new(2, 1), &["#."]);
    }

    #[test]
    #[should_panic(expected = "expected 3 x 1")]
    fn a_wrong_size_fails() {
        assert_picture(&Frame::new(2, 1), &["..."]);
    }
}

//! The strip beside the device: the preview's facts as text.

use super::canvas::{Type, WindowCanvas};
use super::command::Command;
use super::facts::Fact;
use super::theme;
use crate::frame::rectangle;
use embedded_graphics::prelude::Point;
use embedded_graphics::primitives::Rectangle;

/// Width before scaling.
pub const WIDTH: u32 = 284;
/// From the edges to the text, before scaling.
const MARGIN: i32 = 18;
/// From one line to the next.
const PITCH: i32 = 19;
/// More room above a heading.
const ABOVE: i32 = 13;

/// Height that facts need, before scaling.
pub fn height(facts: &[Fact]) -> u32 {
    let lines: i32 = facts.iter().map(|fact| advance(fact, WIDTH as i32 - 2 * MARGIN)).sum();
    (lines + 2 * MARGIN - ABOVE).max(0) as u32
}

fn advance(fact: &Fact, width: i32) -> i32 {
    match fact {
        Fact::Heading(text) => ABOVE + 3 + PITCH * wrapped(text, Type::Bold, width).len() as i32,
        Fact::Pair { label, value, .. } if !fits(label, value, width) => 2 * PITCH,
        Fact::Remark(text) => PITCH * wrapped(text, Type::Text, width).len() as i32,
        _ => PITCH,
    }
}

fn fits(label: &str, value: &str, width: i32) -> bool {
    let face = Type::Text.face();
    face.width(label) + 12 + face.width(value) <= width
}

/// Draws facts into an area; gives where actions can be clicked.
pub fn draw(facts: &[Fact], area: Rectangle, scale: u32, canvas: &mut WindowCanvas) -> Vec<(Rectangle, Command)> {
    canvas.fill(area, theme::STRIP);
    let s = scale as i32;
    let width = area.size.width as i32 / s - 2 * MARGIN;
    let bottom = area.top_left.y + area.size.height as i32;
    let left = area.top_left.x + MARGIN * s;
    let mut y = area.top_left.y + (MARGIN - ABOVE) * s;
    let mut places = Vec::new();
    for (index, fact) in facts.iter().enumerate() {
        let height = advance(fact, width) * s;
        // A heading stands over something.
        let with = if matches!(fact, Fact::Heading(_)) { facts.get(index + 1) } else { None };
        if y + height + with.map_or(0, |next| advance(next, width) * s) > bottom {
            break;
        }
        match fact {
            Fact::Heading(text) => {
                for (line, text) in (0..).zip(wrapped(text, Type::Bold, width)) {
                    canvas.text(
                        &text,
                        Point::new(left, y + (ABOVE + line * PITCH) * s),
                        Type::Bold,
                        scale,
                        theme::TEXT,
                    );
                }
                canvas.fill(rectangle(left, y + height - 5 * s, width * s, s), theme::RULE);
            }
            Fact::Pair { label, value, alert } => {
                let color = if *alert { theme::ALERT } else { theme::TEXT };
                canvas.text(label, Point::new(left, y), Type::Text, scale, theme::LABEL);
                let below = if fits(label, value, width) { 0 } else { PITCH * s };
                let value = shortened(value, Type::Text, width);
                let x = left + (width - Type::Text.face().width(&value)) * s;
                canvas.text(&value, Point::new(x, y + below), Type::Text, scale, color);
            }
            Fact::Action { key, text, command } => {
                canvas.text(key, Point::new(left, y), Type::Bold, scale, theme::TEXT);
                let text = shortened(text, Type::Text, width - 34);
                canvas.text(&text, Point::new(left + 34 * s, y), Type::Text, scale, theme::TEXT);
                places.push((rectangle(left, y, width * s, PITCH * s), *command));
            }
            Fact::Remark(text) => {
                for (line, text) in (0..).zip(wrapped(text, Type::Text, width)) {
                    canvas.text(&text, Point::new(left, y + line * PITCH * s), Type::Text, scale, theme::LABEL);
                }
            }
        }
        y += height;
    }
    places
}

/// A text cut to a width, with an ellipsis where it was cut.
fn shortened(text: &str, kind: Type, width: i32) -> String {
    let face = kind.face();
    if face.width(text) <= width {
        return text.to_owned();
    }
    let mut kept: Vec<char> = text.chars().collect();
    loop {
        kept.pop();
        let shorter = kept.iter().collect::<String>() + "…";
        if kept.is_empty() || face.width(&shorter) <= width {
            return shorter;
        }
    }
}

/// A text broken into lines at spaces; words longer than a line are broken anywhere.
pub fn wrapped(text: &str, kind: Type, width: i32) -> Vec<String> {
    let face = kind.face();
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split(' ') {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if face.width(&longer) <= width {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for character in word.chars() {
            line.push(character);
            if face.width(&line) > width && line.chars().count() > 1 {
                line.pop();
                lines.push(std::mem::take(&mut line));
                line.push(character);
            }
        }
    }
    lines.push(line);
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_broken_and_cut_to_their_width() {
        let face = Type::Text.face();
        let lines = wrapped("screens/a-very-long-name-without-any-space.toml:12:3 is here", Type::Text, 120);
        assert!(lines.len() > 2 && lines.iter().all(|line| face.width(line) <= 120), "{lines:?}");
        assert_eq!(lines.concat().replace(' ', ""), "screens/a-very-long-name-without-any-space.toml:12:3ishere");
        let cut = shortened("a name that is too long", Type::Text, 60);
        assert!(cut.ends_with('…') && face.width(&cut) <= 60);
    }

    /// In a window of 900 x 600 `States` once stood at the bottom with nothing below it.
    #[test]
    fn no_heading_stands_alone_at_the_bottom() {
        let heading = Fact::Heading("States".to_owned());
        let with = [heading.clone(), Fact::Remark("none".to_owned())];
        let drawn = |facts: &[Fact], height: u32| {
            let area = Rectangle::new(Point::zero(), embedded_graphics::prelude::Size::new(WIDTH, height));
            let empty = WindowCanvas::new(area.size, theme::STRIP);
            let mut canvas = empty.clone();
            draw(facts, area, 1, &mut canvas);
            canvas != empty
        };
        let room = height(&[heading]);
        assert!(!drawn(&with, room) && drawn(&with, height(&with)));
    }
}

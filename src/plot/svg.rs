//! A scene as SVG 1.1 (W3C). Texts stay texts, in the reader's own sans-serif face.

use super::scene::{Anchor, Colour, PAPER, Scene, Shape};
use std::fmt::Write as _;

/// The SVG of a scene.
pub fn svg(scene: &Scene) -> String {
    let [width, height] = scene.size;
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" \
         role=\"img\" font-family=\"system-ui, 'Helvetica', 'Arial', sans-serif\">\n\
         <title>{}</title>\n<rect width=\"100%\" height=\"100%\" fill=\"{}\"/>\n",
        escaped(&scene.title),
        hex(PAPER)
    );
    for shape in &scene.shapes {
        out += &element(shape);
        out.push('\n');
    }
    out += "</svg>\n";
    out
}

fn element(shape: &Shape) -> String {
    match shape {
        Shape::Line { points, width, colour, dash } => {
            let dash = dash.map_or(String::new(), |[on, off]| format!(" stroke-dasharray=\"{on} {off}\""));
            format!(
                "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{width}\" stroke-linejoin=\"round\"{dash}/>",
                list(points),
                hex(*colour)
            )
        }
        Shape::Area { points, colour, opacity } => {
            format!("<polygon points=\"{}\" fill=\"{}\" fill-opacity=\"{opacity}\"/>", list(points), hex(*colour))
        }
        Shape::Disc { centre: [x, y], radius, fill, rim } => {
            let (fill, rim) = (hex(*fill), hex(*rim));
            format!(
                "<circle cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"{radius}\" fill=\"{fill}\" stroke=\"{rim}\" stroke-width=\"2\"/>"
            )
        }
        Shape::Text { at: [x, y], anchor, size, colour, text } => {
            let anchor = match anchor {
                Anchor::Start => "start",
                Anchor::Middle => "middle",
                Anchor::End => "end",
            };
            format!(
                "<text x=\"{x:.2}\" y=\"{y:.2}\" text-anchor=\"{anchor}\" font-size=\"{size}\" fill=\"{}\">{}</text>",
                hex(*colour),
                escaped(text)
            )
        }
    }
}

fn list(points: &[[f32; 2]]) -> String {
    let mut out = String::new();
    for [x, y] in points {
        let gap = if out.is_empty() { "" } else { " " };
        // Writing to a string cannot fail.
        let _ = write!(out, "{gap}{x:.2},{y:.2}");
    }
    out
}

fn hex([red, green, blue]: Colour) -> String {
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// Text as XML takes it; control characters, which XML 1.0 forbids, become spaces.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out += "&amp;",
            '<' => out += "&lt;",
            '>' => out += "&gt;",
            '"' => out += "&quot;",
            letter if letter.is_control() || matches!(letter, '\u{fffe}' | '\u{ffff}') => out.push(' '),
            letter => out.push(letter),
        }
    }
    out
}

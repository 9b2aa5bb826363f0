//! A scene as SVG 1.1 (W3C). Texts stay texts, in the reader's own sans-serif face.

use super::palette::{Colour, Theme, hex};
use super::scene::{Anchor, Scene, Shape};
use crate::frame::{Frame, files};
use crate::visible::one_line;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use std::fmt::Write as _;

/// The SVG of a scene, a file of its own in the colours of a theme.
pub fn svg(scene: &Scene, theme: Theme) -> String {
    let [width, height] = scene.size;
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" \
         role=\"img\" font-family=\"system-ui, 'Helvetica', 'Arial', sans-serif\">\n\
         <title>{}</title>\n<rect width=\"100%\" height=\"100%\" fill=\"{}\"/>\n",
        escaped(&scene.title),
        hex(Colour::Paper.rgb(theme))
    );
    for shape in &scene.shapes {
        out +=
            &element(shape, &|attribute, colour| format!("{attribute}=\"{}\"", hex(colour.rgb(theme))), &mut embedded);
        out.push('\n');
    }
    out += "</svg>\n";
    out
}

/// The SVG of a scene as a part of a page, whose style gives the colours ([`super::palette::css`]): each shape has its
/// colour's name as class (`fill-ink`, `stroke-grid`). `words` say what it shows.
pub fn inline(scene: &Scene, words: &str) -> String {
    on_page(scene, words, "", &mut embedded)
}

/// As [`inline`], as large on the page as on its sheet, with pictures that stand in the page already: `named` gives the
/// id of a picture's element.
pub fn inline_sized(scene: &Scene, words: &str, named: &mut dyn FnMut(&Frame) -> String) -> String {
    let [width, height] = scene.size;
    let mut used = |at: [f32; 2], size: [f32; 2], frame: &Frame| {
        let (name, scale) = (escaped(&named(frame)), size[0] / frame.width().max(1) as f32);
        format!("<use href=\"#{name}\" transform=\"translate({:.2} {:.2}) scale({scale})\"/>", at[0], at[1])
    };
    on_page(scene, words, &format!(" width=\"{width}\" height=\"{height}\""), &mut used)
}

fn on_page(scene: &Scene, words: &str, size: &str, picture: &mut Pictures<'_>) -> String {
    let [width, height] = scene.size;
    let mut out = format!(
        "<svg class=\"plot\" viewBox=\"0 0 {width} {height}\"{size} role=\"img\" aria-label=\"{}\">",
        escaped(words)
    );
    for shape in &scene.shapes {
        out += &element(shape, &|attribute, colour| format!("class=\"{attribute}-{}\"", colour.name()), picture);
    }
    out += "</svg>";
    out
}

/// Writes a picture at a place in a size.
type Pictures<'a> = dyn FnMut([f32; 2], [f32; 2], &Frame) -> String + 'a;

/// A picture with its pixels inside.
fn embedded([x, y]: [f32; 2], [width, height]: [f32; 2], frame: &Frame) -> String {
    // A panel's size is within the limits of a PNG.
    let png = files::png(frame, 1).unwrap_or_default();
    // Made smaller, lines of one pixel would be lost where pixels were dropped.
    let sharp = if width >= frame.width() as f32 { " style=\"image-rendering:pixelated\"" } else { "" };
    format!(
        "<image x=\"{x:.2}\" y=\"{y:.2}\" width=\"{width}\" height=\"{height}\"{sharp} \
         href=\"data:image/png;base64,{}\"/>",
        STANDARD.encode(png)
    )
}

/// One shape; `paint` writes the attribute that gives `fill` or `stroke` a colour.
fn element(shape: &Shape, paint: &dyn Fn(&str, Colour) -> String, picture: &mut Pictures<'_>) -> String {
    match shape {
        Shape::Picture { at, size, frame } => picture(*at, *size, frame),
        Shape::Line { points, width, colour, dash } => {
            let dash = dash.map_or(String::new(), |[on, off]| format!(" stroke-dasharray=\"{on} {off}\""));
            format!(
                "<polyline points=\"{}\" fill=\"none\" {} stroke-width=\"{width}\" stroke-linejoin=\"round\"{dash}/>",
                list(points),
                paint("stroke", *colour)
            )
        }
        Shape::Area { points, colour, opacity } => {
            format!("<polygon points=\"{}\" {} fill-opacity=\"{opacity}\"/>", list(points), paint("fill", *colour))
        }
        // A disc in a disc, so that each has one colour.
        Shape::Disc { centre: [x, y], radius, fill, rim } => {
            let disc = |radius: f32, colour: Colour| {
                format!("<circle cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"{radius}\" {}/>", paint("fill", colour))
            };
            disc(radius + 1.0, *rim) + &disc((radius - 1.0).max(0.0), *fill)
        }
        Shape::Text { at: [x, y], anchor, size, colour, text } => {
            let anchor = match anchor {
                Anchor::Start => "start",
                Anchor::Middle => "middle",
                Anchor::End => "end",
            };
            format!(
                "<text x=\"{x:.2}\" y=\"{y:.2}\" text-anchor=\"{anchor}\" font-size=\"{size}\" {}>{}</text>",
                paint("fill", *colour),
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

/// Text as XML takes it; control characters, which XML 1.0 forbids, are made visible.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in one_line(text).chars() {
        match letter {
            '&' => out += "&amp;",
            '<' => out += "&lt;",
            '>' => out += "&gt;",
            '"' => out += "&quot;",
            letter => out.push(letter),
        }
    }
    out
}

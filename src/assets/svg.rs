//! Icons drawn as SVG, rendered once when the project is loaded, at the size asked for.
//!
//! Only shapes: no text (it would need the system's fonts), no pictures inside pictures, no filters or dashes (a few bytes
//! of them can ask for any amount of work), nothing outside the file. What is left out is refused by name, not skipped.

use crate::frame::Gray;
use crate::limits;
use crate::source::fault::Fault;
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::roxmltree::{Document, Node, ParsingOptions};
use resvg::usvg::{Options, Tree};
use std::collections::BTreeMap;

/// Bytes of an SVG file at most.
const LARGEST: usize = 256 << 10;

/// Elements at most, those that `use` repeats counted each time.
const MOST_ELEMENTS: u64 = 5_000;

/// Groups inside groups at most.
const DEEPEST: usize = 64;

/// The namespace of SVG; what other programs keep in their own namespaces draws nothing.
const SVG: &str = "http://www.w3.org/2000/svg";

/// The elements that are drawn or say how.
const KNOWN: [&str; 19] = [
    "svg",
    "g",
    "defs",
    "symbol",
    "use",
    "title",
    "desc",
    "metadata",
    "style",
    "path",
    "rect",
    "circle",
    "ellipse",
    "line",
    "polyline",
    "polygon",
    "clipPath",
    "linearGradient",
    "radialGradient",
];

/// Whether a file is SVG, by its name or its first bytes.
pub fn is_svg(name: &str, bytes: &[u8]) -> bool {
    let start = bytes.trim_ascii_start();
    name.to_ascii_lowercase().ends_with(".svg") || start.starts_with(b"<?xml") || start.starts_with(b"<svg")
}

/// Draws an SVG over white. `size` turns the file's own size into the size wanted, in pixels.
///
/// # Errors
/// Says why the file cannot be drawn.
pub fn draw(bytes: &[u8], size: impl Fn(u32, u32) -> [u32; 2]) -> Result<Gray, Fault> {
    if bytes.len() > LARGEST {
        return Err(Fault::plain(format!("it has {} bytes; at most {LARGEST} of an SVG are read", bytes.len())));
    }
    let text = std::str::from_utf8(bytes).map_err(|_| Fault::plain("it is not text in UTF-8"))?;
    let options =
        ParsingOptions { allow_dtd: false, nodes_limit: 4 * MOST_ELEMENTS as u32, ..ParsingOptions::default() };
    let document = Document::parse_with_options(text, options).map_err(|why| Fault::plain(why.to_string()))?;
    inspect(&document)?;
    let tree = Tree::from_xmltree(&document, &Options::default()).map_err(|why| Fault::plain(why.to_string()))?;
    let own = [tree.size().width(), tree.size().height()];
    let [width, height] = size(own[0].ceil() as u32, own[1].ceil() as u32);
    if width == 0 || height == 0 || width > limits::PANEL_SIDE || height > limits::PANEL_SIDE {
        return Err(Fault::plain(format!("it cannot be drawn with {width} x {height} pixels")));
    }
    let mut pixels =
        Pixmap::new(width, height).ok_or_else(|| Fault::plain(format!("{width} x {height} pixels are too many")))?;
    let scale = Transform::from_scale(width as f32 / own[0], height as f32 / own[1]);
    resvg::render(&tree, scale, &mut pixels.as_mut());
    let gray = |pixel: &resvg::tiny_skia::PremultipliedColorU8| {
        // Luminance with the weights of ITU-R BT.709, as for other pictures; the colours hold their alpha already.
        let [red, green, blue] = [pixel.red(), pixel.green(), pixel.blue()].map(u32::from);
        let lit = (2126 * red + 7152 * green + 722 * blue + 5000) / 10_000;
        (lit + u32::from(255 - pixel.alpha())).min(255) as u8
    };
    Ok(Gray { width, height, pixels: pixels.pixels().iter().map(gray).collect() })
}

/// Refuses what is not drawn, what reaches outside the file, and what grows without end.
fn inspect(document: &Document<'_>) -> Result<(), Fault> {
    let mut weights = BTreeMap::new();
    for node in document.descendants().filter(Node::is_element) {
        let place = || format!("line {}", document.text_pos_at(node.range().start).row);
        let name = node.tag_name().name();
        if node.tag_name().namespace() != Some(SVG) {
            continue;
        }
        if !KNOWN.contains(&name) && name != "stop" {
            return Err(Fault::plain(format!("{}: <{name}> is not drawn in icons; only shapes are", place())));
        }
        if node.ancestors().count() > DEEPEST {
            return Err(Fault::plain(format!("{}: elements are nested more than {DEEPEST} deep", place())));
        }
        let styles = (name == "style").then(|| node.text()).flatten().into_iter();
        let values = node.attributes().map(|attribute| (attribute.name(), attribute.value()));
        for (key, value) in values.chain(styles.map(|text| ("style", text))) {
            if key == "href" && !value.starts_with('#') {
                return Err(Fault::plain(format!("{}: it refers to something outside the file", place())));
            }
            let lower = value.to_ascii_lowercase();
            if outside(&lower) {
                return Err(Fault::plain(format!("{}: it refers to something outside the file", place())));
            }
            if key == "stroke-dasharray" || (key == "style" && lower.contains("stroke-dasharray")) {
                return Err(Fault::plain(format!("{}: dashes are not drawn in icons", place())));
            }
        }
    }
    let total = weight(document.root_element(), document, &mut weights, 0)?;
    if total > MOST_ELEMENTS {
        return Err(Fault::plain(format!(
            "it has more than {MOST_ELEMENTS} elements, those repeated by <use> counted each time"
        )));
    }
    Ok(())
}

/// Whether a style or attribute names something that is not in the file.
fn outside(lower: &str) -> bool {
    let urls = lower.split("url(").skip(1);
    lower.contains("@import")
        || urls.map(|rest| rest.trim_start_matches([' ', '"', '\''])).any(|rest| !rest.starts_with('#'))
}

/// Elements that a node stands for, those that it repeats counted each time.
fn weight<'d>(
    node: Node<'d, 'd>,
    document: &'d Document<'d>,
    known: &mut BTreeMap<&'d str, u64>,
    depth: usize,
) -> Result<u64, Fault> {
    if depth > DEEPEST {
        return Err(Fault::plain("<use> repeats itself, or reaches too deep".to_owned()));
    }
    let mut sum = 1u64;
    for child in node.children().filter(Node::is_element) {
        sum = sum.saturating_add(weight(child, document, known, depth + 1)?);
    }
    let href = node.attributes().find(|attribute| attribute.name() == "href").map(|attribute| attribute.value());
    let target = href.filter(|_| node.tag_name().name() == "use").and_then(|href| href.strip_prefix('#'));
    let Some(id) = target else { return Ok(sum) };
    if let Some(weight) = known.get(id) {
        return Ok(sum.saturating_add(*weight));
    }
    let Some(found) = document.descendants().find(|node| node.attribute("id") == Some(id)) else { return Ok(sum) };
    let repeated = weight(found, document, known, depth + 1)?;
    known.insert(id, repeated);
    Ok(sum.saturating_add(repeated))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::{Method, dither};

    fn svg(inner: &str) -> String {
        format!("<svg xmlns=\"{SVG}\" width=\"8\" height=\"8\" viewBox=\"0 0 8 8\">{inner}</svg>")
    }

    fn drawn(inner: &str, size: [u32; 2]) -> Result<crate::frame::Frame, Fault> {
        draw(svg(inner).as_bytes(), |_, _| size).map(|gray| dither(&gray, Method::Threshold(128)))
    }

    #[test]
    fn shapes_become_ink_where_they_cover_half_a_pixel() {
        let frame = drawn("<path d='M1 1h6v2h-4v4h-2z'/><circle cx='6' cy='6' r='1' fill='#fff'/>", [8, 8]).unwrap();
        crate::frame::assert::assert_picture(
            &frame,
            &["........", ".######.", ".######.", ".##.....", ".##.....", ".##.....", ".##.....", "........"],
        );
        // A line a quarter of a pixel high stays paper; at four times the size it covers a whole one.
        assert_eq!(drawn("<rect y='2' width='8' height='.25'/>", [8, 8]).unwrap().ink_count(), 0);
        assert_eq!(drawn("<rect y='2' width='8' height='.25'/>", [32, 32]).unwrap().ink_count(), 32);
        // Without a size the file's own counts.
        let gray = draw(svg("").as_bytes(), |width, height| [width, height]).unwrap();
        assert_eq!((gray.width, gray.height, gray.pixels.iter().all(|gray| *gray == 255)), (8, 8, true));
    }

    #[test]
    fn what_is_not_drawn_is_refused_by_name() {
        for (inner, words) in [
            ("<text>a</text>", "line 1: <text> is not drawn"),
            ("<image href='a.png'/>", "<image> is not drawn"),
            ("<filter id='f'/>", "<filter> is not drawn"),
            ("<foreignObject/>", "<foreignObject> is not drawn"),
            ("<script/>", "<script> is not drawn"),
            ("<use href='other.svg#a'/>", "outside the file"),
            ("<rect width='9' height='9' fill='url(http://x/y)'/>", "outside the file"),
            ("<style>@import 'x.css';</style>", "outside the file"),
            ("<style>rect { fill: url( 'file:///etc/passwd' ) }</style>", "outside the file"),
            ("<path d='M0 0h9' stroke='#000' stroke-dasharray='.0001'/>", "dashes"),
            ("<path d='M0 0h9' style='stroke-dasharray:.0001'/>", "dashes"),
            ("<g id='a'><use href='#a'/></g>", "repeats itself"),
        ] {
            let why = drawn(inner, [8, 8]).unwrap_err().message;
            assert!(why.contains(words), "{inner}: {why}");
        }
        assert!(draw(b"<svg", |_, _| [8, 8]).is_err() && draw(&[0xFF; 9], |_, _| [8, 8]).is_err());
        assert!(draw(&vec![b' '; LARGEST + 1], |_, _| [8, 8]).unwrap_err().message.contains("bytes"));
        assert!(drawn("", [0, 8]).is_err() && drawn("", [8, 100_000]).is_err());
    }

    #[test]
    fn small_files_that_grow_are_refused_at_once() {
        let start = std::time::Instant::now();
        // Ten times ten times ten ...: a thousand million rectangles.
        let mut inner = "<g id='g0'><rect width='1' height='1'/></g>".to_owned();
        for level in 1..10 {
            inner += &format!("<g id='g{level}'>{}</g>", format!("<use href='#g{}'/>", level - 1).repeat(10));
        }
        assert!(drawn(&inner, [8, 8]).unwrap_err().message.contains("elements"));
        let deep = "<g>".repeat(2_000) + &"</g>".repeat(2_000);
        assert!(drawn(&deep, [8, 8]).is_err());
        let entities =
            format!("<!DOCTYPE svg [<!ENTITY a 'aaaa'><!ENTITY b '&a;&a;&a;'>]>{}", svg("<title>&b;</title>"));
        assert!(draw(entities.as_bytes(), |_, _| [8, 8]).unwrap_err().message.to_lowercase().contains("dtd"));
        let huge = format!("<svg xmlns=\"{SVG}\" width=\"1e30\" height=\"1e30\"><rect width='9' height='9'/></svg>");
        assert!(draw(huge.as_bytes(), |width, height| [width, height]).is_err());
        assert!(draw(huge.as_bytes(), |_, _| [16, 16]).is_ok());
        for odd in ["NaN", "1e-40", "-5", "99999999999999999999"] {
            let text = format!(
                "<svg xmlns=\"{SVG}\" width='{odd}' viewBox='0 0 {odd} 8'><path d='M{odd} 1h{odd}v{odd}z'/></svg>"
            );
            let _answer = draw(text.as_bytes(), |_, _| [16, 16]);
        }
        assert!(start.elapsed().as_secs() < 60, "{:?}", start.elapsed());
    }
}

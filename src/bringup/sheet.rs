//! The sheet of all looks: one PNG with numbers, and an HTML page with the packing beside each picture.

use super::Seen;
use super::patterns::Pattern;
use super::windows::{every_origin, other_order};
use crate::device::Device;
use crate::frame::blit::Paint;
use crate::frame::packing_words::describe;
use crate::frame::{Frame, files};
use crate::hardware::packing::{profile_packing, written};
use crate::screen::face::builtin;
use crate::source::fault::Fault;
use crate::visible::visible;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// One PNG with all looks, numbered.
///
/// # Errors
/// When the picture would be too large.
pub fn png(looks: &[Seen]) -> Result<Vec<u8>, Fault> {
    const GAP: u32 = 12;
    const CAPTION: u32 = 16;
    let Some(first) = looks.first() else { return Err(Fault::plain("there is nothing to show")) };
    let columns = if first.frame.width() > first.frame.height() * 2 { 4 } else { 8 };
    let cell = Size::new(first.frame.width() + 2 + GAP, first.frame.height() + 2 + CAPTION + GAP);
    let rows = (looks.len() as u32).div_ceil(columns);
    let mut sheet = Frame::new(cell.width * columns + GAP, cell.height * rows + GAP);
    let everything = Rectangle::new(Point::zero(), sheet.size());
    let face = builtin::face("bold");
    for (index, seen) in (0u32..).zip(looks) {
        let corner =
            Point::new((GAP + index % columns * cell.width) as i32, (GAP + index / columns * cell.height) as i32);
        if let Some(face) = &face {
            let text = if seen.right { format!("{}  as sent", seen.number) } else { seen.number.to_string() };
            face.draw(&text, corner + Point::new(0, face.cap_height), everything, Paint::Ink, &mut sheet);
        }
        let corner = corner + Point::new(0, CAPTION as i32);
        sheet.fill(Rectangle::new(corner, first.frame.size() + Size::new(2, 2)), true);
        sheet.blit(&seen.frame, corner + Point::new(1, 1), everything, Paint::Opaque);
    }
    files::png(&sheet, 1).map_err(|why| Fault::plain(format!("cannot make the sheet: {why}")))
}

/// The page; pictures are looked for in the folders `seen`, `patterns` and `origin` beside it.
pub fn html(device: &Device, looks: &[Seen], patterns: &[Pattern]) -> String {
    let mut page = format!(
        "<!doctype html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n<title>{name}: first images</title>\n<style>\n\
         body {{ font: 16px/1.4 system-ui, sans-serif; margin: 2rem; max-width: 80rem; }}\n\
         main {{ display: grid; grid-template-columns: repeat(auto-fill, minmax(20rem, 1fr)); gap: 1.5rem; }}\n\
         figure {{ margin: 0; }}\nimg {{ border: 1px solid #888; max-width: 100%; image-rendering: pixelated; }}\n\
         code {{ user-select: all; background: #eee; padding: 0 .2em; }}\n.right {{ outline: 3px solid #888; outline-offset: 6px; }}\n</style>\n\
         <h1>{name}: first images</h1>\n\
         <p>Flash the orientation image. Find below what the display shows, and copy the packing beside it into the panel's \
         profile. The outlined image is how it should look.</p>\n<main>\n",
        name = escaped(&device.name)
    );
    for seen in looks {
        let own = profile_packing(&device.panel, &seen.packing).unwrap_or_else(|| seen.packing.clone());
        page += &format!(
            "<figure{}><img src=\"seen/{:02}.png\" alt=\"\"><figcaption><b>{}</b>{}: <code>{}</code><br>{}</figcaption></figure>\n",
            if seen.right { " class=\"right\"" } else { "" },
            seen.number,
            seen.number,
            if seen.right { ", as sent" } else { "" },
            escaped(&written(&own)),
            describe(&own)
        );
    }
    page += "</main>\n<h2>The other images</h2>\n<main>\n";
    for pattern in patterns {
        page += &format!(
            "<figure><img src=\"patterns/{0}.png\" alt=\"\"><figcaption><b>{0}</b>: {1}</figcaption></figure>\n",
            pattern.name,
            escaped(&pattern.about)
        );
    }
    page += "</main>\n<h2>Where the first window appears</h2>\n<p>White first, then the image window-1 as a partial refresh of its \
             window. Where the black block appears tells from which corner of its memory the controller counts. Where it takes \
             two planes and mistakes the image before for the image now, the display stays white.</p>\n<main>\n";
    for landed in every_origin(device) {
        let name = landed.corner.words().replace(' ', "-");
        page += &format!(
            "<figure{}><img src=\"origin/{name}.png\" alt=\"\"><figcaption><code>origin = \"{name}\"</code></figcaption></figure>\n",
            if landed.right { " class=\"right\"" } else { "" },
        );
    }
    if let Some((planes, _)) = other_order(device) {
        page += &format!(
            "<figure><img src=\"origin/other-order.png\" alt=\"\"><figcaption>still white: <code>planes = \"{}\"</code></figcaption></figure>\n",
            planes.word()
        );
    }
    page + "</main>\n</html>\n"
}

fn escaped(text: &str) -> String {
    visible(text).replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

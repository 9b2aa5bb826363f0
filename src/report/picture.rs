//! Frames in the page: as pictures of their own, and as thumbnails with update windows drawn over them.

use crate::frame::{Frame, files};
use crate::plot::scene::Scene;
use crate::plot::svg::inline;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use embedded_graphics::primitives::Rectangle;
use maud::{Markup, PreEscaped, html};

/// Widest thumbnail, in pixels of the page.
const THUMBNAIL: u32 = 296;

/// A PNG as an address that holds it.
pub fn address(png: &[u8]) -> String {
    format!("data:image/png;base64,{}", STANDARD.encode(png))
}

/// A frame as an address that holds it, one pixel of the picture for each of its own.
pub fn frame_address(frame: &Frame) -> String {
    // A panel's size is within the limits of a PNG.
    files::png(frame, 1).map_or_else(|_| "data:,".to_owned(), |png| address(&png))
}

/// A plot as it is drawn for a wide page, and as for a narrow one: one of them is shown.
pub fn plots(wide: &Scene, narrow: &Scene, words: &str) -> Markup {
    html! {
        div.plot-wide { (PreEscaped(inline(wide, words))) }
        div.plot-narrow { (PreEscaped(inline(narrow, words))) }
    }
}

/// Pictures that several thumbnails show, each in the page once.
#[derive(Debug, Default)]
pub struct Shelf {
    pictures: Vec<(Frame, usize)>,
}

impl Shelf {
    /// The name of a frame's picture.
    pub fn name(&mut self, frame: &Frame) -> String {
        let known = self.pictures.iter().find(|(known, _)| known == frame).map(|(_, name)| *name);
        let name = known.unwrap_or_else(|| {
            self.pictures.push((frame.clone(), self.pictures.len()));
            self.pictures.len() - 1
        });
        format!("p{name}")
    }

    /// The pictures, to stand in the page before they are used. They take no room there.
    pub fn markup(&self) -> Markup {
        html! {
            svg.shelf width="0" height="0" aria-hidden="true" focusable="false" {
                defs {
                    @for (frame, name) in &self.pictures {
                        image id=(format!("p{name}")) width=(frame.width()) height=(frame.height()) href=(frame_address(frame)) {}
                    }
                }
            }
        }
    }
}

/// How wide a thumbnail is: the frame itself, or every second or third pixel of it, so that no line of it drops out unevenly.
pub fn thumb_width(width: u32) -> u32 {
    width / width.div_ceil(THUMBNAIL).max(1)
}

/// A thumbnail with windows outlined; `whole` outlines the whole display instead. Without words for it, what stands beside
/// it says enough.
pub fn thumbnail(shelf: &mut Shelf, frame: &Frame, windows: &[Rectangle], whole: bool, alt: &str) -> Markup {
    let (width, height) = (frame.width(), frame.height());
    let shown = thumb_width(width);
    let named = !alt.is_empty();
    let (class, shown_height) =
        (if width <= THUMBNAIL { "thumb sharp" } else { "thumb" }, height * shown / width.max(1));
    html! {
        svg class=(class) viewBox=(format!("-2 -2 {} {}", width + 4, height + 4)) width=(shown + 4) height=(shown_height + 4) role=[named.then_some("img")] aria-label=[named.then_some(alt)] aria-hidden=[(!named).then_some("true")] {
            rect.paper width=(width) height=(height) {}
            use href=(format!("#{}", shelf.name(frame))) {}
            @if whole {
                rect.whole x="-1" y="-1" width=(width + 2) height=(height + 2) {}
            }
            @for window in windows {
                rect.window x=(f64::from(window.top_left.x) - 0.5) y=(f64::from(window.top_left.y) - 0.5) width=(window.size.width + 1) height=(window.size.height + 1) {}
            }
        }
    }
}

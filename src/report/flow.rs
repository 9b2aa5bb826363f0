//! The flow as a map: every screen with its ways, and arrows.

use super::picture::Shelf;
use crate::evaluation::Evaluation;
use crate::map::map;
use crate::plot::svg::inline_sized;
use maud::{Markup, PreEscaped, html};

/// The section, and the shelf with the pictures that the map uses.
pub fn section(side: &Evaluation, locale: usize, shelf: &mut Shelf) -> Markup {
    let scene = map(&side.device, locale);
    let words = "Each screen with its transitions; the same transitions stand in tables under Screens.";
    let drawn = inline_sized(&scene, words, &mut |frame| shelf.name(frame));
    html! {
        section id="flow" aria-labelledby="h-flow" {
            h2 id="h-flow" { "Map of the flow" }
            p.prose { "What leads where, found by trying every key, timer and event in every state. Costs are those with no partial refreshes before, and with sample values where these lead the same way." }
            p.screen-only { label { input type="checkbox" #flow-whole; " at full size, to be read" } }
            div.wide.map role="group" aria-label="Map of the flow" tabindex="0" { (PreEscaped(drawn)) }
        }
    }
}

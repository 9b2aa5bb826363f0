//! The contact sheet: every screen small, in the order of the flow, each leading to its own part.

use super::picture::{Shelf, thumbnail};
use super::screens::order;
use super::walk::title;
use crate::evaluation::Evaluation;
use crate::machine::canvas::pictured;
use maud::{Markup, html};

/// The section, and the shelf with its pictures.
pub fn section(side: &Evaluation, locale: usize, shelf: &mut Shelf) -> Markup {
    let device = &side.device;
    html! {
        section id="sheet" aria-labelledby="h-sheet" {
            h2 id="h-sheet" { "All screens" }
            ul.sheet {
                @for id in order(side) {
                    @let name = title(device, id, locale);
                    li {
                        a href=(format!("#s{}", id.0)) {
                            (thumbnail(shelf, &pictured(device, id, locale), &[], false, ""))
                            span { (name) }
                        }
                    }
                }
            }
        }
    }
}

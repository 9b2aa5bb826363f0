//! Memory: ways to buffer the image, and the flash that screens take.

use super::figure::{facts, figure, of, typeset};
use crate::budget::figure::Figure;
use crate::evaluation::Evaluation;
use crate::units::Bytes;
use maud::{Markup, html};

/// The section.
pub fn section(side: &Evaluation) -> Markup {
    let (device, budget) = (&side.device, &side.budget);
    html! {
        section id="memory" aria-labelledby="h-memory" {
            h2 id="h-memory" { "Memory" }
            p.prose {
                "One frame takes " (of(side, Figure::FrameBytes)) ". The board has "
                (typeset(device.board.mcu.ram)) " of RAM for the display"
                @if let Some(memory) = &device.board.memory { " and " (typeset(memory.size)) " of external memory" } "."
            }
            div.wide role="group" aria-label="Buffering of the image" tabindex="0" {
                table {
                    caption.visually-hidden { "Buffering of the image" }
                    thead { tr {
                        th scope="col" { "Buffer" } th.n scope="col" { "RAM" } th.n scope="col" { "External" } th scope="col" { "Fits" } th.n scope="col" { "One full refresh" }
                    } }
                    tbody {
                        @for (row, scheme) in budget.schemes.iter().enumerate() {
                            @let at = |key: &str| format!("/memory/schemes/{row}/{key}");
                            @let storage = |key: &str, bytes: Bytes| figure(&at(key), bytes, bytes);
                            tr {
                                th scope="row" { (scheme.name) @if scheme.buffer == device.policy.buffer { " " strong.tag { "chosen" } } }
                                td.n { (storage("ram_bytes", scheme.ram)) }
                                td.n { (storage("sram_bytes", scheme.memory)) }
                                td { @if scheme.fits { "yes" } @else { "no" } }
                                td.n { (figure(&at("update_energy_j"), scheme.energy, scheme.energy)) }
                            }
                        }
                    }
                }
            }
            dl.facts {
                (facts(side, |figure| figure.row().pointer.starts_with("/memory/flash_bytes/") || figure.row().pointer.starts_with("/memory/c_live/")))
            }
        }
    }
}

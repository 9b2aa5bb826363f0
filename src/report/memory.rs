//! Memory: ways to buffer the image, and the flash that screens take.

use super::figure::{facts, figure, of, typeset};
use crate::budget::figure::{Figure, Unit};
use crate::evaluation::Evaluation;
use crate::units::column::Scale;
use crate::units::{Bytes, Joules, Quantity};
use maud::{Markup, html};

/// The section.
pub fn section(side: &Evaluation) -> Markup {
    let (device, budget) = (&side.device, &side.budget);
    let energies = Scale::of(budget.schemes.iter().map(|scheme| scheme.energy.0), Joules::SI);
    html! {
        section id="memory" aria-labelledby="h-memory" {
            h2 id="h-memory" { "Memory" }
            p.prose {
                "One frame takes " (of(side, Figure::FrameBytes)) ". The board has "
                (typeset(Unit::Bytes.show(device.board.mcu.ram.0))) " of RAM for the display"
                @if let Some(memory) = &device.board.memory { " and " (typeset(Unit::Bytes.show(memory.size.0))) " of external memory" } "."
            }
            div.wide role="group" aria-label="Buffering of the image" tabindex="0" {
                table.stack {
                    caption.visually-hidden { "Buffering of the image" }
                    thead { tr {
                        th scope="col" { "Buffer" } th.n scope="col" { "RAM" } th.n scope="col" { "External" } th scope="col" { "Fits" } th.n scope="col" { "One full refresh" }
                    } }
                    tbody {
                        @for (row, scheme) in budget.schemes.iter().enumerate() {
                            @let at = |key: &str| format!("/memory/schemes/{row}/{key}");
                            @let storage = |key: &str, bytes: Bytes| figure(&at(key), bytes, bytes);
                            tr {
                                th.whole scope="row" { (scheme.name) @if scheme.buffer == device.policy.buffer { " " strong.tag { "chosen" } } }
                                td.n data-label="RAM" { (storage("ram_bytes", scheme.ram)) }
                                td.n data-label="External" { (storage("external_bytes", scheme.memory)) }
                                td data-label="Fits" { @if budget.room(device, scheme).is_some() { "yes" } @else { "no" } }
                                td.n data-label="One full refresh" { (figure(&at("update_energy_j"), scheme.energy, energies.show(scheme.energy.0))) }
                            }
                        }
                    }
                }
            }
            dl.facts { (facts(side, |figure| {
                matches!(figure, Figure::Ram | Figure::Sram) || figure.row().pointer.starts_with("/memory/flash_bytes/")
            })) }
            @if budget.live(device).is_some() {
                h3 { "Exported as " code { "c-live" } }
                dl.facts { (facts(side, |figure| figure.row().pointer.starts_with("/memory/c_live/"))) }
            }
        }
    }
}

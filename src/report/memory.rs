//! Memory: ways to buffer the image, and the flash that screens take.

use super::figure::{facts, figure, of, typeset};
use crate::budget::figure::Figure;
use crate::budget::memory::{cycles_per_byte, unpackings};
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
            (backgrounds(side))
        }
    }
}

/// Backgrounds of the screens as they are stored compressed, and what it takes to unpack each.
fn backgrounds(side: &Evaluation) -> Markup {
    let device = &side.device;
    let all = unpackings(device, &device.inputs.typical());
    let (cycles, stated) = cycles_per_byte(device);
    html! {
        h3 { "Backgrounds, compressed" }
        p.prose {
            "Exports may store each screen's background compressed. Unpacking takes "
            (figure("/memory/cycles_per_byte", cycles, crate::units::figures(cycles))) " core cycles a byte"
            @if !stated { " (assumed: board.mcu.cycles-per-byte is not stated)" } ", beside the figures of the updates."
        }
        div.wide role="group" aria-label="Backgrounds of the screens, compressed" tabindex="0" {
            table {
                caption.visually-hidden { "Backgrounds of the screens, compressed" }
                thead { tr {
                    th scope="col" { "Screen" } th.n scope="col" { "Plain" } th.n scope="col" { "Stored" } th scope="col" { "As" }
                    th.n scope="col" { "Cycles" } th.n scope="col" { "Time" } th.n scope="col" { "Energy" }
                } }
                tbody {
                    @for (row, one) in all.iter().enumerate() {
                        @let at = |key: &str| format!("/memory/backgrounds/{row}/{key}");
                        tr {
                            th scope="row" { (device.screens[one.amounts.screen.0].id) }
                            td.n { (figure(&at("bytes"), one.amounts.bytes as f64, format!("{} B", one.amounts.bytes))) }
                            td.n { (figure(&at("stored_bytes"), one.amounts.stored as f64, format!("{} B", one.amounts.stored))) }
                            td { (one.amounts.codec.word()) }
                            td.n { (figure(&at("cycles"), one.cycles, crate::units::figures(one.cycles))) }
                            td.n { (figure(&at("time_s"), one.time, one.time)) }
                            td.n { (figure(&at("energy_j"), one.energy, one.energy)) }
                        }
                    }
                }
            }
        }
    }
}

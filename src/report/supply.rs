//! Whether the supply holds at its worst moment, and the battery's other figures.

use super::figure::{figure, typeset};
use super::scale::{Kind, Mark, Scale};
use crate::budget::corners::{Corners, words};
use crate::budget::summary::supply_holds;
use crate::cell::peak::{Fill, Wear};
use crate::evaluation::Evaluation;
use crate::units::{Volts, figures, plain_time};
use maud::{Markup, html};

/// The section.
pub fn section(side: &Evaluation) -> Markup {
    let budget = &side.budget;
    let holds = supply_holds(budget);
    html! {
        section id="supply" aria-labelledby="h-supply" {
            h2 id="h-supply" { "Supply" }
            p.prose {
                strong {
                    @if holds { "The supply holds. " }
                    @else if budget.corners.is_err() { "Whether the supply holds is not known. " }
                    @else { "The supply does not hold. " }
                }
                @match &budget.corners {
                    Ok(corners) => {
                        @let worst = &corners.worst;
                        "With all tolerances at their worst, the peak load of a full refresh at " (typeset(worst.temperature)) ", the battery "
                        @if worst.fill == Fill::Empty { "empty but for its reserve" } @else { "full" }
                        @if worst.wear == Wear::Aged { " and half its shelf age old, " } @else { " and new, " }
                        @match budget.worst_voltage() {
                            Some(volts) => {
                                "leaves " (figure("/battery/v_min_under_peak", volts, volts)) "; the rails need "
                                (figure("/battery/v_needed", corners.needed, corners.needed)) "."
                            }
                            None => { "browns out: it asks for more power than the battery can give." }
                        }
                    }
                    Err(why) => { (why.to_string()) "." }
                }
            }
            @if let (Some(worst), Ok(corners)) = (budget.worst_voltage(), &budget.corners) { (scale(worst, corners.needed)) }
            @if let Ok(corners) = &budget.corners { (corners_table(corners)) }
            dl.facts {
                @if let Ok(usable) = budget.usable {
                    div { dt { "Usable charge, new" } dd { (figure("/battery/usable_c", usable, format!("{} mAh", figures(usable.0 / 3.6)))) } }
                }
                @if let Some(time) = budget.charge_time {
                    div { dt { "Charge from the reserve, running" } dd { (figure("/battery/charge_time_s", time, plain_time(time))) } }
                }
                div { dt { "Kept for the last screen" } dd { (figure("/battery/last_screen_j", budget.last_screen, budget.last_screen)) } }
                @if !side.device.battery.note.is_empty() { div { dt { "Battery" } dd.words { (side.device.battery.note) } } }
            }
        }
    }
}

fn corners_table(corners: &Corners) -> Markup {
    let at = |row: usize, corner: usize, key: &str| format!("/battery/corners/updates/{row}/corners/{corner}/{key}");
    html! {
        h3 { "At every corner" }
        div.wide role="group" aria-label="Voltage under the hardest pull at every corner" tabindex="0" {
            table {
                caption.visually-hidden { "Voltage under the hardest pull at every corner" }
                thead { tr {
                    th scope="col" { "Update" } th scope="col" { "Battery" } th.n scope="col" { "Temperature" } th.n scope="col" { "Charged" }
                    th.n scope="col" { "Resistance" } th.n scope="col" { "Open circuit" } th.n scope="col" { "Under load" }
                } }
                tbody {
                    @for (r, row) in corners.rows.iter().enumerate() {
                        @for (c, corner) in row.corners.iter().enumerate() {
                            tr {
                                th scope="row" { (row.mode.name()) }
                                td { (words(corner)) }
                                td.n { (figure(&at(r, c, "temperature_c"), corner.temperature, corner.temperature)) }
                                td.n { (figure(&at(r, c, "state_of_charge"), corner.state_of_charge, corner.state_of_charge)) }
                                td.n { (figure(&at(r, c, "resistance_ohm"), corner.resistance, corner.resistance)) }
                                td.n { (figure(&at(r, c, "ocv_v"), corner.ocv, corner.ocv)) }
                                td.n {
                                    @match corner.terminal.volts() {
                                        Some(volts) => (figure(&at(r, c, "v"), volts, volts)),
                                        None => "collapses",
                                    }
                                    @if !corner.terminal.reaches(corners.needed) { " " strong { "too low" } }
                                }
                            }
                        }
                    }
                }
            }
        }
        p.prose {
            "Aged is " (figure("/battery/corners/aged_s", corners.aged, plain_time(corners.aged))) " old. Cold, empty and aged the battery can give the panel "
            (figure("/battery/corners/largest_panel_current_a", corners.largest_current, corners.largest_current))
            "; a full refresh takes " (figure("/battery/corners/full_panel_current_a", corners.full_current, corners.full_current)) " at its hardest. "
            @match corners.largest_update {
                Some(mode) => {
                    "It can still draw a " (mode.name()) " refresh, and the charge kept back pays for "
                    (figure("/battery/corners/reserve_updates", corners.reserve_updates, figures(corners.reserve_updates))) " of them."
                }
                None => { strong { "It can draw no update: " } "keep more back, or draw the last screen earlier (" (figure("/battery/corners/reserve_updates", corners.reserve_updates, figures(corners.reserve_updates))) " updates kept)." }
            }
        }
    }
}

fn scale(worst: Volts, needed: Volts) -> Markup {
    let (low, high) = (worst.0.min(needed.0), worst.0.max(needed.0));
    let room = (high - low).max(0.2);
    let (from, to) = (Volts((low - room).max(0.0)), Volts(high + room));
    let scale = Scale {
        from: from.0,
        to: to.0,
        ends: [from.to_string(), to.to_string()],
        marks: vec![
            Mark { at: needed.0, label: format!("needed {needed}"), kind: Kind::Limit },
            Mark { at: worst.0, label: format!("worst {worst}"), kind: Kind::Main },
        ],
        words: format!("{worst} at the worst moment, {needed} needed"),
    };
    scale.markup()
}

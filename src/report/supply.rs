//! Whether the supply holds at its worst moment, and the battery's other figures.

use super::figure::{facts, figure, of, typeset};
use super::scale::{Mark, MarkKind, Scale};
use crate::budget::figure::Figure;
use crate::budget::summary::supply_holds;
use crate::budget::supply_corners::{SupplyCorners, words};
use crate::cell::peak::{Corner, Fill, Wear};
use crate::evaluation::Evaluation;
use crate::units::column::Scale as UnitScale;
use crate::units::{Ohms, Quantity, Volts, figures, plain_time};
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
                    @else if budget.supply_corners.is_err() { "Whether the supply holds is not known. " }
                    @else { "Supply fails. " }
                }
                @match &budget.supply_corners {
                    Ok(supply_corners) => {
                        @let worst = &supply_corners.worst;
                        "With all tolerances at their worst, the peak load of a " (supply_corners.mode.name()) " refresh at " (typeset(worst.temperature)) ", the battery "
                        @if worst.fill == Fill::Empty { "down to its reserve" } @else { "full" }
                        @if worst.wear == Wear::Aged { " and half its shelf life old, " } @else { " and new, " }
                        @match budget.worst_voltage() {
                            Some(_) => {
                                "leaves " (of(side, Figure::SupplyVoltage)) "; the rails need " (of(side, Figure::NeededVoltage)) "."
                            }
                            None => { "browns out: it asks for more power than the battery can give." }
                        }
                    }
                    Err(why) => { (why.to_string()) "." }
                }
            }
            @if let (Some(worst), Ok(supply_corners)) = (budget.worst_voltage(), &budget.supply_corners) { (scale(worst, supply_corners.needed)) }
            @if let Ok(supply_corners) = &budget.supply_corners { (corners_table(supply_corners)) }
            dl.facts {
                (facts(side, |figure| matches!(figure, Figure::Usable | Figure::ChargeTime | Figure::LastScreen)))
                @if !side.device.battery.note.is_empty() { div { dt { "Battery" } dd.words { (side.device.battery.note) } } }
            }
        }
    }
}

fn corners_table(supply_corners: &SupplyCorners) -> Markup {
    let resistances = UnitScale::of(
        supply_corners.rows.iter().flat_map(|row| row.supply_corners.iter().map(|corner| corner.resistance.0)),
        Ohms::SI,
    );
    let two_decimals = |volts: Volts| format!("{:.2} V", volts.0);
    let low =
        |corner: &Corner| html! { @if !corner.terminal.reaches(supply_corners.needed) { " " strong { "too low" } } };
    let at =
        |row: usize, corner: usize, key: &str| format!("/battery/supply_corners/updates/{row}/corners/{corner}/{key}");
    let rows = supply_corners.rows.iter().enumerate();
    let all: Vec<(usize, usize, &'static str, &Corner)> = rows
        .flat_map(|(r, row)| {
            row.supply_corners.iter().enumerate().map(move |(c, corner)| (r, c, row.mode.name(), corner))
        })
        .collect();
    html! {
        details {
            summary { "All " (all.len()) " corners: each kind of refresh, cold and hot, full and empty, new and aged" }
            div.wide role="group" aria-label="Voltage under peak load at every corner" tabindex="0" {
                table.stack {
                    caption.visually-hidden { "Voltage under peak load at every corner" }
                    thead { tr {
                        th scope="col" { "Refresh" } th scope="col" { "Battery" } th.n scope="col" { "Temperature" } th.n scope="col" { "Charged" }
                        th.n scope="col" { "Resistance" } th.n scope="col" { "Open circuit" } th.n scope="col" { "Droop" } th.n scope="col" { "Under load" }
                    } }
                    tbody {
                        @for (r, c, mode, corner) in all {
                            tr {
                                th scope="row" data-label="Refresh" { (mode) }
                                td data-label="Battery" { (words(corner)) }
                                td.n data-label="Temperature" { (figure(&at(r, c, "temperature_degc"), corner.temperature, corner.temperature)) }
                                td.n data-label="Charged" { (figure(&at(r, c, "state_of_charge"), corner.state_of_charge, format!("{:.1} %", 100.0 * corner.state_of_charge.0))) }
                                td.n data-label="Resistance" { (figure(&at(r, c, "resistance_ohm"), corner.resistance, resistances.show(corner.resistance.0))) }
                                td.n data-label="Open circuit" { (figure(&at(r, c, "open_circuit_v"), corner.ocv, two_decimals(corner.ocv))) }
                                @match corner.terminal.volts() {
                                    Some(volts) => {
                                        td.n data-label="Droop" { (typeset(format!("{:.0} mV", 1e3 * (corner.ocv - volts).0))) }
                                        td.n data-label="Under load" { (figure(&at(r, c, "under_load_v"), volts, two_decimals(volts))) (low(corner)) }
                                    }
                                    None => { td.n data-label="Droop" {} td.n data-label="Under load" { "brown-out" (low(corner)) } }
                                }
                            }
                        }
                    }
                }
            }
        }
        p.prose {
            "Aged is " (figure("/battery/supply_corners/aged_s", supply_corners.aged, plain_time(supply_corners.aged))) " old. Cold, empty and aged the battery can give the panel "
            (figure("/battery/supply_corners/largest_panel_current_a", supply_corners.largest_current, supply_corners.largest_current))
            "; a full refresh takes " (figure("/battery/supply_corners/full_panel_current_a", supply_corners.full_current, supply_corners.full_current)) " at its peak. "
            @match supply_corners.largest_update {
                Some(mode) => {
                    "The battery can still supply a " (mode.name()) " refresh, and the reserve covers "
                    (figure("/battery/supply_corners/reserve_updates", supply_corners.reserve_updates, figures(supply_corners.reserve_updates))) " of them."
                }
                None => { strong { "The battery can supply no update: " } "keep a larger reserve, or draw the last screen earlier (" (figure("/battery/supply_corners/reserve_updates", supply_corners.reserve_updates, figures(supply_corners.reserve_updates))) " updates kept)." }
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
            Mark { at: needed.0, label: format!("needed {needed}"), kind: MarkKind::Limit },
            Mark { at: worst.0, label: format!("worst {worst}"), kind: MarkKind::Main },
        ],
        words: format!("{worst} at the worst moment, {needed} needed"),
    };
    scale.markup()
}

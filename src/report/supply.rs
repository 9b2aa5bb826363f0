//! Whether the supply holds at its worst moment, and the battery's other figures.

use super::figure::{figure, typeset};
use super::scale::{Kind, Mark, Scale};
use crate::budget::life::coldest;
use crate::budget::summary::supply_holds;
use crate::compare::Side;
use crate::units::{Volts, figures, plain_time};
use maud::{Markup, html};

/// The section.
pub fn section(side: &Side) -> Markup {
    let budget = &side.budget;
    let holds = supply_holds(budget);
    html! {
        section id="supply" aria-labelledby="h-supply" {
            h2 id="h-supply" { "Supply" }
            p.prose {
                strong { @if holds { "The supply holds. " } @else { "The supply does not hold. " } }
                "The hardest pull of a full refresh at " (typeset(coldest(&side.device))) ", the battery empty but for its reserve and half its shelf age old, "
                @match budget.worst_voltage {
                    Some(volts) => {
                        "leaves " (figure("/battery/v_min_under_peak", volts, volts)) "; the rails need "
                        (figure("/battery/v_needed", budget.needed_voltage, budget.needed_voltage)) "."
                    }
                    None => { "makes the voltage collapse: it asks for more power than the battery can give." }
                }
            }
            @if let Some(worst) = budget.worst_voltage { (scale(worst, budget.needed_voltage)) }
            dl.facts {
                @if let Some(usable) = budget.usable {
                    div { dt { "Usable charge, new" } dd { (figure("/battery/usable_c", usable, format!("{} mAh", figures(usable.0 / 3.6)))) } }
                }
                @if let Some(time) = budget.charge_time {
                    div { dt { "Charge from empty, running" } dd { (figure("/battery/charge_time_s", time, plain_time(time))) } }
                }
                div { dt { "Kept for the last screen" } dd { (figure("/battery/last_screen_j", budget.last_screen, budget.last_screen)) } }
                @if !side.device.battery.note.is_empty() { div { dt { "Battery" } dd.words { (side.device.battery.note) } } }
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

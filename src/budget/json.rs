//! A budget as JSON for other programs: SI units in the key names.

use super::corners::{Corners, Row, words};
use super::summary::{Budget, Transition, cautions};
use crate::cell::peak::Corner;
use crate::cost::consumer::Consumer;
use crate::device::Device;
use crate::refresh::update::Mode;
use crate::units::Joules;
use embedded_graphics::primitives::Rectangle;
use serde_json::{Value, json};

/// The JSON of a budget, schema 2.
pub fn json(device: &Device, budget: &Budget) -> Value {
    let size = device.panel.size();
    let tally = &budget.tally;
    let cause = |(what, energy): &(Consumer, Joules)| json!({ "kind": what.kind().name(), "name": what.name(device), "energy_j": energy.0 });
    let causes: Vec<Value> = budget.causes.iter().map(cause).collect();
    let total: f64 = budget.causes.iter().map(|(_, energy)| energy.0).sum();
    let days = |life: &super::life::Life| life.time / crate::units::DAY;
    let life = budget.life.as_ref().ok();
    let supply = budget.corners.as_ref().ok();
    json!({
        "schema": 2,
        "project": device.name,
        "note": device.note,
        "panel": {
            "width_px": size.width,
            "height_px": size.height,
            "ppi": device.panel.ppi(),
            "frame_bytes": device.panel.plane_bytes(),
        },
        "memory": {
            "schemes": budget.schemes.iter().map(|scheme| json!({
                "name": scheme.name,
                "ram_bytes": scheme.ram.0,
                "sram_bytes": scheme.memory.0,
                "fits": scheme.fits,
                "update_energy_j": scheme.energy.0,
            })).collect::<Vec<_>>(),
            "backgrounds": super::memory::unpackings(device, &device.inputs.typical()).iter().map(|unpacking| json!({
                "id": device.screens[unpacking.amounts.screen.0].id,
                "bytes": unpacking.amounts.bytes,
                "stored_bytes": unpacking.amounts.stored,
                "codec": unpacking.amounts.codec,
                "cycles": unpacking.cycles,
                "time_s": unpacking.time.0,
                "energy_j": unpacking.energy.0,
            })).collect::<Vec<_>>(),
            "cycles_per_byte": super::memory::cycles_per_byte(device).0,
            "flash_bytes": {
                "images": device.stock.images,
                "fonts": device.stock.fonts,
                "strings": device.stock.strings,
                "total": device.stock.images + device.stock.fonts + device.stock.strings,
            },
        },
        "screens": budget.screens.iter().map(|screen| json!({
            "id": device.screens[screen.screen.0].id,
            "black_fraction": screen.black.0,
            "full": {
                "time_s": screen.latency.0,
                "energy_j": screen.energy.0,
                "charge_c": screen.charge.0,
                "bytes_sent": screen.bytes,
            },
        })).collect::<Vec<_>>(),
        "transitions": budget.transitions.iter().map(|transition| json_transition(device, transition)).collect::<Vec<_>>(),
        "per_day": {
            "full": tally.per_day(tally.full),
            "partial": tally.per_day(tally.partial),
            "energy_j": total,
            "energy_by_cause_j": causes,
            "charge_per_day_c": total / budget.voltage.0,
            "mean_current_a": total / budget.voltage.0 / crate::units::DAY.0,
            "journeys": tally.per_day(tally.journeys.iter().map(|journeys| journeys.made).sum()),
            "derailed_journeys": tally.per_day(tally.derailed()),
            "unassigned_presses": tally.per_day(tally.idle_presses),
            "lost_presses": tally.per_day(tally.lost_presses),
            "presses": tally.per_day(tally.presses),
            "latency_s": { "p50": tally.latency(0.5).map(|t| t.0), "p95": tally.latency(0.95).map(|t| t.0) },
            "flashes_seen": tally.per_day(tally.flashes_seen),
            "refused": tally.per_day(tally.refused),
            "simulated_days": tally.days,
        },
        "use": super::usage::json(device, tally),
        "policy": { "yours_energy_j": budget.policy[0].0, "cheapest_energy_j": budget.policy[1].0 },
        "battery": {
            "usable_c": budget.usable.as_ref().ok().map(|charge| charge.0),
            "v_min_under_peak": budget.worst_voltage().map(|volts| volts.0),
            "v_needed": supply.map(|corners| corners.needed.0),
            "supply_unknown": budget.corners.as_ref().err().map(ToString::to_string),
            "charge_time_s": budget.charge_time.map(|time| time.0),
            "last_screen_j": budget.last_screen.0,
            "corners": supply.map(json_corners),
        },
        "life": {
            "days": {
                "p10": life.map(|life| days(&life.p10)),
                "p50": life.map(|life| days(&life.p50)),
                "p90": life.map(|life| days(&life.p90)),
            },
            "devices": life.map(|life| life.endings.values().sum::<u32>()),
            "limited_by": life.map(|life| life.limits().iter().map(|(ending, share)| json!({
                "cause": ending.words(),
                "share": share.0,
            })).collect::<Vec<_>>()),
            "ended_by_voltage": life.map(|_| budget.ended_by_voltage().0),
            "unknown": budget.life.as_ref().err().map(ToString::to_string),
        },
        "sensitivity": budget.sensitivity.iter().map(|entry| json!({
            "input": entry.input,
            "elasticity": entry.elasticity,
        })).collect::<Vec<_>>(),
        "assumptions": budget.assumptions,
        "cautions": cautions(device),
    })
}

fn json_corners(corners: &Corners) -> Value {
    let corner = |corner: &Corner| {
        json!({
            "corner": words(corner),
            "temperature_c": corner.temperature.0,
            "state_of_charge": corner.state_of_charge.0,
            "ocv_v": corner.ocv.0,
            "resistance_ohm": corner.resistance.0,
            "v": corner.terminal.volts().map(|volts| volts.0),
            "holds": corner.terminal.reaches(corners.needed),
        })
    };
    let row =
        |row: &Row| json!({ "mode": row.mode.name(), "corners": row.corners.iter().map(corner).collect::<Vec<_>>() });
    json!({
        "aged_s": corners.aged.0,
        "updates": corners.rows.iter().map(row).collect::<Vec<_>>(),
        "largest_panel_current_a": corners.largest_current.0,
        "full_panel_current_a": corners.full_current.0,
        "largest_update": corners.largest_update.map(Mode::name),
        "reserve_updates": corners.reserve_updates,
    })
}

fn json_transition(device: &Device, transition: &Transition) -> Value {
    let rectangle = |window: &Rectangle| json!({ "x": window.top_left.x, "y": window.top_left.y, "w": window.size.width, "h": window.size.height });
    json!({
        "from": device.screens[transition.from.0].id,
        "to": device.screens[transition.to.0].id,
        "trigger": transition.by(device),
        "changed_px": transition.changed,
        "windows": transition.windows.iter().map(rectangle).collect::<Vec<_>>(),
        "mode": transition.mode.name(),
        "latency_s": transition.latency.0,
        "energy_j": transition.energy.0,
    })
}

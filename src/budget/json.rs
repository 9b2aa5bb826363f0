//! A budget as JSON for other programs: SI units in the key names.

use super::figure::{Figure, Unit};
use super::summary::{Budget, cautions};
use super::supply_corners::{CornerRow, SupplyCorners, words};
use super::transition::Transition;
use crate::cell::peak::Corner;
use crate::cost::consumer::Consumer;
use crate::device::Device;
use crate::frame::rectangle_json;
use crate::refresh::update::Mode;
use crate::units::Joules;
use serde_json::{Value, json};

/// The JSON of a budget, schema 2. Bytes and counts are integers; numbers of a day are not.
pub fn json(device: &Device, budget: &Budget) -> Value {
    let size = device.panel.size();
    let counts = &budget.counts;
    let cause = |(what, energy): &(Consumer, Joules)| json!({ "kind": what.kind().name(), "name": what.name(device), "energy_j": energy.0 });
    let causes: Vec<Value> = budget.causes.iter().map(cause).collect();
    let life = budget.life.as_ref().ok();
    let supply = budget.supply_corners.as_ref().ok();
    let mut all = json!({
        "schema": 2,
        "project": device.name,
        "note": device.note,
        "panel": {
            "width_px": size.width,
            "height_px": size.height,
            "ppi": device.panel.ppi(),
        },
        "memory": {
            "schemes": budget.schemes.iter().map(|scheme| json!({
                "name": scheme.name,
                "ram_bytes": Unit::Bytes.json(scheme.ram.0),
                "external_bytes": Unit::Bytes.json(scheme.memory.0),
                "fits": budget.room(device, scheme).is_some(),
                "update_energy_j": scheme.energy.0,
            })).collect::<Vec<_>>(),
        },
        "screens": budget.screens.iter().map(|screen| json!({
            "id": device.screens[screen.screen.0].id,
            "black_fraction": screen.black.0,
            "full": {
                "latency_s": screen.latency.0,
                "energy_j": screen.energy.0,
                "charge_c": screen.charge.0,
                "sent_bytes": Unit::Bytes.json(screen.bytes),
            },
        })).collect::<Vec<_>>(),
        "transitions": budget.transitions.iter().map(|transition| json_transition(device, transition)).collect::<Vec<_>>(),
        "per_day": {
            "energy_by_cause_j": causes,
        },
        "use": super::usage::json(device, counts),
        "battery": {
            "supply_unknown": budget.supply_corners.as_ref().err().map(ToString::to_string),
            "supply_corners": supply.map(json_corners),
        },
        "life": {
            "limited_by": life.map(|life| life.limits().iter().map(|(ending, share)| json!({
                "cause": ending.words(),
                "share": share.0,
            })).collect::<Vec<_>>()),
            "unknown": budget.life.as_ref().err().map(ToString::to_string),
        },
        "sensitivity": budget.sensitivity(device).iter().map(|entry| json!({
            "input": entry.input,
            "elasticity": entry.elasticity,
        })).collect::<Vec<_>>(),
        "assumptions": budget.assumptions.iter().map(ToString::to_string).collect::<Vec<_>>(),
        "cautions": cautions(device),
    });
    for figure in Figure::ALL {
        let (row, value) = (figure.row(), figure.value(device, budget));
        insert(&mut all, row.pointer, value.map_or(Value::Null, |value| row.unit.json(value)));
    }
    all
}

/// Puts a value at a place, with the objects that lead there.
fn insert(all: &mut Value, pointer: &str, value: Value) {
    let Some((folder, key)) = pointer.rsplit_once('/') else { return };
    let mut at = all;
    for name in folder.split('/').skip(1) {
        let Value::Object(map) = at else { return };
        at = map.entry(name).or_insert_with(|| json!({}));
    }
    if let Value::Object(map) = at {
        map.insert(key.to_owned(), value);
    }
}

fn json_corners(supply_corners: &SupplyCorners) -> Value {
    let corner = |corner: &Corner| {
        json!({
            "corner": words(corner),
            "temperature_degc": corner.temperature.0,
            "state_of_charge": corner.state_of_charge.0,
            "open_circuit_v": corner.ocv.0,
            "resistance_ohm": corner.resistance.0,
            "under_load_v": corner.terminal.volts().map(|volts| volts.0),
            "holds": corner.terminal.reaches(supply_corners.needed),
        })
    };
    let row = |row: &CornerRow| json!({ "mode": row.mode.name(), "corners": row.supply_corners.iter().map(corner).collect::<Vec<_>>() });
    json!({
        "aged_s": supply_corners.aged.0,
        "updates": supply_corners.rows.iter().map(row).collect::<Vec<_>>(),
        "largest_panel_current_a": supply_corners.largest_current.0,
        "full_panel_current_a": supply_corners.full_current.0,
        "largest_update": supply_corners.largest_update.map(Mode::name),
        "reserve_updates": supply_corners.reserve_updates,
    })
}

fn json_transition(device: &Device, transition: &Transition) -> Value {
    json!({
        "from": device.screens[transition.from.0].id,
        "to": device.screens[transition.to.0].id,
        "trigger": transition.by(device),
        "changed_px": transition.change.changed,
        "windows": transition.change.windows.iter().map(rectangle_json).collect::<Vec<_>>(),
        "mode": transition.change.mode.name(),
        "latency_s": transition.change.latency.0,
        "energy_j": transition.change.energy.0,
    })
}

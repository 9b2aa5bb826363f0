//! A trace as JSON for other programs: SI units in the key names.

use super::against::{Against, Compared, Matched, charge};
use super::kinds::UpdateKind;
use super::spread::Spread;
use super::text::verdict;
use super::{Plateau, Trace, Update};
use crate::units::Quantity;
use serde_json::{Value, json};

/// The JSON of a trace, schema 1.
pub fn json(trace: &Trace, kinds: &[UpdateKind], against: Option<&Against>) -> Value {
    json!({
        "schema": 1,
        "trace": {
            "file": trace.file,
            "columns": trace.headings,
            "rows": trace.rows,
            "missing_rows": trace.missing,
            "gaps": trace.gaps.0,
            "gaps_s": trace.gaps.1.0,
            "first_s": trace.origin.0,
            "duration_s": trace.time.0,
            "interval_s": trace.interval.0,
            "charge_c": trace.charge.0,
        },
        "baseline_a": trace.baseline.0,
        "noise_a": trace.noise.0,
        "threshold_a": trace.threshold.0,
        "pulses": { "count": trace.pulses.count, "charge_c": trace.pulses.charge.0 },
        "updates": updates(trace, kinds),
        "kinds": kinds.iter().map(kind).collect::<Vec<_>>(),
        "against": against.map(compared),
        "cautions": trace.cautions,
    })
}

fn updates(trace: &Trace, kinds: &[UpdateKind]) -> Vec<Value> {
    let mut names = vec!["cut"; trace.updates.len()];
    for kind in kinds {
        kind.updates.iter().for_each(|index| names[*index] = kind.name.text());
    }
    trace.updates.iter().zip(names).map(|(update, name)| one(trace, update, name)).collect()
}

fn one(trace: &Trace, update: &Update, kind: &str) -> Value {
    let step = |step: &Plateau| {
        json!({
            "start_s": (trace.origin + update.start + step.start).0,
            "duration_s": step.duration.0,
            "current_a": step.current.0,
            "charge_c": step.charge().0,
        })
    };
    json!({
        "start_s": (trace.origin + update.start).0,
        "duration_s": update.duration.0,
        "baseline_a": update.baseline.0,
        "charge_c": update.charge.0,
        "energy_j": update.energy.map(|energy| energy.0),
        "peak_a": update.peak.0,
        "kind": kind,
        "phases": update.steps.iter().map(step).collect::<Vec<_>>(),
    })
}

fn spread<Q: Quantity>(spread: Spread<Q>) -> Value {
    let [min, typ, max]: [f64; 3] = [spread.min, spread.typ, spread.max].map(Into::into);
    json!({ "min": min, "typ": typ, "max": max })
}

fn kind(kind: &UpdateKind) -> Value {
    let phase = |phase: &super::kinds::Phase| {
        json!({
            "label": phase.label.map(|label| label.text()),
            "duration_s": spread(phase.duration),
            "current_a": spread(phase.current),
            "charge_c": spread(phase.charge),
        })
    };
    json!({
        "name": kind.name.text(),
        "count": kind.updates.len(),
        "duration_s": spread(kind.duration),
        "charge_c": spread(kind.charge),
        "energy_j": kind.energy.map(spread),
        "peak_a": spread(kind.peak),
        "phases_of": kind.alike,
        "phases": kind.phases.iter().map(phase).collect::<Vec<_>>(),
    })
}

fn compared(against: &Against) -> Value {
    let one = |one: &Compared| {
        json!({
            "mode": one.mode.name(),
            "update": one.what,
            "kind": one.kind,
            "phases": one.rows.iter().map(row).collect::<Vec<_>>(),
            "total": row(&one.total),
            "largest_error": one.rows[one.worst].name,
            "verdict": verdict(one),
        })
    };
    json!({
        "project": against.project,
        "temperature_degc": against.temperature.0,
        "temperature_assumed": against.assumed,
        "voltage_v": against.voltage.0,
        "compared": against.compared.iter().map(one).collect::<Vec<_>>(),
    })
}

fn row(row: &Matched) -> Value {
    let [time, current, amount] = row.errors();
    json!({
        "name": row.name,
        "predicted": { "duration_s": row.predicted.duration.0, "current_a": row.predicted.current.0, "charge_c": charge(row.predicted).0 },
        "measured": { "duration_s": row.measured.duration.0, "current_a": row.measured.current.0, "charge_c": charge(row.measured).0 },
        "relative_error": { "duration": time, "current": current, "charge": amount },
    })
}

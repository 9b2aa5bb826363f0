//! A comparison as JSON: SI units in the key names, as in a budget.

use crate::evaluation::Evaluation;
use crate::figures::comparison::frames::{Difference, FrameRow};
use crate::figures::comparison::{Comparison, Measure};
use crate::source::fault::{Fault, Level};
use serde_json::{Map, Value, json};

/// The JSON of a comparison, schema 1.
pub fn json(sides: &[Evaluation], comparison: &Comparison) -> Value {
    let project = |(index, side): (usize, &Evaluation)| {
        let value = |value: &Measure| match value {
            Measure::Words(words) => json!(words),
            Measure::Number(unit, Some(number)) => unit.json(*number),
            number => json!(number.number()),
        };
        let figures: Map<String, Value> =
            comparison.rows.iter().map(|row| (row.key.clone(), value(&row.values[index]))).collect();
        json!({
            "label": side.label,
            "project": side.device.name,
            "figures": figures,
            "findings": side.findings.iter().map(|found| finding(side, &found.fault)).collect::<Vec<_>>(),
            "images_compared": comparison.compared[index],
            "images": comparison.frames.iter().filter_map(|row| picture(row, index)).collect::<Vec<_>>(),
        })
    };
    json!({ "schema": 1, "projects": sides.iter().enumerate().map(project).collect::<Vec<_>>() })
}

fn finding(side: &Evaluation, fault: &Fault) -> Value {
    json!({
        "level": if fault.level == Level::Error { "error" } else { "warning" },
        "id": fault.id,
        "message": fault.message,
        "place": fault.span.as_ref().map(|span| side.sources.place(span)),
    })
}

fn picture(row: &FrameRow, side: usize) -> Option<Value> {
    let (status, pixels) = match row.differences[side] {
        Difference::Same => return None,
        Difference::Pixels(pixels) => ("changed", Some(pixels)),
        Difference::Size => ("other-size", None),
        Difference::Gone => ("gone", None),
        Difference::New => ("new", None),
    };
    Some(json!({ "screen": row.screen, "locale": row.locale, "status": status, "changed_px": pixels }))
}

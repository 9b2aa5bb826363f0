//! `json`: a manifest of what an export holds, for build scripts and tests: geometry, checksums, tables.

use super::{Files, Order, ScreenPicture};
use crate::firmware::names::identifier;
use crate::firmware::tables::condition::decimals;
use crate::firmware::tables::entry::{Part, Run};
use crate::firmware::tables::faces::rows;
use crate::firmware::tables::{Entry, EntryKind, Sheet, Tables};
use crate::frame::rectangle_json;
use crate::output::CRC;
use crate::screen::typeset::Stand;
use crate::source::fault::Fault;
use crate::visible::in_json;
use serde_json::{Value, json};

/// One `.json` file.
pub fn write(order: &Order<'_>) -> Result<Files, Fault> {
    let pictures = order.pictures()?;
    let tables = Tables::of(order)?;
    let device = order.device;
    let size = device.panel.size();
    let screen = |(picture, sheet): (&ScreenPicture, &Sheet)| {
        let texts: Vec<&str> = sheet.texts.iter().map(String::as_str).collect();
        json!({
            "name": picture.name,
            "screen": device.screens[picture.screen.0].id,
            "locale": device.locales[picture.locale],
            "frame": blob(&picture.bytes),
            "background": blob(&sheet.bytes),
            "texts": texts,
            "fields": sheet.entries.iter().map(|entry| field_row(order, &tables, sheet, entry)).collect::<Vec<_>>(),
        })
    };
    let fields = device.fields.iter().enumerate().map(|(index, field)| {
        let range = (!field.is_endless()).then_some(field.range);
        json!({ "name": field.name, "unit": field.unit, "decimals": decimals(device, index), "range": range })
    });
    let manifest = json!({
        "schema": 1,
        "project": device.name,
        "note": device.note,
        "design": format!("{:016x}", order.design),
        "checksums": "design: CRC-64/XZ over the project's texts; blobs: CRC-32/ISO-HDLC",
        "image": { "width_px": size.width, "height_px": size.height },
        "packing": serde_json::to_value(&order.packing).unwrap_or_default(),
        "stride_bytes": order.packing.stride_of(size.width, size.height).unwrap_or(0),
        "planes": order.packing.planes.count(),
        "plane_bytes": order.packing.plane().size(size.width, size.height).unwrap_or(0),
        "frame_bytes": order.packing.size(size.width, size.height).unwrap_or(0),
        "fields": fields.collect::<Vec<_>>(),
        "events": device.events.iter().map(|event| event.name.as_str()).collect::<Vec<_>>(),
        "screens": pictures.iter().zip(&tables.sheets).map(screen).collect::<Vec<_>>(),
        "fonts": faces(&tables),
        "flow": tables.steps.iter().map(|step| flow_row(order, step)).collect::<Vec<_>>(),
        "refresh": {
            "max_partials": device.policy.max_partials,
            "full_every_s": device.policy.full_every.map(|time| time.0),
            "min_interval_s": device.policy.min_interval.0,
            "partial_from_c": range(order).map(|range| range[0]),
            "partial_to_c": range(order).map(|range| range[1]),
        },
    });
    Ok(vec![(
        format!("{}.json", identifier(&order.prefix)),
        in_json(&format!("{manifest:#}\n")).into_owned().into_bytes(),
    )])
}

fn blob(bytes: &[u8]) -> Value {
    json!({ "bytes": bytes.len(), "crc32": format!("{:08x}", CRC.checksum(bytes)) })
}

fn faces(tables: &Tables) -> Value {
    let face = |face: &crate::firmware::tables::faces::Subset| {
        let bits: Vec<u8> = face.glyphs.iter().flat_map(|(_, glyph)| rows(glyph)).collect();
        json!({
            "name": face.name,
            "line_px": face.pitch,
            "characters": face.glyphs.iter().filter_map(|(character, _)| *character).collect::<String>(),
            "kerning_pairs": face.kerning.len(),
            "pixels": blob(&bits),
        })
    };
    tables.faces.subsets.iter().map(face).collect()
}

fn field_row(order: &Order<'_>, tables: &Tables, sheet: &Sheet, entry: &Entry) -> Value {
    let names = |fields: &[usize]| {
        fields
            .iter()
            .filter_map(|field| order.device.fields.get(*field))
            .map(|field| field.name.clone())
            .collect::<Vec<_>>()
    };
    let mut row = json!({
        "name": entry.name,
        "area": rectangle_json(&entry.area),
        "window": { "x": entry.window.x, "y": entry.window.y, "w": entry.window.w, "h": entry.window.h },
        "conditions": entry.checks,
    });
    let more = match &entry.kind {
        EntryKind::Run(run) => json!({
            "kind": "text",
            "font": tables.faces.subsets.get(run.face).map(|face| face.name.as_str()),
            "align": stand(run.align),
            "format": format_of(run, sheet, order),
            "start_px": run.start,
            "room_px": run.room,
            "baseline_px": run.rise + if run.vertical == Stand::Center { run.spread.div_euclid(2) } else { 0 },
            "white": run.reversed,
            "wrap": run.wrap,
            "ellipsis": run.ellipsis,
        }),
        EntryKind::Bitmap { bits, reversed } => {
            json!({ "kind": "bitmap", "white": reversed, "pixels": blob(&bits.to_rows_msb()) })
        }
        EntryKind::Fill => json!({ "kind": "fill" }),
        EntryKind::Own(fields) => json!({ "kind": "own", "shows": names(fields) }),
    };
    if let (Value::Object(row), Value::Object(more)) = (&mut row, more) {
        row.extend(more);
    }
    row
}

fn stand(stand: Stand) -> &'static str {
    match stand {
        Stand::Start => "start",
        Stand::Center => "center",
        Stand::End => "end",
    }
}

/// The pieces of a run as a list.
fn format_of(run: &Run, sheet: &Sheet, order: &Order<'_>) -> Vec<Value> {
    let name = |field: usize| order.device.fields.get(field).map(|field| field.name.as_str());
    let text = |at: usize| sheet.texts.get(at).map(String::as_str);
    let piece = |part: &Part| match part {
        Part::Fixed(at) => json!({ "text": text(*at) }),
        Part::Number(field, decimals) => json!({ "number": name(*field), "decimals": decimals }),
        Part::Choice(field, first, count) => json!({ "choice": name(*field), "first_text": first, "texts": count }),
        Part::Given(field, pattern) => json!({ "given": name(*field), "pattern": text(*pattern) }),
    };
    run.pieces.iter().map(piece).collect()
}

fn flow_row(order: &Order<'_>, step: &crate::firmware::tables::flow::FlowStep) -> Value {
    let id = |exported: usize| {
        let screen = order.screens.get(exported)?;
        Some(order.device.screens[screen.0].id.as_str())
    };
    let mut row = serde_json::to_value(step).unwrap_or_default();
    row["screen"] = json!(id(step.screen));
    row["target"] = json!(id(step.target));
    row
}

/// Temperatures between which the short waveform may be used, in degrees Celsius.
fn range(order: &Order<'_>) -> Option<[f64; 2]> {
    let knots = &order.device.panel.partial.as_ref()?.knots;
    Some([knots.first()?.at.0, knots.last()?.at.0])
}

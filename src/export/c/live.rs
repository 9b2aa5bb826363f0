//! `c-live`: tables from which firmware draws backgrounds and live fields itself, with the C code that does it.

use super::opening;
use super::text::{bytes, comment, guarded, quoted, section};
use crate::export::{Files, Order};
use crate::firmware::names::{Names, identifier};
use crate::firmware::squeeze::{Squeezed, squeeze};
use crate::firmware::tables::condition::{Check, Relation};
use crate::firmware::tables::entry::{Part, Run};
use crate::firmware::tables::faces::{Subset, rows};
use crate::firmware::tables::flow::{Step, Trigger};
use crate::firmware::tables::{Entry, Kind, Sheet, Tables};
use crate::frame::{Bit, BitOrder, Packing};
use crate::refresh::update::Mode;
use crate::source::fault::Fault;
use std::fmt::Write;

/// The C code that goes with every export.
pub const CODE: &[(&str, &str)] = &[
    ("inkjoule_draw.h", include_str!("inkjoule_draw.h")),
    ("inkjoule_draw.c", include_str!("inkjoule_draw.c")),
    ("inkjoule_unpack.h", include_str!("inkjoule_unpack.h")),
    ("inkjoule_unpack.c", include_str!("inkjoule_unpack.c")),
    ("ink_draw.h", include_str!("ink_draw.h")),
    ("ink_machine.h", include_str!("ink_machine.h")),
    ("ink_machine.c", include_str!("ink_machine.c")),
    ("ink_inside.h", include_str!("ink_inside.h")),
    ("ink_rules.c", include_str!("ink_rules.c")),
    ("ink_state.c", include_str!("ink_state.c")),
    ("ink_run.c", include_str!("ink_run.c")),
    ("ink_panel.h", include_str!("ink_panel.h")),
    ("ink_panel.c", include_str!("ink_panel.c")),
    ("ink_scene.c", include_str!("ink_scene.c")),
];

/// Tables, their header, and the code.
pub fn write(order: &Order<'_>) -> Result<Files, Fault> {
    let tables = Tables::of(order)?;
    let name = format!("{}_live", identifier(&order.prefix));
    let mut files: Files = CODE.iter().map(|(file, text)| (file.to_string(), text.as_bytes().to_vec())).collect();
    files.push((format!("{name}.h"), header(order, &name, &tables).into_bytes()));
    files.push((format!("{name}.c"), source(order, &name, &tables).into_bytes()));
    Ok(files)
}

fn header(order: &Order<'_>, name: &str, tables: &Tables) -> String {
    let upper = name.to_uppercase();
    let device = order.device;
    let mut body = String::from("#include \"inkjoule_draw.h\"\n\n/* Live values, in this order. */\nenum {\n");
    let mut names = Names::default();
    for (index, field) in device.fields.iter().enumerate() {
        let unit = if field.unit.is_empty() { String::new() } else { format!(", {}", field.unit) };
        let decimals = crate::firmware::tables::condition::decimals(device, index);
        let about = format!("{}{unit}, {decimals} decimals", field.name);
        body += &format!(
            "    {upper}_FIELD_{} = {index}, /* {} */\n",
            names.take(&field.name).to_uppercase(),
            comment(&about)
        );
    }
    body += &format!("    {upper}_FIELDS = {}\n}};\n\n/* Screens. */\nenum {{\n", device.fields.len());
    for (index, sheet) in tables.sheets.iter().enumerate() {
        body += &format!("    {upper}_SCREEN_{} = {index},\n", sheet.name.to_uppercase());
    }
    body += &format!("    {upper}_SCREENS = {}\n}};\n", tables.sheets.len());
    if !device.events.is_empty() {
        body += "\n/* Events. */\nenum {\n";
        let mut names = Names::default();
        for (index, event) in device.events.iter().enumerate() {
            body += &format!("    {upper}_EVENT_{} = {index},\n", names.take(&event.name).to_uppercase());
        }
        body += &format!("    {upper}_EVENTS = {}\n}};\n", device.events.len());
    }
    body += &format!("\n/* One way on from a screen. */\nenum {{ {upper}_KEY, {upper}_AFTER_MS, {upper}_EVENT }};\n");
    body += &format!(
        "struct {name}_step {{\n    uint16_t screen; /* position in the flow, the same in every locale */\n    uint16_t target;\n\
         \x20   uint8_t trigger;\n    uint8_t full;    /* drawn with a full refresh whatever went before */\n\
         \x20   uint32_t which;  /* key from 0 on, milliseconds without a press, or event */\n\
         \x20   int16_t field;   /* changed by it; -1 for none */\n    uint8_t added;   /* the amount is added, else set */\n\
         \x20   int32_t amount, least, most;\n}};\n\n"
    );
    let full_every = device.policy.full_every.map_or(0.0, |time| time.0.round().clamp(0.0, 4.0e9));
    body += &format!(
        "/* When to refresh fully: after this many partial refreshes, and after this many seconds (0: never). */\n\
         #define {upper}_MAX_PARTIALS {}\n#define {upper}_FULL_EVERY_S {full_every:.0}\n#define {upper}_STEPS {}\n\n",
        device.policy.max_partials,
        tables.steps.len()
    );
    body += &format!(
        "extern const struct inkjoule_packing {name}_packing;\nextern const struct inkjoule_face *const {name}_faces[];\n"
    );
    body += &format!("extern const struct inkjoule_screen {name}_screens[{upper}_SCREENS];\n");
    body += &format!("extern const struct {name}_step {name}_steps[];\n");
    format!("{}{}", opening(&order.device.name, &order.device.note), guarded(&upper, &body))
}

fn source(order: &Order<'_>, name: &str, tables: &Tables) -> String {
    let mut file = format!(
        "{}#include \"{name}.h\"\n\n{}",
        opening(&order.device.name, &order.device.note),
        section(&name.to_uppercase(), order.section.as_deref())
    );
    file += &packing(order, name);
    for (index, face) in tables.faces.subsets.iter().enumerate() {
        subset(&mut file, name, index, face);
    }
    let faces: String = (0..tables.faces.subsets.len()).map(|index| format!("    &face_{index},\n")).collect();
    file += &format!(
        "const struct inkjoule_face *const {name}_faces[] = {{\n{}}};\n\n",
        if faces.is_empty() { "    0\n".into() } else { faces }
    );
    let mut rows = String::new();
    for (index, picture) in tables.sheets.iter().enumerate() {
        let stored = squeeze(&picture.bytes);
        rows += &sheet(&mut file, name, index, picture, &stored);
    }
    file +=
        &format!("const struct inkjoule_screen {name}_screens[{}_SCREENS] = {{\n{rows}}};\n\n", name.to_uppercase());
    file += &format!("const struct {name}_step {name}_steps[] = {{\n");
    tables.steps.iter().for_each(|step| file += &step_row(step));
    if tables.steps.is_empty() {
        file += "    { 0, 0, 0, 0, 0, -1, 0, 0, 0, 0 },\n";
    }
    file + "};\n"
}

/// The numbers that lead from a pixel to its bit: `[ax, ay, a0, bx, by, b0]`, then the steps of `a` and `b` in bytes.
pub fn coefficients(packing: &Packing, width: u32, height: u32) -> ([i32; 6], [u32; 2]) {
    let turn = packing.line_turn();
    let (w, h) = (width as i32, height as i32);
    let (along, down, last_along, last_down) = match turn.transpose {
        false => ([1, 0], [0, 1], w - 1, h - 1),
        true => ([0, 1], [1, 0], h - 1, w - 1),
    };
    let line = |[x, y]: [i32; 2], last: i32, reversed: bool| if reversed { [-x, -y, last] } else { [x, y, 0] };
    let (across, lines) = (line(along, last_along, turn.mirror), line(down, last_down, turn.flip));
    let stride = packing.stride_of(width, height).unwrap_or(0);
    let (a, b, steps) =
        if packing.strips_lie_in_lines() { (across, lines, [1, stride]) } else { (lines, across, [stride, 1]) };
    ([a[0], a[1], a[2], b[0], b[1], b[2]], steps)
}

fn packing(order: &Order<'_>, name: &str) -> String {
    let size = order.device.panel.size();
    let ([ax, ay, a0, bx, by, b0], [a_step, b_step]) = coefficients(&order.packing, size.width, size.height);
    let stride = order.packing.stride_of(size.width, size.height).unwrap_or(1).max(1);
    // One plane is drawn; firmware keeps the one before, where the controller wants both.
    let lines = order.packing.plane().size(size.width, size.height).unwrap_or(0) / stride as usize;
    format!(
        "/* {} */\nconst struct inkjoule_packing {name}_packing = {{\n    {}, {}, {lines}, {stride},\n    {ax}, {ay}, {a0}, {bx}, {by}, {b0},\n\
         \x20   {a_step}, {b_step}, {}, {}\n}};\n\n",
        crate::frame::packing_words::describe(&order.packing),
        size.width,
        size.height,
        if order.packing.bits == BitOrder::MsbFirst { 7 } else { 0 },
        u8::from(order.packing.ink_is == Bit::One),
    )
}

fn subset(file: &mut String, name: &str, index: usize, face: &Subset) {
    let mut bits = Vec::new();
    let mut table = String::new();
    for (character, glyph) in &face.glyphs {
        let code = character.map_or(0, u32::from);
        let shown = character.map_or("missing".to_owned(), |c| comment(&c.to_string()));
        // Writing to a string cannot fail.
        let _ = writeln!(
            table,
            "    {{ {}, 0x{code:04X}, {}, {}, {}, {}, {} }}, /* {shown} */",
            bits.len(),
            glyph.left,
            glyph.top,
            glyph.advance,
            glyph.ink.width(),
            glyph.ink.height()
        );
        bits.extend(rows(glyph));
    }
    let upper = name.to_uppercase();
    let _ = write!(
        file,
        "/* Face {}: {} glyphs, {} bytes of pixels. */\n{upper}_PLACED static const uint8_t face_{index}_bits[] = {{\n{}}};\n\
         static const struct inkjoule_glyph face_{index}_glyphs[] = {{\n{table}}};\n",
        comment(&face.name),
        face.glyphs.len(),
        bits.len(),
        self::bytes(if bits.is_empty() { &[0] } else { &bits }, 24)
    );
    let kerns = match face.kerning.is_empty() {
        true => "0".to_owned(),
        false => {
            let row = |(left, right, distance): &(char, char, i32)| {
                format!("    {{ 0x{:04X}, 0x{:04X}, {distance} }},\n", u32::from(*left), u32::from(*right))
            };
            let rows: String = face.kerning.iter().map(row).collect();
            let _ = write!(file, "static const struct inkjoule_kern face_{index}_kerns[] = {{\n{rows}}};\n");
            format!("face_{index}_kerns")
        }
    };
    let _ = write!(
        file,
        "static const struct inkjoule_face face_{index} = {{ face_{index}_glyphs, {kerns}, face_{index}_bits, {}, {}, {} }};\n\n",
        face.glyphs.len(),
        face.kerning.len(),
        face.pitch
    );
}

/// Writes one screen's tables; returns its row in the list of screens.
fn sheet(file: &mut String, name: &str, index: usize, sheet: &Sheet, stored: &Squeezed) -> String {
    let upper = name.to_uppercase();
    let (mut pieces, mut checks, mut entries, mut bits) = (Vec::new(), Vec::new(), String::new(), Vec::new());
    for entry in &sheet.entries {
        entries += &entry_row(entry, &mut pieces, &mut checks, &mut bits);
    }
    let _ = write!(
        file,
        "/* {}: {} bytes, {} stored. */\n{upper}_PLACED static const uint8_t screen_{index}_background[] = {{\n{}}};\n",
        comment(&sheet.name),
        sheet.bytes.len(),
        stored.bytes.len(),
        bytes(if stored.bytes.is_empty() { &[0] } else { &stored.bytes }, 24)
    );
    let mut table = |kind: &str, suffix: &str, rows: String| {
        if rows.is_empty() {
            return "0".to_owned();
        }
        let _ = write!(file, "static const {kind} screen_{index}_{suffix}[] = {{\n{rows}}};\n");
        format!("screen_{index}_{suffix}")
    };
    let texts: String = sheet.texts.iter().map(|text| format!("    {},\n", quoted(text))).collect();
    let texts = table("char *const", "texts", texts);
    let pieces = table("struct inkjoule_piece", "pieces", pieces.concat());
    let checks = table("struct inkjoule_check", "checks", checks.concat());
    let bits = table("uint8_t", "bits", if bits.is_empty() { String::new() } else { bytes(&bits, 24) });
    let entries = table("struct inkjoule_entry", "entries", entries);
    file.push('\n');
    format!(
        "    {{ {entries}, {pieces}, {checks}, {texts}, {bits}, screen_{index}_background, {}, {}, {} }},\n",
        stored.bytes.len(),
        sheet.entries.len(),
        stored.codec.number()
    )
}

fn entry_row(entry: &Entry, pieces: &mut Vec<String>, checks: &mut Vec<String>, bits: &mut Vec<u8>) -> String {
    let (kind, flags, run) = match &entry.kind {
        Kind::Run(run) => {
            (0, u8::from(run.reversed) | u8::from(run.wrap) << 1 | u8::from(run.ellipsis) << 2, Some(run))
        }
        Kind::Bitmap { reversed, .. } => (1, u8::from(*reversed), None),
        Kind::Fill => (2, 0, None),
        Kind::Own(_) => (3, 0, None),
    };
    let first_byte = bits.len();
    if let Kind::Bitmap { bits: bitmap, .. } = &entry.kind {
        bits.extend(bitmap.to_rows_msb());
    }
    let (first_piece, first_check) = (pieces.len(), checks.len());
    pieces.extend(run.iter().flat_map(|run| &run.pieces).map(piece_row));
    checks.extend(entry.checks.iter().map(check_row));
    let Run { face, start, room, align, vertical, rise, spread, spacing, .. } = run.cloned().unwrap_or(NO_RUN);
    let [start, room, rise, spread, spacing] = [start, room, rise, spread, spacing].map(small);
    let (area, window) = (&entry.area, &entry.window);
    format!(
        "    {{ {kind}, {flags}, {}, {}, {}, {}, {}, {}, {}, {}, {}, {}, {start}, {room}, {rise}, {spread}, {spacing}, {face}, {}, {}, \
         {first_piece}, {first_check}, {first_byte} }},{}\n",
        align as u8,
        vertical as u8,
        small(area.top_left.x),
        small(area.top_left.y),
        area.size.width.min(u32::from(u16::MAX)),
        area.size.height.min(u32::from(u16::MAX)),
        window.x,
        window.y,
        window.w,
        window.h,
        pieces.len() - first_piece,
        checks.len() - first_check,
        if entry.name.is_empty() { String::new() } else { format!(" /* {} */", comment(&entry.name)) }
    )
}

/// A number as it fits 16 bits: what lies so far outside a screen is not seen anyway.
fn small(number: i32) -> i32 {
    number.clamp(i32::from(i16::MIN), i32::from(i16::MAX))
}

/// The numbers of entries that are no runs.
const NO_RUN: Run = Run {
    face: 0,
    pieces: Vec::new(),
    start: 0,
    room: 0,
    align: crate::screen::typeset::Stand::Start,
    vertical: crate::screen::typeset::Stand::Start,
    rise: 0,
    spread: 0,
    spacing: 0,
    reversed: false,
    wrap: false,
    ellipsis: false,
};

fn piece_row(part: &Part) -> String {
    match part {
        Part::Fixed(text) => format!("    {{ 0, 0, 0, {text}, 1 }},\n"),
        Part::Number(field, decimals) => format!("    {{ 1, {decimals}, {field}, 0, 0 }},\n"),
        Part::Choice(field, first, count) => format!("    {{ 2, 0, {field}, {first}, {count} }},\n"),
        Part::Given(field, pattern) => format!("    {{ 3, 0, {field}, {pattern}, 1 }},\n"),
    }
}

fn check_row(check: &Check) -> String {
    let test = match check.test {
        Relation::Never => 0,
        Relation::Below => 1,
        Relation::Is => 2,
        Relation::From => 6,
    };
    let (other, scale, other_scale) = check.other.unwrap_or((0, 1, 0));
    format!("    {{ {test}, {}, {other}, {}, {scale}, {other_scale} }},\n", check.field, check.limit)
}

fn step_row(step: &Step) -> String {
    let (trigger, which) = match step.trigger {
        Trigger::Key(key) => (0, key as u32),
        Trigger::After(wait) => (1, wait),
        Trigger::Event(event) => (2, event as u32),
    };
    let change = match &step.change {
        None => "-1, 0, 0, 0, 0".to_owned(),
        Some(change) => format!(
            "{}, {}, {}, {}, {}",
            change.field,
            u8::from(change.added),
            change.amount,
            change.range[0],
            change.range[1]
        ),
    };
    format!(
        "    {{ {}, {}, {trigger}, {}, {which}u, {change} }},\n",
        step.screen,
        step.target,
        u8::from(step.mode == Mode::Full)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coefficients_find_every_pixel_where_the_packing_puts_it() {
        for packing in Packing::all() {
            for stride in [None, Some(40)] {
                let packing = Packing { stride, ..packing.clone() };
                let ([ax, ay, a0, bx, by, b0], [a_step, b_step]) = coefficients(&packing, 19, 27);
                for (x, y) in (0..19).flat_map(|x| (0..27).map(move |y| (x, y))) {
                    let a = (x * ax + y * ay + a0) as u32;
                    let byte = a / 8 * a_step + (x * bx + y * by + b0) as u32 * b_step;
                    let first = if packing.bits == BitOrder::MsbFirst { 7 } else { 0 };
                    let place = packing.place(x as u32, y as u32, 19, 27);
                    assert_eq!(place, Some((byte as usize, 1 << ((a & 7) ^ first))), "{packing:?}");
                }
            }
        }
    }
}

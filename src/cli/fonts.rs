//! `fonts`: the fonts at hand, how large the eye sees them, what they take, and specimens of them.

use super::args::{Format, ProjectArgs};
use super::{Outcome, Result, look, open, print_json, print_styled};
use crate::device::Device;
use crate::lint::text_size::{LEAST_ARC_MINUTES, arc_minutes, face_matrix};
use crate::look::Look;
use crate::output::{self, Overwrite};
use crate::screen::face::FaceUse;
use crate::screen::face::{Face, bdf, builtin};
use crate::specimen;
use crate::table::{fit, table as plain_table};
use crate::units::Metres;
use clap::Args;
use comfy_table::CellAlignment;
use serde_json::json;
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::Arc;

/// Arguments of `fonts`.
#[derive(Debug, Args)]
pub struct FontsArgs {
    #[command(flatten)]
    project: ProjectArgs,
    /// How the list is written.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    /// Draw a specimen of each font, and one of the built-in icons, into this folder.
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
    /// Pixels of the specimen for each pixel of the font.
    #[arg(long, default_value_t = 2, value_parser = clap::value_parser!(u32).range(1..=8))]
    scale: u32,
    /// Overwrite files that inkjoule did not write.
    #[arg(long)]
    force: bool,
}

/// One font in the list.
struct FontRow {
    name: String,
    own: bool,
    face: Arc<Face>,
    characters: BTreeSet<char>,
    capital: Metres,
    arc_minutes: f64,
}

/// Lists the fonts.
///
/// # Errors
/// When the project cannot be used or the folder cannot be written.
pub fn run(args: &FontsArgs) -> Result {
    let loaded = open(&args.project)?;
    let rows = rows(&loaded.device);
    match args.format {
        Format::Text => print_styled(&table(&rows, &loaded.device, look()))?,
        Format::Json => print_json(&json(&rows))?,
    }
    if let Some(folder) = &args.out {
        let page = |row: &FontRow| {
            let caption =
                format!("{}: cap height {} px, {} glyphs", row.name, row.face.cap_height, row.face.glyphs().len());
            Ok((format!("{}.png", row.name), specimen::png(&specimen::specimen(&row.face, &caption), args.scale)?))
        };
        let mut pages = rows.iter().map(page).collect::<std::result::Result<Vec<_>, super::Stop>>()?;
        pages.push(("built-in-icons.png".to_owned(), specimen::png(&specimen::all_icons(), args.scale)?));
        output::write_set(folder, &pages, Overwrite::of(args.force))?;
    }
    Ok(Outcome::Fine)
}

/// The project's fonts and all built-in ones, by name.
fn rows(device: &Device) -> Vec<FontRow> {
    let named = |name: &str| device.faces.iter().any(|used| used.face.name == name);
    let spare = builtin::BUILTIN.iter().filter(|(name, _)| !named(name)).filter_map(|(name, text)| {
        Some(FaceUse { face: Arc::new(bdf::read(name, text).ok()?), characters: BTreeSet::new() })
    });
    let row = |used: FaceUse| {
        let capital = device.panel.pitch[1] * f64::from(used.face.cap_height);
        FontRow {
            name: used.face.name.clone(),
            own: !builtin::names().any(|name| name == used.face.name),
            capital,
            arc_minutes: arc_minutes(capital, device.display.viewing_distance),
            characters: used.characters,
            face: used.face,
        }
    };
    let mut rows: Vec<FontRow> = device.faces.iter().cloned().chain(spare).map(row).collect();
    rows.sort_by(|a, b| (a.face.cap_height, &a.name).cmp(&(b.face.cap_height, &b.name)));
    rows
}

fn table(rows: &[FontRow], device: &Device, look: Look) -> String {
    let mut table =
        plain_table(&["font", "from", "line", "cap height", "seen as", "matrix", "glyphs", "used", "flash", ""]);
    for row in rows {
        let [width, height] = face_matrix(&row.face);
        table.add_row([
            row.name.clone(),
            if row.own { "project" } else { "built in" }.to_owned(),
            format!("{} px", row.face.line_height()),
            format!("{} px, {:.2} mm", row.face.cap_height, row.capital.0 * 1000.0),
            format!("{:.1}'", row.arc_minutes),
            format!("{width} x {height}"),
            row.face.glyphs().len().to_string(),
            row.characters.len().to_string(),
            format!("{} B", row.face.flash_bytes(row.characters.iter().copied())),
            if row.arc_minutes < LEAST_ARC_MINUTES { "below 16'" } else { "" }.to_owned(),
        ]);
    }
    for column in 2..9 {
        if let Some(column) = table.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    let distance = device.display.viewing_distance.0 * 100.0;
    fit(&mut table, look.width);
    let notes = format!(
        "Cap height as seen from {distance:.0} cm in minutes of arc; {LEAST_ARC_MINUTES}' are the minimum, 20 to 22 better (ISO 9241-3). \
         With a slashed zero, for serial numbers: {}.",
        builtin::SLASHED.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(", ")
    );
    format!("{table}\n{}", look.paragraph(&notes))
}

fn json(rows: &[FontRow]) -> String {
    let face = |row: &FontRow| {
        json!({
            "name": row.name,
            "built_in": !row.own,
            "line_px": row.face.line_height(),
            "cap_height_px": row.face.cap_height,
            "cap_height_m": row.capital.0,
            "cap_height_arc_minutes": row.arc_minutes,
            "matrix_px": face_matrix(&row.face),
            "glyphs": row.face.glyphs().len(),
            "used": row.characters.iter().collect::<String>(),
            "flash_bytes": row.face.flash_bytes(row.characters.iter().copied()),
        })
    };
    format!("{:#}\n", json!({ "schema": 1, "fonts": rows.iter().map(face).collect::<Vec<_>>() }))
}

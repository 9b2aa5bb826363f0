//! `fonts`: the fonts at hand, how large the eye sees them, what they take, and specimens of them.

use super::args::{Format, ProjectArgs};
use super::{Outcome, Result, look, open, print_json, print_styled};
use crate::device::Device;
use crate::lint::text_size::{LEAST_ARC_MINUTES, arc_minutes, face_matrix};
use crate::look::Look;
use crate::output::{self, Overwrite};
use crate::screen::face::FaceUse;
use crate::screen::face::{Face, builtin};
use crate::screen::icons;
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
    /// The project: a folder with a device.toml, or that file. Without one, in a folder that is none: the built-in fonts.
    #[arg(value_name = "PROJECT")]
    project: Option<PathBuf>,
    /// Change one value of the project for this run, such as display.viewing-distance="50 cm". May be repeated.
    #[arg(long = "set", value_name = "PATH=VALUE")]
    set: Vec<String>,
    /// Take one of the project's alternatives, as [alternatives.NAME] in device.toml states them; --set comes after it.
    #[arg(long, value_name = "NAME")]
    alternative: Option<String>,
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
    /// How it is used where there is a project.
    used: Option<Used>,
}

/// A font in a project.
struct Used {
    characters: BTreeSet<char>,
    capital: Metres,
    arc_minutes: f64,
}

impl FontsArgs {
    /// The project that is asked for: the one that is named, else the folder that the program runs in if it is one, or if
    /// something of a project is asked for.
    fn project(&self) -> Option<ProjectArgs> {
        let here = PathBuf::from(".");
        let asked = !self.set.is_empty() || self.alternative.is_some() || here.join("device.toml").exists();
        let project = self.project.clone().or_else(|| asked.then_some(here))?;
        Some(ProjectArgs { project, set: self.set.clone(), alternative: self.alternative.clone() })
    }
}

/// Lists the fonts.
///
/// # Errors
/// When the project cannot be used or the folder cannot be written.
pub fn run(args: &FontsArgs) -> Result {
    let loaded = args.project().map(|project| open(&project)).transpose()?;
    let device = loaded.as_ref().map(|loaded| &loaded.device);
    let rows = rows(device);
    match args.format {
        Format::Text => print_styled(&table(&rows, device, look()))?,
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
fn rows(device: Option<&Device>) -> Vec<FontRow> {
    let faces = device.map_or(&[][..], |device| &device.faces);
    let named = |name: &str| faces.iter().any(|used| used.face.name == name);
    let spare = builtin::BUILTIN
        .iter()
        .filter(|(name, _)| !named(name))
        .filter_map(|(name, _)| Some(FaceUse { face: builtin::face(name)?, characters: BTreeSet::new() }));
    let row = |FaceUse { face, characters }: FaceUse| FontRow {
        name: face.name.clone(),
        own: !builtin::names().any(|name| name == face.name),
        used: device.map(|device| {
            let capital = device.panel.pitch[1] * f64::from(face.cap_height);
            Used { characters, capital, arc_minutes: arc_minutes(capital, device.display.viewing_distance) }
        }),
        face,
    };
    let mut rows: Vec<FontRow> = faces.iter().cloned().chain(spare).map(row).collect();
    rows.sort_by(|a, b| (a.face.cap_height, &a.name).cmp(&(b.face.cap_height, &b.name)));
    rows
}

/// What is said of the fonts: in a project how they are used and seen, else how large they are.
fn table(rows: &[FontRow], device: Option<&Device>, look: Look) -> String {
    let mut headings = vec!["font", "from", "line (px)", "cap height (px)", "matrix (px)", "glyphs"];
    if device.is_some() {
        headings.extend(["cap height (mm)", "seen as (')", "used", "flash (B)"]);
    }
    let mut table = plain_table(&headings);
    for row in rows {
        let [width, height] = face_matrix(&row.face);
        let mut cells = vec![
            row.name.clone(),
            if row.own { "project" } else { "built in" }.to_owned(),
            row.face.line_height().to_string(),
            row.face.cap_height.to_string(),
            format!("{width}\u{a0}x\u{a0}{height}"),
            row.face.glyphs().len().to_string(),
        ];
        cells.extend(row.used.iter().flat_map(|used| {
            [
                format!("{:.2}", used.capital.0 * 1000.0),
                format!("{:.1}", used.arc_minutes),
                used.characters.len().to_string(),
                row.face.flash_bytes(used.characters.iter().copied()).to_string(),
            ]
        }));
        table.add_row(cells);
    }
    for column in 2..10 {
        if let Some(column) = table.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    fit(&mut table, look.width);
    let slashed = builtin::SLASHED.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(", ");
    let slashed = format!("With a slashed zero, for serial numbers: {slashed}.");
    let small = |row: &&FontRow| row.used.as_ref().is_some_and(|used| used.arc_minutes < LEAST_ARC_MINUTES);
    let small: Vec<&str> = rows.iter().filter(small).map(|row| row.name.as_str()).collect();
    let small = if small.is_empty() { String::new() } else { format!(" Below it: {}.", small.join(", ")) };
    let notes = match device {
        Some(device) => format!(
            "Cap height as seen from {:.0} cm in arcmin; {LEAST_ARC_MINUTES}' are the minimum, 20 to 22 better \
             (ISO 9241-3).{small} {slashed}",
            device.display.viewing_distance.0 * 100.0
        ),
        None => format!(
            "{slashed} On a screen: {{ text = \"Level\", font = \"small\" }}. `inkjoule fonts --out FOLDER` draws a specimen \
             of each and of the {} built-in icons; `inkjoule fonts PROJECT` adds their apparent sizes and the flash \
             they take. See `inkjoule guide elements`.",
            icons::names().count()
        ),
    };
    format!("{table}\n{}", look.paragraph(&notes))
}

fn json(rows: &[FontRow]) -> String {
    let face = |row: &FontRow| {
        let mut face = json!({
            "name": row.name,
            "built_in": !row.own,
            "line_px": row.face.line_height(),
            "cap_height_px": row.face.cap_height,
            "matrix_px": face_matrix(&row.face),
            "glyphs": row.face.glyphs().len(),
        });
        if let (Some(used), Some(face)) = (&row.used, face.as_object_mut()) {
            face.insert("cap_height_m".to_owned(), json!(used.capital.0));
            face.insert("cap_height_arcmin".to_owned(), json!(used.arc_minutes));
            face.insert("used".to_owned(), json!(used.characters.iter().collect::<String>()));
            face.insert("flash_bytes".to_owned(), json!(row.face.flash_bytes(used.characters.iter().copied())));
        }
        face
    };
    format!("{:#}\n", json!({ "schema": 1, "fonts": rows.iter().map(face).collect::<Vec<_>>() }))
}

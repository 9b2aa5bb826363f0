//! `profiles`: the built-in panels and batteries.

use super::{Outcome, Result, look, print, print_styled};
use crate::cell::chemistry::{Chemistry, ChemistryKind};
use crate::hardware::profiles::{PROFILES, whole};
use crate::hardware::tables;

use crate::look::Look;
use crate::source::fault::{Fault, nearest};
use crate::table::{fit, table};
use crate::units::{Coulombs, Quantity};
use clap::Args;
use toml_edit::DocumentMut;

/// Arguments of `profiles`.
#[derive(Debug, Args)]
pub struct ProfilesArgs {
    /// Print this profile as TOML, to start a file of the project's own panels/ or batteries/ from.
    name: Option<String>,
}

/// Lists the profiles, or prints one.
///
/// # Errors
/// When there is no profile of the name.
pub fn run(args: &ProfilesArgs) -> Result {
    match &args.name {
        None => print_styled(&list(look()))?,
        Some(name) => print(&one(name)?)?,
    }
    Ok(Outcome::Fine)
}

fn one(name: &str) -> std::result::Result<String, Fault> {
    let found = PROFILES.iter().find(|(_, known, _)| known == &name);
    let text = |(folder, name, _): &(&str, &str, &str)| {
        let whole = whole(folder, name)?;
        let tables = if *folder == "batteries" { tables(&whole) } else { None };
        Some(whole + &tables.unwrap_or_default())
    };
    found.and_then(text).ok_or_else(|| {
        let fault = Fault::plain(format!("there is no built-in profile `{name}`"));
        let known = PROFILES.iter().map(|(_, known, _)| *known);
        fault.help(nearest(name, known).unwrap_or_else(|| "`inkjoule profiles` lists them".into()))
    })
}

/// The tables of a battery's chemistry, as keys that follow its own.
fn tables(profile: &str) -> Option<String> {
    let document: DocumentMut = profile.parse().ok()?;
    let kind: ChemistryKind = serde_json::from_value(document.get("chemistry")?.as_str()?.into()).ok()?;
    let capacity = document.get("capacity")?;
    let capacity = capacity.get("typ").unwrap_or(capacity).as_str()?;
    let chemistry = Chemistry::built_in(kind).ok()?;
    Some(tables::toml(&chemistry, Coulombs::parse(capacity).ok()?))
}

fn list(look: Look) -> String {
    let mut out = String::new();
    for (title, wanted) in [("Panels", "panels"), ("Batteries", "batteries")] {
        let mut rows = table(&["name", "size", "note"]);
        for (folder, name, _) in PROFILES.iter().filter(|(folder, ..)| *folder == wanted) {
            let document: DocumentMut = whole(folder, name).and_then(|text| text.parse().ok()).unwrap_or_default();
            let note = document.get("note").and_then(|note| note.as_str()).unwrap_or_default();
            rows.add_row([name.to_string(), size(&document), note.to_owned()]);
        }
        fit(&mut rows, look.width);
        out += &format!("{}, as in from = \"name\"\n{rows}\n\n", look.bold(title));
    }
    let more = "Sizes are source lines x gate lines as the controller counts them; mounted = 90 or 270 turns 122 x 250 into a display \
         250 wide. `inkjoule profiles NAME` prints one. Values without a source are assumptions: the maker's data come first.";
    out + &look.paragraph(more)
}

/// Pixels of a panel, cells and capacity of a battery.
fn size(document: &DocumentMut) -> String {
    if let Some(pixels) = document.get("pixels").and_then(|pixels| pixels.as_array()) {
        let sides: Vec<String> = pixels.iter().map(|side| side.to_string().trim().to_owned()).collect();
        return sides.join(" x ");
    }
    let capacity = document.get("capacity").map(|capacity| capacity.get("typ").unwrap_or(capacity));
    let capacity = capacity.and_then(|capacity| capacity.as_str()).unwrap_or_default();
    match document.get("cells").and_then(|cells| cells.as_integer()) {
        Some(cells) => format!("{cells} x {capacity}"),
        None => capacity.to_owned(),
    }
}

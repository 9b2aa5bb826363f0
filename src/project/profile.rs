//! `from = "..."`: lays a table of the project over a profile, the project's own values on top.

use super::Texts;
use crate::hardware::profiles;
use crate::source::fault::{Fault, nearest};
use crate::source::read::Reader;
use crate::source::spans::{Sources, Span};
use crate::source::tree::{Tree, placed};
use toml::de::DeValue;

/// Fills the tables of a project that start from a profile, which may start from another in turn.
pub fn fill<'t>(project: &mut Tree<'t>, texts: &Texts<'t>, sources: &mut Sources, reader: &mut Reader) {
    for (table, folder) in [("panel", "panels"), ("battery", "batteries")] {
        let DeValue::Table(root) = project.get_mut() else { return };
        let Some(own) = root.get_mut(table) else { continue };
        let mut next = base_of(own);
        let mut sound = true;
        for link in 0.. {
            let Some((span, name)) = next else { break };
            if link >= profiles::LONGEST_CHAIN {
                let fault = Fault::at(span, "the profiles start from one another in a circle");
                reader.fault(fault.help("let one of them stand without `from`"));
                sound = false;
                break;
            }
            let Some(mut profile) = find(folder, &name, texts, sources, reader) else {
                reader.fault(unknown(span, folder, &name, texts));
                sound = false;
                break;
            };
            next = base_of(&profile);
            if let (true, DeValue::Table(table)) = (overridden(own, &profile), profile.get_mut()) {
                // The profile's note describes the profile, no longer what the project made of it.
                table.remove("note");
            }
            lay_under(own, profile);
        }
        if !sound {
            // Without its base the table would only report everything it lacks.
            let at = own.span();
            let spare = spare();
            if let Some(found) = spare.get_ref().as_table().and_then(|root| root.get(table)) {
                lay_under(own, placed(found.clone(), &at));
            }
            reader.stood_in.insert(table.to_owned());
        }
    }
}

/// A sound project, with its profiles laid under it: what stands in for values that are missing or at fault, so that the
/// rest of a project can be looked at all the same.
pub fn spare() -> Tree<'static> {
    let mut reader = Reader::default();
    let mut project = reader.parse(include_str!("../cli/starter/device.toml"), 0);
    for (table, folder) in [("panel", "panels"), ("battery", "batteries")] {
        let DeValue::Table(root) = project.get_mut() else { break };
        let Some(own) = root.get_mut(table) else { continue };
        let mut next = base_of(own);
        while let Some(text) = next.and_then(|(_, name)| profiles::text(folder, &name)) {
            let profile = reader.parse(text, 0);
            next = base_of(&profile);
            lay_under(own, profile);
        }
    }
    project
}

/// Place and name of the profile that a table starts from.
fn base_of(tree: &Tree<'_>) -> Option<(Span, String)> {
    let from = tree.get_ref().as_table()?.get("from")?;
    Some((from.span(), from.get_ref().as_str()?.to_owned()))
}

/// A profile of the project's own, or a built-in one.
fn find<'t>(
    folder: &str,
    name: &str,
    texts: &Texts<'t>,
    sources: &mut Sources,
    reader: &mut Reader,
) -> Option<Tree<'t>> {
    texts.tree(&format!("{folder}/{name}.toml"), sources, reader).or_else(|| {
        profiles::text(folder, name).map(|text| {
            let start = sources.add(format!("<built-in {folder}/{name}.toml>"), text);
            reader.parse(text, start)
        })
    })
}

fn unknown(span: Span, folder: &str, name: &str, texts: &Texts<'_>) -> Fault {
    let mut known = texts.files.toml_in(folder);
    known.extend(profiles::names(folder).map(str::to_owned));
    let help = nearest(name, known.iter().map(String::as_str));
    Fault::at(span, format!("there is no profile `{name}`"))
        .help(help.unwrap_or_else(|| format!("write {folder}/{name}.toml")))
}

/// Adds what `own` does not have from `base`, table by table.
fn lay_under<'t>(own: &mut Tree<'t>, base: Tree<'t>) {
    let (DeValue::Table(own), DeValue::Table(base)) = (own.get_mut(), base.into_inner()) else { return };
    for (key, value) in base {
        let name = key.get_ref().to_string();
        match own.get_mut(name.as_str()) {
            Some(mine) if mine.get_ref().is_table() && value.get_ref().is_table() && !is_spread(mine) => {
                lay_under(mine, value)
            }
            Some(_) => {}
            None => {
                own.insert(key, value);
            }
        }
    }
}

/// Keys that a profile's note does not speak of.
const BESIDE_THE_NOTE: &[&str] = &["from", "note", "rail", "packing", "mounted", "mirrored"];

/// Whether a table states something otherwise that the profile states.
fn overridden(own: &Tree<'_>, base: &Tree<'_>) -> bool {
    let (Some(own), Some(base)) = (own.get_ref().as_table(), base.get_ref().as_table()) else { return false };
    own.iter().any(|(key, _)| {
        let key: &str = key.get_ref();
        !BESIDE_THE_NOTE.contains(&key) && base.contains_key(key)
    })
}

/// A quantity with its spread is one value, not a table to be filled up.
fn is_spread(tree: &Tree<'_>) -> bool {
    tree.get_ref().as_table().is_some_and(|table| table.contains_key("typ"))
}

//! `from = "..."`: lays a table of the project over a profile, the project's own values on top.

use super::Texts;
use super::fault::{Fault, nearest};
use super::read::{Reader, Tree};
use super::source::Sources;
use crate::hardware::profiles;
use toml::de::DeValue;

/// Fills the tables of a project that start from a profile.
pub fn fill<'t>(project: &mut Tree<'t>, texts: &Texts<'t>, sources: &mut Sources, reader: &mut Reader) {
    for (table, folder) in [("panel", "panels"), ("battery", "batteries")] {
        let DeValue::Table(root) = project.get_mut() else { return };
        let Some(own) = root.get_mut(table) else { continue };
        let DeValue::Table(own_table) = own.get_mut() else { continue };
        let Some(from) = own_table.get("from") else { continue };
        let (span, Some(name)) = (from.span(), from.get_ref().as_str().map(str::to_owned)) else { continue };
        let profile = match texts.tree(&format!("{folder}/{name}.toml"), sources, reader) {
            Some(tree) => Some(tree),
            None => profiles::text(folder, &name).map(|text| {
                let start = sources.add(format!("<built-in {folder}/{name}.toml>"), text);
                reader.parse(text, start)
            }),
        };
        let Some(profile) = profile else {
            let fault = Fault::at(span, format!("there is no profile `{name}`"));
            let mut known = texts.files.toml_in(folder);
            known.extend(profiles::names(folder).map(str::to_owned));
            reader.fault(
                fault.help(
                    nearest(&name, known.iter().map(String::as_str))
                        .unwrap_or_else(|| format!("write {folder}/{name}.toml")),
                ),
            );
            // Without its base the table would only report everything it lacks.
            root.remove(table);
            continue;
        };
        lay_under(own, profile);
    }
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

/// A quantity with its spread is one value, not a table to be filled up.
fn is_spread(tree: &Tree<'_>) -> bool {
    tree.get_ref().as_table().is_some_and(|table| table.contains_key("typ"))
}

//! Files and faces of a project that nothing refers to.

use crate::assets::fonts::Faces;
use crate::assets::pictures::Pictures;
use crate::project::device::{FieldSpec, SignalSpec};
use crate::source::amount::Named;
use crate::source::fault::Fault;
use crate::source::files::Files;
use std::collections::BTreeSet;

/// Folders whose files are there to be referred to.
const FOLDERS: [&str; 3] = ["data/", "fonts/", "icons/"];

/// Findings for files in those folders, and for faces, that nothing uses.
pub fn unused(files: &Files, faces: &Faces, pictures: &Pictures, fields: &Named<FieldSpec>) -> Vec<Fault> {
    let replayed = fields.values().filter_map(|field| match &field.value.signal.as_ref()?.value {
        SignalSpec::Replay { file, .. } => Some(file.value.as_str()),
        _ => None,
    });
    let used: BTreeSet<&str> = faces.files().chain(pictures.asked()).chain(replayed).collect();
    let assets = files.names().filter(|name| FOLDERS.iter().any(|folder| name.starts_with(folder)) && !is_note(name));
    let unused_files = assets.filter(|name| !used.contains(name)).map(|name| {
        Fault::plain(format!("nothing uses the file {}", files.shown(name)))
            .file(files.shown(name))
            .lint("unused-asset")
            .unused(name)
            .help("delete it from the project")
    });
    let unused_faces = faces.unused().map(|(name, spec)| {
        Fault::at(spec.span.clone(), format!("no screen uses the font `{name}`"))
            .lint("unused-asset")
            .unused(name)
            .help("delete it")
    });
    unused_files.chain(unused_faces).collect()
}

/// Licences and notes lie beside assets and are not referred to.
fn is_note(name: &str) -> bool {
    let ending = name.rsplit_once('.').map(|(_, ending)| ending.to_ascii_lowercase());
    matches!(ending.as_deref(), None | Some("txt" | "md"))
}

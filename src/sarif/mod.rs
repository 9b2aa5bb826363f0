//! Findings as SARIF 2.1.0 (OASIS standard, 2020): for editors, code review and continuous integration. Not for finding
//! anything, nor for people at a terminal.
//!
//! Section numbers are those of the standard. Columns are counted in Unicode code points (`columnKind`, 3.14.27), as in the
//! text that `check` prints; an end column is that of the character after the last one (3.30.8).

mod rules;

use crate::source::fault::{Fault, Level};
use crate::source::levels::Levels;
use crate::source::spans::Sources;
pub use rules::ACCEPTED;
use rules::rules;
use serde_json::{Map, Value, json};
use std::path::{Component, Path, PathBuf};

/// Where the standard's schema lies.
const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";
/// The name of the folder to which the paths of files are relative.
const BASE: &str = "ROOT";

/// One finding, and what of the design it concerns.
#[derive(Clone, Copy, Debug)]
pub struct Entry<'a> {
    /// What is wrong.
    pub fault: &'a Fault,
    /// Screen and locale where it can be seen.
    pub shown: Option<(&'a str, &'a str)>,
}

/// One run of `check`.
#[derive(Debug)]
pub struct Run<'a> {
    /// What was found.
    pub entries: &'a [Entry<'a>],
    /// The text it was found in.
    pub sources: &'a Sources,
    /// Levels of the lints in this project.
    pub levels: &'a Levels,
    /// Where the project's files lie.
    pub folder: Folder,
    /// The exit status: 2 where the project could not be read.
    pub status: u8,
}

/// Where a project's files lie, for paths relative to one folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Folder {
    /// How the names of its files begin in messages.
    shown: PathBuf,
    /// What stands in its place in paths: empty where they are relative to the project.
    inside: PathBuf,
    /// The project's folder, where it is not inside the one that the program runs in.
    outside: Option<PathBuf>,
}

impl Folder {
    /// The folder of a project that is called so (or its `device.toml`), seen from the folder that the program runs in:
    /// paths are relative to that one, or to the project's where it lies elsewhere.
    pub fn of(project: &Path, run_in: &Path) -> Self {
        let shown = match run_in.join(project).is_dir() || project.file_name().is_none() {
            true => project,
            false => project.parent().unwrap_or(Path::new("")),
        };
        let whole = |path: &Path| std::fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
        let (root, run_in) = (whole(&run_in.join(shown)), whole(run_in));
        match root.strip_prefix(&run_in) {
            Ok(inside) => Self { shown: shown.to_path_buf(), inside: inside.to_path_buf(), outside: None },
            Err(_) => Self { shown: shown.to_path_buf(), inside: PathBuf::new(), outside: Some(root) },
        }
    }

    /// The file's relative URI reference (RFC 3986, section 4.2).
    fn uri(&self, file: &str) -> String {
        let inside = Path::new(file).strip_prefix(&self.shown).unwrap_or(Path::new(file));
        path(&self.inside.join(inside))
    }

    /// `originalUriBaseIds` (3.14.14). A project inside the folder of the run stays free of the machine's own paths.
    fn bases(&self) -> Value {
        match &self.outside {
            None => json!({ BASE: { "description": { "text": "The folder that inkjoule ran in." } } }),
            Some(root) => {
                let uri = format!("file:///{}/", path(root));
                json!({ BASE: { "uri": uri, "description": { "text": "The project's folder." } } })
            }
        }
    }
}

/// The names of a path as a URI path, each percent-encoded (RFC 3986, section 2.1).
fn path(path: &Path) -> String {
    let names = path.components().filter_map(|part| match part {
        Component::Normal(name) => Some(encoded(&name.to_string_lossy())),
        Component::Prefix(prefix) => Some(encoded(&prefix.as_os_str().to_string_lossy())),
        Component::ParentDir => Some("..".to_owned()),
        Component::CurDir | Component::RootDir => None,
    });
    names.collect::<Vec<_>>().join("/")
}

fn encoded(name: &str) -> String {
    let one = |byte: u8| match byte {
        // Unreserved characters (RFC 3986, section 2.3).
        b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => char::from(byte).to_string(),
        byte => format!("%{byte:02X}"),
    };
    name.bytes().map(one).collect()
}

/// A text as a SARIF message: braces, which mark placeholders there, are doubled (3.11.5); nothing becomes a link (3.11.6).
fn message(text: &str) -> Value {
    json!({ "text": text.replace('{', "{{").replace('}', "}}").replace("](", "] (") })
}

/// The SARIF log of a run, as JSON text.
pub fn document(run: &Run<'_>) -> Value {
    let rules = rules(run.levels);
    let position = |id: &str| rules.iter().position(|rule| rule["id"] == id);
    let results: Vec<Value> = run.entries.iter().map(|entry| result(entry, run, &position)).collect();
    json!({
        "$schema": SCHEMA,
        "version": "2.1.0",
        "runs": [{
            "tool": { "driver": {
                "name": "inkjoule",
                "version": env!("CARGO_PKG_VERSION"),
                "semanticVersion": env!("CARGO_PKG_VERSION"),
                "shortDescription": { "text": env!("CARGO_PKG_DESCRIPTION") },
                "rules": rules,
            } },
            "invocations": [{ "executionSuccessful": run.status < 2, "exitCode": run.status }],
            "originalUriBaseIds": run.folder.bases(),
            "columnKind": "unicodeCodePoints",
            "results": results,
        }],
    })
}

fn result(entry: &Entry<'_>, run: &Run<'_>, position: &impl Fn(&str) -> Option<usize>) -> Value {
    let Entry { fault, shown } = entry;
    let id = fault.id.unwrap_or(rules::FILES);
    let mut result = Map::new();
    result.insert("ruleId".to_owned(), json!(id));
    if let Some(index) = position(id) {
        result.insert("ruleIndex".to_owned(), json!(index));
    }
    result.insert("level".to_owned(), json!(level(fault.level)));
    result.insert("message".to_owned(), message(&fault.to_string()));
    if let Some(location) = location(fault, run) {
        result.insert("locations".to_owned(), json!([location]));
    }
    if let Some((screen, locale)) = shown {
        result.insert("properties".to_owned(), json!({ "screen": screen, "locale": locale }));
    }
    Value::Object(result)
}

/// Where a finding stands: in a file of the project, or by name in a profile that is built in and lies in no file. What has
/// no place in a text stands in its file as a whole (3.29.4); what is about the whole project, in `device.toml`.
fn location(fault: &Fault, run: &Run<'_>) -> Option<Value> {
    let Some(span) = &fault.span else {
        let file = fault.whole_file().or_else(|| Some(run.sources.iter().next()?.0))?;
        let artifact = json!({ "uri": run.folder.uri(file), "uriBaseId": BASE });
        return (!file.starts_with('<')).then(|| json!({ "physicalLocation": { "artifactLocation": artifact } }));
    };
    let region = run.sources.region(span)?;
    if region.file.starts_with('<') {
        let name = format!("{}:{}:{}", region.file, region.start.line, region.start.column);
        return Some(json!({ "logicalLocations": [{ "fullyQualifiedName": name, "kind": "resource" }] }));
    }
    let (start, end) = (region.start, region.end);
    Some(json!({ "physicalLocation": {
        "artifactLocation": { "uri": run.folder.uri(region.file), "uriBaseId": BASE },
        "region": {
            "startLine": start.line, "startColumn": start.column, "endLine": end.line, "endColumn": end.column,
        },
    } }))
}

/// A level's word (3.27.10).
fn level(level: Level) -> &'static str {
    match level {
        Level::Off => "none",
        Level::Warning => "warning",
        Level::Error => "error",
    }
}

#[cfg(test)]
mod tests;

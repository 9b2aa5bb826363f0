//! The files of a project, read into memory once and within limits; nothing later opens a file.

use super::amount::At;
use super::fault::{Fault, nearest};
use super::spans::Span;
use crate::limits;
use crate::visible::steers;
use std::collections::BTreeMap;
use std::io::Read as _;
use std::path::{Path, PathBuf};

/// Folders of a project whose files are read.
pub const FOLDERS: [&str; 8] = ["screens", "parts", "strings", "icons", "fonts", "panels", "batteries", "data"];

/// A project's files by their path relative to its root, with `/` between names.
#[derive(Clone, Debug, Default)]
pub struct Files {
    /// How the root is called in messages.
    pub root: PathBuf,
    /// The root without links: nothing outside is read.
    home: PathBuf,
    files: BTreeMap<String, Vec<u8>>,
    /// Whether the pseudo-locale is wanted, as the last of the locales.
    pub pseudo: bool,
}

impl Files {
    /// Reads a project: a folder with a `device.toml`, or that file itself.
    ///
    /// # Errors
    /// When there is no `device.toml`, a file cannot be read, or a limit of [`crate::limits`] is passed.
    pub fn read(project: &Path) -> Result<Self, Fault> {
        let root = match project.is_dir() {
            true => project.to_path_buf(),
            false => project.parent().map(Path::to_path_buf).unwrap_or_default(),
        };
        let device = if project.is_dir() { root.join("device.toml") } else { project.to_path_buf() };
        if !device.is_file() {
            let missing = if project.exists() { device.as_path() } else { project };
            let what = if project.exists() { "file" } else { "project folder" };
            let fault = Fault::plain(format!("no such {what}: {}", missing.display()));
            return Err(fault.help("name a folder that holds a device.toml, or write one with `inkjoule new FOLDER`"));
        }
        let here = if root.as_os_str().is_empty() { Path::new(".") } else { &root };
        let fail = |why| Fault::plain(format!("cannot read the folder {}: {why}", here.display()));
        let home = std::fs::canonicalize(here).map_err(fail)?;
        let mut files = Self { root: root.clone(), home, files: BTreeMap::new(), pseudo: false };
        files.take(&device, "device.toml".into())?;
        for folder in FOLDERS {
            files.take_folder(&root.join(folder), folder, 0)?;
        }
        Ok(files)
    }

    /// A project from memory, for tests and tools.
    pub fn from_memory<N: Into<String>, B: Into<Vec<u8>>>(files: impl IntoIterator<Item = (N, B)>) -> Self {
        let files = files.into_iter().map(|(name, bytes)| (name.into(), bytes.into())).collect();
        Self { files, ..Self::default() }
    }

    fn take_folder(&mut self, folder: &Path, name: &str, depth: usize) -> Result<(), Fault> {
        if depth > limits::FOLDER_DEPTH {
            return Err(Fault::plain(format!("{name} is nested more than {} folders deep", limits::FOLDER_DEPTH)));
        }
        let entries = match std::fs::read_dir(folder) {
            Ok(entries) => entries,
            Err(why) if why.kind() == std::io::ErrorKind::NotFound => return Ok(()),
            Err(why) => return Err(Fault::plain(format!("cannot read the folder {}: {why}", folder.display()))),
        };
        for entry in entries {
            let entry =
                entry.map_err(|why| Fault::plain(format!("cannot read the folder {}: {why}", folder.display())))?;
            let file = entry.file_name();
            if file.as_encoded_bytes().starts_with(b".") {
                continue;
            }
            let Some(file) = file.to_str() else {
                let fault = Fault::plain(format!("the name of {} is not UTF-8 text", entry.path().display()));
                return Err(fault.help("rename the file"));
            };
            let (path, name) = (entry.path(), format!("{name}/{file}"));
            self.inside(&path)?;
            if path.is_dir() {
                self.take_folder(&path, &name, depth + 1)?;
            } else {
                self.take(&path, name)?;
            }
        }
        Ok(())
    }

    /// A link may lead anywhere inside the project, and nowhere else.
    fn inside(&self, path: &Path) -> Result<(), Fault> {
        let fail = |why: &dyn std::fmt::Display| Fault::plain(format!("cannot read {}: {why}", path.display()));
        let real = std::fs::canonicalize(path).map_err(|why| fail(&why))?;
        match real.starts_with(&self.home) {
            true => Ok(()),
            false => Err(fail(&"it is a link that leaves the project").help("copy the file into the project")),
        }
    }

    fn take(&mut self, path: &Path, name: String) -> Result<(), Fault> {
        let fail = |why: &dyn std::fmt::Display| Fault::plain(format!("cannot read {}: {why}", path.display()));
        self.inside(path)?;
        if let Some(fault) = misspelt(&name, path) {
            return Err(fault);
        }
        if self.files.len() >= limits::FILES {
            return Err(Fault::plain(format!("a project may have at most {} files", limits::FILES)));
        }
        let about = std::fs::metadata(path).map_err(|why| fail(&why))?;
        if !about.is_file() {
            return Err(fail(&"it is neither a file nor a folder"));
        }
        let size = about.len();
        let total: u64 = self.files.values().map(|bytes| bytes.len() as u64).sum();
        if size > limits::FILE_BYTES || total + size > limits::PROJECT_BYTES {
            let (one, all) = (limits::FILE_BYTES >> 20, limits::PROJECT_BYTES >> 20);
            return Err(fail(&format!("a file may have at most {one} MiB, all together {all} MiB")));
        }
        let mut bytes = Vec::with_capacity(size as usize);
        // No more than was announced, should the file grow meanwhile.
        let file = std::fs::File::open(path).map_err(|why| fail(&why))?;
        file.take(size).read_to_end(&mut bytes).map_err(|why| fail(&why))?;
        self.files.insert(name, bytes);
        Ok(())
    }

    /// A file's bytes by its path relative to the root.
    pub fn bytes(&self, name: &str) -> Option<&[u8]> {
        self.files.get(name).map(Vec::as_slice)
    }

    /// The names of all files.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.files.keys().map(String::as_str)
    }

    /// Replaces a text file.
    pub fn replace(&mut self, name: &str, text: String) {
        self.files.insert(name.to_owned(), text.into_bytes());
    }

    /// How a file is called in messages.
    pub fn shown(&self, name: &str) -> String {
        self.root.join(name).display().to_string()
    }

    /// Names of the TOML files in a folder, without folder and ending.
    pub fn toml_in(&self, folder: &str) -> Vec<String> {
        let inside = |name: &&str| name.strip_prefix(folder).is_some_and(|rest| rest.starts_with('/'));
        let stem = |name: &str| name[folder.len() + 1..].strip_suffix(".toml").map(str::to_owned);
        self.names().filter(inside).filter_map(stem).filter(|stem| !stem.contains('/')).collect()
    }
}

/// Text files are found by their ending, which is written small: another spelling would be passed over in silence.
pub fn misspelt(name: &str, shown: &Path) -> Option<Fault> {
    let ending = name.rsplit_once('.').map_or("", |(_, ending)| ending);
    (ending != "toml" && ending.eq_ignore_ascii_case("toml")).then(|| {
        let fault = Fault::plain(format!("{} would not be read: its extension is not .toml", shown.display()));
        fault.help("write the extension in lower case")
    })
}

/// The fault for a file that is not in the project.
pub fn no_file(file: &At<String>, files: &Files) -> Fault {
    let fault = Fault::at(file.span.clone(), format!("there is no file {}", files.shown(&file.value)));
    match nearest(&file.value, files.names()).filter(|help| help.starts_with("did you")) {
        Some(help) => fault.help(help),
        None => fault.help(format!("files are looked for in these folders of the project: {}", FOLDERS.join(", "))),
    }
}

/// Why a name cannot be that of a file, where files are named after it.
pub fn unfileable(what: &str, name: &str, span: &Span) -> Option<Fault> {
    let wrong = name.is_empty()
        || name.starts_with('.')
        || name.contains(['/', '\\', ':'])
        || name.contains(|letter: char| letter.is_control() || steers(letter));
    let fault = || Fault::at(span.clone(), format!("{name:?} cannot be the name of {what}: files are named after it"));
    wrong.then(|| fault().help("use letters, digits, - and _"))
}

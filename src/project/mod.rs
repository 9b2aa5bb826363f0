//! The file format: text files with spans in, one resolved [`Device`] or a list of faults out.

pub mod alternatives;
pub mod battery;
pub mod device;
pub mod hardware;
mod profile;
pub mod rules;
pub mod schema;
pub mod screen;
pub mod set;
pub mod settle;
pub mod swap;
pub mod usage;
mod victims;
pub mod watch;

use crate::assets::pseudo;
use crate::device::Device;
use crate::source::amount::At;
use crate::source::fault::{Fault, Level};
use crate::source::files::Files;
use crate::source::levels::Levels;
use crate::source::read::Reader;
use crate::source::spans::{Sources, Span};
use crate::source::tree::Tree;
use device::ProjectSpec;
use screen::{Nodes, ScreenHead, ScreenSpec, part};
use settle::{Draft, resolve};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::path::Path;
use victims::{Causes, fold};

/// A project that could be loaded.
#[derive(Debug)]
pub struct Loaded {
    /// The model.
    pub device: Device,
    /// Its files as they were read, changes included: for what-ifs.
    pub files: Files,
    /// The text it came from.
    pub sources: Sources,
    /// Warnings.
    pub warnings: Vec<Fault>,
}

/// A project that could not be loaded.
#[derive(Debug)]
pub struct ProjectFault {
    /// Everything that is wrong.
    pub faults: Vec<Fault>,
    /// The text it came from.
    pub sources: Sources,
    /// What could be made of it, for whoever wants to know what else is wrong: nothing to calculate with. Absent where the
    /// panel or the display are not known.
    pub draft: Option<Box<Device>>,
    /// What of the draft is as it would be without the faults.
    pub settled: Settled,
}

/// Which parts of a project no fault concerns.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Settled {
    /// What keys, timers and events lead to.
    pub flow: bool,
    /// What the screens show.
    pub screens: bool,
}

impl ProjectFault {
    /// A failure without any draft.
    pub fn of(faults: Vec<Fault>, sources: Sources) -> Box<Self> {
        Box::new(Self { faults, sources, draft: None, settled: Settled::default() })
    }
}

impl fmt::Display for ProjectFault {
    /// Every fault on a line of its own, with `file:line:column` where it has a place.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fault) in self.faults.iter().enumerate() {
            let end = if index == 0 { "" } else { "\n" };
            match &fault.span {
                Some(span) => write!(f, "{end}{}: {fault}", self.sources.place(span))?,
                None => write!(f, "{end}{fault}")?,
            }
        }
        Ok(())
    }
}

impl std::error::Error for ProjectFault {}

/// Loads a project folder (or its `device.toml`), with changes as for `--set`.
///
/// # Errors
/// Every fault found, not only the first.
pub fn load(project: &Path, changes: &[String]) -> Result<Loaded, Box<ProjectFault>> {
    load_files(read(project, changes)?)
}

/// Reads a project's files, with changes as for `--set`.
///
/// # Errors
/// What stops the reading, or a change that cannot be made.
pub fn read(project: &Path, changes: &[String]) -> Result<Files, Box<ProjectFault>> {
    let plain = |fault| ProjectFault::of(vec![fault], Sources::default());
    let mut files = Files::read(project).map_err(plain)?;
    set::apply_all(&mut files, changes).map_err(plain)?;
    Ok(files)
}

/// Loads a project from files in memory.
///
/// # Errors
/// Every fault found, not only the first.
pub fn load_files(files: Files) -> Result<Loaded, Box<ProjectFault>> {
    let mut sources = Sources::default();
    let mut reader = Reader::default();
    let texts = Texts::of(&files, &mut reader);
    let mut draft = read_all(&texts, files.clone(), &mut sources, &mut reader);
    if let Some(draft) = draft.as_mut().filter(|draft| draft.files.pseudo) {
        pseudo::add(&mut draft.strings);
        draft.characters.extend(pseudo::characters());
    }
    let mut faults = std::mem::take(&mut reader.faults);
    let unread: Vec<Span> = faults.iter().filter_map(|fault| fault.span.clone()).collect();
    let levels = draft.as_ref().map(|draft| levels(draft, &mut faults)).unwrap_or_default();
    let device = draft.and_then(|draft| resolve(draft, levels.clone(), &mut faults));
    let upset = faults.iter().any(|fault| fault.basis.upsets.is_some());
    let seen = !upset && !["panel", "display"].iter().any(|table| reader.stood_in.contains(*table));
    levels.apply(&mut faults);
    Causes { reader: &reader, unread: &unread, sources: &sources }.sift(&mut faults);
    sort(&mut faults);
    let faults = fold(faults, &sources);
    let sound = faults.iter().all(|fault| fault.level != Level::Error);
    match device {
        Some(device) if sound => Ok(Loaded { device, files, sources, warnings: faults }),
        device => {
            let settled = victims::settled(&faults, &sources);
            Err(Box::new(ProjectFault { faults, sources, draft: device.filter(|_| seen).map(Box::new), settled }))
        }
    }
}

/// Levels of the lints: the project's, each screen's and each element's.
fn levels(draft: &Draft, faults: &mut Vec<Fault>) -> Levels {
    let mut levels = Levels::of(&draft.project.lints, faults);
    for (index, (_, screen)) in draft.screens.iter().enumerate() {
        screen.levels(index, &mut levels, faults);
    }
    levels
}

/// Faults in the order of their places, each once: a part used twice would report its faults twice.
fn sort(faults: &mut Vec<Fault>) {
    faults.sort_by_key(|fault| (fault.span.as_ref().map_or(usize::MAX, |span| span.start), fault.message.clone()));
    faults.dedup_by(|a, b| a.span == b.span && a.message == b.message);
}

/// The text files of a project, by name.
struct Texts<'f> {
    files: &'f Files,
    texts: BTreeMap<String, &'f str>,
}

impl<'f> Texts<'f> {
    fn of(files: &'f Files, reader: &mut Reader) -> Self {
        let mut texts = BTreeMap::new();
        for name in files.names().filter(|name| name.ends_with(".toml")) {
            let bytes = files.bytes(name).unwrap_or_default();
            match std::str::from_utf8(bytes) {
                Ok(text) => {
                    texts.insert(name.to_owned(), text);
                }
                Err(why) => {
                    let line = bytes[..why.valid_up_to()].iter().filter(|byte| **byte == b'\n').count() + 1;
                    let fault =
                        Fault::plain(format!("{} is not UTF-8 text: line {line} has other bytes", files.shown(name)));
                    reader.fault(fault.help("save the file as UTF-8"));
                    reader.absent.unread(name);
                }
            }
        }
        Self { files, texts }
    }

    fn tree(&self, name: &str, sources: &mut Sources, reader: &mut Reader) -> Option<Tree<'f>> {
        let text = self.texts.get(name).copied()?;
        let start = sources.add(self.files.shown(name), text);
        let before = reader.broken.len();
        let tree = reader.parse(text, start);
        if reader.broken.len() > before {
            reader.absent.unread(name);
        }
        Some(tree)
    }
}

fn read_all(texts: &Texts<'_>, files: Files, sources: &mut Sources, reader: &mut Reader) -> Option<Draft> {
    let project = texts.tree("device.toml", sources, reader);
    let mut project = project?;
    profile::fill(&mut project, texts, sources, reader);
    let project = reader.read::<ProjectSpec>(project, Some(&profile::spare()));

    let mut parts: BTreeMap<String, Tree<'_>> = BTreeMap::new();
    for name in files.toml_in("parts") {
        let Some(tree) = texts.tree(&format!("parts/{name}.toml"), sources, reader) else { continue };
        match part(tree, &sources.newest(), reader) {
            Some(content) => {
                parts.insert(name, content);
            }
            None => reader.absent.name("parts", &name),
        }
    }
    let mut screens = Vec::new();
    let mut used = BTreeSet::new();
    for id in files.toml_in("screens") {
        let Some(tree) = texts.tree(&format!("screens/{id}.toml"), sources, reader) else {
            // Without one of its screens a project would only complain about names that lead nowhere.
            screens
                .push((id, ScreenSpec { span: 0..0, extent: 0..0, head: ScreenHead::default(), content: Vec::new() }));
            continue;
        };
        let mut nodes = Nodes::new(reader, &parts, std::mem::take(&mut used));
        let screen = nodes.screen(tree, sources.newest());
        used = nodes.used;
        screens.push((id, screen));
    }
    for (name, tree) in parts.iter().filter(|(name, _)| !used.contains(*name)) {
        reader.fault(Fault::at(tree.span(), format!("the part `{name}` is not used")).lint("unused-part").unused(name));
    }
    let mut strings = Vec::new();
    for locale in files.toml_in("strings") {
        let Some(tree) = texts.tree(&format!("strings/{locale}.toml"), sources, reader) else { continue };
        reader.root = format!("strings/{locale}");
        strings.extend(reader.read::<BTreeMap<String, At<String>>>(tree, None).map(|table| (locale, table)));
    }
    let characters = texts.texts.values().flat_map(|text| text.chars()).chain(' '..='~').chain("−–…".chars());
    let project = project?;
    put_first(&mut strings, project.locale.as_ref(), reader);
    Some(Draft { project, screens, strings, characters: characters.collect(), files })
}

/// Puts the texts of the project's own locale before the others.
fn put_first<T>(strings: &mut [(String, T)], locale: Option<&At<String>>, reader: &mut Reader) {
    let Some(wanted) = locale else { return };
    match strings.iter().position(|(name, _)| *name == wanted.value) {
        Some(place) => strings[..=place].rotate_right(1),
        None => {
            let fault = Fault::at(wanted.span.clone(), format!("there is no strings/{}.toml", wanted.value));
            let help = crate::source::fault::nearest(&wanted.value, strings.iter().map(|(name, _)| name.as_str()));
            reader.fault(
                fault.help(help.unwrap_or_else(|| "leave `locale` out of a project without strings".to_owned())),
            );
        }
    }
}

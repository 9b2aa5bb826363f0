//! The faces of a project: built in, or from its files; each is read once, when first asked for.

use super::pseudo::PSEUDO;
use crate::screen::face::FaceUse;
use crate::screen::face::{Face, FontFault, bdf, builtin, hinted, truetype};
use crate::source::amount::At;
use crate::source::amount::Named;
use crate::source::fault::{Fault, Level, no_such};
use crate::source::files::Files;
use crate::source::files::{no_file, unfileable};
use crate::source::spans::Span;
use crate::units::count;
use crate::visible::steers;
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A font from a file.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct FontSpec {
    /// BDF or TrueType file, relative to the project.
    pub file: At<String>,
    /// TrueType only: pixels per em.
    pub size: Option<At<f32>>,
    /// Outlines only: whether stems and bars are brought onto whole pixels before the outline is filled; they are, unless a
    /// threshold is stated.
    pub hinting: Option<At<bool>>,
    /// Outlines that are not hinted: coverage from which a pixel is ink, 0 to 1; absent: chosen so that the ink matches the
    /// outline.
    pub threshold: Option<At<f32>>,
}

/// Characters that a font lacks for one text of the files.
#[derive(Debug)]
struct Gap {
    span: Span,
    characters: BTreeSet<char>,
    screens: BTreeSet<String>,
    locales: BTreeSet<String>,
}

/// So many missing characters are listed, the rest is counted.
const LISTED: usize = 24;

/// So many screens are named.
const SCREENS: usize = 4;

/// The fonts of a project.
#[derive(Debug)]
pub struct Faces {
    specs: Named<FontSpec>,
    files: Files,
    characters: BTreeSet<char>,
    read: BTreeMap<String, Option<Arc<Face>>>,
    used: BTreeMap<String, BTreeSet<char>>,
    /// Names that screens ask for, whether they can be read or not.
    asked: BTreeSet<String>,
    /// By font and place.
    gaps: BTreeMap<(String, usize), Gap>,
}

impl Faces {
    /// Fonts as the project lists them. `characters` are those that its texts can need, for outline fonts.
    pub fn new(specs: Named<FontSpec>, files: Files, characters: BTreeSet<char>) -> Self {
        Self {
            specs,
            files,
            characters,
            read: BTreeMap::new(),
            used: BTreeMap::new(),
            asked: BTreeSet::new(),
            gaps: BTreeMap::new(),
        }
    }

    /// Names that can be used.
    pub fn names(&self) -> Vec<&str> {
        let built_in = builtin::names().map(|name| -> &str { name });
        self.specs.keys().map(String::as_str).chain(built_in).collect()
    }

    /// A font by name that a screen asks for; faults are noted the first time.
    pub fn find(&mut self, name: &At<String>, faults: &mut Vec<Fault>) -> Option<Arc<Face>> {
        if !self.asked.contains(&name.value) {
            self.asked.insert(name.value.clone());
        }
        self.open(name, faults)
    }

    fn open(&mut self, name: &At<String>, faults: &mut Vec<Fault>) -> Option<Arc<Face>> {
        if let Some(face) = self.read.get(&name.value) {
            return face.clone();
        }
        let face = self.load(name, faults);
        if self.specs.contains_key(&name.value) || face.is_some() {
            self.read.insert(name.value.clone(), face.clone());
        }
        face
    }

    fn load(&self, name: &At<String>, faults: &mut Vec<Fault>) -> Option<Arc<Face>> {
        let Some(spec) = self.specs.get(&name.value) else {
            let face = builtin::face(&name.value);
            if face.is_none() {
                faults.push(no_such("font", "fonts", (&name.value, &name.span), self.names()));
            }
            return face;
        };
        if let Some(fault) = unfileable("a font", &name.value, &spec.span) {
            faults.push(fault);
            return None;
        }
        let file = &spec.value.file;
        let Some(bytes) = self.files.bytes(&file.value) else {
            faults.push(no_file(file, &self.files));
            return None;
        };
        let fail = |why: FontFault| Fault::at(file.span.clone(), format!("cannot read {}: {why}", file.value));
        let face = if file.value.to_ascii_lowercase().ends_with(".bdf") {
            let text = String::from_utf8_lossy(bytes);
            bdf::read(&name.value, &text).map_err(fail)
        } else {
            let Some(size) = &spec.value.size else {
                let fault = Fault::at(spec.span.clone(), "an outline font needs its size");
                faults.push(fault.help("add size = 20 (pixels per em)"));
                return None;
            };
            if !truetype::SIZES.contains(&size.value) {
                let fault = Fault::at(size.span.clone(), "this size is out of range");
                faults.push(fault.help(format!(
                    "expected {} to {} pixels per em",
                    truetype::SIZES.start(),
                    truetype::SIZES.end()
                )));
                return None;
            }
            let (hinting, threshold) = (&spec.value.hinting, &spec.value.threshold);
            if let (Some(threshold), Some(true)) = (threshold, hinting.as_ref().map(|hinting| hinting.value)) {
                let fault = Fault::at(threshold.span.clone(), "a hinted font has no threshold of coverage");
                faults.push(fault.help("take `threshold` out, or write hinting = false"));
                return None;
            }
            if hinting.as_ref().map_or(threshold.is_none(), |hinting| hinting.value) {
                hinted::read(&name.value, bytes, size.value, &self.characters).map_err(fail)
            } else {
                let threshold = threshold.as_ref().map(|threshold| threshold.value);
                truetype::read(&name.value, bytes, size.value, threshold, &self.characters).map_err(fail)
            }
        };
        face.map(Arc::new).map_err(|fault| faults.push(fault)).ok()
    }

    /// Notes characters that a font must have on a screen in a locale. Control characters have no ink, and a lint of
    /// their own; the pseudo-locale is for lengths.
    pub fn needs(
        &mut self,
        face: &Face,
        span: &Span,
        characters: impl Iterator<Item = char>,
        screen: &str,
        locale: &str,
    ) {
        if locale == PSEUDO {
            return;
        }
        let used = self.used.entry(face.name.clone()).or_default();
        for character in characters.filter(|c| !c.is_control() && !steers(*c)) {
            used.insert(character);
            if !face.has(character) {
                let gap = || Gap {
                    span: span.clone(),
                    characters: BTreeSet::new(),
                    screens: BTreeSet::new(),
                    locales: BTreeSet::new(),
                };
                let gap = self.gaps.entry((face.name.clone(), span.start)).or_insert_with(gap);
                gap.characters.insert(character);
                gap.screens.insert(screen.to_owned());
                gap.locales.insert(locale.to_owned());
            }
        }
    }

    /// One fault for each font that lacks characters, at the first text that needs one; texts of another level of the lint
    /// are told apart.
    pub fn gaps(&self, level: impl Fn(&Span) -> Level) -> Vec<Fault> {
        let mut groups: BTreeMap<(&str, Level), Vec<&Gap>> = BTreeMap::new();
        for ((face, _), gap) in &self.gaps {
            groups.entry((face, level(&gap.span))).or_default().push(gap);
        }
        groups.into_iter().filter_map(|((face, _), gaps)| lacking(face, &gaps)).collect()
    }

    /// Bytes of flash that the characters in use take.
    pub fn flash_bytes(&self) -> u64 {
        let face = |(name, used): (&String, &BTreeSet<char>)| {
            let face = self.read.get(name).and_then(Option::as_ref);
            face.map_or(0, |face| face.flash_bytes(used.iter().copied()) as u64)
        };
        self.used.iter().map(face).sum()
    }

    /// The project's fonts and the built-in ones in use, each with the characters that are needed. Reads those of the
    /// project that no screen asked for.
    pub fn all(&mut self, faults: &mut Vec<Fault>) -> Vec<FaceUse> {
        let own: Vec<At<String>> =
            self.specs.iter().map(|(name, spec)| At { span: spec.span.clone(), value: name.clone() }).collect();
        for name in &own {
            self.open(name, faults);
        }
        let face = |(name, face): (&String, &Option<Arc<Face>>)| {
            Some(FaceUse { face: face.clone()?, characters: self.used.get(name).cloned().unwrap_or_default() })
        };
        self.read.iter().filter_map(face).collect()
    }

    /// The files that the project's fonts are read from.
    pub fn files(&self) -> impl Iterator<Item = &str> {
        self.specs.values().map(|spec| spec.value.file.value.as_str())
    }

    /// Fonts of the project that no screen uses.
    pub fn unused(&self) -> impl Iterator<Item = (&String, &At<FontSpec>)> {
        self.specs.iter().filter(|(name, _)| !self.asked.contains(*name))
    }
}

/// The fault for a font that lacks characters for these texts.
fn lacking(face: &str, gaps: &[&Gap]) -> Option<Fault> {
    let (first, others) = gaps.split_first()?;
    let list = |names: &BTreeSet<String>| names.iter().map(String::as_str).collect::<Vec<_>>().join(", ");
    let mut screens = first.screens.iter().take(SCREENS).map(String::as_str).collect::<Vec<_>>().join(", ");
    if let more @ 1.. = first.screens.len().saturating_sub(SCREENS) {
        screens += &format!(" and {}", count(more, "more screen", "more screens"));
    }
    let place = match list(&first.locales) {
        locales if locales.is_empty() => screens,
        locales => format!("{screens} ({locales})"),
    };
    let rest = match others.len() {
        0 => String::new(),
        more => format!(", and in {}", count(more, "more text", "more texts")),
    };
    let all: BTreeSet<char> = gaps.iter().flat_map(|gap| gap.characters.iter().copied()).collect();
    // Codes tell apart what looks alike; a long list is another alphabet, where they only hide the letters.
    let shown = |character: &char| match all.len() {
        1..=3 => format!("`{character}` (U+{:04X})", u32::from(*character)),
        _ => format!("`{character}`"),
    };
    let mut characters = all.iter().take(LISTED).map(shown).collect::<Vec<_>>().join(", ");
    if let more @ 1.. = all.len().saturating_sub(LISTED) {
        characters += &format!(" and {}", count(more, "more character", "more characters"));
    }
    let help = match builtin::names().any(|name| name == face) {
        true => "use another font here",
        false => "use another font here, or add the character to the font's file",
    };
    let fault = Fault::at(first.span.clone(), format!("the font `{face}` has no {characters}"));
    Some(fault.label(format!("needed on {place}{rest}")).help(help).lint("missing-glyph"))
}

//! Faults that only follow from others: a name whose entry was refused, what is wanting where something was taken out. One
//! fault at the cause is enough, so these are not told.

use super::Settled;
use crate::assets::strings::NAMED;
use crate::source::basis::Named;
use crate::source::fault::{Fault, Level};
use crate::source::levels::MISSING_STRING;
use crate::source::read::Reader;
use crate::source::spans::{Sources, Span};
use crate::source::syntax::entry;

/// Places of one name that is asked for in vain, beyond which they are told in one fault.
const PLACES: usize = 3;

/// What was found while a project's files were read, against which later faults are held.
pub struct Causes<'a> {
    /// The reader with what it refused.
    pub reader: &'a Reader,
    /// Places of its faults.
    pub unread: &'a [Span],
    /// The files' text.
    pub sources: &'a Sources,
}

impl Causes<'_> {
    /// Leaves only faults that are at fault themselves.
    pub fn sift(&self, faults: &mut Vec<Fault>) {
        let upset: Vec<_> = faults.iter().filter_map(|fault| fault.basis.upsets).collect();
        let known = |fault: &Fault| {
            let follows = fault.basis.follows;
            follows.is_none_or(|table| !self.reader.stood_in.contains(table.name()) && !upset.contains(&table))
        };
        let mut causes: Vec<Span> =
            faults.iter().filter(|fault| is_cause(fault)).filter_map(|fault| fault.span.clone()).collect();
        let mut kept: Vec<Fault> = Vec::new();
        for fault in std::mem::take(faults) {
            if !known(&fault) || self.echo(&fault) || self.garbled(&fault) {
                continue;
            }
            let victim = self.refused(&fault) || self.rests(&fault, &causes);
            if victim || !fault.basis.places.is_empty() && fault.level == Level::Error {
                // Also of what a victim is about nothing is known.
                causes.extend(fault.span.clone());
            }
            if victim {
                continue;
            }
            kept.push(fault);
        }
        let errors: Vec<&Fault> = kept.iter().filter(|fault| fault.level == Level::Error).collect();
        let helps: Vec<String> = errors.iter().filter_map(|fault| fault.help.clone()).collect();
        let broken = errors.iter().any(|fault| fault.id.is_none_or(|id| id == MISSING_STRING));
        kept.retain(|fault| !broken || !self.spoken_of(fault, &helps));
        *faults = kept;
    }

    /// Whether a fault only says that something is wanting where something that could not be read was taken out.
    fn echo(&self, fault: &Fault) -> bool {
        let Some(span) = fault.span.as_ref().filter(|span| !self.unread.contains(span)) else { return false };
        let span = &under_heading(span, self.sources);
        self.unread.iter().any(|inner| within(inner, span) && span != inner && !inner.is_empty())
    }

    /// Whether a fault asks for a name whose entry was refused.
    fn refused(&self, fault: &Fault) -> bool {
        matches!(&fault.basis.named, Some(Named::Wanted(table, name)) if self.reader.absent.lacks(table, name))
    }

    /// Whether a fault is about what was read in an entry that is not well-formed.
    fn garbled(&self, fault: &Fault) -> bool {
        let Some(span) = fault.span.as_ref().filter(|_| !fault.basis.syntax) else { return false };
        // What the parser put in for a value that it could not read has no place.
        let file = |span: &Span| self.sources.locate(span).0;
        let made_up = |broken: &Span| span.is_empty() && file(broken) == file(span);
        let inside = |broken: &Span| broken.start <= span.start && span.start < broken.end;
        self.reader.broken.iter().any(|broken| inside(broken) || made_up(broken))
    }

    /// Whether something that a fault rests on is at fault.
    fn rests(&self, fault: &Fault, causes: &[Span]) -> bool {
        let own = fault.span.as_ref();
        fault.basis.places.iter().any(|place| {
            let place = under_heading(place, self.sources);
            causes.iter().any(|cause| Some(cause) != own && within(cause, &place) && !cause.is_empty())
        })
    }

    /// Whether something is called unused that a text speaks of which could not be used, or that a wrong name is near to.
    fn spoken_of(&self, fault: &Fault, helps: &[String]) -> bool {
        let Some(Named::Unused(name)) = &fault.basis.named else { return false };
        let quoted = format!("\"{name}\"");
        let near = format!("`{}`", name.trim_start_matches(NAMED));
        self.sources.iter().any(|(_, text)| text.contains(&quoted)) || helps.iter().any(|help| help.contains(&near))
    }
}

/// Whether others may rest on the place of this fault.
fn is_cause(fault: &Fault) -> bool {
    fault.level == Level::Error && fault.id.is_none() && fault.basis.places.is_empty()
}

fn within(inner: &Span, outer: &Span) -> bool {
    outer.start <= inner.start && inner.end <= outer.end
}

/// The place with the entries under it where it is the heading of a table.
fn under_heading(span: &Span, sources: &Sources) -> Span {
    let (file, range) = sources.locate(span);
    let parts = sources.iter().nth(file).and_then(|(_, text)| text.split_at_checked(range.start));
    // A list as a value stands behind its key.
    let Some((_, body)) = parts.filter(|(before, _)| before.is_empty() || before.ends_with('\n')) else {
        return span.clone();
    };
    let heading = |line: &str| {
        let name = line.trim_start_matches('[').trim_end_matches(']');
        line.starts_with('[') && line.ends_with(']') && !name.contains(['[', '{', ',', '\n'])
    };
    if !body.get(..range.len()).is_some_and(heading) {
        return span.clone();
    }
    span.start..span.start + body[1..].find("\n[").map_or(body.len(), |at| at + 1)
}

/// Tables of `device.toml` on which neither flow nor screens depend.
const ELECTRIC: [&str; 5] = ["board", "battery", "panel", "limits", "alternatives"];

/// What is settled although there are these faults.
pub fn settled(faults: &[Fault], sources: &Sources) -> Settled {
    let errors = faults.iter().filter(|fault| fault.level == Level::Error && fault.id.is_none());
    let mut settled = Settled { flow: true, screens: true };
    for fault in errors {
        let touched =
            fault.span.as_ref().map_or(Settled::default(), |span| untouched(span, fault.basis.syntax, sources));
        settled = Settled { flow: settled.flow && touched.flow, screens: settled.screens && touched.screens };
    }
    settled
}

/// What a fault at a place does not concern.
fn untouched(span: &Span, syntax: bool, sources: &Sources) -> Settled {
    let (file, range) = sources.locate(span);
    let Some((name, text)) = sources.iter().nth(file) else { return Settled::default() };
    let folder = name.replace('\\', "/").rsplit('/').nth(1).unwrap_or_default().to_owned();
    let electric = match folder.as_str() {
        "panels" | "batteries" => true,
        // What is not closed swallows the rules behind it.
        "screens" => {
            let content = text[entry(text, range.start)].starts_with("content");
            return Settled { flow: content && !syntax, screens: false };
        }
        "parts" | "strings" => return Settled { flow: true, screens: false },
        _ => {
            let mut headings = text.get(..range.end).unwrap_or_default().lines().filter(|line| line.starts_with('['));
            let heading = headings.next_back().unwrap_or_default().trim_start_matches('[');
            ELECTRIC.contains(&heading.split(['.', ']']).next().unwrap_or_default().trim())
        }
    };
    Settled { flow: electric, screens: electric }
}

/// One fault for a name that many places ask for in vain: the first place, and where the others are. The faults are in the
/// order of their places.
pub fn fold(faults: Vec<Fault>, sources: &Sources) -> Vec<Fault> {
    let wanted = |fault: &Fault| match &fault.basis.named {
        Some(named @ Named::Wanted(..)) => Some(named.clone()),
        _ => None,
    };
    let all: Vec<(Named, Option<Span>)> =
        faults.iter().filter_map(|fault| Some((wanted(fault)?, fault.span.clone()))).collect();
    let mut told: Vec<Named> = Vec::new();
    let mut kept = Vec::new();
    for mut fault in faults {
        let named = wanted(&fault);
        let same = all.iter().filter(|(name, _)| Some(name) == named.as_ref());
        let places: Vec<String> = same.filter_map(|(_, span)| Some(sources.place(span.as_ref()?))).collect();
        if let Some(named) = named.filter(|_| places.len() > PLACES) {
            if told.contains(&named) {
                continue;
            }
            told.push(named);
            let rest = &places[1..];
            let more = match rest.len().saturating_sub(PLACES) {
                0 => String::new(),
                more => format!(" and {}", crate::units::count(more, "more place", "more places")),
            };
            let also = format!("also asked for at {}{more}", rest[..PLACES.min(rest.len())].join(", "));
            let label = if fault.label.is_empty() { also } else { format!("{}; {also}", fault.label) };
            fault = fault.label(label);
        }
        kept.push(fault);
    }
    kept
}

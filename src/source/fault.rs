//! What is wrong with a project, and how it is shown: place, what was expected, what to write instead.

use super::basis::Basis;
pub use super::basis::{Named, Table};
use super::spans::{Sources, Span};
use crate::table::parted;
use crate::visible::visible;
use codespan_reporting::diagnostic::{Diagnostic, Label, Severity};
use codespan_reporting::files::SimpleFiles;
use codespan_reporting::term::{self, termcolor};
use std::borrow::Cow;
use std::fmt;

/// How much a finding matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Level {
    /// Not reported.
    Off,
    /// Reported; the exit status stays 0.
    Warning,
    /// Reported; the exit status is not 0.
    Error,
}

/// One finding.
#[derive(Clone, Debug)]
pub struct Fault {
    /// How much it matters.
    pub level: Level,
    /// Stable name of a lint or limit; `None` for plain errors in the files.
    pub id: Option<&'static str>,
    /// One sentence: what is wrong.
    pub message: String,
    /// Where, if in a file.
    pub span: Option<Span>,
    /// Whether it is about a file as a whole; the label is then the file's name, as it is shown.
    pub whole_file: bool,
    /// What stands at that place, or what was expected there.
    pub label: Box<str>,
    /// What to write instead.
    pub help: Option<String>,
    /// What it rests on.
    pub basis: Box<Basis>,
}

impl Fault {
    /// An error at a place in a file.
    pub fn at(span: Span, message: impl Into<String>) -> Self {
        Self {
            level: Level::Error,
            id: None,
            message: message.into(),
            span: Some(span),
            whole_file: false,
            label: Box::default(),
            help: None,
            basis: Box::default(),
        }
    }

    /// An error that has no place in a file.
    pub fn plain(message: impl Into<String>) -> Self {
        Self { span: None, ..Self::at(0..0, message) }
    }

    /// Names the file it is about as a whole.
    pub fn file(mut self, shown: impl Into<String>) -> Self {
        (self.label, self.whole_file) = (shown.into().into_boxed_str(), true);
        self
    }

    /// The file it is about as a whole.
    pub fn whole_file(&self) -> Option<&str> {
        self.whole_file.then_some(&*self.label)
    }

    /// Adds what stands at the marked place.
    pub fn label(mut self, label: impl Into<String>) -> Self {
        self.label = label.into().into_boxed_str();
        self
    }

    /// Adds what to write instead.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Adds what to write instead where nothing is proposed yet.
    pub fn or_help(mut self, help: impl Into<String>) -> Self {
        self.help.get_or_insert_with(|| help.into());
        self
    }

    /// Says from which table of `device.toml` it is concluded.
    pub fn follows(mut self, table: Table) -> Self {
        self.basis.follows = Some(table);
        self
    }

    /// Says of which table of `device.toml` nothing more can be concluded.
    pub fn upsets(mut self, table: Table) -> Self {
        self.basis.upsets = Some(table);
        self
    }

    /// Names another place from which it is concluded: where that is at fault, nothing follows.
    pub fn rests_on(mut self, place: &Span) -> Self {
        self.basis.places.push(place.clone());
        self
    }

    /// Says which name of a table it does not find: where that was refused, nothing follows.
    pub fn wants(mut self, table: &str, name: &str) -> Self {
        self.basis.named = Some(Named::Wanted(table.to_owned(), name.to_owned()));
        self
    }

    /// Says what it finds unused: where something that cannot be used speaks of it, nothing follows.
    pub fn unused(mut self, name: &str) -> Self {
        self.basis.named = Some(Named::Unused(name.to_owned()));
        self
    }

    /// Says that a text is not well-formed.
    pub fn syntax(mut self) -> Self {
        self.basis.syntax = true;
        self
    }

    /// Names the lint it belongs to, which decides its level.
    pub fn lint(mut self, id: &'static str) -> Self {
        self.id = Some(id);
        self
    }

    /// Makes it a warning.
    pub fn warning(mut self) -> Self {
        self.level = Level::Warning;
        self
    }

    /// What is shown of it, its message and notes in lines of at most `width` characters where words allow it.
    fn diagnostic(&self, sources: &Sources, width: usize) -> Diagnostic<usize> {
        let severity = if self.level == Level::Error { Severity::Error } else { Severity::Warning };
        let before = severity_name(severity).len() + self.id.map_or(0, |id| id.len() + 2) + 2;
        let mut diagnostic = Diagnostic::new(severity).with_message(after(before, 2, &visible(&self.message), width));
        if let Some(id) = self.id {
            diagnostic = diagnostic.with_code(id);
        }
        if let Some(span) = &self.span {
            let (file, range) = sources.locate(span);
            // The text is shown with what steers made visible, and is longer there.
            let text = sources.iter().nth(file).map_or("", |(_, text)| text);
            let shown = |at: usize| text.get(..at).map_or(at, |before| visible_source(before).len());
            let edge = edge(text, range.end);
            let range = shown(range.start)..shown(range.end);
            // "3 | " stands before the source's line, and the notes under it are as far in.
            let gutter = text[..range.start.min(text.len())].lines().count().max(1).to_string().len() + 3;
            let label = visible(&self.label);
            let fits = gutter + edge + 1 + label.chars().count() <= width;
            let marked = Label::primary(file, range);
            diagnostic = if fits || label.is_empty() {
                diagnostic.with_labels(vec![marked.with_message(label)])
            } else {
                diagnostic.with_labels(vec![marked]).with_notes(vec![after(gutter + 1, 0, &label, width)])
            };
            return self.advised(diagnostic, gutter + 1, width);
        }
        self.advised(diagnostic, 3, width)
    }

    fn advised(&self, mut diagnostic: Diagnostic<usize>, before: usize, width: usize) -> Diagnostic<usize> {
        if let Some(help) = self.help.as_ref().filter(|help| !help.is_empty()) {
            // codespan indents what follows by itself.
            diagnostic.notes.push(after(before, 0, &format!("help: {}", visible(help)), width));
        }
        diagnostic
    }
}

impl fmt::Display for Fault {
    /// What is wrong and what to write, without the place: that takes the text it came from.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        // The message names a file that it is about.
        if !self.label.is_empty() && !self.whole_file {
            write!(f, " ({})", self.label)?;
        }
        match &self.help {
            Some(help) => write!(f, "; {help}"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for Fault {}

/// "expected one of a, b, c" for names, with the nearest first as a proposal.
pub fn nearest<'a>(found: &str, known: impl IntoIterator<Item = &'a str>) -> Option<String> {
    let known: Vec<&str> = known.into_iter().collect();
    let small = found.to_lowercase();
    let best = known.iter().map(|name| (strsim::damerau_levenshtein(&small, &name.to_lowercase()), *name)).min();
    match best {
        None => None,
        Some((_, name)) if near(found, name) => Some(format!("did you mean `{name}`?")),
        Some(_) if known.len() <= 40 => Some(format!("known here: {}", known.join(", "))),
        Some(_) => None,
    }
}

/// The fault for a name that a table of the project does not have, with the nearest of those that it has. `what` it is, as
/// "field"; `table` as it is called in the files, "fields".
pub fn no_such<'a>(
    what: &str,
    table: &str,
    (name, span): (&str, &Span),
    known: impl IntoIterator<Item = &'a str>,
) -> Fault {
    let fault = Fault::at(span.clone(), format!("there is no {what} `{name}`")).wants(table, name);
    Fault { help: nearest(name, known), ..fault }
}

/// Whether two names differ by a slip of the fingers in three letters: with more of them, any word would be near to some
/// other.
pub fn near(found: &str, name: &str) -> bool {
    let distance = strsim::damerau_levenshtein(&found.to_lowercase(), &name.to_lowercase());
    3 * distance <= found.chars().count().max(name.chars().count())
}

/// A file's text as it is shown: a line may end as on Windows.
fn visible_source(text: &str) -> Cow<'_, str> {
    match text.contains('\r') {
        true => visible(&text.replace("\r\n", "\n")).into_owned().into(),
        false => visible(text),
    }
}

fn severity_name(severity: Severity) -> &'static str {
    if severity == Severity::Error { "error" } else { "warning" }
}

/// How far right a place of a text ends in its line, in characters.
fn edge(text: &str, end: usize) -> usize {
    let before = text.get(..end).unwrap_or_default();
    before.rsplit('\n').next().unwrap_or_default().chars().count()
}

/// The lines of a text that stands after so many characters, and under them so far in.
fn after(before: usize, indent: usize, text: &str, width: usize) -> String {
    let inner = width.saturating_sub(indent).max(20);
    let mut room = inner.saturating_sub(before.saturating_sub(indent)).max(10);
    let mut lines = Vec::new();
    for line in text.lines() {
        let mut rest = line;
        while let Some(at) = parted(rest, room) {
            lines.push(rest[..at].trim_end().to_owned());
            rest = rest[at..].trim_start();
            room = if indent > 0 { inner } else { room };
        }
        lines.push(rest.to_owned());
        room = if indent > 0 { inner } else { room };
    }
    lines.join(&format!("\n{:indent$}", ""))
}

/// Shows findings as text, with the marked source lines; `color` adds terminal colours. Lines are as long as they come.
pub fn render(faults: &[Fault], sources: &Sources, color: bool) -> String {
    render_within(faults, sources, color, usize::MAX)
}

/// As [`render`], with messages, labels and helps in lines of at most `width` characters. Lines of the sources are quoted as
/// they stand.
pub fn render_within(faults: &[Fault], sources: &Sources, color: bool, width: usize) -> String {
    let mut files = SimpleFiles::new();
    for (name, text) in sources.iter() {
        files.add(visible(name).into_owned(), visible_source(text).into_owned());
    }
    let config = term::Config::default();
    let mut buffer = if color { termcolor::Buffer::ansi() } else { termcolor::Buffer::no_color() };
    for fault in faults {
        // Writing to memory cannot fail; a span that does would be a fault of ours and loses only this picture.
        let _ = term::emit_to_write_style(&mut buffer, &config, &files, &fault.diagnostic(sources, width));
    }
    String::from_utf8_lossy(buffer.as_slice()).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn messages_labels_and_helps_fit_the_width() {
        let text = "first = 1\nsecond = \"a value that is rather long for its line\"\n";
        let mut sources = Sources::default();
        let base = sources.add("device.toml".to_owned(), text.to_owned());
        let fault = Fault::at(
            base + 19..base + 61,
            "a message that does not fit into a line of sixty characters, so it is parted",
        )
        .label("nor does its label")
        .help("write something that is shorter, or make the terminal wider than it is now");
        let shown = render_within(std::slice::from_ref(&fault), &sources, false, 60);
        assert!(shown.lines().all(|line| line.chars().count() <= 60), "{shown}");
        let plain = |text: &str| text.replace(['=', '│', '^'], " ").split_whitespace().collect::<Vec<_>>().join(" ");
        for part in [fault.message.as_str(), &fault.label, fault.help.as_deref().unwrap_or_default()] {
            assert!(plain(&shown).contains(part), "{part} in {shown}");
        }
        assert!(render(&[fault], &sources, false).lines().any(|line| line.ends_with("so it is parted")));
        let empty = render(&[Fault::plain("x").help("")], &Sources::default(), false);
        assert!(!empty.contains("help"), "{empty}");
    }

    #[test]
    fn only_near_names_are_proposed() {
        let near = |found: &str, known: &[&str]| nearest(found, known.iter().copied()).unwrap_or_default();
        assert_eq!(near("viewing-distanse", &["viewing-distance"]), "did you mean `viewing-distance`?");
        for (found, known) in [("emtpy", "empty"), ("hom", "home"), ("Home", "home"), ("RAM", "ram"), ("lin", "line")] {
            assert_eq!(near(found, &[known]), format!("did you mean `{known}`?"));
        }
        // Once "did you mean output".
        assert_eq!(near("input", &["output", "regulator"]), "known here: output, regulator");
        assert_eq!(near("a", &["b", "c"]), "known here: b, c");
        assert_eq!(near("x", &[]), "");
    }
}

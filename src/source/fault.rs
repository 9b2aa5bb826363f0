//! What is wrong with a project, and how it is shown: place, what was expected, what to write instead.

use super::spans::{Sources, Span};
use codespan_reporting::diagnostic::{Diagnostic, Label, Severity};
use codespan_reporting::files::SimpleFiles;
use codespan_reporting::term::{self, termcolor};
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
    /// What stands at that place, or what was expected there.
    pub label: String,
    /// What to write instead.
    pub help: Option<String>,
}

impl Fault {
    /// An error at a place in a file.
    pub fn at(span: Span, message: impl Into<String>) -> Self {
        Self {
            level: Level::Error,
            id: None,
            message: message.into(),
            span: Some(span),
            label: String::new(),
            help: None,
        }
    }

    /// An error that has no place in a file.
    pub fn plain(message: impl Into<String>) -> Self {
        Self { span: None, ..Self::at(0..0, message) }
    }

    /// Adds what stands at the marked place.
    pub fn label(mut self, label: impl Into<String>) -> Self {
        self.label = label.into();
        self
    }

    /// Adds what to write instead.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
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

    fn diagnostic(&self, sources: &Sources) -> Diagnostic<usize> {
        let severity = if self.level == Level::Error { Severity::Error } else { Severity::Warning };
        let mut diagnostic = Diagnostic::new(severity).with_message(&self.message);
        if let Some(id) = self.id {
            diagnostic = diagnostic.with_code(id);
        }
        if let Some(span) = &self.span {
            let (file, range) = sources.locate(span);
            diagnostic = diagnostic.with_labels(vec![Label::primary(file, range).with_message(&self.label)]);
        }
        match &self.help {
            Some(help) => diagnostic.with_notes(vec![format!("help: {help}")]),
            None => diagnostic,
        }
    }
}

impl fmt::Display for Fault {
    /// What is wrong and what to write, without the place: that takes the text it came from.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        if !self.label.is_empty() {
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
    let best = known.iter().map(|name| (strsim::damerau_levenshtein(found, name), *name)).min();
    match best {
        None => None,
        Some((distance, name)) if distance <= 1 + name.chars().count() / 3 => Some(format!("did you mean `{name}`?")),
        Some(_) if known.len() <= 40 => Some(format!("known here: {}", known.join(", "))),
        Some(_) => None,
    }
}

/// Shows findings as text, with the marked source lines; `color` adds terminal colours.
pub fn render(faults: &[Fault], sources: &Sources, color: bool) -> String {
    let mut files = SimpleFiles::new();
    for (name, text) in sources.iter() {
        files.add(name.to_owned(), text.to_owned());
    }
    let config = term::Config::default();
    let mut buffer = if color { termcolor::Buffer::ansi() } else { termcolor::Buffer::no_color() };
    for fault in faults {
        // Writing to memory cannot fail; a span that does would be a fault of ours and loses only this picture.
        let _ = term::emit_to_write_style(&mut buffer, &config, &files, &fault.diagnostic(sources));
    }
    String::from_utf8_lossy(buffer.as_slice()).into_owned()
}

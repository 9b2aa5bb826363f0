//! All text of a project under one numbering of bytes, so that a span alone tells file, line and column.

use std::ops::Range;

/// A range of bytes in the numbering of [`Sources`].
pub type Span = Range<usize>;

/// One file's text.
#[derive(Clone, Debug)]
struct SourceFile {
    name: String,
    text: String,
    start: usize,
}

/// A place in a file, both counted from 1; columns in characters (Unicode scalar values).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Its line.
    pub line: usize,
    /// Its column.
    pub column: usize,
}

/// A span as people count: a file, the first character and the one after the last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Region<'s> {
    /// The file's name.
    pub file: &'s str,
    /// Where it begins.
    pub start: Place,
    /// Where it has ended.
    pub end: Place,
}

/// The files read so far.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    files: Vec<SourceFile>,
}

impl Sources {
    /// Adds a file and returns the number of its first byte.
    pub fn add(&mut self, name: impl Into<String>, text: impl Into<String>) -> usize {
        let start = self.files.last().map_or(0, |last| last.start + last.text.len() + 1);
        self.files.push(SourceFile { name: name.into(), text: text.into(), start });
        start
    }

    /// Where the file that was added last lies, as a whole.
    pub fn newest(&self) -> Span {
        self.files.last().map_or(0..0, |last| last.start..last.start + last.text.len())
    }

    /// The file that holds a byte: its index, and the same span counted from its own start.
    pub fn locate(&self, span: &Span) -> (usize, Span) {
        let index = self.files.partition_point(|file| file.start <= span.start).saturating_sub(1);
        let Some(file) = self.files.get(index) else { return (0, 0..0) };
        let clip = |at: usize| at.saturating_sub(file.start).min(file.text.len());
        (index, clip(span.start)..clip(span.end).max(clip(span.start)))
    }

    /// `file:line:column`, both counted from 1, columns in characters.
    pub fn place(&self, span: &Span) -> String {
        let Some(region) = self.region(span) else { return String::new() };
        format!("{}:{}:{}", region.file, region.start.line, region.start.column)
    }

    /// The file of a span with its two ends as lines and columns; `None` where no file has been read.
    pub fn region(&self, span: &Span) -> Option<Region<'_>> {
        let (index, local) = self.locate(span);
        let file = self.files.get(index)?;
        let place = |at: usize| {
            let before = file.text.get(..at).unwrap_or("");
            let column = before.rsplit('\n').next().map_or(0, |rest| rest.chars().count()) + 1;
            Place { line: before.matches('\n').count() + 1, column }
        };
        Some(Region { file: &file.name, start: place(local.start), end: place(local.end) })
    }

    /// Name and text of every file, in the order they were added.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &str)> {
        self.files.iter().map(|file| (file.name.as_str(), file.text.as_str()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_lead_back_to_their_file() {
        let mut sources = Sources::default();
        let first = sources.add("a.toml", "x = 1\n");
        let second = sources.add("b.toml", "ä = 2\ny = 3\n");
        assert_eq!(sources.place(&(first + 4..first + 5)), "a.toml:1:5");
        assert_eq!(sources.place(&(second + 5..second + 6)), "b.toml:1:5");
        assert_eq!(sources.place(&(second + 7..second + 8)), "b.toml:2:1");
        assert_eq!(sources.locate(&(second..second + 9999)).1, 0..13);
        assert_eq!(Sources::default().place(&(5..6)), "");
        // Columns count characters, not bytes: the end of `ä` is one after its start.
        let region = sources.region(&(second..second + 9)).expect("there are files");
        assert_eq!((region.file, region.start), ("b.toml", Place { line: 1, column: 1 }));
        assert_eq!(region.end, Place { line: 2, column: 3 });
    }
}

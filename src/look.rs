//! How a terminal is written to: its width, bold headings, colours on a terminal only. Not for tables: see
//! [`crate::table`].

use crate::table::{fold, wrap};

/// How a terminal is written to.
#[derive(Clone, Copy, Debug)]
pub struct Look {
    /// Characters of a line.
    pub width: usize,
    /// Bold headings and colours.
    pub color: bool,
}

/// Stands for an escape sequence until the text is printed: characters of the private use area, which no text needs.
const STYLES: [(char, &str); 4] =
    [('\u{e0f0}', "\u{1b}[0m"), ('\u{e0f1}', "\u{1b}[1m"), ('\u{e0f2}', "\u{1b}[32m"), ('\u{e0f3}', "\u{1b}[31m")];

/// The text with the escape sequences of its styles. Everything else in it must have been made visible before.
pub fn styled(text: &str) -> String {
    STYLES.iter().fold(text.to_owned(), |text, (mark, sequence)| text.replace(*mark, sequence))
}

impl Look {
    fn in_style(self, text: &str, style: usize) -> String {
        if self.color { format!("{}{text}{}", STYLES[style].0, STYLES[0].0) } else { text.to_owned() }
    }

    /// Bold on a terminal.
    pub fn bold(self, text: &str) -> String {
        self.in_style(text, 1)
    }

    /// A verdict, green or red on a terminal.
    pub fn verdict(self, text: &str, good: bool) -> String {
        self.in_style(text, if good { 2 } else { 3 })
    }

    /// The heading of a section, a line of its own.
    pub fn heading(self, title: &str) -> String {
        format!("{}\n", self.bold(&format!("== {title} ==")))
    }

    /// A paragraph in lines that fit.
    pub fn paragraph(self, text: &str) -> String {
        wrap(text, self.width, 0)
    }

    /// Text in lines that fit, tables with it; see [`fold`].
    pub fn fitted(self, text: &str) -> String {
        fold(text, self.width)
    }

    /// A caution in lines that fit, with its mark.
    pub fn caution(self, text: &str) -> String {
        wrap(&format!("! {text}"), self.width, 2)
    }

    /// A line after its name, wrapped under itself.
    pub fn after(self, name: &str, line: &str) -> String {
        let wrapped = wrap(line, self.width.saturating_sub(name.len()).max(20), 0);
        let indent = format!("\n{:1$}", "", name.len());
        format!("{name}{}\n", wrapped.trim_end().replace('\n', &indent))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn styles_are_for_terminals_only() {
        let plain = Look { width: 40, color: false };
        assert_eq!((plain.bold("a"), plain.heading("b")), ("a".to_owned(), "== b ==\n".to_owned()));
        let bright = Look { width: 40, color: true };
        assert_eq!(styled(&bright.verdict("no", false)), "\u{1b}[31mno\u{1b}[0m");
    }

    #[test]
    fn a_line_wraps_under_itself() {
        let look = Look { width: 30, color: false };
        assert_eq!(
            look.after("name    ", "one two three four five six"),
            "name    one two three four\n        five six\n"
        );
        assert_eq!(look.caution("mind the gap"), "! mind the gap\n");
    }
}

//! Tables for the terminal.

use comfy_table::{ContentArrangement, ContentLineStyle, LineStyle, Table, TableStyle};

/// An empty table with these headings, plain enough for any terminal and for a file.
pub fn table(headings: &[&str]) -> Table {
    let mut table = Table::new();
    let rule = TableStyle::new()
        .header_lines(ContentLineStyle::none())
        .header_separator(LineStyle::none().fill('-'))
        .content_lines(ContentLineStyle::none());
    table.load_style(rule).set_content_arrangement(ContentArrangement::Disabled);
    table.set_header(headings.iter().map(|heading| heading.to_string()));
    table
}

/// Lets a table be no wider than so many characters where the words of its cells allow it: cells are wrapped.
pub fn fit(table: &mut Table, width: usize) {
    if table.lines().map(|line| line.chars().count()).max().unwrap_or(0) > width {
        table.set_content_arrangement(ContentArrangement::Dynamic).set_width(width.min(usize::from(u16::MAX)) as u16);
    }
}

/// A paragraph in lines of at most `width` characters where words allow it, all but the first indented.
pub fn wrap(text: &str, width: usize, indent: usize) -> String {
    let mut out = String::new();
    let mut length = 0;
    for word in text.split_whitespace() {
        let size = word.chars().count();
        if length > indent && length + 1 + size > width {
            out.push('\n');
            out.extend(std::iter::repeat_n(' ', indent));
            length = indent;
        } else if length > 0 {
            out.push(' ');
            length += 1;
        }
        out.push_str(word);
        length += size;
    }
    out.push('\n');
    out
}

#[cfg(test)]
mod tests {
    use super::{fit, table, wrap};

    #[test]
    fn a_table_that_is_too_wide_is_wrapped_and_no_other() {
        let mut rows = table(&["name", "note"]);
        rows.add_row(["one", "a note that takes more room than there is in a narrow terminal"]);
        let before = rows.to_string();
        fit(&mut rows, 120);
        assert_eq!(rows.to_string(), before);
        fit(&mut rows, 40);
        let after = rows.to_string();
        assert!(after.lines().all(|line| line.chars().count() <= 40) && after.lines().count() > 3, "{after}");
    }

    #[test]
    fn paragraphs_are_wrapped_at_words() {
        assert_eq!(wrap("! one two three four", 10, 2), "! one two\n  three\n  four\n");
        assert_eq!(wrap("averyveryverylongword x", 5, 0), "averyveryverylongword\nx\n");
        assert_eq!(wrap("", 10, 2), "\n");
    }
}

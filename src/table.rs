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
    use super::wrap;

    #[test]
    fn paragraphs_are_wrapped_at_words() {
        assert_eq!(wrap("! one two three four", 10, 2), "! one two\n  three\n  four\n");
        assert_eq!(wrap("averyveryverylongword x", 5, 0), "averyveryverylongword\nx\n");
        assert_eq!(wrap("", 10, 2), "\n");
    }
}

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

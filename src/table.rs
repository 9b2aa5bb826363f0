//! Tables for the terminal.

use comfy_table::{ContentArrangement, ContentLineStyle, LineStyle, Row, Table, TableStyle};

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

/// Lets a table be no wider than so many characters where the words of its cells allow it: cells are wrapped at spaces,
/// headings before what stands under them, and the widest columns first. No word is broken and no number parted from its
/// unit; a no-break space holds what else belongs together. Columns move closer together where that alone makes it fit.
pub fn fit(table: &mut Table, width: usize) {
    let heading: Vec<String> =
        table.header().map(|row| row.cell_iter().map(comfy_table::Cell::content).collect()).unwrap_or_default();
    let rows: Vec<Vec<String>> =
        table.row_iter().map(|row| row.cell_iter().map(comfy_table::Cell::content).collect()).collect();
    let columns = rows.iter().chain([&heading]).map(Vec::len).max().unwrap_or(0);
    let body = |column: usize, measure: fn(&str) -> usize| {
        rows.iter().filter_map(|row| row.get(column)).map(|cell| measure(cell)).max().unwrap_or(0)
    };
    let widest = |column: usize, measure: fn(&str) -> usize| {
        body(column, measure).max(heading.get(column).map_or(0, |cell| measure(cell)))
    };
    let mut widths: Vec<usize> = (0..columns).map(|column| widest(column, longest_line)).collect();
    let bounds: Vec<usize> = (0..columns).map(|column| widest(column, longest_piece)).collect();
    let bodies: Vec<usize> = (0..columns).map(|column| body(column, longest_line)).collect();
    let least = bounds.iter().sum::<usize>();
    let close = least + 2 * columns > width && least + columns <= width;
    // A blank on each side of a column, or on its left alone.
    let blanks = if close { columns } else { 2 * columns };
    while widths.iter().sum::<usize>() + blanks > width {
        let shrinkable = (0..columns).filter(|column| widths[*column] > bounds[*column]);
        let first = |column: &usize| (widths[*column] > bodies[*column], widths[*column], columns - *column);
        let Some(column) = shrinkable.max_by_key(first) else { break };
        widths[column] -= 1;
    }
    if close {
        table.column_iter_mut().for_each(|column| {
            column.set_padding((1, 0));
        });
    }
    let wrapped =
        |row: &[String]| -> Vec<String> { row.iter().zip(&widths).map(|(cell, width)| within(cell, *width)).collect() };
    if !heading.is_empty() {
        table.set_header(wrapped(&heading));
    }
    for (row, cells) in table.row_iter_mut().zip(&rows) {
        *row = Row::from(wrapped(cells));
    }
}

fn longest_line(cell: &str) -> usize {
    cell.lines().map(|line| line.chars().count()).max().unwrap_or(0)
}

/// The longest piece of a cell that is not parted.
fn longest_piece(cell: &str) -> usize {
    let pieces = cell.lines().flat_map(|line| {
        let ends = line.match_indices(' ').map(|(at, _)| at).filter(|at| !before_unit(line, *at)).chain([line.len()]);
        let mut from = 0;
        ends.map(move |end| line[std::mem::replace(&mut from, end + 1)..end].chars().count()).collect::<Vec<_>>()
    });
    pieces.max().unwrap_or(0)
}

/// A cell in lines of at most so many characters where its words allow it.
fn within(cell: &str, width: usize) -> String {
    let lines: Vec<String> = cell.lines().map(|line| wrapped_line(line, width)).collect();
    lines.join("\n").replace('\u{a0}', " ")
}

fn wrapped_line(line: &str, width: usize) -> String {
    let (mut out, mut rest) = (String::new(), line);
    while let Some(at) = parted(rest, width) {
        out += rest[..at].trim_end();
        out.push('\n');
        rest = rest[at..].trim_start();
    }
    out + rest
}

/// Where a line is parted that is longer than its room: at its last space within, else at the first beyond; not between a
/// number and its unit where another place is left. `None` for a line that fits or has no place.
pub fn parted(line: &str, room: usize) -> Option<usize> {
    let (end, _) = line.char_indices().nth(room)?;
    let spaces = |from: usize, to: usize| {
        line[from..to]
            .match_indices(' ')
            .map(move |(at, _)| from + at)
            .filter(|at| !line[..*at].trim_start().is_empty())
    };
    let within: Vec<usize> = spaces(0, end + usize::from(line[end..].starts_with(' '))).collect();
    let free = within.iter().rev().find(|at| !before_unit(line, **at));
    free.or(within.last()).copied().or_else(|| spaces(end, line.len()).next())
}

/// Whether a space stands between a number and its unit.
fn before_unit(line: &str, at: usize) -> bool {
    let unit = line[at + 1..].split([' ', ',', ';', ')']).next().unwrap_or_default();
    let short = (1..=3).contains(&unit.chars().count())
        && !["a", "and", "at", "by", "for", "in", "of", "to", "x"].contains(&unit);
    short
        && line[..at].ends_with(|last: char| last.is_ascii_digit())
        && unit.starts_with(|first: char| !first.is_ascii_digit())
}

/// A paragraph in lines of at most `width` characters where words allow it, all but the first indented.
pub fn wrap(text: &str, width: usize, indent: usize) -> String {
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let (mut out, mut rest, mut room) = (String::new(), flat.as_str(), width);
    while let Some(at) = parted(rest, room) {
        out += &format!("{}\n{:indent$}", &rest[..at], "");
        rest = rest[at..].trim_start();
        room = width.saturating_sub(indent);
    }
    out + rest + "\n"
}

/// Text with its longer lines parted at words. What is parted goes on under the last column that leaves room for it, a rule
/// is cut, and lines that fit stay as they are.
pub fn fold(text: &str, width: usize) -> String {
    let mut out = String::new();
    for line in text.split_inclusive('\n') {
        let bare = line.trim_end();
        if bare.chars().count() <= width {
            // Cells are padded: of what fits, a line keeps its blanks only where they fit too.
            out.push_str(if line.trim_end_matches('\n').chars().count() <= width { line } else { bare });
            out.push_str(if line.len() > bare.len() && !out.ends_with('\n') { "\n" } else { "" });
        } else if bare.chars().all(|character| character == '-') {
            out.extend(bare.chars().take(width));
            out.push('\n');
        } else {
            fold_line(&mut out, bare, width);
        }
    }
    out
}

/// Where the rest of a line goes on: under its last column, or a little in where that stands too far right; a paragraph at
/// the margin.
fn hanging(line: &[char], width: usize) -> usize {
    let lead = line.iter().take_while(|character| **character == ' ').count();
    let column =
        (lead..line.len().min(width)).rev().find(|at| *at > 1 && line[at - 2..*at] == [' ', ' '] && line[*at] != ' ');
    column.filter(|at| *at > lead && at + 24 <= width).unwrap_or(if lead == 0 { 0 } else { (lead + 2).min(width / 2) })
}

fn fold_line(out: &mut String, line: &str, width: usize) {
    let indent = hanging(&line.chars().collect::<Vec<_>>(), width);
    let mut rest = line.to_owned();
    // A word that is wider than the line stays whole.
    while let Some(at) = parted(&rest, width) {
        out.push_str(rest[..at].trim_end());
        out.push('\n');
        rest = format!("{:indent$}{}", "", rest[at..].trim_start());
    }
    out.push_str(&rest);
    out.push('\n');
}

#[cfg(test)]
mod tests {
    use super::{fit, fold, table, wrap};

    #[test]
    fn long_lines_go_on_under_their_last_column() {
        assert_eq!(fold("short\n", 10), "short\n");
        assert_eq!(fold("---------------", 10), "----------\n");
        assert_eq!(
            fold(" what      12 J  a long line about where this comes from\nx\n", 42),
            " what      12 J  a long line about where\n                 this comes from\nx\n"
        );
        assert_eq!(fold("one two three four", 9), "one two\nthree\nfour\n");
        assert_eq!(fold("averyveryverylongword x", 5), "averyveryverylongword\nx\n");
        assert_eq!(fold(" a   b      \n", 6), " a   b\n");
        assert_eq!(fold("  averyveryverylongword", 5), "  averyveryverylongword\n");
    }

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

    /// Tables of `trace` and `fonts` once read `transf` over `er`, and `0 0 296 1` over `28`.
    #[test]
    fn no_cell_is_broken_inside_a_word_or_between_a_number_and_its_unit() {
        let mut rows = table(&["phase", "charge", "note"]);
        rows.add_row(["unidentified", "11.58 mC", "0\u{a0}0\u{a0}296\u{a0}128\nof the display"]);
        rows.add_row(["booster on", "0.25 mC", "b"]);
        fit(&mut rows, 40);
        assert_eq!(
            rows.to_string(),
            " phase         charge    note           \n----------------------------------------\n \
             unidentified  11.58 mC  0 0 296 128    \n                         of the display \n \
             booster on    0.25 mC   b              "
        );
        // Narrower than its words it stays whole.
        fit(&mut rows, 10);
        assert!(rows.to_string().contains(" unidentified  11.58 mC  0 0 296"), "{rows}");
    }

    /// The prediction beside a trace once parted `booster` from `on` while `error (%)` stood in one line.
    #[test]
    fn a_heading_is_parted_before_a_cell_and_columns_move_closer_last() {
        let mut rows = table(&["phase", "error (%)"]);
        rows.add_row(["booster on", "1.0"]);
        fit(&mut rows, 20);
        assert_eq!(
            rows.to_string(),
            " phase       error \n             (%)   \n-------------------\n booster on  1.0   "
        );
        let mut rows = table(&["a", "b", "c"]);
        rows.add_row(["10.25", "20.25", "30.25"]);
        fit(&mut rows, 18);
        assert_eq!(rows.to_string(), " a     b     c    \n------------------\n 10.25 20.25 30.25");
    }

    #[test]
    fn paragraphs_are_wrapped_at_words() {
        assert_eq!(wrap("! one two three four", 10, 2), "! one two\n  three\n  four\n");
        assert_eq!(wrap("averyveryverylongword x", 5, 0), "averyveryverylongword\nx\n");
        assert_eq!(wrap("", 10, 2), "\n");
    }

    /// The budget's summary once parted `35,973` from `B`.
    #[test]
    fn a_number_keeps_its_unit() {
        assert_eq!(wrap("flash takes 35,973 B", 18, 2), "flash takes\n  35,973 B\n");
        assert_eq!(wrap("flash takes 35,973 B, all of it", 19, 0), "flash takes\n35,973 B, all of it\n");
        assert_eq!(wrap("for 12 more", 6, 0), "for 12\nmore\n");
        // Where there is no other place.
        assert_eq!(wrap("12 mAh", 4, 0), "12\nmAh\n");
    }
}

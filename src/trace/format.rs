//! How a trace's file is laid out: delimiter, decimal sign, which column is what and in which unit.
//!
//! Found from the first lines alone. Not for the rows themselves: that is [`super::rows`].

use super::Wrong;
use super::number::number;
use crate::units::{Amps, Quantity, Seconds, Volts};
use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Time.
    Time,
    /// Current.
    Current,
    /// Voltage: over the shunt, or of the supply.
    Voltage,
}

/// A column.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Its heading, unit included.
    pub heading: String,
    /// Which it is, counted from 0.
    pub index: usize,
    /// What turns its numbers into SI.
    pub factor: f64,
}

/// A file's layout.
#[derive(Clone, Debug, PartialEq)]
pub struct Format {
    /// Between cells.
    pub delimiter: u8,
    /// Between whole and fraction.
    pub decimal: u8,
    /// The role of each column, up to the last that is read.
    pub roles: Vec<Option<Role>>,
    /// Time, current and voltage.
    pub columns: [Option<Column>; 3],
    /// Lines before the first row of numbers.
    pub lines_before: u64,
    /// Bytes before the first row of numbers.
    pub bytes_before: usize,
}

/// Lines in which headings are looked for: meters write a page about themselves first.
const HEAD_LINES: usize = 400;

/// Bytes from the beginning in which headings and first rows must stand.
pub(super) const HEAD: usize = 128 << 10;

/// Opens a trace to read its rows once more: the file at its first row, and its format.
pub(super) fn opened(path: &Path) -> Result<(File, Format), Wrong> {
    let fail = |why: std::io::Error| Wrong::file(format!("cannot be read: {why}"), "name a file that can be read");
    let mut file = File::open(path).map_err(fail)?;
    let mut head = Vec::new();
    file.by_ref().take(HEAD as u64).read_to_end(&mut head).map_err(fail)?;
    let format = format(&head)?;
    file.seek(SeekFrom::Start(format.bytes_before as u64)).map_err(fail)?;
    Ok((file, format))
}

/// Finds the layout from the beginning of a file, at least one row of numbers in it.
///
/// # Errors
/// When no row of numbers is found, or no heading that tells time and current (or voltage) with their units.
pub fn format(head: &[u8]) -> Result<Format, Wrong> {
    if head.starts_with(&[0xFF, 0xFE]) || head.starts_with(&[0xFE, 0xFF]) {
        return Err(Wrong::file("this is UTF-16 text", "save or export the trace as UTF-8"));
    }
    let lines = lines(head);
    let used = || lines.iter().filter(|line| !line.text.is_empty());
    let has = |sign: char| used().any(|line| line.text.contains(sign));
    let delimiter = if has(';') {
        ';'
    } else if has('\t') {
        '\t'
    } else {
        ','
    };
    let split = |text: &str| -> Vec<String> {
        text.split(delimiter).map(|cell| cell.trim().trim_matches('"').trim().to_owned()).collect()
    };
    let is_number =
        |cell: &str, decimal: u8| number(cell.as_bytes(), 0, decimal).is_some_and(|(_, end)| end == cell.len());
    let numeric = |line: &&Line| {
        let of_numbers = |cell: &&String| is_number(cell, b'.') || (delimiter != ',' && is_number(cell, b','));
        split(&line.text).iter().filter(of_numbers).count() >= 2
    };
    let first = used().position(|line| numeric(&line)).ok_or_else(|| {
        Wrong::file(
            "no row with two numbers was found at its beginning",
            "expected rows of time and current with a comma, semicolon or tab between, under a heading such as t [ms],I [uA]",
        )
    })?;
    let rows: Vec<&Line> = used().collect();
    let comma = delimiter != ','
        && rows[first..]
            .iter()
            .flat_map(|line| split(&line.text))
            .any(|cell| cell.contains(',') && is_number(&cell, b','));
    let before = &rows[..first];
    let cells: Vec<Vec<String>> = before.iter().map(|line| split(&line.text)).collect();
    let (headings, units) = match cells.as_slice() {
        [.., names, units] if is_unit_row(units) => (names, Some(units)),
        [.., names] => (names, None),
        [] => {
            return Err(Wrong::line(
                rows[first].number,
                "the numbers have no heading, so their units are unknown",
                "write a first line such as t [ms],I [uA]",
            ));
        }
    };
    let width = split(&rows[first].text).len();
    if width > headings.len() {
        let what = format!("the row has {width} cells, its heading {}", headings.len());
        return Err(Wrong::line(
            rows[first].number,
            what,
            "where the decimal sign is a comma, put semicolons between the cells",
        ));
    }
    let heading_line = before.last().map_or(1, |line| line.number);
    let columns = columns(headings, units, heading_line)?;
    let last = columns.iter().flatten().map(|column| column.index).max().unwrap_or(0);
    let mut roles = vec![None; last + 1];
    for (role, column) in [Role::Time, Role::Current, Role::Voltage].into_iter().zip(&columns) {
        if let Some(column) = column {
            roles[column.index] = Some(role);
        }
    }
    Ok(Format {
        delimiter: delimiter as u8,
        decimal: if comma { b',' } else { b'.' },
        roles,
        columns,
        lines_before: rows[first].number - 1,
        bytes_before: rows[first].start,
    })
}

struct Line {
    number: u64,
    start: usize,
    /// Empty for comments.
    text: String,
}

fn lines(head: &[u8]) -> Vec<Line> {
    let mark = if head.starts_with(&[0xEF, 0xBB, 0xBF]) { 3 } else { 0 };
    let mut start = mark;
    let mut lines = Vec::new();
    for (index, bytes) in head[mark..].split(|byte| *byte == b'\n').take(HEAD_LINES).enumerate() {
        let text = String::from_utf8_lossy(bytes).trim_end_matches('\r').to_owned();
        let comment = text.trim_start().starts_with('#') || text.trim().is_empty();
        lines.push(Line { number: index as u64 + 1, start, text: if comment { String::new() } else { text } });
        start += bytes.len() + 1;
    }
    lines
}

/// The role and factor of a unit's symbol.
fn unit(symbol: &str) -> Option<(Role, f64)> {
    // A micro sign in an eight-bit encoding arrives as the replacement character.
    let plain = symbol.trim().replace(['µ', 'μ', '\u{FFFD}'], "u");
    fn factor<Q: Quantity>(plain: &str) -> Option<f64> {
        Q::SYMBOLS.iter().find(|(name, _)| *name == plain).map(|(_, factor)| *factor)
    }
    let time = || factor::<Seconds>(&plain).map(|factor| (Role::Time, factor));
    let current = || factor::<Amps>(&plain).map(|factor| (Role::Current, factor));
    let voltage = || factor::<Volts>(&plain).map(|factor| (Role::Voltage, factor));
    let voltage = || voltage().or_else(|| (plain == "uV").then_some((Role::Voltage, 1e-6)));
    time().or_else(current).or_else(voltage)
}

/// A unit without the brackets around it.
fn bare(cell: &str) -> &str {
    cell.trim().trim_matches(['[', ']', '(', ')', '{', '}']).trim()
}

fn is_unit_row(cells: &[String]) -> bool {
    let known = cells.iter().filter(|cell| unit(bare(cell)).is_some()).count();
    known >= 2 && cells.iter().all(|cell| cell.split_whitespace().count() <= 1)
}

/// The unit in a heading: `t [ms]`, `t (ms)`, `t/ms`, `t in ms`, `t_ms`.
fn unit_in(heading: &str) -> Option<(Role, f64)> {
    let bracket = heading.rfind(['[', '(', '{']).and_then(|at| unit(bare(&heading[at..])));
    let after = |signs: &[char]| heading.rsplit_once(signs).and_then(|(_, rest)| unit(rest));
    bracket.or_else(|| after(&['/'])).or_else(|| after(&[' ', '_', '\u{A0}']))
}

/// The role that a heading without a unit suggests.
fn role_by_name(heading: &str) -> Option<Role> {
    match heading.trim().to_lowercase().as_str() {
        "t" | "time" | "timestamp" | "elapsed" => Some(Role::Time),
        "i" | "current" => Some(Role::Current),
        "u" | "v" | "voltage" => Some(Role::Voltage),
        _ => None,
    }
}

fn columns(headings: &[String], units: Option<&Vec<String>>, line: u64) -> Result<[Option<Column>; 3], Wrong> {
    let mut columns = [None, None, None];
    let mut lacking = None;
    for (index, heading) in headings.iter().enumerate() {
        let below = units.and_then(|units| units.get(index)).and_then(|cell| unit(bare(cell)));
        match below.or_else(|| unit_in(heading)) {
            Some((role, factor)) => {
                let shown = match units.and_then(|units| units.get(index)) {
                    Some(unit) if below.is_some() => format!("{heading} [{}]", bare(unit)),
                    _ => heading.clone(),
                };
                columns[role as usize].get_or_insert(Column { heading: shown, index, factor });
            }
            None => lacking = lacking.or(role_by_name(heading).map(|_| heading)),
        }
    }
    let list = headings.join(", ");
    if let (Some(heading), true) = (lacking, columns[0].is_none() || (columns[1].is_none() && columns[2].is_none())) {
        let what = format!("the heading `{heading}` has no unit");
        return Err(Wrong::line(
            line,
            what,
            format!("write it with its unit, such as {heading} [ms] or {heading} [uA]"),
        ));
    }
    if columns[0].is_none() {
        let what = format!("no column is a time; the headings are: {list}");
        return Err(Wrong::line(line, what, "name one with its unit, such as t [ms] (s, ms, us, ns, min, h)"));
    }
    if columns[1].is_none() && columns[2].is_none() {
        let what = format!("no column is a current or a voltage; the headings are: {list}");
        return Err(Wrong::line(
            line,
            what,
            "name one with its unit, such as I [uA] (A, mA, uA, nA) or U [mV] (V, mV)",
        ));
    }
    Ok(columns)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Delimiter, decimal sign, and place and factor of each column.
    type Found = (char, char, Vec<(usize, f64)>);

    fn found(text: &str) -> Result<Found, String> {
        let format = format(text.as_bytes()).map_err(|wrong| wrong.what)?;
        let columns = format.columns.iter().flatten().map(|column| (column.index, column.factor)).collect();
        Ok((format.delimiter.into(), format.decimal.into(), columns))
    }

    #[test]
    fn layouts_in_use_are_understood() {
        let ms_ua = || vec![(0, 1e-3), (1, 1e-6)];
        assert_eq!(found("t [ms],I [uA]\n0,5\n1,6\n"), Ok((',', '.', ms_ua())));
        assert_eq!(found("t/ms;I/µA\n0,5;5,25\n"), Ok((';', ',', ms_ua())));
        assert_eq!(
            found("# made by a meter\r\n\"Time (s)\"\t\"Current (mA)\"\r\n0\t5\r\n"),
            Ok(('\t', '.', vec![(0, 1.0), (1, 1e-3)]))
        );
        assert_eq!(
            found("Serial,123\nrange,auto\n\nno,time,current\n-,ms,uA\n1,0,5\n"),
            Ok((',', '.', vec![(1, 1e-3), (2, 1e-6)]))
        );
        assert_eq!(found("\u{FEFF}t_s,U_mV\n0,5\n"), Ok((',', '.', vec![(0, 1.0), (1, 1e-3)])));
        assert_eq!(found("t [s];I [mA];U [V]\n0;5;3.7\n"), Ok((';', '.', vec![(0, 1.0), (1, 1e-3), (2, 1.0)])));
    }

    #[test]
    fn an_eight_bit_micro_sign_is_understood() {
        let format = format(b"t [ms],I [\xB5A]\n0,5\n").unwrap();
        assert_eq!(format.columns[1].as_ref().map(|column| column.factor), Some(1e-6));
    }

    #[test]
    fn what_is_missing_is_named() {
        assert!(found("0,5\n1,6\n").unwrap_err().contains("no heading"));
        assert!(found("t,I [uA]\n1,6\n").unwrap_err().contains("`t` has no unit"));
        assert!(found("t [s],I\n1,6\n").unwrap_err().contains("`I` has no unit"));
        assert!(found("a,b\n1,6\n").unwrap_err().contains("the headings are: a, b"));
        assert!(found("t [s],I [A]\n0,5,1,5\n").unwrap_err().contains("4 cells"));
        assert!(found("").unwrap_err().contains("no row with two numbers"));
        assert!(format(&[0xFF, 0xFE, b't', 0]).unwrap_err().what.contains("UTF-16"));
    }

    #[test]
    fn rows_begin_after_headings_and_comments() {
        let text = "# a\n\nt [s],I [A]\n# b\n0,5\n";
        let format = format(text.as_bytes()).unwrap();
        assert_eq!((format.lines_before, &text[format.bytes_before..]), (4, "0,5\n"));
    }
}

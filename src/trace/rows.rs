//! The rows of a trace, streamed: a buffer of fixed size, one row at a time, each with its line.

use super::Wrong;
use super::format::{Format, Role};
use super::number::number;
use crate::units::{Amps, Ohms, Seconds, Volts};
use std::io::Read;

/// One row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TraceRow {
    /// Its line, counted from 1.
    pub line: u64,
    /// Time since the first row.
    pub time: Seconds,
    /// The current; `None` where its cell is empty or says that it is no number.
    pub current: Option<Amps>,
    /// The supply voltage, where the trace has one.
    pub voltage: Option<Volts>,
}

/// Bytes held at once; a longer line is no row of a trace.
const BUFFER: usize = 256 << 10;

/// Streams rows.
#[derive(Debug)]
pub struct Rows<'f, R> {
    source: R,
    format: &'f Format,
    /// Shunt through which a voltage becomes a current.
    shunt: Option<Ohms>,
    buffer: Vec<u8>,
    /// The next line begins here.
    at: usize,
    /// Up to here lines are whole.
    whole: usize,
    /// Up to here the buffer is filled.
    filled: usize,
    ended: bool,
    line: u64,
    /// The first row's time as the file counts it, not yet SI.
    origin: Option<f64>,
}

/// A cell that is read.
#[derive(Clone, Copy, PartialEq)]
enum Cell {
    Number(f64),
    Empty,
    Text,
}

impl<'f, R: Read> Rows<'f, R> {
    /// Rows of a source that stands at the beginning of a line, `lines_before` lines into its file.
    pub fn new(source: R, format: &'f Format, shunt: Option<Ohms>, lines_before: u64) -> Self {
        let buffer = vec![0; BUFFER];
        Self {
            source,
            format,
            shunt,
            buffer,
            at: 0,
            whole: 0,
            filled: 0,
            ended: false,
            line: lines_before,
            origin: None,
        }
    }

    /// The first row's time as the file counts it.
    pub fn origin(&self) -> Seconds {
        Seconds(self.origin.unwrap_or(0.0) * self.factor(Role::Time))
    }

    fn factor(&self, role: Role) -> f64 {
        self.format.columns[role as usize].as_ref().map_or(1.0, |column| column.factor)
    }

    /// The next row, `None` at the end. After an error in a row the next call goes on with the line after.
    ///
    /// # Errors
    /// When the file cannot be read, a line is too long, a time is missing, or a cell is no number.
    #[allow(clippy::should_implement_trait, reason = "the rows borrow nothing, but an error does not end them")]
    pub fn next(&mut self) -> Result<Option<TraceRow>, Wrong> {
        loop {
            if self.at >= self.whole && !self.refill()? {
                return Ok(None);
            }
            self.line += 1;
            let start = self.at;
            if self.buffer[start] == b'#' {
                self.at = end_of_line(&self.buffer, start) + 1;
                continue;
            }
            let (cells, end) = self.cells(start);
            self.at = end + 1;
            match cells {
                _ if cells.contains(&Cell::Text) => return Err(self.no_number(start, end)),
                [Cell::Number(time), current, voltage] => return Ok(Some(self.row(time, current, voltage))),
                [Cell::Empty, Cell::Empty, Cell::Empty] => {}
                _ => {
                    let help = "every row needs its time; leave a missing current empty instead, or take the row out";
                    return Err(Wrong::line(self.line, "the time is missing", help));
                }
            }
        }
    }

    fn row(&mut self, time: f64, current: Cell, voltage: Cell) -> TraceRow {
        let origin = *self.origin.get_or_insert(time);
        let value = |cell: Cell, role: Role| match cell {
            Cell::Number(value) => Some(value * self.factor(role)),
            _ => None,
        };
        let (current, voltage) = (value(current, Role::Current).map(Amps), value(voltage, Role::Voltage).map(Volts));
        let (current, voltage) = match self.shunt {
            Some(shunt) => (voltage.map(|voltage| voltage / shunt), None),
            None => (current, voltage),
        };
        TraceRow { line: self.line, time: Seconds((time - origin) * self.factor(Role::Time)), current, voltage }
    }

    /// The cells of the line at `start` and where the line ends. Lines are whole, so there is an end.
    fn cells(&self, start: usize) -> ([Cell; 3], usize) {
        let bytes = &self.buffer[..self.whole];
        let delimiter = self.format.delimiter;
        let mut cells = [Cell::Empty; 3];
        let mut at = start;
        for role in &self.format.roles {
            if let Some(role) = role {
                (cells[*role as usize], at) = cell(bytes, at, delimiter, self.format.decimal);
            }
            while bytes[at] != delimiter && bytes[at] != b'\n' {
                at += 1;
            }
            if bytes[at] == b'\n' {
                return (cells, at);
            }
            at += 1;
        }
        (cells, end_of_line(bytes, at))
    }

    fn no_number(&self, start: usize, end: usize) -> Wrong {
        let line = String::from_utf8_lossy(&self.buffer[start..end]).into_owned();
        let cells: Vec<&str> = line.split(char::from(self.format.delimiter)).collect();
        let bad = self.format.roles.iter().enumerate().find_map(|(index, role)| {
            let text = cells.get(index)?;
            role.filter(|_| {
                matches!(cell(format!("{text}\n").as_bytes(), 0, b'\n', self.format.decimal).0, Cell::Text)
            })?;
            Some(text.trim().to_owned())
        });
        let bad: String = bad.unwrap_or_default().chars().take(40).collect();
        let clock = bad.contains(':');
        let comma = bad.contains(',') != bad.contains('.') && bad.contains([',', '.']);
        let help = match (clock, comma) {
            (true, _) => "export times as seconds since the start, such as 12.345",
            (_, true) => "use one decimal sign in the whole file, and nothing between thousands",
            _ => "correct the cell, or leave it empty where the meter has no value",
        };
        Wrong::line(self.line, format!("`{bad}` is not a number"), help)
    }

    /// Gives up: there are no more rows.
    fn stop(&mut self) {
        self.ended = true;
        (self.at, self.whole, self.filled) = (0, 0, 0);
    }

    /// Reads on until another line is whole; false at the end.
    fn refill(&mut self) -> Result<bool, Wrong> {
        if self.ended {
            return Ok(false);
        }
        self.buffer.copy_within(self.at..self.filled, 0);
        self.filled -= self.at;
        (self.at, self.whole) = (0, 0);
        // The last byte is kept for the end of a last line that has none.
        let room = self.buffer.len() - 1;
        loop {
            if self.filled == room {
                self.stop();
                let what = format!("the line is longer than {} KiB", BUFFER >> 10);
                return Err(Wrong::line(
                    self.line + 1,
                    what,
                    "expected rows of time and current; is this a text file?",
                ));
            }
            let read = match self.source.read(&mut self.buffer[self.filled..room]) {
                Err(why) if why.kind() == std::io::ErrorKind::Interrupted => continue,
                Err(why) => {
                    self.stop();
                    return Err(Wrong::file(format!("cannot be read: {why}"), "check the file and its medium"));
                }
                Ok(read) => read,
            };
            if read == 0 {
                self.ended = true;
                if self.filled > 0 && self.buffer[self.filled - 1] != b'\n' {
                    self.buffer[self.filled] = b'\n';
                    self.filled += 1;
                }
                self.whole = self.filled;
                return Ok(self.filled > 0);
            }
            let before = self.filled;
            self.filled += read;
            if let Some(last) = self.buffer[before..self.filled].iter().rposition(|byte| *byte == b'\n') {
                self.whole = before + last + 1;
                return Ok(true);
            }
        }
    }
}

fn end_of_line(bytes: &[u8], from: usize) -> usize {
    bytes[from..].iter().position(|byte| *byte == b'\n').map_or(bytes.len() - 1, |ahead| from + ahead)
}

/// The cell at a place and where reading it stopped.
fn cell(bytes: &[u8], start: usize, delimiter: u8, decimal: u8) -> (Cell, usize) {
    let blank = |at: usize| matches!(bytes.get(at), Some(b' ' | b'"' | b'\r' | b'\t')) && bytes[at] != delimiter;
    let ends = |at: usize| bytes.get(at).is_none_or(|byte| *byte == delimiter || *byte == b'\n');
    let mut at = start;
    while blank(at) {
        at += 1;
    }
    if ends(at) {
        return (Cell::Empty, at);
    }
    let Some((value, mut end)) = number(bytes, at, decimal) else {
        let says_none = bytes.get(at..at + 3).is_some_and(|text| text.eq_ignore_ascii_case(b"nan"));
        return (if says_none { Cell::Empty } else { Cell::Text }, at);
    };
    while blank(end) {
        end += 1;
    }
    (if ends(end) { Cell::Number(value) } else { Cell::Text }, end)
}

#[cfg(test)]
mod tests {
    use super::super::format::format;
    use super::*;

    fn rows(text: &str) -> Result<Vec<TraceRow>, Wrong> {
        let format = format(text.as_bytes())?;
        let mut rows = Rows::new(&text.as_bytes()[format.bytes_before..], &format, None, format.lines_before);
        let mut all = Vec::new();
        while let Some(row) = rows.next()? {
            all.push(row);
        }
        Ok(all)
    }

    #[test]
    fn empty_cells_are_missing_currents() {
        let all = rows("t [ms],x,I [mA]\n10,a,1\n20,b,\n# note\n\n30,c,NaN\n40,d,-2e0").unwrap();
        let seen: Vec<_> = all.iter().map(|row| (row.line, row.time.0, row.current.map(|current| current.0))).collect();
        assert_eq!(seen, [(2, 0.0, Some(1e-3)), (3, 0.01, None), (6, 0.02, None), (7, 0.03, Some(-2e-3))]);
    }

    #[test]
    fn faults_name_the_line_and_the_cell() {
        let wrong = rows("t [s];I [mA]\n0;1,5\n1;abc\n").unwrap_err();
        assert_eq!((wrong.line, wrong.what.as_str()), (Some(3), "`abc` is not a number"));
        let wrong = rows("t [s];I [mA]\n0;1,5\n1;1.5\n").unwrap_err();
        assert!(wrong.help.contains("one decimal sign"), "{wrong:?}");
        let wrong = rows("t [s],I [mA]\n0,1\n,5\n").unwrap_err();
        assert_eq!((wrong.line, wrong.what.as_str()), (Some(3), "the time is missing"));
    }

    #[test]
    fn reading_in_small_pieces_gives_the_same_rows() {
        struct Drops<'a>(&'a [u8]);
        impl Read for Drops<'_> {
            fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
                let count = into.len().min(3).min(self.0.len());
                into[..count].copy_from_slice(&self.0[..count]);
                self.0 = &self.0[count..];
                Ok(count)
            }
        }
        let text = "t [s],I [mA]\r\n0,1\r\n1, 2 \r\n\"2\",\"3\"\r\n";
        let format = format(text.as_bytes()).unwrap();
        let mut rows = Rows::new(Drops(&text.as_bytes()[format.bytes_before..]), &format, None, 1);
        let mut sum = 0.0;
        while let Some(row) = rows.next().unwrap() {
            sum += row.current.unwrap().0;
        }
        assert!((sum - 6e-3).abs() < 1e-12);
    }
}

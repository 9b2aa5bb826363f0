//! The one table that a run prints.

use super::pair::{Pair, Timed, pair};
use comfy_table::{CellAlignment, Table as Grid};

/// What is asked of a row.
#[derive(Clone, Copy, Debug)]
pub enum Target {
    /// So many times faster than the straightforward way, at least.
    Faster(f64),
    /// At most so many times the time of what it is compared with.
    Within(f64),
    /// At most so many seconds.
    Seconds(f64),
    /// Told only.
    None,
}

/// The table, filled row by row.
#[derive(Debug)]
pub struct Table {
    filter: Option<String>,
    rows: Vec<[String; 6]>,
}

impl Table {
    /// An empty table; rows whose name does not hold the filter are left out.
    pub fn new(filter: Option<String>) -> Self {
        Self { filter, rows: Vec::new() }
    }

    /// Whether a row is wanted. What it needs to be prepared is not done otherwise.
    pub fn wants(&self, name: &str) -> bool {
        self.filter.as_ref().is_none_or(|filter| name.contains(filter.as_str()))
    }

    /// Measures a row against another way of doing the same.
    pub fn pair(&mut self, name: &str, target: Target, against: &str, ours: Timed<'_>, plain: Timed<'_>) {
        if self.wants(name) {
            let measured = pair(ours, plain);
            self.row(name, target, against, measured);
        }
    }

    /// A row already measured.
    pub fn row(&mut self, name: &str, target: Target, against: &str, Pair { ours, plain, gain }: Pair) {
        let (ratio, wanted, met) = match target {
            Target::Within(most) => (format!("{:.2} x its time", 1.0 / gain), format!("<= {most}"), 1.0 / gain <= most),
            Target::Faster(least) => (format!("{gain:.1} x faster"), format!(">= {least}"), gain >= least),
            _ if gain < 1.0 => (format!("{:.2} x its time", 1.0 / gain), String::new(), true),
            _ => (format!("{gain:.1} x faster"), String::new(), true),
        };
        self.push([name.into(), ratio, verdict(wanted, met), time(ours), time(plain), against.into()]);
    }

    /// A row of a time alone.
    pub fn time(&mut self, name: &str, target: Target, seconds: f64) {
        let (wanted, met) = match target {
            Target::Seconds(most) => (format!("<= {}", time(most)), seconds <= most),
            _ => (String::new(), true),
        };
        self.push([name.into(), String::new(), verdict(wanted, met), time(seconds), String::new(), String::new()]);
    }

    /// A row that could not be measured, and why.
    pub fn missing(&mut self, name: &str, why: &str) {
        if self.wants(name) {
            self.push([name.into(), "not measured".into(), String::new(), String::new(), String::new(), why.into()]);
        }
    }

    fn push(&mut self, row: [String; 6]) {
        eprintln!("{}: {} {}", row[0], row[1], row[3]);
        self.rows.push(row);
    }

    /// Prints all rows.
    pub fn print(&self) {
        let mut grid = Grid::new();
        grid.set_header(["what", "ratio", "target", "here", "there", "against"]);
        grid.add_rows(&self.rows);
        for column in [1, 3, 4] {
            if let Some(column) = grid.column_mut(column) {
                column.set_cell_alignment(CellAlignment::Right);
            }
        }
        println!("{grid}");
    }
}

fn verdict(wanted: String, met: bool) -> String {
    if met { wanted } else { format!("{wanted}, missed") }
}

/// A time with three figures.
fn time(seconds: f64) -> String {
    let (value, unit) = match seconds {
        s if s >= 1.0 => (s, "s"),
        s if s >= 1e-3 => (s * 1e3, "ms"),
        s if s >= 1e-6 => (s * 1e6, "us"),
        s => (s * 1e9, "ns"),
    };
    let decimals = if value >= 100.0 { 0 } else { 2 - value.max(1.0).log10() as usize };
    format!("{value:.decimals$} {unit}")
}

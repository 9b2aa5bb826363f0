//! A chemistry's tables as the keys of a project that replace them: for reading and for copying.
//!
//! Not for calculating: see [`crate::cell`].

use crate::cell::chemistry::{Chemistry, OHM_AMPERE_HOUR};
use crate::units::{Celsius, Coulombs, Quantity, Ratio, Seconds, Volts};

/// One table of a battery.
#[derive(Clone, Debug)]
pub struct Rows {
    /// Its key in a project's `[battery]`.
    pub key: &'static str,
    /// The current that it holds for, where there is one table for each.
    pub current: Option<String>,
    /// Where, and the value there.
    pub rows: Vec<(String, String)>,
}

impl Rows {
    /// What it is, in words.
    pub fn what(&self) -> String {
        let words = self.key.replace('-', " ");
        self.current.as_ref().map_or(words.clone(), |current| format!("{words}, {current}"))
    }

    fn toml(&self) -> String {
        let row = |(at, is): &(String, String)| format!("    {{ at = \"{at}\", is = \"{is}\" }},\n");
        self.rows.iter().map(row).collect()
    }
}

/// A number with its unit, without the noise of its last bits.
fn shown(value: f64, unit: &str) -> String {
    let rounded = format!("{value:.9}").parse().unwrap_or(value);
    format!("{rounded} {unit}")
}

fn percent(ratio: Ratio) -> String {
    shown(ratio.0 * 100.0, "%")
}

fn celsius(at: Celsius) -> String {
    shown(at.0, "°C")
}

/// How a quantity is written in a table.
type Shown<Q> = fn(Q) -> String;

fn rows<X: Quantity, Y: Quantity>(
    key: &'static str,
    all: impl Iterator<Item = (X, Y)>,
    (at, is): (Shown<X>, Shown<Y>),
) -> Rows {
    Rows { key, current: None, rows: all.map(|(x, y)| (at(x), is(y))).collect() }
}

/// All tables of a chemistry, for a cell of a rated capacity.
pub fn tables_of(chemistry: &Chemistry, capacity: Coulombs) -> Vec<Rows> {
    let volts = |volts: Volts| shown(volts.0, "V");
    let mut all = vec![rows("voltage", chemistry.ocv.rows(), (percent, volts))];
    for (rate, table) in chemistry.capacity.tables() {
        let current = shown(rate * capacity.0 / OHM_AMPERE_HOUR * 1e3, "mA");
        let table = rows("capacity-over-rate", table.into_iter(), (celsius, percent));
        all.push(Rows { current: Some(current), ..table });
    }
    let known = &chemistry.resistance;
    let (half, room) = (Ratio(0.5), Celsius(25.0));
    let warm = known.first_axis().into_iter().filter_map(|at| Some((at, known.at_y_clamped(at, half)?)));
    let full = known.second_axis().into_iter().filter_map(|at| Some((at, known.at_y_clamped(room, at)?)));
    all.push(rows("resistance-over-temperature", warm, (celsius, percent)));
    all.push(rows("resistance-over-charge", full, (percent, percent)));
    let leaks = chemistry.self_discharge_over_temperature.rows();
    all.push(rows("self-discharge-over-temperature", leaks, (celsius, percent)));
    all.push(rows("ageing-over-temperature", chemistry.ageing_over_temperature.rows(), (celsius, percent)));
    if let Some(film) = &chemistry.film {
        let days = |time: Seconds| shown(time.0 / 86_400.0, "d");
        all.push(rows("film-over-rest", film.over_rest.rows(), (days, percent)));
    }
    all
}

/// The tables as TOML that a project may copy and change, with their sources above.
pub fn toml(chemistry: &Chemistry, capacity: Coulombs) -> String {
    let mut out =
        format!("\n# Tables of the chemistry, {}: change or leave out what you do not state.\n", chemistry.name);
    for source in &chemistry.sources {
        let kind = if source.assumption { "assumption: " } else { "" };
        out += &format!("# {}: {kind}{}\n", source.of, source.text);
    }
    let all = tables_of(chemistry, capacity);
    for table in all.iter().filter(|table| table.current.is_none()) {
        out += &format!("{} = [\n{}]\n", table.key, table.toml());
    }
    out += "capacity-over-rate = [\n";
    for table in &all {
        if let Some(current) = &table.current {
            out += &format!("  {{ at = \"{current}\", is = [\n{}  ] }},\n", table.toml());
        }
    }
    out += "]\n";
    if let Some(life) = chemistry.cycles {
        out += &format!("cycle-life = {{ cycles = {}, left = \"{}\" }}\n", life.cycles, percent(life.left));
    }
    out
}

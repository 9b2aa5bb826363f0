//! The figures of a comparison, in the order of its table.

use crate::budget::fleet::Fleet;
use crate::evaluation::Evaluation;
use crate::source::fault::Level;
use crate::units::{Bytes, Coulombs, DAY, Joules, Seconds, Volts, figures, plain_time};
use std::fmt;

/// A figure with its quantity; `None` where the budget has none.
#[derive(Clone, Debug, PartialEq)]
pub enum Measure {
    /// Storage.
    Storage(Bytes),
    /// A time of an update.
    Time(Option<Seconds>),
    /// A life, in JSON in days.
    Life(Option<Seconds>),
    /// A long time that is no life.
    Span(Option<Seconds>),
    /// Energy.
    Energy(Option<Joules>),
    /// A voltage.
    Voltage(Option<Volts>),
    /// A charge.
    Charge(Option<Coulombs>),
    /// A number without a unit.
    Count(f64),
    /// Words.
    Words(String),
}

impl Measure {
    /// The number that JSON holds: SI units, lives in days; `None` for words and what is not known.
    pub fn si(&self) -> Option<f64> {
        match self {
            Self::Storage(bytes) => Some(bytes.0),
            Self::Time(time) | Self::Span(time) => time.map(|time| time.0),
            Self::Life(time) => time.map(|time| time / DAY),
            Self::Energy(energy) => energy.map(|energy| energy.0),
            Self::Voltage(volts) => volts.map(|volts| volts.0),
            Self::Charge(charge) => charge.map(|charge| charge.0),
            Self::Count(count) => Some(*count),
            Self::Words(_) => None,
        }
    }
}

impl fmt::Display for Measure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fn or_none(f: &mut fmt::Formatter<'_>, value: Option<impl fmt::Display>) -> fmt::Result {
            match value {
                Some(value) => value.fmt(f),
                None => f.write_str("none"),
            }
        }
        match self {
            Self::Storage(bytes) => bytes.fmt(f),
            Self::Time(time) => or_none(f, *time),
            Self::Life(time) | Self::Span(time) => or_none(f, time.map(plain_time)),
            Self::Energy(energy) => or_none(f, *energy),
            Self::Voltage(volts) => or_none(f, *volts),
            Self::Charge(charge) => or_none(f, charge.map(|charge| format!("{} mAh", figures(charge.0 / 3.6)))),
            Self::Count(count) => f.write_str(&figures(*count)),
            Self::Words(words) => f.write_str(words),
        }
    }
}

/// Which direction is the better one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Better {
    /// Less is better.
    Less,
    /// More is better.
    More,
    /// Neither.
    Neither,
}

/// One figure of one side.
#[derive(Clone, Debug)]
pub struct Fact {
    /// Its name in JSON, with the unit.
    pub key: &'static str,
    /// Its group in tables.
    pub group: &'static str,
    /// Its name in tables.
    pub what: &'static str,
    /// Which direction is the better one.
    pub better: Better,
    /// The figure.
    pub value: Measure,
}

/// Key, name, better direction and value of each row of a group.
type Rows = Vec<(&'static str, &'static str, Better, Measure)>;

/// The figures of a side; the same in the same order for every side.
pub fn facts(side: &Evaluation) -> Vec<Fact> {
    let mut facts = Vec::new();
    let mut group = |group: &'static str, rows: Rows| {
        facts.extend(rows.into_iter().map(|(key, what, better, value)| Fact { key, group, what, better, value }));
    };
    group("hardware", hardware(side));
    group("memory", memory(side));
    group("latency", latency(side));
    group("energy", energy(side));
    group("life", life(side));
    group("findings", findings(side));
    facts
}

fn hardware(side: &Evaluation) -> Rows {
    let device = &side.device;
    let size = device.panel.size();
    let panel = format!("{} x {} px, {} px per inch", size.width, size.height, figures(device.panel.ppi()));
    let known = |note: &str| Measure::Words(if note.is_empty() { "(no note)".to_owned() } else { note.to_owned() });
    vec![
        ("panel", "panel", Better::Neither, Measure::Words(panel)),
        ("panel_note", "panel is", Better::Neither, known(&device.panel.note)),
        ("battery_note", "battery is", Better::Neither, known(&device.battery.note)),
    ]
}

fn memory(side: &Evaluation) -> Rows {
    let (device, budget) = (&side.device, &side.budget);
    let chosen = budget.schemes.iter().find(|scheme| scheme.buffer == device.policy.buffer);
    let none = Bytes(0.0);
    let name = chosen.map_or("(not on this board)", |scheme| scheme.name.as_str());
    let stock = &device.stock;
    let flash = Bytes((stock.images + stock.fonts + stock.strings) as f64);
    let frame = Bytes(device.panel.plane_bytes() as f64);
    vec![
        ("buffer", "buffer", Better::Neither, Measure::Words(name.to_owned())),
        ("frame_bytes", "one frame", Better::Less, Measure::Storage(frame)),
        ("ram_bytes", "RAM", Better::Less, Measure::Storage(chosen.map_or(none, |scheme| scheme.ram))),
        ("sram_bytes", "external memory", Better::Less, Measure::Storage(chosen.map_or(none, |scheme| scheme.memory))),
        ("flash_bytes", "flash", Better::Less, Measure::Storage(flash)),
    ]
}

fn latency(side: &Evaluation) -> Rows {
    let budget = &side.budget;
    let longest = |times: &mut dyn Iterator<Item = Seconds>| times.max_by(|a, b| a.0.total_cmp(&b.0));
    let full = longest(&mut budget.screens.iter().map(|screen| screen.latency));
    let slowest = longest(&mut budget.transitions.iter().map(|way| way.latency));
    let tally = &budget.tally;
    vec![
        ("full_time_s", "a full refresh is visible after", Better::Less, Measure::Time(full)),
        ("slowest_latency_s", "slowest transition", Better::Less, Measure::Time(slowest)),
        ("latency_p50_s", "press to visible, half within", Better::Less, Measure::Time(tally.latency(0.5))),
        ("latency_p95_s", "press to visible, 95 % within", Better::Less, Measure::Time(tally.latency(0.95))),
        ("lost_presses_per_day", "presses lost a day", Better::Less, count(tally.per_day(tally.lost_presses))),
    ]
}

fn count(number: f64) -> Measure {
    Measure::Count(number)
}

fn energy(side: &Evaluation) -> Rows {
    let budget = &side.budget;
    let tally = &budget.tally;
    let most = |energies: &mut dyn Iterator<Item = Joules>| energies.max_by(|a, b| a.0.total_cmp(&b.0));
    let full = most(&mut budget.screens.iter().map(|screen| screen.energy));
    let dearest = most(&mut budget.transitions.iter().map(|way| way.energy));
    let total: Joules = budget.causes.iter().map(|(_, energy)| *energy).sum();
    let refreshes = budget.refreshes_per_day();
    let energy = |energy| Measure::Energy(Some(energy));
    vec![
        ("full_energy_j", "a full refresh", Better::Less, Measure::Energy(full)),
        ("dearest_transition_j", "dearest transition", Better::Less, Measure::Energy(dearest)),
        ("full_per_day", "full refreshes a day", Better::Less, count(tally.per_day(tally.full))),
        ("partial_per_day", "partial refreshes a day", Better::Neither, count(tally.per_day(tally.partial))),
        ("flashes_seen_per_day", "flashes seen a day", Better::Less, count(tally.per_day(tally.flashes_seen))),
        ("refresh_energy_per_day_j", "refreshes, a day", Better::Less, energy(refreshes)),
        ("energy_per_day_j", "everything, a day", Better::Less, energy(total)),
        ("cheapest_policy_j", "cheapest legal refreshes, a day", Better::Less, energy(budget.policy[1])),
    ]
}

fn life(side: &Evaluation) -> Rows {
    let budget = &side.budget;
    let life = budget.life.as_ref().ok();
    let ends = life.map_or("unknown".to_owned(), Fleet::limited_by);
    let needed = budget.corners.as_ref().ok().map(|corners| corners.needed);
    vec![
        ("usable_c", "usable charge, new", Better::More, Measure::Charge(budget.usable.as_ref().ok().copied())),
        ("life_p10_days", "life, nine of ten reach", Better::More, Measure::Life(life.map(|life| life.p10.time))),
        ("life_p50_days", "life, half reach", Better::More, Measure::Life(life.map(|life| life.p50.time))),
        ("life_p90_days", "life, one of ten reaches", Better::More, Measure::Life(life.map(|life| life.p90.time))),
        ("limited_by", "limited by", Better::Neither, Measure::Words(ends)),
        ("v_min_under_peak", "voltage under the hardest pull", Better::More, Measure::Voltage(budget.worst_voltage())),
        ("v_needed", "voltage needed", Better::Less, Measure::Voltage(needed)),
        ("charge_time_s", "charge from the reserve", Better::Less, Measure::Span(budget.charge_time)),
    ]
}

fn findings(side: &Evaluation) -> Rows {
    vec![
        ("errors", "errors", Better::Less, count(side.count(Level::Error) as f64)),
        ("warnings", "warnings", Better::Less, count(side.count(Level::Warning) as f64)),
    ]
}

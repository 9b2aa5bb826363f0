//! A panel profile with the measured times and currents in place of assumed ones.
//!
//! With a project to compare with, the profile is that project's panel with what was measured put in: phases are known
//! by name, and currents are calculated back from the battery to the panel's rail. Without one only what the current
//! alone tells is written, to be put into the project's own `[panel]`.

use super::against::{Against, Compared};
use super::kinds::{Label, Name, UpdateKind};
use super::spread::Spread;
use super::{Plateau, Trace};
use crate::cell::peak::LoadCurrent;
use crate::cost::supply::Supply;
use crate::device::Device;
use crate::hardware::panel::DrivenBy;
use crate::hardware::profiles;
use crate::hardware::rail::RailId;
use crate::refresh::update::Mode;
use crate::source::files::Files;
use crate::units::{Amps, Celsius, Coulombs, Quantity, Seconds};
use crate::visible::one_line;
use std::path::Path;
use toml::{Table, Value};

/// What the comparison with a project adds.
#[derive(Debug)]
pub struct Known<'a> {
    /// The project.
    pub device: &'a Device,
    /// Its panel's table, from [`panel_table`].
    pub panel: Table,
    /// The comparison.
    pub against: &'a Against,
}

/// One measured phase of the panel.
struct Found {
    key: &'static str,
    time: Spread<Seconds>,
    current: Spread<Amps>,
    /// The largest current inside it, where that lies above every mean.
    peak: Option<Amps>,
    updates: usize,
}

/// The profile's text.
pub fn profile(trace: &Trace, kinds: &[UpdateKind], temperature: Celsius, known: Option<&Known<'_>>) -> String {
    let found = match known {
        Some(known) => {
            known.against.compared.iter().flat_map(|compared| by_name(known, compared, trace, kinds)).collect()
        }
        None => kinds.iter().flat_map(by_label).collect::<Vec<Found>>(),
    };
    let mut panel = known.map(|known| known.panel.clone()).unwrap_or_default();
    let name = Path::new(&trace.file)
        .file_name()
        .map_or_else(|| trace.file.clone(), |name| name.to_string_lossy().into_owned());
    let mut done = Vec::new();
    for phase in &found {
        // Both kinds show start and pump; the full refresh comes first and decides.
        if done.contains(&phase.key) {
            continue;
        }
        done.push(phase.key);
        let source = format!("measured, {name}, {} update{}", phase.updates, if phase.updates == 1 { "" } else { "s" });
        let mut values = Table::new();
        values.insert("time".to_owned(), amount(phase.time, &source));
        values.insert("current".to_owned(), amount(phase.current, &source));
        match phase.key {
            "full" | "partial" => {
                if let Some(peak) = phase.peak {
                    values.insert("peak".to_owned(), amount(Spread { min: peak, typ: peak, max: peak }, &source));
                }
                put_row(&mut panel, phase.key, temperature, values);
            }
            key => drop(panel.insert(key.to_owned(), Value::Table(values))),
        }
    }
    format!("{}{}", heading(&name, &done, temperature, known.is_some()), body(&panel))
}

/// The panel's table with one line for each value and for each row of a drive.
fn body(panel: &Table) -> String {
    let (mut lines, mut sections) = (String::new(), String::new());
    for (key, value) in panel {
        match value {
            Value::Table(waveform) if key == "full" || key == "partial" => {
                sections += &format!("\n[{key}]\n");
                for (key, value) in waveform {
                    match value {
                        Value::Array(rows) if key == "drive" => {
                            let rows: String = rows.iter().map(|row| format!("  {row},\n")).collect();
                            sections += &format!("drive = [\n{rows}]\n");
                        }
                        value => sections += &format!("{key} = {value}\n"),
                    }
                }
            }
            value => lines += &format!("{key} = {value}\n"),
        }
    }
    lines + &sections
}

fn heading(name: &str, found: &[&str], temperature: Celsius, known: bool) -> String {
    let name = one_line(name);
    let lacking: Vec<&str> = ["start", "booster-on", "booster-off", "full", "partial"]
        .into_iter()
        .filter(|key| !found.contains(key))
        .collect();
    let mut text = format!("# Measured at {temperature}: {name}.\n");
    text += match known {
        true => {
            "# The project's panel with measured times and currents put in; currents are those on the panel's rail.\n"
        }
        false => {
            "# Put these into the [panel] of device.toml, which takes what is missing here from its `from`. Currents are as\n\
             # measured, above the baseline, with whatever else was awake; trace with --against shows the panel's share.\n"
        }
    };
    if !lacking.is_empty() {
        text += &format!("# Unknown from this trace: {}.\n", lacking.join(", "));
    }
    text
}

/// What a kind's labels tell.
fn by_label(kind: &UpdateKind) -> Vec<Found> {
    let drive = match kind.name {
        Name::Full => "full",
        Name::Partial => "partial",
        Name::Other => return Vec::new(),
    };
    let key = |label: Label| match label {
        Label::BoosterOn => Some("booster-on"),
        Label::Drive => Some(drive),
        Label::BoosterOff => Some("booster-off"),
        Label::Start | Label::Transfer => None,
    };
    let phases = kind.phases.iter().filter_map(|phase| Some((key(phase.label?)?, phase)));
    phases
        .map(|(key, phase)| Found {
            key,
            time: phase.duration,
            current: phase.current,
            peak: Some(phase.peak.max).filter(|peak| stands_out(*peak, phase.current.max)),
            updates: kind.alike,
        })
        .collect()
}

/// What the comparison tells: rows that are one phase of the panel.
///
/// The spread is that of the updates' means: what ripples inside one waveform is no difference between updates. Its
/// largest current is kept as a peak, which the supply alone is judged by.
fn by_name(known: &Known<'_>, compared: &Compared, trace: &Trace, kinds: &[UpdateKind]) -> Vec<Found> {
    let kind = &kinds[compared.kind];
    let clocked = matches!(known.device.panel.full.by, DrivenBy::Mcu(_));
    let key = |name: &str| match (name, compared.mode) {
        ("panel start", _) => Some("start"),
        ("booster on", _) => Some("booster-on"),
        ("booster off", _) => Some("booster-off"),
        // Of a panel that the microcontroller clocks, a drive's time says nothing of its stages.
        (name, _) if name.starts_with("drive") && clocked => None,
        (name, Mode::Full) if name.starts_with("drive") => Some("full"),
        (name, Mode::Partial) if name.starts_with("drive") => Some("partial"),
        _ => None,
    };
    let single = compared.rows.iter().filter(|row| row.phases.len() == 1);
    single
        .filter_map(|row| {
            let phase = &compared.predicted[row.phases.start];
            let key = key(phase.name)?;
            let parts = &kind.phases[row.parts.clone()];
            let alike = kind.updates.iter().filter_map(|update| trace.updates.get(*update));
            let alike = alike.filter(|update| update.steps.len() == kind.phases.len());
            let means: Vec<(Seconds, Amps)> =
                alike.filter_map(|update| mean(&update.steps[row.parts.clone()])).collect();
            let time = Spread::of(means.iter().map(|mean| mean.0))?;
            let current = Spread::of(means.iter().map(|mean| mean.1))?;
            let most = Amps(parts.iter().map(|part| part.peak.max.0).fold(0.0, f64::max));
            let on_rail = |current: Amps| on_rail(known, phase.beneath, current - phase.others);
            let peak = stands_out(most, current.max).then(|| on_rail(most));
            Some(Found { key, time, current: current.map(on_rail), peak, updates: kind.alike })
        })
        .collect()
}

/// Whether a peak is more than the noise of a meter around a mean.
fn stands_out(peak: Amps, mean: Amps) -> bool {
    /// Share of the mean that its noise may add.
    const NOISE: f64 = 0.05;
    peak.0 > mean.0 * (1.0 + NOISE)
}

/// Duration and mean current of successive steps. `None` where they take no time.
fn mean(steps: &[Plateau]) -> Option<(Seconds, Amps)> {
    let time: Seconds = steps.iter().map(|step| step.duration).sum();
    let charge: Coulombs = steps.iter().map(Plateau::charge).sum();
    (time > Seconds(0.0)).then(|| (time, charge / time))
}

/// The current of the panel, sleep included, that takes this much from the battery beyond what flows on its rail already:
/// found by halving, since the efficiency depends on it.
fn on_rail(known: &Known<'_>, beneath: Amps, at_battery: Amps) -> Amps {
    let device = known.device;
    let point = device.inputs.typical();
    let (rail, voltage) = (device.panel.rail, known.against.voltage);
    let supply = Supply::new(device, &point, voltage);
    let others = (rail, LoadCurrent::current(beneath - device.asleep(&point, rail)));
    let beyond = |loads: &[(RailId, LoadCurrent)]| supply.beyond(supply.needs(rail), loads).at(voltage);
    let without = beyond(&[others]);
    let (mut low, mut high) = (0.0, at_battery.0.max(0.0) * 100.0);
    for _ in 0..100 {
        let middle = (low + high) / 2.0;
        let taken = beyond(&[others, (rail, LoadCurrent::current(Amps(middle)))]) - without;
        *(if taken < at_battery { &mut low } else { &mut high }) = middle;
    }
    Amps((low + high) / 2.0) + point.of(device.panel.sleep)
}

/// A quantity with its spread as it stands in a profile.
fn amount<Q: Quantity>(spread: Spread<Q>, source: &str) -> Value {
    let mut table = Table::new();
    let values = [("min", spread.min), ("typ", spread.typ), ("max", spread.max)];
    for (key, value) in values {
        table.insert(key.to_owned(), Value::String(written(value)));
    }
    table.insert("source".to_owned(), Value::String(source.to_owned()));
    Value::Table(table)
}

/// A quantity with four figures and a unit that [`Quantity::parse`] knows.
fn written<Q: Quantity>(value: Q) -> String {
    let value: f64 = value.into();
    let prefixes = [(1.0, ""), (1e-3, "m"), (1e-6, "u"), (1e-9, "n")];
    let (factor, prefix) = prefixes.into_iter().find(|(factor, _)| value.abs() >= *factor).unwrap_or((1.0, ""));
    let number = value / factor;
    let decimals = (3 - number.abs().max(1.0).log10().floor() as i32).clamp(0, 3) as usize;
    format!("{number:.decimals$} {prefix}{}", Q::SI)
}

/// Puts a measured drive into its table, in the order of temperatures.
fn put_row(panel: &mut Table, key: &str, temperature: Celsius, values: Table) {
    let mut row = Table::new();
    row.insert("at".to_owned(), Value::String(temperature.to_string()));
    row.extend(values);
    let waveform = panel.entry(key).or_insert_with(|| Value::Table(Table::new()));
    let Some(waveform) = waveform.as_table_mut() else { return };
    let drive = waveform.entry("drive").or_insert_with(|| Value::Array(Vec::new()));
    let Some(rows) = drive.as_array_mut() else { return };
    let at = |row: &Value| {
        row.get("at").and_then(Value::as_str).and_then(|text| Celsius::parse(text).ok()).map_or(f64::NAN, |at| at.0)
    };
    // Shown temperatures are rounded, so the same one may differ in its last figures.
    rows.retain(|row| (at(row) - temperature.0).abs() > 0.05);
    let place = rows.iter().position(|row| at(row) > temperature.0).unwrap_or(rows.len());
    rows.insert(place, Value::Table(row));
}

/// A project's panel as one table: what it starts from with its own values on top, without how it is mounted and fed.
pub fn panel_table(project: &Path) -> Option<Table> {
    let files = Files::read(project).ok()?;
    let text = |name: &str| files.bytes(name).and_then(|bytes| std::str::from_utf8(bytes).ok());
    let mut device: Table = text("device.toml")?.parse().ok()?;
    let Value::Table(mut panel) = device.remove("panel")? else { return None };
    // A profile may start from another in turn.
    for _ in 0..profiles::LONGEST_CHAIN {
        let Some(Value::String(from)) = panel.remove("from") else { break };
        let base = text(&format!("panels/{from}.toml")).or_else(|| profiles::text("panels", &from))?;
        lay_under(&mut panel, base.parse().ok()?);
    }
    for key in ["mounted", "mirrored", "rail"] {
        panel.remove(key);
    }
    Some(panel)
}

fn lay_under(own: &mut Table, base: Table) {
    for (key, value) in base {
        match (own.get_mut(&key), value) {
            (Some(Value::Table(mine)), Value::Table(theirs)) if !mine.contains_key("typ") => lay_under(mine, theirs),
            (Some(_), _) => {}
            (None, value) => {
                own.insert(key, value);
            }
        }
    }
}

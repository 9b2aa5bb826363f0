//! A trace as tables for a terminal.

use super::Trace;
use super::against::{Against, Compared, Matched, charge};
use super::kinds::UpdateKind;
use super::spread::Spread;
use crate::look::Look;
use crate::table::{fit, table};
use crate::units::column::Scale;
use crate::units::{Quantity, Seconds, figures, grouped, plain_time, show};
use comfy_table::{CellAlignment, Table};
use std::fmt::Write as _;

/// Updates that are listed one by one; the JSON has them all.
const LISTED: usize = 40;

/// Everything a trace says, and how the project compares.
pub fn text(trace: &Trace, kinds: &[UpdateKind], against: Option<&Against>, look: Look) -> String {
    let mut out = format!("{}\n", look.bold(&trace.file));
    let mut parts = vec![
        ("The trace", about(trace)),
        ("Updates", updates(trace, kinds, look)),
        ("Kinds", all_kinds(trace, kinds, look)),
    ];
    if let Some(against) = against {
        parts.push(("Predicted vs measured", compared(against, look)));
    }
    let cautions: String = trace.cautions.iter().map(|caution| look.caution(caution)).collect();
    if !cautions.is_empty() {
        parts.push(("Cautions", cautions));
    }
    for (title, part) in parts {
        out += &format!("\n{}{part}", look.heading(title));
    }
    out
}

fn right(table: &mut Table, columns: impl IntoIterator<Item = usize>) {
    for index in columns {
        if let Some(column) = table.column_mut(index) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
}

fn about(trace: &Trace) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "columns   {}", trace.headings.join(", "));
    let _ = writeln!(
        out,
        "rows      {} over {}, {} apart (median)",
        grouped(&trace.rows.to_string()),
        plain_time(trace.time),
        trace.interval
    );
    if trace.missing > 0 || trace.gaps.0 > 0 {
        let gaps = match trace.gaps {
            (0, _) => String::new(),
            (gaps, time) => {
                format!(
                    "; {} too long to bridge, {} in total",
                    crate::units::count(gaps as usize, "gap", "gaps"),
                    plain_time(time)
                )
            }
        };
        let _ = writeln!(
            out,
            "missing   {} without a current{gaps}",
            crate::units::count(trace.missing as usize, "row", "rows")
        );
    }
    let _ = writeln!(out, "baseline  {}, noise {} (standard deviation)", trace.baseline, trace.noise);
    let seen = trace.time - trace.gaps.1;
    if seen > Seconds(0.0) {
        let _ = writeln!(out, "charge    {} in total, {} on average", trace.charge, trace.charge / seen);
    }
    let _ = writeln!(
        out,
        "updates   {}, each from where the current is {} above the baseline",
        trace.updates.len(),
        trace.threshold
    );
    if trace.pulses.count > 0 {
        let _ =
            writeln!(out, "pulses    {} too short to be updates, {} in total", trace.pulses.count, trace.pulses.charge);
    }
    out
}

fn updates(trace: &Trace, kinds: &[UpdateKind], look: Look) -> String {
    let mut rows = table(&["start", "lasts", "charge", "energy", "peak", "kind", "phases"]);
    let listed = || trace.updates.iter().take(LISTED);
    let lasts = fine(listed().map(|update| update.duration));
    let charges = fine(listed().map(|update| update.charge));
    let energies = fine(listed().filter_map(|update| update.energy));
    let peaks = fine(listed().map(|update| update.peak));
    for (index, update) in trace.updates.iter().enumerate().take(LISTED) {
        let kind = kinds.iter().find(|kind| kind.updates.contains(&index));
        rows.add_row([
            format!("{:.3} s", (trace.origin + update.start).0),
            lasts.show(update.duration.0),
            charges.show(update.charge.0),
            update.energy.map_or("-".to_owned(), |energy| energies.show(energy.0)),
            peaks.show(update.peak.0),
            kind.map_or("cut off", |kind| kind.name.text()).to_owned(),
            update.steps.len().to_string(),
        ]);
    }
    right(&mut rows, [0, 1, 2, 3, 4, 6]);
    fit(&mut rows, look.width);
    let more = trace.updates.len().saturating_sub(LISTED);
    let more = if more > 0 { format!("and {more} more (--format json has them all)\n") } else { String::new() };
    format!("{rows}\n{more}charge and energy are those above the baseline, peaks are whole\n")
}

/// Typical value, with the range where there is one.
fn range<Q: Quantity>(spread: Spread<Q>) -> String {
    let [min, typ, max] = [spread.min, spread.typ, spread.max].map(show);
    if min == max { typ } else { format!("{typ} ({min} to {max})") }
}

/// The unit of a column of measured or predicted values.
fn fine<Q: Quantity>(values: impl Iterator<Item = Q>) -> Scale {
    Scale::fine(values.map(Into::into), Q::SI)
}

/// Typical, smallest and largest value without their unit, that of their columns; of one update alone just its value.
fn cells_of<Q: Quantity>(spread: Spread<Q>, scale: &Scale, several: bool) -> Vec<String> {
    let shown = [spread.typ, spread.min, spread.max].map(|value| bare(scale, value.into()));
    shown.into_iter().take(if several { 3 } else { 1 }).collect()
}

/// A value of a column whose heading has the unit.
fn bare(scale: &Scale, value: f64) -> String {
    let text = scale.show(value);
    text.strip_suffix(scale.unit()).unwrap_or(&text).trim_end().to_owned()
}

/// The heading of a column with its unit.
fn in_unit(what: &str, scale: &Scale) -> String {
    format!("{what} ({})", scale.unit())
}

fn all_kinds(trace: &Trace, kinds: &[UpdateKind], look: Look) -> String {
    if kinds.is_empty() {
        return format!(
            "No whole update was found. Is the current ever {} above the baseline? See --threshold.\n",
            trace.threshold
        );
    }
    let mut out = String::new();
    for kind in kinds {
        let count = kind.updates.len();
        let energy = kind.energy.map_or(String::new(), |energy| format!(", {}", range(energy)));
        let all = crate::units::count(count, "update", "updates");
        let [lasts, charge, peak] = [range(kind.duration), range(kind.charge), range(kind.peak)];
        out +=
            &look.after(&format!("{}: ", kind.name.text()), &format!("{all}, {lasts}, {charge}{energy}, peak {peak}"));
        let times = fine(kind.phases.iter().map(|phase| phase.duration.max));
        let currents = fine(kind.phases.iter().map(|phase| phase.current.max));
        let charges = fine(kind.phases.iter().map(|phase| phase.charge.max));
        let several = kind.alike > 1;
        let mut headings = vec!["phase".to_owned()];
        for typical in [in_unit("lasts", &times), in_unit("current", &currents), in_unit("charge", &charges)] {
            headings.push(typical);
            headings.extend(["min", "max"].into_iter().filter(|_| several).map(str::to_owned));
        }
        headings.push("share (%)".to_owned());
        let mut rows = table(&headings.iter().map(String::as_str).collect::<Vec<_>>());
        for phase in &kind.phases {
            let mut cells = vec![phase.label.map_or("unidentified", |label| label.text()).to_owned()];
            cells.extend(cells_of(phase.duration, &times, several));
            cells.extend(cells_of(phase.current, &currents, several));
            cells.extend(cells_of(phase.charge, &charges, several));
            cells.push(format!("{:.1}", 100.0 * (phase.charge.typ / kind.charge.typ)));
            rows.add_row(cells);
        }
        right(&mut rows, 1..headings.len());
        fit(&mut rows, look.width);
        let _ = writeln!(out, "{rows}");
        if kind.alike < count {
            let _ = writeln!(out, "phases of the {} of {count} updates that show this many", kind.alike);
        }
        out.push('\n');
    }
    out + &look.paragraph(
        "typical value (median), then min and max of all updates of the kind; phases are named as far as the current shows",
    )
}

fn compared(against: &Against, look: Look) -> String {
    let mut out = look.paragraph(&format!(
        "{}, at {} and {} at the battery, typical values, above sleep; each predicted value stands before the measured one",
        against.project, against.temperature, against.voltage
    ));
    if against.assumed {
        out += &look.paragraph(&format!(
            "caution: the temperature of the measurement is not stated, {} is assumed; drive time and current depend on \
             it: --temperature \"21 °C\", or --temperature project for the mean of its usage",
            against.temperature
        ));
    }
    if against.compared.is_empty() {
        out += "No kind of update in this trace is near to what the project predicts.\n";
    }
    for one in &against.compared {
        let _ = writeln!(out, "\n{}: {}", one.mode.name(), one.what);
        let all = || one.rows.iter().chain([&one.total]).flat_map(|row| [row.predicted, row.measured]);
        let times = fine(all().map(|part| part.duration));
        let currents = fine(all().map(|part| part.current));
        let charges = fine(all().map(charge));
        let [time, current, amount] =
            [in_unit("time", &times), in_unit("current", &currents), in_unit("charge", &charges)];
        let mut rows = table(&[
            "phase",
            &time,
            "meas.",
            "error (%)",
            &current,
            "meas.",
            "error (%)",
            &amount,
            "meas.",
            "error (%)",
        ]);
        for row in one.rows.iter().chain([&one.total]) {
            rows.add_row(cells(row, &times, &currents, &charges));
        }
        right(&mut rows, 1..10);
        fit(&mut rows, look.width);
        let _ = write!(out, "{rows}\n{}", look.paragraph(&verdict(one)));
    }
    out
}

fn cells(row: &Matched, times: &Scale, currents: &Scale, charges: &Scale) -> [String; 10] {
    let (p, m) = (row.predicted, row.measured);
    let [time, current, amount] = row.errors().map(|share| percent(share).trim_end_matches(" %").to_owned());
    [
        row.name.clone(),
        bare(times, p.duration.0),
        bare(times, m.duration.0),
        time,
        bare(currents, p.current.0),
        bare(currents, m.current.0),
        current,
        bare(charges, charge(p).0),
        bare(charges, charge(m).0),
        amount,
    ]
}

fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    // Three figures: more are not borne by a prediction.
    if percent.abs() >= 99.95 { format!("{percent:+.0} %") } else { format!("{percent:+.1} %") }
}

/// Which phase is off most, in words.
pub fn verdict(one: &Compared) -> String {
    let row = &one.rows[one.worst];
    let [time, current, of_row] = row.errors();
    let of_all = one.total.errors()[2];
    let cause = if time.abs() > current.abs() { ("time", time) } else { ("current", current) };
    let way = |share: f64| if share < 0.0 { "too little" } else { "too much" };
    format!(
        "largest error: {}, {} {} charge ({} of the phase), mainly by its {} ({}); the whole update: {}",
        row.name,
        show(crate::units::Coulombs(row.miss().0.abs())),
        way(row.miss().0),
        percent(of_row),
        cause.0,
        percent(cause.1),
        percent(of_all)
    )
}

/// What the profile is said to be, after it was written.
pub fn written(path: &std::path::Path, temperature: crate::units::Celsius, stated: bool) -> String {
    let assumed = if stated { "" } else { " (assumed; state it with --temperature)" };
    format!("\nprofile written to {}, at {} °C{assumed}\n", path.display(), figures(temperature.0))
}

//! A sweep as a table for people, and as CSV and JSON for programs.

use crate::budget::figure::{Better, Figure, UnitScale};
use crate::figures::sweep::chart::{reached, scale};
use crate::figures::sweep::range::Spacing;
use crate::figures::sweep::reading::Reading;
use crate::figures::sweep::{Sweep, SweepPoint};
use crate::look::Look;
use crate::project::alternatives;
use crate::table::{fit, table, wrap};
use crate::units::figures;
use comfy_table::{CellAlignment, Table};
use serde_json::{Map, Value, json};
use std::fmt::Write as _;

/// The table: a row for each value; for two inputs a table of the first figure with a column for each value of the second.
pub fn text(sweep: &Sweep, look: Look) -> String {
    let mut out = format!("{}\n", look.bold(&sweep.project));
    for (input, note) in sweep.inputs.iter().zip(now(sweep)) {
        let _ = writeln!(out, "{}: {note}", input.path);
    }
    let main = sweep.figures[0];
    match &sweep.inputs[..] {
        [input] => {
            let columns = sweep.figures.iter().flat_map(|figure| headings(*figure));
            let heads: Vec<String> = std::iter::once(input.path.clone()).chain(columns).collect();
            let values = aligned(sweep.rows.iter().map(|row| sweep.value(row, 0).text.clone()).collect());
            let scales: Vec<UnitScale> = (0..sweep.figures.len()).map(|index| scale(sweep, index)).collect();
            let rows = sweep.rows.iter().zip(values).map(|(row, value)| {
                let all = sweep.figures.iter().zip(&row.readings).zip(&scales);
                let cells = all.flat_map(|((figure, reading), scale)| cells(*figure, *reading, scale));
                std::iter::once(value).chain(cells).collect()
            });
            out += &format!("\n{}\n", drawn(&heads, rows, look));
        }
        _ => {
            for (index, figure) in sweep.figures.iter().enumerate() {
                let [down, across] = [&sweep.inputs[0].path, &sweep.inputs[1].path];
                let _ = writeln!(out, "\n{}; down: {down}; across: {across}", figure.row().title);
                out += &matrix(sweep, index, *figure, look);
                out.push('\n');
            }
        }
    }
    if sweep.rows.iter().flat_map(|row| &row.readings).flatten().any(|reading| fails(main, *reading)) {
        out += "none: brown-out at the first full refresh\n";
    }
    for why in sweep.rows.iter().filter_map(|row| row.impossible.as_ref()) {
        out += &wrap(&format!("-: {why}"), look.width, 3);
    }
    if let Some(limit) = sweep.limit {
        let bound = if main.row().better != Better::More { "at most" } else { "at least" };
        let held = if main == Figure::Life { ", checked at P10" } else { "" };
        let name = if main == Figure::Life { "battery life" } else { main.row().title };
        let _ = writeln!(out, "limit: {name} {bound} {}{held}", main.row().unit.show(limit));
    }
    let input = &sweep.inputs[0];
    for at in &sweep.crossings {
        let _ = writeln!(out, "the limit is passed at {} = {} {}", input.path, figures(*at), input.unit);
    }
    out
}

/// What is said of each input's value in the project as it stands.
fn now(sweep: &Sweep) -> Vec<String> {
    let say = |input: &crate::figures::sweep::Swept| match input.now {
        Some(now) => format!("{} {} as designed", figures(now), input.unit).replace("  ", " "),
        None if input.spacing == Spacing::Words => match &input.now_word {
            Some(word) => format!("{word} as designed"),
            // The project as it stands is none of its alternatives.
            None if input.path == alternatives::PATH => "none as designed".to_owned(),
            None => "the project does not say it".to_owned(),
        },
        None => "the project does not say it".to_owned(),
    };
    sweep.inputs.iter().map(say).collect()
}

fn headings(figure: Figure) -> Vec<String> {
    match figure {
        Figure::Life => ["life, P10", "P50", "P90"].map(str::to_owned).to_vec(),
        _ => vec![figure.row().title.to_owned()],
    }
}

fn cells(figure: Figure, reading: Option<Reading>, scale: &UnitScale) -> Vec<String> {
    let numbers = numbers(figure, reading);
    numbers.into_iter().map(|number| number.map_or("-".to_owned(), |value| reached(figure, value, scale))).collect()
}

/// The numbers of a reading: P10, P50, P90 for the life, one for every other figure.
fn numbers(figure: Figure, reading: Option<Reading>) -> Vec<Option<f64>> {
    let value = reading.map(|reading| reading.value);
    match figure {
        Figure::Life => {
            let band = reading.and_then(|reading| reading.band);
            vec![band.map(|[p10, _]| p10), value, band.map(|[_, p90]| p90)]
        }
        _ => vec![value],
    }
}

fn matrix(sweep: &Sweep, index: usize, figure: Figure, look: Look) -> String {
    let (first, second) = (&sweep.inputs[0], &sweep.inputs[1]);
    let scale = scale(sweep, index);
    let columns = aligned(second.values.iter().map(|value| value.text.clone()).collect());
    let name = first.path.rsplit('.').next().unwrap_or_default().to_owned();
    let heads: Vec<String> = std::iter::once(name).chain(columns).collect();
    let values = aligned(first.values.iter().map(|value| value.text.clone()).collect());
    let rows = sweep.rows.chunks(second.values.len()).zip(values).map(|(rows, value)| {
        let shown = |row: &SweepPoint| {
            row.readings[index].map_or("-".to_owned(), |reading| reached(figure, reading.value, &scale))
        };
        std::iter::once(value).chain(rows.iter().map(shown)).collect()
    });
    drawn(&heads, rows, look)
}

/// Numbers of one unit with as many decimals each; anything else as it is.
fn aligned(texts: Vec<String>) -> Vec<String> {
    let parts: Option<Vec<(f64, usize, &str)>> = texts
        .iter()
        .map(|text| {
            let (number, unit) = text.split_once(' ').unwrap_or((text, ""));
            let decimals = number.split_once('.').map_or(0, |(_, decimals)| decimals.len());
            Some((number.parse().ok()?, decimals, unit))
        })
        .collect();
    let Some(parts) = parts.filter(|parts| parts.windows(2).all(|pair| pair[0].2 == pair[1].2)) else { return texts };
    let decimals = parts.iter().map(|(_, decimals, _)| *decimals).max().unwrap_or(0);
    parts.iter().map(|(number, _, unit)| format!("{number:.decimals$} {unit}").trim_end().to_owned()).collect()
}

fn drawn(heads: &[String], rows: impl Iterator<Item = Vec<String>>, look: Look) -> String {
    let mut table: Table = table(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    for row in rows {
        table.add_row(row);
    }
    for index in 0..heads.len() {
        if let Some(column) = table.column_mut(index) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    fit(&mut table, look.width);
    table.to_string()
}

/// Whether some devices' life ends before it begins.
fn fails(figure: Figure, reading: Reading) -> bool {
    figure == Figure::Life && (reading.value <= 0.0 || reading.band.is_some_and(|[p10, _]| p10 <= 0.0))
}

/// Columns of numbers: each input in its unit, each figure in the unit of its name. A missing value is empty.
///
/// # Errors
/// Never in practice: writing to memory cannot fail.
pub fn csv(sweep: &Sweep) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let inputs = sweep.inputs.iter().map(|input| match input.unit.as_str() {
        "" => input.path.clone(),
        unit => format!("{} ({unit})", input.path),
    });
    let keys = sweep.figures.iter().flat_map(|figure| match figure {
        Figure::Life => ["p10", "p50", "p90"].map(|part| format!("{}_{part}", figure.key())).to_vec(),
        _ => vec![figure.key()],
    });
    writer.write_record(inputs.chain(keys))?;
    for row in &sweep.rows {
        let inputs = (0..sweep.inputs.len()).map(|input| match sweep.inputs[input].spacing {
            Spacing::Words => sweep.value(row, input).text.clone(),
            Spacing::Linear | Spacing::Log => sweep.value(row, input).number.to_string(),
        });
        let readings = sweep.figures.iter().zip(&row.readings);
        let numbers = readings.flat_map(|(figure, reading)| numbers(*figure, *reading));
        let shown = numbers.map(|number| number.map_or(String::new(), short));
        writer.write_record(inputs.chain(shown))?;
    }
    let bytes = writer.into_inner().map_err(|why| csv::Error::from(why.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// Six significant figures: more are not borne by any input.
fn short(number: f64) -> String {
    let rounded: f64 = format!("{number:.5e}").parse().unwrap_or(number);
    rounded.to_string()
}

/// The sweep as JSON, schema 1. Figures have their unit in their key; `now` is the project as it stands.
pub fn json(sweep: &Sweep) -> Value {
    let readings = |all: &[Option<Reading>]| -> Map<String, Value> {
        let pair = |(figure, reading): (&Figure, &Option<Reading>)| {
            let value = match (figure, reading) {
                (Figure::Life, Some(Reading { value, band })) => {
                    json!({ "p10": band.map(|[low, _]| low), "p50": value, "p90": band.map(|[_, high]| high) })
                }
                (_, Some(reading)) => figure.row().unit.json(reading.value),
                (_, None) => Value::Null,
            };
            (figure.key(), value)
        };
        sweep.figures.iter().zip(all).map(pair).collect()
    };
    let main = sweep.figures[0];
    json!({
        "schema": 1,
        "project": sweep.project,
        "inputs": sweep.inputs.iter().map(|input| json!({
            "path": input.path,
            "unit": input.unit,
            "now": match &input.now_word {
                Some(word) => json!(word),
                None => json!(input.now),
            },
        })).collect::<Vec<_>>(),
        "rows": sweep.rows.iter().map(|row| json!({
            "set": (0..sweep.inputs.len()).map(|input| sweep.value(row, input).text.clone()).collect::<Vec<_>>(),
            "values": (0..sweep.inputs.len()).map(|input| match sweep.inputs[input].spacing {
                Spacing::Words => json!(sweep.value(row, input).text),
                Spacing::Linear | Spacing::Log => json!(sweep.value(row, input).number),
            }).collect::<Vec<_>>(),
            "figures": readings(&row.readings),
            "impossible": row.impossible,
        })).collect::<Vec<_>>(),
        "now": readings(&sweep.now),
        "limit": sweep.limit.map(|limit| json!({ "figure": main.key(), "value": limit, "passed_at": sweep.crossings })),
    })
}

#[cfg(test)]
mod tests {
    use super::aligned;

    /// Once `0.2 mA` over `0.517 mA` over `4 mA`.
    #[test]
    fn the_values_of_a_column_have_as_many_decimals() {
        let texts = |all: &[&str]| aligned(all.iter().map(|text| (*text).to_owned()).collect());
        assert_eq!(texts(&["0.2 mA", "0.517 mA", "4 mA"]), ["0.200 mA", "0.517 mA", "4.000 mA"]);
        assert_eq!(texts(&["3", "12"]), ["3", "12"]);
        assert_eq!(texts(&["frame", "strips"]), ["frame", "strips"]);
        assert_eq!(texts(&["1 s", "0.5 min"]), ["1 s", "0.5 min"]);
    }
}

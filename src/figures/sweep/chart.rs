//! A sweep as a plot: the first figure over the first input, one curve for each value of the second.

use super::Sweep;
use super::range::Spacing;
use super::reading::Reading;
use crate::budget::figure::{Better, Figure, UnitScale};
use crate::plot::{Axis, Chart, Curve, Limit, Mark};
use crate::units::figures;

/// Most curves that can be told apart.
pub const MOST_CURVES: usize = 9;

/// The plot of a sweep.
pub fn chart(sweep: &Sweep) -> Chart {
    let (input, figure) = (&sweep.inputs[0], sweep.figures[0]);
    let scale = scale(sweep, 0);
    let other = sweep.inputs.get(1);
    let count = other.map_or(1, |other| other.values.len());
    let mut curves: Vec<Curve> = (0..count).map(|second| curve(sweep, second, &scale)).collect();
    if other.is_none() {
        curves.iter_mut().for_each(|curve| curve.label.clear());
    }
    let banded = curves.iter().any(|curve| !curve.band.is_empty());
    let note = match (banded, other) {
        (true, _) => "Line: median (P50). Shaded: P10 to P90.".into(),
        (false, Some(other)) if figure == Figure::Life => {
            format!("Median device (P50); one line for each {}.", named(&other.path, ""))
        }
        (false, Some(other)) => format!("Typical device; one line for each {}.", named(&other.path, "")),
        (false, None) => "Typical device.".into(),
    };
    Chart {
        title: sweep.project.clone(),
        note,
        x: Axis { label: input.path.clone(), unit: micro(&input.unit), log: input.spacing == Spacing::Log },
        y: Axis { label: figure.row().title.into(), unit: along(scale.symbol()), log: false },
        curves,
        limit: sweep.limit.map(|limit| Limit {
            at: scale.number(limit),
            label: format!(
                "limit: {} {}{}",
                if figure.row().better != Better::More { "max" } else { "min" },
                micro(&scale.show(limit)),
                if figure == Figure::Life { ", checked at P10" } else { "" }
            ),
        }),
        mark: mark(sweep, &scale),
    }
}

fn named(path: &str, value: &str) -> String {
    let name = path.rsplit('.').next().unwrap_or(path);
    if value.is_empty() { path.to_owned() } else { format!("{name} {value}") }
}

fn curve(sweep: &Sweep, second: usize, scale: &UnitScale) -> Curve {
    let rows: Vec<_> = sweep.rows.iter().filter(|row| row.at.get(1).is_none_or(|at| *at == second)).collect();
    let x = |row: &super::SweepPoint| sweep.value(row, 0).number;
    let points = rows.iter().map(|row| (x(row), row.readings[0].map(|reading| scale.number(reading.value)))).collect();
    // Bands of several curves would hide one another.
    let banded = sweep.inputs.len() == 1;
    let band = rows.iter().filter(|_| banded).filter_map(|row| {
        let [low, high] = row.readings[0]?.band?;
        Some((x(row), scale.number(low), scale.number(high)))
    });
    let label =
        sweep.inputs.get(1).map_or(String::new(), |other| named(&other.path, &micro(&other.values[second].text)));
    Curve { label, points, band: band.collect() }
}

/// The project as it stands, where it lies within the plot.
fn mark(sweep: &Sweep, scale: &UnitScale) -> Option<Mark> {
    let (input, x, reading) = (&sweep.inputs[0], sweep.inputs[0].now?, sweep.now[0]?);
    let numbers = input.values.iter().map(|value| value.number);
    let low = numbers.clone().fold(f64::INFINITY, f64::min);
    let high = numbers.fold(f64::NEG_INFINITY, f64::max);
    let value = format!("{} {}", figures(x), micro(&input.unit));
    let label = format!("as designed: {}, {}", value.trim(), micro(&scale.show(reading.value)));
    (low <= x && x <= high).then_some(Mark { x, y: scale.number(reading.value), label })
}

/// Units with the Greek letter, as print has them.
fn micro(text: &str) -> String {
    let mut out = text.to_owned();
    for unit in ["uA", "uW", "uJ", "uC", "us", "um"] {
        if out == unit || out.ends_with(&format!(" {unit}")) {
            out.truncate(out.len() - unit.len());
            out += &unit.replacen('u', "µ", 1);
        }
    }
    if out.ends_with("Ohm") {
        out = out.replace("Ohm", "Ω");
    }
    out
}

/// The unit that all values of a figure, its limit and the project's own value are shown in.
pub fn scale(sweep: &Sweep, index: usize) -> UnitScale {
    let own = |reading: &Option<Reading>| reading.map(|reading| reading.value);
    let rows = sweep.rows.iter().filter_map(|row| own(&row.readings[index])).chain(own(&sweep.now[index]));
    let limit = sweep.limit.filter(|_| index == 0);
    sweep.figures[index].row().unit.scale(rows.chain(limit))
}

/// A figure's value; a life that ends before it begins is none.
pub fn reached(figure: Figure, value: f64, scale: &UnitScale) -> String {
    if figure == Figure::Life && value <= 0.0 { "none".to_owned() } else { scale.show(value) }
}

/// A unit's symbol along an axis.
fn along(symbol: &str) -> String {
    if symbol == "d" { "days".to_owned() } else { micro(symbol) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_set_as_in_print() {
        assert_eq!(micro("2.5 uA"), "2.5 µA");
        assert_eq!(micro("uA"), "µA");
        assert_eq!(micro("150 mOhm"), "150 mΩ");
        assert_eq!(micro("menu"), "menu");
    }

    #[test]
    fn units_suit_the_largest_value() {
        let unit = |figure: Figure, largest: f64| along(figure.row().unit.scale([largest, largest / 3.0]).symbol());
        assert_eq!(unit(Figure::Energy, 11.7), "J");
        assert_eq!(unit(Figure::UpdateEnergy, 0.08), "mJ");
        assert_eq!(unit(Figure::MeanPower, 136e-6), "µW");
        assert_eq!(unit(Figure::Life, 400.0), "days");
        assert_eq!(unit(Figure::Life, 900.0), "years");
        assert_eq!(unit(Figure::ChargeTime, 11_000.0), "h");
        assert_eq!(unit(Figure::Refreshes, 11_000.0), "");
    }
}

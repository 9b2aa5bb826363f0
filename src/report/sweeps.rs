//! What a change of the few inputs that decide most projects would do: the interval of its events, the battery, the policy.
//!
//! The same sweeps as `inkjoule sweep` makes, with the project's own limits. Inputs that a project does not have are left
//! out; a sweep that cannot be made says why.

use super::figure::typeset;
use super::picture::plots;
use crate::behaviour::Times;
use crate::budget::figure::{Better, Figure};
use crate::device::Device;
use crate::evaluation::Evaluation;
use crate::figures::sweep::chart::chart;
use crate::figures::sweep::chart::{reached, scale};
use crate::figures::sweep::range::{Spacing, values};
use crate::figures::sweep::{Sweep, SweepPoint, Swept, sweep};
use crate::plot::Chart;
use crate::plot::layout::{layout, narrow};
use crate::source::fault::Fault;
use crate::units::{Coulombs, Seconds, figures};
use maud::{Markup, html};

/// An input that is swept, and over what.
struct Plan {
    title: String,
    path: String,
    range: String,
    spacing: Spacing,
    figure: Figure,
}

/// The section; nothing where a project has no such input.
pub fn section(side: &Evaluation) -> Markup {
    let plans = [interval(&side.device), capacity(&side.device), partials(&side.device)];
    html! {
        section id="sweeps" aria-labelledby="h-sweeps" {
            h2 id="h-sweeps" { "If one thing changed" }
            p.prose { "Each input alone over a range, everything else as designed; the project is simulated again for each value. A swept value keeps the tolerance that the project gives it, in proportion." }
            @for plan in plans.iter().flatten() { (swept(side, plan)) }
        }
    }
}

/// The event that comes most often at an interval; else the journey that is made most often.
fn interval(device: &Device) -> Option<Plan> {
    let every = |event: &crate::behaviour::Event| match event.times {
        Times::Every(interval, _) => Some((interval, event.name.clone())),
        _ => None,
    };
    let shortest = device.events.iter().filter_map(every).min_by(|a, b| a.0.0.total_cmp(&b.0.0));
    let named = |name: &str| name.replace(['-', '_'], " ");
    if let Some((interval, name)) = shortest {
        return Some(Plan {
            title: format!("The interval of the {}", named(&name)),
            path: format!("events.{name}.every"),
            range: times(interval, &[0.25, 0.5, 1.0, 2.0, 4.0, 8.0]),
            spacing: Spacing::Log,
            figure: Figure::Life,
        });
    }
    let journey = device.usage.journeys.iter().max_by(|a, b| a.per_day.total_cmp(&b.per_day))?;
    let list: Vec<String> = [0.25, 0.5, 1.0, 2.0, 4.0].iter().map(|factor| figures(journey.per_day * factor)).collect();
    Some(Plan {
        title: format!("How often a day: {}", named(&journey.name)),
        path: format!("usage.journeys.{}.per-day", journey.name),
        range: list.join(","),
        spacing: Spacing::Log,
        figure: Figure::Life,
    })
}

/// Multiples of a time in the unit that suits it.
fn times(time: Seconds, factors: &[f64]) -> String {
    let (unit, length) = match time {
        t if t >= Seconds(7200.0) => ("h", 3600.0),
        t if t >= Seconds(120.0) => ("min", 60.0),
        _ => ("s", 1.0),
    };
    let list: Vec<String> =
        factors.iter().map(|factor| format!("{} {unit}", figures(time.0 / length * factor))).collect();
    list.join(",")
}

fn capacity(device: &Device) -> Option<Plan> {
    let typical: Coulombs = device.inputs.typical().of(device.battery.capacity);
    let list: Vec<String> = [0.5, 0.75, 1.0, 1.5, 2.0, 3.0]
        .iter()
        .map(|factor| format!("{} mAh", figures(typical.0 / 3.6 * factor)))
        .collect();
    (typical.0 > 0.0).then(|| Plan {
        title: "The battery's capacity".to_owned(),
        path: "battery.capacity".to_owned(),
        range: list.join(","),
        spacing: Spacing::Linear,
        figure: Figure::Life,
    })
}

fn partials(device: &Device) -> Option<Plan> {
    device.panel.partial.as_ref()?;
    let mut counts = vec![1, 2, 4, 8, 16, 32, device.policy.max_partials];
    counts.retain(|count| (1..=100).contains(count));
    counts.sort_unstable();
    counts.dedup();
    let list: Vec<String> = counts.iter().map(ToString::to_string).collect();
    Some(Plan {
        title: "Partial refreshes in a row".to_owned(),
        path: "policy.max-partials".to_owned(),
        range: list.join(","),
        spacing: Spacing::Log,
        figure: Figure::Energy,
    })
}

fn swept(side: &Evaluation, plan: &Plan) -> Markup {
    html! {
        h3 { (plan.title) }
        @match made(side, plan) {
            Err(why) => { p.prose { "Not swept: " (why) } }
            Ok(made) => {
                @let title = format!("{} over {}", plan.figure.row().heading(), plan.path);
                @let plot = Chart { title, ..chart(&made) };
                figure.sweep {
                    (plots(&layout(&plot), &narrow(&plot), &words(plan, &made)))
                    figcaption { (said(&made)) }
                }
                (table(plan, &made))
            }
        }
    }
}

fn made(side: &Evaluation, plan: &Plan) -> Result<Sweep, Fault> {
    let range = values(&plan.range, 2, plan.spacing)?;
    let input = Swept::new(&side.device, &side.files, &plan.path, range, plan.spacing);
    let limit = plan.figure.limit(&side.device);
    let failed = |failed: Box<crate::project::ProjectFault>| {
        let sentences: Vec<&str> = failed.faults.iter().take(2).map(|fault| fault.message.as_str()).collect();
        Fault::plain(sentences.join(": "))
    };
    sweep(&side.device, &side.files, vec![input], vec![plan.figure], limit).map_err(failed)
}

/// Where the limit is passed, in a sentence.
fn said(sweep: &Sweep) -> String {
    let (figure, input) = (sweep.figures[0], &sweep.inputs[0]);
    let Some(limit) = sweep.limit else { return String::new() };
    let shown = typeset(figure.row().unit.show(limit)).replace('\u{a0}', " ");
    let at = |x: &f64| typeset(format!("{} {}", figures(*x), input.unit).trim()).replace('\u{a0}', " ");
    let crossings: Vec<String> = sweep.crossings.iter().map(at).collect();
    match crossings.is_empty() {
        true => {
            let kept = sweep.rows.iter().filter_map(|row| row.readings[0]).all(|reading| {
                let over = reading.against_limit() - limit;
                if figure.row().better != Better::More { over <= 0.0 } else { over >= 0.0 }
            });
            format!("The limit of {shown} is {} over the whole range.", if kept { "kept" } else { "broken" })
        }
        false => format!("The limit of {shown} is passed at {}.", crossings.join(" and ")),
    }
}

/// The plot for those who cannot see it.
fn words(plan: &Plan, sweep: &Sweep) -> String {
    let figure = sweep.figures[0];
    let end = |row: Option<&SweepPoint>| {
        row.and_then(|row| {
            Some(format!("{} at {}", figure.row().unit.show(row.readings[0]?.value), sweep.value(row, 0).text))
        })
    };
    let ends: Vec<String> = [sweep.rows.first(), sweep.rows.last()].into_iter().filter_map(end).collect();
    format!("{}: {} from {}. The table below has all values.", plan.title, figure.row().title, ends.join(" to "))
}

fn table(plan: &Plan, sweep: &Sweep) -> Markup {
    let figure = sweep.figures[0];
    let scale = scale(sweep, 0);
    let shown = |value: Option<f64>| value.map_or("none".to_owned(), |value| typeset(reached(figure, value, &scale)));
    let banded = figure == Figure::Life;
    html! {
        div.wide role="group" aria-label=(plan.title) tabindex="0" {
            table {
                caption.path { (plan.path) }
                thead { tr {
                    th.n scope="col" { "value" }
                    @if banded { th.n scope="col" { "P10" } th.n scope="col" { "P50" } th.n scope="col" { "P90" } }
                    @else { th.n scope="col" { (figure.row().title) } }
                } }
                tbody {
                    @for row in &sweep.rows {
                        @let value = sweep.value(row, 0);
                        @let reading = row.readings[0];
                        @let band = reading.and_then(|reading| reading.band);
                        @let here = sweep.inputs[0].now.is_some_and(|now| (now - value.number).abs() <= 1e-9 * now.abs());
                        tr {
                            th.n scope="row" { (typeset(&value.text)) @if here { " " strong.tag { "as designed" } } }
                            @if banded { td.n { (shown(band.map(|band| band[0]))) } }
                            td.n { (shown(reading.map(|reading| reading.value))) }
                            @if banded { td.n { (shown(band.map(|band| band[1]))) } }
                        }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::DAY;

    #[test]
    fn multiples_of_a_time_are_in_one_unit() {
        assert_eq!(times(Seconds(300.0), &[0.5, 1.0, 12.0]), "2.5 min,5 min,60 min");
        assert_eq!(times(DAY, &[0.25, 1.0]), "6 h,24 h");
        assert_eq!(times(Seconds(30.0), &[1.0]), "30 s");
    }
}

//! How the display is used: why refreshes were full, how often each region is driven, each key's answer, each screen's time.

use super::figure::{figure, of, typeset};
use super::picture::plots;
use crate::budget::activity::{narrow, scene};
use crate::budget::figure::Figure;
use crate::budget::residue::{caveat, worst};
use crate::budget::usage::{a_day, memory_words, rated};
use crate::evaluation::Evaluation;
use crate::refresh::activity::{CELL, RegionCounts};
use crate::refresh::policy::Reason;
use crate::simulate::counts::Counts;
use crate::simulate::stationary::{Law, Memory, law};
use crate::units::column::Scale;
use crate::units::{DAY, Quantity, Seconds, figures, grouped};
use maud::{Markup, html};

/// The section.
pub fn section(side: &Evaluation) -> Markup {
    let (device, counts) = (&side.device, &side.budget.counts);
    html! {
        section id="display" aria-labelledby="h-display" {
            h2 id="h-display" { "The display in use" }
            (reasons(counts))
            (map(side))
            (wear(side))
            @if counts.presses > 0 { (keys(counts)) }
            (screens(side, &law(device)))
            @if counts.charges.is_some() { (charges(side)) }
        }
    }
}

fn count(pointer: &str, counts: &Counts, count: u64) -> Markup {
    figure(pointer, counts.per_day(count), a_day(counts, count))
}

fn percent(pointer: &str, share: f64) -> Markup {
    figure(pointer, share, format!("{} %", figures(100.0 * share)))
}

/// A share of the time in a column of them: two decimals each, and what would read as none is called small.
fn of_time(pointer: &str, share: f64) -> Markup {
    let percent = 100.0 * share;
    figure(
        pointer,
        share,
        if share > 0.0 && percent < 0.005 { "<0.01 %".to_owned() } else { format!("{percent:.2} %") },
    )
}

fn reasons(counts: &Counts) -> Markup {
    let mut rows: Vec<_> = Reason::ALL.into_iter().zip(counts.reasons).filter(|(_, count)| *count > 0).collect();
    rows.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    html! {
        h3 { "Why refreshes were full" }
        div.wide role="group" aria-label="Why refreshes were full" tabindex="0" {
            table {
                caption.visually-hidden { "Why refreshes were full" }
                thead { tr { th scope="col" { "Because" } th.n scope="col" { "A day" } th.n scope="col" { "Share" } } }
                tbody {
                    @for (reason, of) in rows {
                        tr {
                            th scope="row" { (reason.words()) }
                            td.n { (count(&format!("/use/full_because/{}", reason.id()), counts, of)) }
                            td.n { (typeset(format!("{:.1} %", 100.0 * of as f64 / counts.full.max(1) as f64))) }
                        }
                    }
                }
            }
        }
    }
}

fn map(side: &Evaluation) -> Markup {
    let (device, counts) = (&side.device, &side.budget.counts);
    let longest = counts.activity.most(|region| u64::from(region.longest)).map_or(0, |(_, c)| c.longest);
    let alt = format!(
        "Two maps of the display over the home screen: partial refreshes a day by region, and the maximum between \
         two full refreshes, at most {longest}."
    );
    html! {
        h3 { "Where the display is driven" }
        figure.drawn { (plots(&scene(device, counts), &narrow(device, counts), &alt)) }
    }
}

fn wear(side: &Evaluation) -> Markup {
    let (device, counts) = (&side.device, &side.budget.counts);
    let place = |pointer: &str, (column, row): (usize, usize)| {
        let at = |key: &str, cell: usize| {
            let pixel = (cell as u32 * CELL) as f64;
            figure(&format!("/use/regions/{pointer}/{key}"), pixel, pixel)
        };
        html! { (at("x", column)) ", " (at("y", row)) }
    };
    let longest = counts.activity.most(|region| u64::from(region.longest));
    let busiest = counts.activity.most(RegionCounts::drives);
    html! {
        p.prose {
            "Regions are squares of " (figure("/use/regions/side_px", f64::from(CELL), CELL)) " pixels. "
            @let most = longest.map_or(0, |(_, region)| region.longest);
            "Between two full refreshes a region sees at most "
            (figure("/use/regions/max_partials_between_full", f64::from(most), most)) " partial ones"
            @if let Some((at, _)) = longest { " (at " (place("max_partials_at", at)) ")" } ". "
            @let drives = busiest.map_or(0.0, |(_, region)| counts.per_day(region.drives()));
            "The busiest is driven " (figure("/use/regions/busiest_drives", drives, figures(drives))) " times a day"
            @if let Some((at, _)) = busiest { " (at " (place("busiest_at", at)) ")" } "."
            @if let Some((rating, _)) = rated(device, counts) {
                " The panel's rated " (typeset(grouped(&rating.to_string()))) " refreshes last "
                (of(side, Figure::RatedRefreshes)) "."
            }
            @if let Some(ghost) = worst(device, counts) {
                " The worst ghosting residue is " (of(side, Figure::Residue)) " of the contrast" (caveat(ghost.assumed)) ", for "
                (of(side, Figure::ResidueTime)) "."
            }
        }
    }
}

fn keys(counts: &Counts) -> Markup {
    let scale =
        Scale::of((0..counts.keys.len()).filter_map(|key| counts.latency_of(key, 1.0)).map(f64::from), Seconds::SI);
    html! {
        h3 { "Key latency" }
        div.wide role="group" aria-label="Presses and answers of each key" tabindex="0" {
            table.stack {
                caption.visually-hidden { "Presses and key-to-display latency" }
                thead { tr {
                    th scope="col" { "Key" } th.n scope="col" { "A day" } th.n scope="col" { "Dropped" } th.n scope="col" { "Unassigned" }
                    th.n scope="col" { "Median" } th.n scope="col" { "P95" } th.n scope="col" { "Max" }
                } }
                tbody {
                    @for (key, presses) in counts.keys.iter().enumerate() {
                        @let at = |name: &str| format!("/use/keys/{key}/{name}");
                        tr {
                            th scope="row" data-label="Key" { (figure(&at("key"), (key + 1) as f64, key + 1)) }
                            td.n data-label="A day" { (count(&at("presses"), counts, presses.made)) }
                            td.n data-label="Dropped" { (count(&at("dropped"), counts, presses.lost)) }
                            td.n data-label="Unassigned" { (count(&at("unassigned"), counts, presses.idle)) }
                            @for (name, label, share) in [("p50", "Median", 0.5), ("p95", "P95", 0.95), ("max", "Max", 1.0)] {
                                td.n data-label=(label) { @if let Some(time) = counts.latency_of(key, share) { (figure(&at(&format!("latency_s/{name}")), time, scale.show(time.0))) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn screens(side: &Evaluation, law: &Result<Law, Memory>) -> Markup {
    let (device, counts) = (&side.device, &side.budget.counts);
    html! {
        h3 { "Time on each screen" }
        div.wide role="group" aria-label="Time of each screen" tabindex="0" {
            table {
                caption.visually-hidden { "How often each screen is entered, and its share of the time" }
                thead { tr {
                    th scope="col" { "Screen" } th.n scope="col" { "Entered a day" } th.n scope="col" { "Time" }
                    @if law.is_ok() { th.n scope="col" { "In the long run" } }
                } }
                tbody {
                    @for (index, screen) in device.screens.iter().enumerate() {
                        @let at = |name: &str| format!("/use/screens/{index}/{name}");
                        tr {
                            th scope="row" { (screen.id) }
                            td.n { (count(&at("entered"), counts, counts.entries[index])) }
                            td.n { (of_time(&at("time_fraction"), counts.shown[index] / (DAY * counts.days))) }
                            @if let Ok(law) = law { td.n { (of_time(&at("stationary_fraction"), law.share[index].0)) } }
                        }
                    }
                }
            }
        }
        p.faint {
            @match law {
                Ok(_) => "The flow has no memory; the last column is its stationary distribution, calculated without the simulation.",
                Err(memory) => { "Counted in the simulation. An exact calculation beside it is possible only where the flow has no memory: here " (memory_words(device, memory)) "." }
            }
        }
    }
}

fn charges(side: &Evaluation) -> Markup {
    let counts = &side.budget.counts;
    html! {
        @if let Some(charges) = &counts.charges {
            p.prose {
                "At the charger " (count("/use/charges/count", counts, charges.count)) " times a day, the state of charge stays above "
                (percent("/use/charges/lowest_state_of_charge", charges.lowest.0)) "; the charges come to "
                (of(side, Figure::FullCycles)) " full cycles a year."
                @if Figure::CycleLife.value(&side.device, &side.budget).is_some() {
                    " The battery's cycle life is " (of(side, Figure::CycleLife)) " at that rate."
                }
                @if let Some(empty) = charges.empty {
                    " " strong { "The battery is down to its reserve after " (figure("/use/charges/empty_after_s", empty, empty)) "." }
                }
                @if charges.refused > 0 {
                    " " (count("/use/charges/refused", counts, charges.refused)) " charges a day could not be made."
                } @else {
                    span hidden { (count("/use/charges/refused", counts, charges.refused)) }
                }
            }
        }
    }
}

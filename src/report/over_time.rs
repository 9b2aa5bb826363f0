//! What happens over time: the current of an update phase by phase, and a day as a strip.

use crate::budget::summary::full_work;
use crate::evaluation::Evaluation;
use crate::plot::scene::Scene;
use crate::plot::svg::inline;
use crate::refresh::update::Mode;
use crate::timeline::day;
use crate::timeline::update::{UpdatePlot, scene};
use maud::{Markup, PreEscaped, html};

/// The section.
pub fn section(side: &Evaluation, locale: usize) -> Markup {
    let update = scene(&updates(side));
    let day = day::usual(&side.device, &side.budget.counts, locale);
    html! {
        section id="over-time" aria-labelledby="h-over-time" {
            h2 id="h-over-time" { "Over time" }
            h3 { "The current of an update" }
            p.prose { "As a probe at the battery would show it, each phase at its mean current. Typical is filled; worst has every input at the end of its tolerance that takes more." }
            (drawn(&update))
            h3 { "A day" }
            p.prose { "The simulated day whose updates come nearest to the mean." }
            (drawn(&day))
        }
    }
}

/// A picture that keeps its letters legible on narrow pages, where it scrolls.
fn drawn(scene: &Scene) -> Markup {
    html! {
        div.wide.over-time role="group" aria-label=(scene.title) tabindex="0" { (PreEscaped(inline(scene, &scene.title))) }
    }
}

/// A full refresh of the home screen, and the partial one that leads from it and changes most.
fn updates(side: &Evaluation) -> Vec<UpdatePlot> {
    let (device, temperature) = (&side.device, side.budget.temperature);
    let home = device.usage.home;
    let name = |screen: crate::screen::ScreenId| device.screens[screen.0].id.as_str();
    let title = format!("Full refresh of {} at {temperature}", name(home));
    let full = UpdatePlot::of(device, &title, &full_work(device, temperature));
    let ways = side.budget.transitions.iter().filter(|way| way.from == home && way.change.mode == Mode::Partial);
    let partial = ways.max_by_key(|way| way.change.changed).filter(|way| way.change.changed > 0).map(|way| {
        let (from, to, by) = (name(way.from), name(way.to), way.by(device));
        let title = format!("{from}:{to} by {by} at {temperature}: partial, {} px change", way.change.changed);
        UpdatePlot::of(device, &title, &way.change.work)
    });
    std::iter::once(full).chain(partial).collect()
}

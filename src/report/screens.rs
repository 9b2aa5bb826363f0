//! One part for each screen in the order of the flow: its picture, its full refresh, and the ways that lead from it. Exits
//! that most screens share stand once.

use super::figure::{figure, typeset};
use super::picture::{Shelf, frame_address, thumbnail};
use super::walk::title;
use crate::behaviour::trigger::Trigger;
use crate::budget::transition::Transition;
use crate::device::Device;
use crate::evaluation::Evaluation;
use crate::frame::Frame;
use crate::machine::canvas::pictured;
use crate::refresh::update::Mode;
use crate::screen::ScreenId;
use crate::screen::values::Values;
use crate::units::column::Scale;
use crate::units::{Joules, Quantity, Seconds, count, figures, grouped};
use maud::{Markup, html};

/// The screens in the order of the flow: from the one at start-up on as their ways lead; what nothing leads to is last.
pub fn order(side: &Evaluation) -> Vec<ScreenId> {
    let device = &side.device;
    let starts = [device.usage.start_up, device.usage.home].into_iter().chain((0..device.screens.len()).map(ScreenId));
    let mut order: Vec<ScreenId> = Vec::new();
    for start in starts {
        let mut next = order.len();
        if !order.contains(&start) {
            order.push(start);
        }
        while let Some(from) = order.get(next).copied() {
            next += 1;
            for way in side.budget.transitions.iter().filter(|way| way.from == from) {
                if !order.contains(&way.to) {
                    order.push(way.to);
                }
            }
        }
    }
    order
}

/// A way of the budget with its place in the list.
type Listed<'a> = (usize, &'a Transition);

/// Ways that lead from most screens to the same one by the same cause.
struct Exit<'a> {
    by: String,
    to: ScreenId,
    ways: Vec<Listed<'a>>,
}

/// How many screens at least share an exit.
const SHARED: usize = 4;

/// Exits that at least half of the other screens share.
fn common(side: &Evaluation) -> Vec<Exit<'_>> {
    let device = &side.device;
    let mut exits: Vec<Exit<'_>> = Vec::new();
    for way in side.budget.transitions.iter().enumerate().filter(|(_, way)| way.from != way.to) {
        let (by, to) = (way.1.by(device), way.1.to);
        match exits.iter_mut().find(|exit| exit.by == by && exit.to == to) {
            Some(exit) => exit.ways.push(way),
            None => exits.push(Exit { by, to, ways: vec![way] }),
        }
    }
    let least = SHARED.max(device.screens.len() / 2);
    exits.retain(|exit| exit.ways.len() >= least);
    exits
}

/// The section, and the shelf with the pictures that its thumbnails use.
pub fn section(side: &Evaluation, locale: usize, shelf: &mut Shelf) -> Markup {
    let device = &side.device;
    let sample = device.sample_in(locale);
    let frames: Vec<Frame> = (0..device.screens.len()).map(|index| pictured(device, ScreenId(index), locale)).collect();
    let common = common(side);
    let shared: Vec<usize> = common.iter().flat_map(|exit| exit.ways.iter().map(|(row, _)| *row)).collect();
    let mut drawing = Drawing { side, locale, sample: &sample, frames: &frames, shelf };
    html! {
        section id="screens" aria-labelledby="h-screens" {
            h2 id="h-screens" { "Screens" }
            p.prose {
                "In the order of the flow, with sample values, at " (typeset(side.budget.temperature)) ", with no partial refreshes before. Update windows are outlined; a full refresh drives the whole display."
            }
            @if !common.is_empty() {
                h3 { "Common exits" }
                @for exit in &common { (drawing.exit(exit)) }
            }
            @for id in order(side) { (drawing.screen(id, &shared)) }
        }
    }
}

/// What the parts of the section share.
struct Drawing<'a> {
    side: &'a Evaluation,
    locale: usize,
    sample: &'a Values,
    frames: &'a [Frame],
    shelf: &'a mut Shelf,
}

impl Drawing<'_> {
    /// One exit with the screens that share it, folded.
    fn exit(&mut self, exit: &Exit<'_>) -> Markup {
        let to = title(&self.side.device, exit.to, self.locale);
        let energies = exit.ways.iter().map(|(_, way)| way.change.energy);
        let [least, most] = energies.fold([Joules(f64::INFINITY), Joules(0.0)], |[least, most], energy| {
            [Joules(least.0.min(energy.0)), Joules(most.0.max(energy.0))]
        });
        html! {
            details {
                summary {
                    (exit.by) " leads to " (to) " from " (exit.ways.len()) " screens, "
                    (typeset(least)) @if least.to_string() != most.to_string() { " to " (typeset(most)) }
                }
                (self.shared_image(exit))
                (self.table(&format!("{} to {to}", exit.by), &exit.ways, true))
            }
        }
    }

    /// The image that an exit leads to, once for all screens that share it.
    fn shared_image(&mut self, exit: &Exit<'_>) -> Markup {
        let name = format!("{} after {}", title(&self.side.device, exit.to, self.locale), exit.by);
        thumbnail(self.shelf, &self.frames[exit.to.0], &[], false, &name)
    }

    fn screen(&mut self, id: ScreenId, shared: &[usize]) -> Markup {
        let (side, device) = (self.side, &self.side.device);
        let frame = &self.frames[id.0];
        let cost = side.budget.screens.iter().enumerate().find(|(_, cost)| cost.screen == id);
        let name = title(device, id, self.locale);
        let own = side.budget.transitions.iter().enumerate().filter(|(_, way)| way.from == id);
        let (others, ways): (Vec<Listed<'_>>, Vec<Listed<'_>>) = own.partition(|(row, _)| shared.contains(row));
        let heading = format!("h-s{}", id.0);
        html! {
            article.screen id=(format!("s{}", id.0)) aria-labelledby=(heading) {
                h3 id=(heading) { (name) " " span.faint { (device.screens[id.0].id) } }
                img.glass src=(frame_address(frame)) width=(frame.width()) height=(frame.height()) alt=(format!("Screen {name} with sample values"));
                @if let Some((row, cost)) = cost {
                    @let at = |key: &str| format!("/screens/{row}/{key}");
                    dl.facts {
                        div { dt { "Black" } dd { (figure(&at("black_fraction"), cost.black, cost.black)) } }
                        div { dt { "Full refresh update latency" } dd { (figure(&at("full/latency_s"), cost.latency, cost.latency)) } }
                        div { dt { "Energy" } dd { (figure(&at("full/energy_j"), cost.energy, cost.energy)) } }
                        div { dt { "Charge" } dd { (figure(&at("full/charge_c"), cost.charge, format!("{} uAh", figures(cost.charge.0 / 3.6e-3)))) } }
                        div { dt { "Sent to the panel" } dd { (figure(&at("full/sent_bytes"), cost.bytes, format!("{} B", figures(cost.bytes)))) } }
                    }
                }
                @if ways.is_empty() && others.is_empty() {
                    p.faint { "Nothing leads from this screen." }
                } @else if !ways.is_empty() {
                    details {
                        summary {
                            (count(ways.len(), "transition", "transitions")) " from here"
                            @if !others.is_empty() { ", and " (count(others.len(), "common exit", "common exits")) }
                        }
                        (self.table(&format!("Transitions from {name}"), &ways, false))
                    }
                } @else {
                    p.faint { "Only common exits lead from here." }
                }
            }
        }
    }

    /// Ways with the picture that each leads to; `from` names where each begins, without the picture and the cause that all
    /// share, else where it leads to.
    fn table(&mut self, name: &str, ways: &[Listed<'_>], from: bool) -> Markup {
        let device = &self.side.device;
        let latencies = Scale::of(ways.iter().map(|(_, way)| way.change.latency.0), Seconds::SI);
        let energies = Scale::of(ways.iter().map(|(_, way)| way.change.energy.0), Joules::SI);
        html! {
            div.wide role="group" aria-label=(name) tabindex="0" {
                table.stack.ways {
                    caption.visually-hidden { (name) }
                    thead { tr {
                        @if !from { th scope="col" { "Image then" } th scope="col" { "By" } }
                        th scope="col" { @if from { "From" } @else { "To" } } th scope="col" { "Refresh" }
                        th.n scope="col" { "Pixels" } th.n scope="col" { "Update latency" } th.n scope="col" { "Energy" }
                    } }
                    tbody {
                        @for (row, way) in ways {
                            @let at = |key: &str| format!("/transitions/{row}/{key}");
                            tr {
                                @if from {
                                    th scope="row" data-label="From" { (self.place(way.from)) }
                                } @else {
                                    td.whole { (self.image(way)) }
                                    th scope="row" data-label="By" { (way.by(device)) }
                                    td data-label="To" { @if way.to == way.from { "itself" } @else { (self.place(way.to)) } }
                                }
                                td data-label="Refresh" { (refresh(way)) }
                                td.n data-label="Pixels" { (figure(&at("changed_px"), way.change.changed as f64, grouped(&way.change.changed.to_string()))) }
                                td.n data-label="Update latency" { (figure(&at("latency_s"), way.change.latency, latencies.show(way.change.latency.0))) }
                                td.n data-label="Energy" { (figure(&at("energy_j"), way.change.energy, energies.show(way.change.energy.0))) }
                            }
                        }
                    }
                }
            }
        }
    }
}

impl Drawing<'_> {
    /// A screen's title as a link to its part.
    fn place(&self, screen: ScreenId) -> Markup {
        html! { a href=(format!("#s{}", screen.0)) { (title(&self.side.device, screen, self.locale)) } }
    }

    /// What a transition leads to, with its update windows.
    fn image(&mut self, way: &Transition) -> Markup {
        let device = &self.side.device;
        let then = after(device, way.from, way.to, way.trigger, self.locale, self.sample);
        let whole = way.change.mode == Mode::Full && way.change.changed > 0;
        let name = format!("{} after {}", title(device, way.to, self.locale), way.by(device));
        let frame = then.as_ref().unwrap_or(&self.frames[way.to.0]);
        thumbnail(self.shelf, frame, &way.change.windows, whole, &name)
    }
}

fn refresh(way: &Transition) -> Markup {
    let window = |w: &embedded_graphics::primitives::Rectangle| {
        let [size, place] =
            [format!("{} x {}", w.size.width, w.size.height), format!("at {}, {}", w.top_left.x, w.top_left.y)];
        // Where its column is narrow, it is parted between the two.
        format!("{} {}", typeset(size), typeset(place))
    };
    html! {
        @if way.change.changed == 0 { "nothing changes" } @else { (way.change.mode.name()) }
        @for w in &way.change.windows { br; span.faint { (window(w)) } }
    }
}

/// The picture after a key that changes a field; `None` for other triggers, which show sample values.
fn after(
    device: &Device,
    from: ScreenId,
    to: ScreenId,
    trigger: Trigger,
    locale: usize,
    sample: &Values,
) -> Option<Frame> {
    let Trigger::Press(key) = trigger else { return None };
    let change = device.wirings[from.0].keys.get(key)?.press.plain()?.0?;
    let mut values = sample.clone();
    let field = &device.fields[change.field.0];
    values.now[change.field.0] = change.value(sample, &field.bounds(sample), 1.0)?;
    Some(device.draw(to, locale, &values))
}

//! One part for each screen: its picture, its full refresh, and the ways that lead from it.

use super::figure::{figure, typeset};
use super::picture::{Shelf, frame_address, thumbnail};
use super::walk::title;
use crate::behaviour::trigger::Trigger;
use crate::device::Device;
use crate::evaluation::Evaluation;
use crate::frame::Frame;
use crate::refresh::update::Mode;
use crate::screen::ScreenId;
use crate::screen::values::Values;
use crate::units::figures;
use maud::{Markup, html};

/// The section, and the shelf with the pictures that its thumbnails use.
pub fn section(side: &Evaluation, locale: usize, shelf: &mut Shelf) -> Markup {
    let device = &side.device;
    let sample = device.sample_in(locale);
    let frames: Vec<Frame> =
        (0..device.screens.len()).map(|index| device.draw(ScreenId(index), locale, &sample)).collect();
    html! {
        section id="screens" aria-labelledby="h-screens" {
            h2 id="h-screens" { "Screens" }
            p.prose {
                "With sample values, at " (typeset(side.budget.temperature)) ", in a quiet moment: no partial refreshes before. Update windows are outlined; a full refresh drives the whole glass."
            }
            @for index in 0..device.screens.len() {
                (screen(side, ScreenId(index), locale, &sample, &frames, shelf))
            }
        }
    }
}

fn screen(
    side: &Evaluation,
    id: ScreenId,
    locale: usize,
    sample: &Values,
    frames: &[Frame],
    shelf: &mut Shelf,
) -> Markup {
    let device = &side.device;
    let frame = &frames[id.0];
    let cost = side.budget.screens.iter().enumerate().find(|(_, cost)| cost.screen == id);
    let name = title(device, id, locale);
    let ways: Vec<_> = side.budget.transitions.iter().enumerate().filter(|(_, way)| way.from == id).collect();
    let heading = format!("h-s{}", id.0);
    html! {
        article.screen id=(format!("s{}", id.0)) aria-labelledby=(heading) {
            h3 id=(heading) { (name) " " span.faint { (device.screens[id.0].id) } }
            img.glass src=(frame_address(frame)) width=(frame.width()) height=(frame.height()) alt=(format!("Screen {name} with sample values"));
            @if let Some((row, cost)) = cost {
                @let at = |key: &str| format!("/screens/{row}/{key}");
                dl.facts {
                    div { dt { "Black" } dd { (figure(&at("black_fraction"), cost.black, cost.black)) } }
                    div { dt { "Full refresh visible after" } dd { (figure(&at("full/time_s"), cost.latency, cost.latency)) } }
                    div { dt { "Energy" } dd { (figure(&at("full/energy_j"), cost.energy, cost.energy)) } }
                    div { dt { "Charge" } dd { (figure(&at("full/charge_c"), cost.charge, format!("{} uAh", figures(cost.charge.0 / 3.6e-3)))) } }
                    div { dt { "Sent to the panel" } dd { (figure(&at("full/bytes_sent"), cost.bytes, format!("{} B", figures(cost.bytes)))) } }
                }
            }
            @if ways.is_empty() {
                p.faint { "Nothing leads from this screen." }
            } @else {
                div.wide role="group" aria-label=(format!("Ways from {name}")) tabindex="0" {
                    table.ways {
                        caption.visually-hidden { "Ways from " (name) }
                        thead { tr {
                            th scope="col" { "Picture then" } th scope="col" { "By" } th scope="col" { "To" } th scope="col" { "Refresh" }
                            th.n scope="col" { "Pixels" } th.n scope="col" { "Visible after" } th.n scope="col" { "Energy" }
                        } }
                        tbody {
                            @for (row, way) in &ways {
                                @let then = after(device, way.from, way.to, way.trigger, locale, sample).unwrap_or_else(|| frames[way.to.0].clone());
                                @let at = |key: &str| format!("/transitions/{row}/{key}");
                                @let to = title(device, way.to, locale);
                                tr {
                                    td { (thumbnail(shelf, &then, &way.change.windows, way.change.mode == Mode::Full && way.change.changed > 0, &format!("{to} after {}", way.by(device)))) }
                                    th scope="row" { (way.by(device)) }
                                    td { @if way.to == way.from { "itself" } @else { a href=(format!("#s{}", way.to.0)) { (to) } } }
                                    td { (refresh(way)) }
                                    td.n { (figure(&at("changed_px"), way.change.changed as f64, way.change.changed)) }
                                    td.n { (figure(&at("latency_s"), way.change.latency, way.change.latency)) }
                                    td.n { (figure(&at("energy_j"), way.change.energy, way.change.energy)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn refresh(way: &crate::budget::transition::Transition) -> Markup {
    let window = |w: &embedded_graphics::primitives::Rectangle| {
        typeset(format!("{} x {} at {}, {}", w.size.width, w.size.height, w.top_left.x, w.top_left.y))
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

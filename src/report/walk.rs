//! The instrument to click through: every screen with its soft keys in their physical places.
//!
//! A state is a screen with its sample values, or with those that keys of the same screen have changed. Keys are links
//! from state to state, so without the script they lead along the page.

use super::picture::frame_address;
use crate::behaviour::trigger::Trigger;
use crate::budget::summary::{Budget, Transition};
use crate::device::Device;
use crate::evaluation::Evaluation;
use crate::frame::Frame;
use crate::hardware::glass::KeyPlace;
use crate::hardware::glass::Side;
use crate::machine;
use crate::refresh::update::Mode;
use crate::screen::ScreenId;
use crate::screen::values::Values;
use crate::units::figures;
use maud::{Markup, html};

/// States of one screen beside its first one.
const STATES: usize = 24;

/// A screen with values.
struct State {
    screen: ScreenId,
    /// Its number among the screen's states; 0 has the sample values.
    number: usize,
    frame: Frame,
    /// Where each key leads, if it does anything.
    keys: Vec<Option<(ScreenId, usize)>>,
}

fn id(screen: ScreenId, number: usize) -> String {
    if number == 0 { format!("w{}", screen.0) } else { format!("w{}-{number}", screen.0) }
}

/// A screen's title in a locale, or its id.
pub fn title(device: &Device, screen: ScreenId, locale: usize) -> &str {
    let screen = &device.screens[screen.0];
    match screen.titles.get(locale).map(String::as_str) {
        None | Some("") => &screen.id,
        Some(title) => title,
    }
}

/// The states of a screen, found by pressing its keys until nothing new comes, or there are enough.
fn states(device: &Device, locale: usize, sample: &Values, screen: ScreenId) -> Vec<State> {
    let mut known: Vec<Values> = vec![sample.clone()];
    let mut states = Vec::new();
    let mut next = 0;
    while let Some(values) = known.get(next).cloned() {
        let mut keys = Vec::new();
        for rule in &device.wirings[screen.0].keys {
            let mut then = machine::State::new(device, screen);
            then.values = values.clone();
            let outcome = then.react(device, &rule.press, 1.0);
            let led = if !outcome.acted {
                None
            } else if then.screen != screen {
                Some((then.screen, 0))
            } else {
                let number = known.iter().position(|known| known.now == then.values.now).or_else(|| {
                    (known.len() <= STATES).then(|| {
                        known.push(then.values);
                        known.len() - 1
                    })
                });
                Some((screen, number.unwrap_or(next)))
            };
            keys.push(led);
        }
        let frame = device.draw(screen, locale, &values);
        states.push(State { screen, number: next, frame, keys });
        next += 1;
    }
    states
}

/// The section.
pub fn section(side: &Evaluation, locale: usize) -> Markup {
    let device = &side.device;
    let sample = device.sample();
    let all = (0..device.screens.len()).flat_map(|index| states(device, locale, &sample, ScreenId(index)));
    let home = device.usage.home;
    html! {
        section id="walk" aria-labelledby="h-walk" {
            h2 id="h-walk" { "Click through" }
            p.prose {
                "Every screen with its soft keys where they sit in the instrument. "
                span.script-only { "Press them with the mouse, or with the number keys while this part of the page has the focus. " }
                "Screens are entered with their sample values; keys that change a value work on within their screen."
            }
            div #walk-stage data-home=(id(home, 0)) {
                @for state in all { (instrument(side, &state, locale)) }
            }
            div.script-only.walk-foot {
                p #walk-said role="status" { "Shown first: " (title(device, home, locale)) "." }
                p {
                    button type="button" #walk-home { "Start again" }
                    " "
                    label { input type="checkbox" #walk-pace; " at the panel's true pace" }
                }
            }
        }
    }
}

fn instrument(side: &Evaluation, state: &State, locale: usize) -> Markup {
    let device = &side.device;
    let name = title(device, state.screen, locale);
    let screen_id = &device.screens[state.screen.0].id;
    let changed = if state.number == 0 { "" } else { ", a value changed" };
    let others = ways_without_keys(&side.budget, state.screen);
    html! {
        figure.instrument.changed[state.number > 0] id=(id(state.screen, state.number)) data-title=(name) {
            (bezel(side, state, locale, &format!("Screen {name}{changed}")))
            figcaption {
                strong { (name) } " " span.faint { (screen_id) (changed) }
                @for way in &others {
                    br;
                    a.way href=(format!("#{}", id(way.to, 0))) data-said=(said(way)) data-mode=(way.mode.name()) data-time=(way.latency.0) {
                        (way.by(device)) ": " (title(device, way.to, locale))
                    }
                }
            }
        }
    }
}

/// The picture between its keys: at one side as most instruments have them, or at any.
fn bezel(side: &Evaluation, state: &State, locale: usize, alt: &str) -> Markup {
    let glass = &side.device.glass;
    let picture = html! {
        img.glass src=(frame_address(&state.frame)) width=(state.frame.width()) height=(state.frame.height()) alt=(alt);
    };
    let keys = |at: Side| {
        html! {
            @for (index, place) in glass.keys_at(at) {
                (key(side, state, index, place, locale))
            }
        }
    };
    let sides: Vec<Side> = Side::ALL.into_iter().filter(|at| glass.keys_at(*at).next().is_some()).collect();
    if sides.len() <= 1 && glass.unplaced().next().is_none() {
        let at = sides.first().copied().unwrap_or(glass.side);
        return html! {
            div class=(format!("bezel {}", at.name())) {
                (picture)
                div.keys { (keys(at)) }
            }
        };
    }
    html! {
        div.bezel.sides {
            (picture)
            @for at in &sides {
                div class=(format!("keys at-{}", at.name())) { (keys(*at)) }
            }
            @if glass.unplaced().next().is_some() {
                div.keys.at-none {
                    @for (index, place) in glass.unplaced() {
                        (key(side, state, index, place, locale))
                        @if !place.name.is_empty() { span.faint { (place.name) } }
                    }
                }
            }
        }
    }
}

/// Timers and events of a screen.
fn ways_without_keys(budget: &Budget, screen: ScreenId) -> Vec<&Transition> {
    let from = budget.transitions.iter().filter(|way| way.from == screen);
    from.filter(|way| !matches!(way.trigger, Trigger::Press(_))).collect()
}

fn key(side: &Evaluation, state: &State, index: usize, place: &KeyPlace, locale: usize) -> Markup {
    let device = &side.device;
    let size = device.panel.size();
    let along = if place.side.is_none_or(Side::is_level) { size.width } else { size.height };
    let percent = |pixels: f64| 100.0 * pixels / f64::from(along.max(1));
    let start = f64::from(place.centre_px) - f64::from(place.width_px) / 2.0;
    let style = format!("--at:{:.2}%;--wide:{:.2}%", percent(start), percent(f64::from(place.width_px)));
    let number = index + 1;
    let Some((to, other)) = state.keys.get(index).copied().flatten() else {
        return html! { span.key.idle style=(style) { span.visually-hidden { "Key " } (number) span.visually-hidden { " does nothing here" } } };
    };
    let way =
        side.budget.transitions.iter().find(|way| way.from == state.screen && way.trigger == Trigger::Press(index));
    let what =
        if to == state.screen { "changes a value".to_owned() } else { format!("to {}", title(device, to, locale)) };
    html! {
        a.key href=(format!("#{}", id(to, other))) style=(style) data-key=(number)
            data-said=[way.map(said)] data-mode=[way.map(|way| way.mode.name())] data-time=[way.map(|way| way.latency.0)] {
            span.visually-hidden { "Key " } (number) span.visually-hidden { ", " (what) }
        }
    }
}

/// What a change of the glass costs, in a sentence.
fn said(way: &Transition) -> String {
    if way.changed == 0 {
        return "Nothing changes on the glass.".to_owned();
    }
    let windows = match (way.mode, way.windows.len()) {
        (Mode::Full, _) => "Full refresh".to_owned(),
        (Mode::Partial, 1) => "Partial refresh".to_owned(),
        (Mode::Partial, count) => format!("Partial refresh of {count} windows"),
    };
    let text =
        format!("{windows}, visible after {}, {}, {} px change.", way.latency, way.energy, figures(way.changed as f64));
    super::figure::typeset(text).replace('\u{a0}', " ")
}

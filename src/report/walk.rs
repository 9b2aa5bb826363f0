//! The instrument to click through: every screen and box with its soft keys in their physical places.
//!
//! A figure is a state of the machine: what is shown, the way back, the values. Keys are links from state to state, so
//! without the script they lead along the page; holds, timers, events, external power, the link and the charge are links
//! below the instrument.

use super::picture::frame_address;
use crate::behaviour::EventId;
use crate::behaviour::states::DeviceState;
use crate::budget::summary::Budget;
use crate::budget::transition::{PictureChange, picture_change};
use crate::cost::energy::window_cost;
use crate::device::Device;
use crate::evaluation::Evaluation;
use crate::frame::Frame;
use crate::hardware::display::KeyPlace;
use crate::hardware::display::Side;
use crate::machine::canvas::{drawn, scenes_of};
use crate::machine::explore::{By, arrive, fire, rules, saved};
use crate::machine::state::State;
use crate::refresh::update::{Mode, Planner};
use crate::screen::ScreenId;
use crate::screen::values::{FieldId, Values};
use crate::simulate::switches::stretches;
use crate::units::{Joules, Seconds, figures};
use maud::{Markup, html};
use std::collections::{BTreeMap, HashMap, HashSet};

/// States that the page holds beside the first one of each front. A state takes about 4 kB of the page.
const STATES: usize = 340;

/// What a reader can let happen.
#[derive(Clone, Copy, PartialEq)]
enum Act {
    /// A key, a timer, an event.
    By(By),
    /// A state of the device takes a value.
    State(DeviceState, f64),
}

impl Act {
    /// How far states are from one another: a press is what a reader tries first, what comes from outside last.
    fn distance(self) -> u32 {
        match self {
            Self::By(By::Press(_)) => 1,
            Self::By(By::Hold(_) | By::Release(_) | By::Timer(_)) => 2,
            Self::By(By::Event(_)) | Self::State(..) => 5,
        }
    }

    /// What a state becomes by it, and the screen that was entered; `None` where nothing is done.
    fn carry_out(self, device: &Device, state: &State) -> Option<(State, Option<ScreenId>)> {
        let put = |from: &State, of, value| arrive(device, from, device.states.field(of)?, value);
        match self {
            Self::By(by) => fire(device, state, by),
            Self::State(DeviceState::Usb, value) => {
                let (plugged, entered) = put(state, DeviceState::Usb, value)?;
                // A charger on the cable begins with it.
                let charges = put(&plugged, DeviceState::Charging, value);
                Some(charges.map_or((plugged, entered), |(then, later)| (then, later.or(entered))))
            }
            Self::State(of, value) => put(state, of, value),
        }
    }

    /// In words, on a screen or box.
    fn words(self, device: &Device, front: ScreenId) -> String {
        let (of, value) = match self {
            Self::By(by) => return by.trigger(&device.wirings[front.0]).words(&device.events),
            Self::State(of, value) => (of, value),
        };
        match (of, value > 0.5) {
            (DeviceState::Usb, true) => "USB plugged in".into(),
            (DeviceState::Usb, false) => "USB unplugged".into(),
            (DeviceState::Charging, true) => "charging begins".into(),
            (DeviceState::Charging, false) => "charging ends".into(),
            (DeviceState::Link, true) => "the link is back".into(),
            (DeviceState::Link, false) => "the link is lost".into(),
            (DeviceState::Charge, _) => format!("charge {value} %"),
        }
    }
}

/// The values that a state of the device may take besides its own: of the charge one in each stretch in which the device
/// acts alike, or a full, a middling and a low one.
fn turns(device: &Device, state: &State) -> Vec<Act> {
    let mut all = Vec::new();
    for of in DeviceState::ALL {
        let Some(field) = device.states.field(of) else { continue };
        let [low, high] = device.fields[field.0].range;
        let now = state.values.of(field);
        let values = match of {
            DeviceState::Charge => {
                let stretches = stretches(device);
                if stretches.is_empty() { vec![100.0, 50.0, 10.0] } else { stretches }
            }
            _ => vec![if now > 0.5 { 0.0 } else { 1.0 }],
        };
        let values = values.into_iter().map(|value| value.clamp(low, high)).filter(|value| *value != now);
        all.extend(values.map(|value| Act::State(of, value)));
    }
    all
}

/// A state of the machine as it is shown.
struct Shown {
    state: State,
    /// Its number among the states of its front; 0 has the sample values where nothing else is said.
    number: usize,
    frame: Frame,
    links: Vec<Link>,
}

/// What leads from a state to another.
struct Link {
    by: Act,
    /// The state that it leads to; `None` where the page does not hold it.
    to: Option<usize>,
    cost: Option<Cost>,
}

/// What an update takes.
#[derive(Clone)]
struct Cost {
    changed: u64,
    windows: usize,
    mode: Mode,
    latency: Seconds,
    energy: Joules,
}

fn id(screen: ScreenId, number: usize) -> String {
    if number == 0 { format!("w{}", screen.0) } else { format!("w{}-{number}", screen.0) }
}

/// A screen's title in a locale, or its id.
pub fn title(device: &Device, screen: ScreenId, locale: usize) -> &str {
    device.screens[screen.0].title(locale)
}

/// What tells two states apart: what is shown, the way back, the values, and what `cancel` would make of them.
#[derive(Clone, PartialEq, Eq, Hash)]
struct Key {
    layers: Vec<(ScreenId, Option<Vec<u64>>)>,
    back: Vec<ScreenId>,
    values: Vec<u64>,
    saved: Vec<Vec<(FieldId, u64)>>,
}

fn key(state: &State) -> Key {
    let bits = |values: &Values| values.now.iter().map(|value| value.to_bits()).collect::<Vec<_>>();
    // A frozen box shows what lies below as it was when it opened.
    let boxes = state.boxes.iter().map(|open| (open.screen, open.below.as_ref().map(bits)));
    Key {
        layers: [(state.screen, None)].into_iter().chain(boxes).collect(),
        back: state.back().to_vec(),
        values: bits(&state.values),
        saved: saved(state, |_| true),
    }
}

/// Every input of a state that the page offers.
fn inputs(device: &Device, state: &State) -> Vec<Act> {
    let own = rules(&device.wirings[state.front().0]).map(|(by, _)| by).filter(|by| !matches!(by, By::Event(_)));
    let all = own.chain((0..device.events.len()).map(|event| By::Event(EventId(event)))).map(Act::By);
    all.chain(turns(device, state)).collect()
}

/// The states of the page: that of every screen with its sample values, and those nearest to one of these.
fn near(device: &Device, locale: usize) -> Vec<State> {
    let sample = |screen: usize| {
        let mut state = State::sample(device, ScreenId(screen))?;
        state.values = device.spoken(state.values, locale);
        Some(state)
    };
    let mut all: Vec<State> = (0..device.screens.len()).filter_map(sample).collect();
    let mut known: HashSet<Key> = all.iter().map(key).collect();
    // The second number keeps states of one distance in the order in which they were found.
    let mut open: BTreeMap<(u32, usize), State> =
        all.iter().enumerate().map(|(place, state)| ((0, place), state.clone())).collect();
    let (mut count, mut seen) = (all.len(), HashSet::new());
    while let Some(((far, _), state)) = open.pop_first() {
        let key = key(&state);
        if !seen.insert(key.clone()) {
            continue;
        }
        if known.insert(key) {
            if all.len() >= STATES + device.screens.len() {
                break;
            }
            all.push(state.clone());
        }
        for by in inputs(device, &state) {
            if let Some((then, _)) = by.carry_out(device, &state) {
                count += 1;
                open.insert((far + by.distance(), count), then);
            }
        }
    }
    all
}

/// The states of the page as they are shown, with what leads from one to another.
fn states(device: &Device, budget: &Budget, locale: usize) -> Vec<Shown> {
    let mut counts = vec![0; device.screens.len()];
    let shown = |state: State| {
        let count = &mut counts[state.front().0];
        *count += 1;
        Shown { frame: drawn(device, &state, locale), number: *count - 1, state, links: Vec::new() }
    };
    let mut all: Vec<Shown> = near(device, locale).into_iter().map(shown).collect();
    let places: HashMap<Key, usize> = all.iter().enumerate().map(|(place, shown)| (key(&shown.state), place)).collect();
    let point = device.inputs.typical();
    let temperature = device.usage.climate.mean();
    let mut planner = Planner::new(window_cost(device, &point));
    for place in 0..all.len() {
        let from = all[place].state.front();
        for by in inputs(device, &all[place].state) {
            let Some((then, entered)) = by.carry_out(device, &all[place].state) else { continue };
            let to = places.get(&key(&then)).copied();
            if to == Some(place) {
                continue;
            }
            let Some(other) = to else {
                all[place].links.push(Link { by, to, cost: None });
                continue;
            };
            // With sample values the figures are the budget's.
            let trigger = match by {
                Act::By(by) => Some(by.trigger(&device.wirings[from.0])),
                Act::State(..) => None,
            };
            let told = budget.transitions.iter().find(|way| {
                all[place].number == 0 && way.from == from && way.to == then.front() && Some(way.trigger) == trigger
            });
            let pictures = (&all[place].frame, &all[other].frame);
            let cost = match told {
                Some(way) => Some(Cost::of(&way.change)),
                None => {
                    let scenes = scenes_of(device, &all[place].state, &all[other].state, locale);
                    picture_change(device, &point, temperature, &mut planner, entered, pictures, &scenes)
                        .map(|change| Cost::of(&change))
                }
            };
            all[place].links.push(Link { by, to, cost });
        }
    }
    all
}

impl Cost {
    fn of(change: &PictureChange) -> Self {
        let PictureChange { changed, windows, mode, latency, energy, .. } = change;
        Self { changed: *changed, windows: windows.len(), mode: *mode, latency: *latency, energy: *energy }
    }
}

/// The section.
pub fn section(side: &Evaluation, locale: usize) -> Markup {
    let device = &side.device;
    let all = states(device, &side.budget, locale);
    let home = device.usage.home;
    html! {
        section id="walk" aria-labelledby="h-walk" {
            h2 id="h-walk" { "Click through" }
            p.prose {
                "Every screen and box with its soft keys where they sit in the instrument. "
                span.script-only { "Press them with the mouse, or with the number keys while this part of the page has the focus. " }
                "It goes on as the device would, back history included; holds, timers, events, external power, the link and the charge are links below."
            }
            div #walk-stage data-home=(id(home, 0)) {
                @for shown in &all { (instrument(side, &all, shown, locale)) }
            }
            div.script-only.walk-foot {
                p #walk-said role="status" { "Shown first: " (title(device, home, locale)) "." }
                p {
                    button type="button" #walk-home { "Start again" }
                    " "
                    label { input type="checkbox" #walk-pace; " in the panel's real time" }
                }
            }
        }
    }
}

fn place(shown: &Shown) -> String {
    id(shown.state.front(), shown.number)
}

fn instrument(side: &Evaluation, all: &[Shown], shown: &Shown, locale: usize) -> Markup {
    let device = &side.device;
    let front = shown.state.front();
    let name = title(device, front, locale);
    let screen_id = &device.screens[front.0].id;
    let changed = if shown.number == 0 { "" } else { ", a value or the back history changed" };
    let others = shown.links.iter().filter(|link| !matches!(link.by, Act::By(By::Press(_))));
    html! {
        figure.instrument.changed[shown.number > 0] id=(place(shown)) data-title=(name) {
            (bezel(side, all, shown, locale, &format!("Screen {name}{changed}")))
            figcaption {
                strong { (name) } " " span.faint { (screen_id) (changed) }
                @for link in others {
                    br;
                    @match link.to.map(|to| &all[to]) {
                        None => { span.faint { (link.by.words(device, front)) ": " (BEYOND) } }
                        Some(to) => {
                            a.way href=(format!("#{}", place(to))) data-said=[link.cost.as_ref().map(said)]
                                data-mode=[link.cost.as_ref().map(|cost| cost.mode.name())] data-time=[link.cost.as_ref().map(|cost| cost.latency.0)] {
                                (link.by.words(device, front)) ": "
                                @if to.state.front() == front { "stays here" } @else { (title(device, to.state.front(), locale)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The picture between its keys: at one side as most instruments have them, or at any.
fn bezel(side: &Evaluation, all: &[Shown], shown: &Shown, locale: usize, alt: &str) -> Markup {
    let glass = &side.device.display;
    let picture = html! {
        img.glass src=(frame_address(&shown.frame)) width=(shown.frame.width()) height=(shown.frame.height()) alt=(alt);
    };
    let keys = |at: Side| {
        html! {
            @for (index, place) in glass.keys_at(at) {
                (key_link(side, all, shown, index, place, locale))
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
                        (key_link(side, all, shown, index, place, locale))
                        @if !place.name.is_empty() { span.faint { (place.name) } }
                    }
                }
            }
        }
    }
}

fn key_link(side: &Evaluation, all: &[Shown], shown: &Shown, index: usize, place: &KeyPlace, locale: usize) -> Markup {
    let device = &side.device;
    let size = device.panel.size();
    let along = if place.side.is_none_or(Side::is_level) { size.width } else { size.height };
    let percent = |pixels: f64| 100.0 * pixels / f64::from(along.max(1));
    let start = f64::from(place.centre_px) - f64::from(place.width_px) / 2.0;
    let style = format!("--at:{:.2}%;--wide:{:.2}%", percent(start), percent(f64::from(place.width_px)));
    let number = index + 1;
    let Some(link) = shown.links.iter().find(|link| link.by == Act::By(By::Press(index))) else {
        return html! { span.key.idle style=(style) { span.visually-hidden { "Key " } (number) span.visually-hidden { " does nothing here" } } };
    };
    let Some(to) = link.to.map(|to| &all[to]) else {
        return html! {
            span.key.idle.beyond style=(style) title=(BEYOND) data-beyond=(number) {
                span.visually-hidden { "Key " } (number) span.visually-hidden { ": " (BEYOND) }
            }
        };
    };
    let front = to.state.front();
    let what = match front == shown.state.front() {
        true => "changes a value".to_owned(),
        false => format!("to {}", title(device, front, locale)),
    };
    html! {
        a.key href=(format!("#{}", self::place(to))) style=(style) data-key=(number)
            data-said=[link.cost.as_ref().map(said)] data-mode=[link.cost.as_ref().map(|cost| cost.mode.name())]
            data-time=[link.cost.as_ref().map(|cost| cost.latency.0)] {
            span.visually-hidden { "Key " } (number) span.visually-hidden { ", " (what) }
        }
    }
}

/// What a link says that leads to a state beyond those of the page.
const BEYOND: &str = "shown only in the preview: this page ends here";

/// What a change of the panel costs, in a sentence.
fn said(way: &Cost) -> String {
    if way.changed == 0 {
        return "Nothing changes on the display.".to_owned();
    }
    let windows = match (way.mode, way.windows) {
        (Mode::Full, _) => "Full refresh".to_owned(),
        (Mode::Partial, 1) => "Partial refresh".to_owned(),
        (Mode::Partial, count) => format!("Partial refresh of {count} windows"),
    };
    let text = format!(
        "{windows}, update latency {}, {}, {} px change.",
        way.latency,
        way.energy,
        figures(way.changed as f64)
    );
    super::figure::typeset(text).replace('\u{a0}', " ")
}

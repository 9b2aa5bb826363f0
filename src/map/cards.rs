//! What is on the map: cards with pictures, ways with what they take. No places yet.

use crate::budget::passages::{PassageUpdate, passage_updates};
use crate::device::Device;
use crate::frame::Frame;
use crate::machine::canvas::pictured;
use crate::machine::explore::{By, STATES, explore, rules};
use crate::refresh::update::Mode;
use crate::screen::{Role, ScreenId};
use crate::units::{Joules, Seconds};
use std::collections::BTreeMap;

/// A map without places.
#[derive(Clone, Debug)]
pub struct Cards {
    /// The product.
    pub name: String,
    /// One for each screen and box, in the device's order.
    pub cards: Vec<Card>,
    /// The card of the home screen.
    pub home: usize,
    /// States of the flow that were looked at.
    pub states: usize,
    /// Whether these are all.
    pub complete: bool,
}

/// A screen or box.
#[derive(Clone, Debug)]
pub struct Card {
    /// Its title, or its id where it has none.
    pub title: String,
    /// Its id.
    pub id: String,
    /// It lies over another screen.
    pub over: bool,
    /// It is shown by the firmware itself, in this case.
    pub role: Option<&'static str>,
    /// Its picture; that of a box with what lies below.
    pub frame: Frame,
    /// Ways that lead here from most screens; they are not on those.
    pub entries: Vec<Entry>,
    /// Ways that lead from here.
    pub ways: Vec<Exit>,
}

/// A way that leads to a card from many others.
#[derive(Clone, Debug)]
pub struct Entry {
    /// What leads here.
    pub cause: String,
    /// From how many screens and boxes.
    pub from: usize,
    /// What it takes at most.
    pub takes: Option<Takes>,
}

/// A way from a card.
#[derive(Clone, Debug)]
pub struct Exit {
    /// `key 1`, `hold key 1`, `after 30 s`, `event frost`.
    pub cause: String,
    /// Where it leads.
    pub to: Leads,
    /// What it takes; `None` outside the panel's tables.
    pub takes: Option<Takes>,
}

/// Where a way leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Leads {
    /// It changes something here.
    Here,
    /// To this card.
    To(usize),
    /// To so many cards, by what was before.
    Many(usize),
}

/// What an update takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Takes {
    /// Energy at the battery.
    pub energy: Joules,
    /// From the cause to the visible picture.
    pub latency: Seconds,
    /// It is a full refresh.
    pub full: bool,
}

/// A cause that leads to one card from so many and from half of all is told once, at that card.
const ANYWHERE: usize = 6;
/// A way that leads to more cards than this is one way to many.
const SEVERAL: usize = 12;
/// So is one that leads back to more than these: what lies below a box, or where a screen was entered from.
const BACK: usize = 3;

/// What is on a device's map, its pictures in a locale.
pub fn cards(device: &Device, locale: usize) -> Cards {
    let found = explore(device, STATES);
    let point = device.inputs.typical();
    let ways: Vec<(Plain, Option<Takes>)> = passage_updates(device, &point, &found).iter().map(plain).collect();
    let mut cards: Vec<Card> = (0..device.screens.len()).map(|index| card(device, locale, ScreenId(index))).collect();
    let half = cards.len().div_ceil(2);
    let mut from_many: BTreeMap<(By, usize), Vec<Option<Takes>>> = BTreeMap::new();
    for (way, takes) in &ways {
        if matches!(way.by, By::Timer(_) | By::Event(_)) && way.from != way.to {
            from_many.entry((cause_of(device, way), way.to)).or_default().push(*takes);
        }
    }
    from_many.retain(|_, from| from.len() >= ANYWHERE.max(half));
    for ((by, to), from) in &from_many {
        let shown = ways.iter().find(|(way, _)| cause_of(device, way) == *by && way.to == *to);
        let cause = shown.map_or_else(String::new, |(way, _)| words(device, way.from, way.by));
        cards[*to].entries.push(Entry { cause, from: from.len(), takes: largest(from.iter().copied()) });
    }
    for (index, card) in cards.iter_mut().enumerate() {
        let mut own: Vec<(By, Targets)> = Vec::new();
        let here = ways.iter().filter(|(way, _)| way.from == index);
        for (way, takes) in here.filter(|(way, _)| !from_many.contains_key(&(cause_of(device, way), way.to))) {
            match own.iter_mut().find(|(by, _)| *by == way.by) {
                Some((_, targets)) => targets.push((way.to, *takes)),
                None => own.push((way.by, vec![(way.to, *takes)])),
            }
        }
        own.sort_by_key(|(by, _)| order(*by));
        for (by, mut targets) in own {
            if targets.len() > 1 {
                // What it does where nothing holds is not worth a line.
                targets.retain(|(to, takes)| *to != index || takes.is_some_and(|takes| takes.energy.0 > 0.0));
            }
            let cause = words(device, index, by);
            let named = named(device, index, by);
            let (back, ahead): (Targets, Targets) = targets.iter().copied().partition(|(to, _)| !named.contains(to));
            let (one, each) = if targets.len() > SEVERAL {
                (targets, Targets::new())
            } else if back.len() > BACK {
                (back, ahead)
            } else {
                (Targets::new(), targets)
            };
            if !one.is_empty() {
                let takes = largest(one.iter().map(|(_, takes)| *takes));
                card.ways.push(Exit { cause: cause.clone(), to: Leads::Many(one.len()), takes });
            }
            let targets = each;
            for (to, takes) in targets {
                let to = if to == index { Leads::Here } else { Leads::To(to) };
                card.ways.push(Exit { cause: cause.clone(), to, takes });
            }
        }
    }
    let home = device.usage.home.0;
    Cards { name: device.name.clone(), cards, home, states: found.states, complete: found.complete }
}

/// The cards that one cause leads to, and what each way takes.
type Targets = Vec<(usize, Option<Takes>)>;

/// A way by positions.
struct Plain {
    from: usize,
    by: By,
    to: usize,
}

/// Timers of different screens are alike where they wait equally long: those that hold anywhere are.
fn cause_of(device: &Device, way: &Plain) -> By {
    match way.by {
        By::Timer(timer) => {
            let wait = device.wirings[way.from].timers.get(timer).map_or(0.0, |timer| timer.wait.0);
            By::Timer((wait * 1e3).round() as usize)
        }
        other => other,
    }
}

fn order(by: By) -> (usize, usize) {
    match by {
        By::Press(key) => (key, 0),
        By::Hold(key) => (key, 1),
        By::Release(key) => (key, 2),
        By::Timer(timer) => (usize::MAX - 1, timer),
        By::Event(event) => (usize::MAX, event.0),
    }
}

/// The cards that a cause leads to by name; where else it leads is a way back.
fn named(device: &Device, from: usize, by: By) -> Vec<usize> {
    let own = rules(&device.wirings[from]).find(|(own, _)| *own == by);
    own.map_or_else(Vec::new, |(_, reaction)| reaction.targets().map(|screen| screen.0).collect())
}

fn words(device: &Device, from: usize, by: By) -> String {
    by.trigger(&device.wirings[from]).words(&device.events)
}

fn largest(all: impl Iterator<Item = Option<Takes>>) -> Option<Takes> {
    all.flatten().max_by(|a, b| a.energy.0.total_cmp(&b.energy.0))
}

/// What a way takes, by positions.
fn plain(way: &PassageUpdate) -> (Plain, Option<Takes>) {
    let takes = way.update.as_ref().map(|change| Takes {
        energy: change.energy,
        latency: change.latency,
        full: change.mode == Mode::Full && change.changed > 0,
    });
    (Plain { from: way.from.0, by: way.by, to: way.to.0 }, takes)
}

fn card(device: &Device, locale: usize, id: ScreenId) -> Card {
    let screen = &device.screens[id.0];
    let frame = pictured(device, id, locale);
    let title = screen.title(locale).to_owned();
    let role = match screen.role {
        Some(Role::BatteryEmpty) => Some("battery empty"),
        Some(Role::LinkLost) => Some("link lost"),
        Some(Role::Off) => Some("switched off"),
        _ => None,
    };
    let over = screen.over.is_some();
    Card { title, id: screen.id.clone(), over, role, frame, entries: Vec::new(), ways: Vec::new() }
}

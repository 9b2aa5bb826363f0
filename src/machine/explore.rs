//! Every state that keys, timers and events can bring a device into, up to a bound: to find screens that are never shown
//! and states that are never left.
//!
//! A state is what is in front, what lies below, the way back, the values of those fields on which the flow depends, and the
//! keys that are down where letting them go changes one of these, also after something else came to the front.
//! Sampled values and the device's own states stay as in the sample pictures; conditions on them are tried both ways,
//! since the world decides; so are those on numbers with more than [`MANY`] values. Where all the rest makes more states than
//! a sixteenth of the bound, it is explored anew with numbers of more than [`VALUES`] values tried both ways too, and events
//! at any time whatever their conditions. [`Exploration::loose`] says which numbers.

mod down;
mod follow;

use super::state::{State, complete};
use crate::behaviour::trigger::Trigger;
use crate::behaviour::{EventId, Reaction, Wiring};
use crate::device::Device;
use crate::screen::ScreenId;
use crate::screen::values::FieldId;
use crate::units::Seconds;
use down::Down;
use foldhash::fast::RandomState;
use follow::{Edge, Explorer, Follows};
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet, VecDeque};
use std::rc::Rc;

/// States looked at unless another bound is asked for.
pub const STATES: usize = 20_000;

/// A field with more values than these is never followed value by value.
pub const MANY: f64 = 256.0;

/// One with more than these is not where that would make more than a sixteenth of the states.
pub const VALUES: f64 = 64.0;

/// What was found.
#[derive(Clone, Debug)]
pub struct Exploration {
    /// States seen.
    pub states: usize,
    /// Whether these are all: the bound was not reached.
    pub complete: bool,
    /// For each screen or box whether some state shows it.
    pub shown: Vec<bool>,
    /// What is in front in states from which nothing leads back to the home screen, each once.
    pub trapped: Vec<ScreenId>,
    /// Every passage from a front to a front by a cause, each once, as it is first met.
    pub passages: Vec<Passage>,
    /// The alternatives that some state carries out.
    pub fired: BTreeSet<Rule>,
    /// Those that change what is shown, what lies below or the values in some state.
    pub moved: BTreeSet<Rule>,
    /// Events that go on making one another happen in the same moment, each set once, with what was in front before.
    pub endless: Vec<(ScreenId, Vec<EventId>)>,
    /// Fields with too many values to follow each: conditions on them are tried both ways.
    pub loose: Vec<FieldId>,
}

/// What makes a device act.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum By {
    /// A key is pressed, the first being 0.
    Press(usize),
    /// A key is held.
    Hold(usize),
    /// A key is let go.
    Release(usize),
    /// A timer of the front ends, by its position.
    Timer(usize),
    /// An event happens.
    Event(EventId),
}

impl By {
    /// The event, where it is one.
    fn event(self) -> Option<EventId> {
        match self {
            Self::Event(event) => Some(event),
            _ => None,
        }
    }

    /// What that is to a person, on a screen or box with these rules.
    pub fn trigger(self, wiring: &Wiring) -> Trigger {
        match self {
            Self::Press(key) => Trigger::Press(key),
            Self::Hold(key) => Trigger::Hold(key),
            Self::Release(key) => Trigger::Release(key),
            Self::Timer(timer) => Trigger::Timer(wiring.timers.get(timer).map_or(Seconds(0.0), |timer| timer.wait)),
            Self::Event(event) => Trigger::Event(event),
        }
    }
}

/// One alternative of one rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Rule {
    /// The screen or box that has it.
    pub screen: ScreenId,
    /// What it answers to.
    pub by: By,
    /// Its position among the alternatives.
    pub alternative: usize,
}

/// A step from one picture to the next.
#[derive(Clone, Debug)]
pub struct Passage {
    /// What makes the device act.
    pub by: By,
    /// Before.
    pub before: State,
    /// After; the same front where only fields change.
    pub after: State,
    /// The screen that was entered; none where a box opens or closes, or only fields change.
    pub entered: Option<ScreenId>,
}

/// Every rule of a screen or box, with what it does.
pub fn rules(wiring: &Wiring) -> impl Iterator<Item = (By, &Reaction)> {
    let keys = wiring.keys.iter().enumerate().flat_map(|(key, rule)| {
        let hold = rule.hold.as_ref().map(|hold| (By::Hold(key), &hold.reaction));
        [Some((By::Press(key), &rule.press)), hold, Some((By::Release(key), &rule.release))].into_iter().flatten()
    });
    let timers = wiring.timers.iter().enumerate().map(|(index, timer)| (By::Timer(index), &timer.reaction));
    keys.chain(timers).chain(wiring.events.iter().map(|(event, reaction)| (By::Event(*event), reaction)))
}

/// What tells two states apart: what is in front and below, the way back, values and what is saved of them, one list after
/// the other, each behind its length.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct Key(Vec<u64>);

/// Explores a device from its home screen, and from the screen of its power-up.
pub fn explore(device: &Device, bound: usize) -> Exploration {
    let all = explored(device, bound / 16, &Explorer::new(device, MANY, true));
    if all.complete {
        return all;
    }
    let some = Explorer::new(device, VALUES, false);
    explored(device, bound, &some)
}

fn explored(device: &Device, bound: usize, explorer: &Explorer<'_>) -> Exploration {
    let home = device.usage.home;
    let mut known: HashMap<(Key, Vec<Down>), usize, RandomState> = HashMap::default();
    let mut states = vec![Rc::new(State::new(device, home))];
    if device.usage.start_up != home {
        states.push(Rc::new(State::new(device, device.usage.start_up)));
    }
    states.iter().enumerate().for_each(|(index, state)| {
        known.insert((key(state, &explorer.fields), Vec::new()), index);
    });
    let mut down: Vec<Vec<Down>> = vec![Vec::new(); states.len()];
    let mut before: Vec<Vec<usize>> = vec![Vec::new(); states.len()];
    let mut complete = true;
    let mut open: VecDeque<usize> = (0..states.len()).collect();
    let (mut passages, mut fired, mut moved) = (Vec::new(), BTreeSet::new(), BTreeSet::new());
    let mut met: HashSet<(ScreenId, By, ScreenId), RandomState> = HashSet::default();
    let mut circles: BTreeMap<Vec<EventId>, ScreenId> = BTreeMap::new();
    while let Some(at) = open.pop_front() {
        for (Follows { edges, rest, endless }, kept) in explorer.next(&states[at], &down[at]) {
            for Edge { rule, before, after, entered } in edges {
                fired.insert(rule);
                if !moved.contains(&rule) && !same(&before, &after) {
                    moved.insert(rule);
                }
                // A key let go where it does not belong only changes fields.
                let late = matches!(rule.by, By::Release(_)) && rule.screen != before.front();
                if !late && met.insert((before.front(), rule.by, after.front())) {
                    let [before, after] = [before, after].map(Rc::unwrap_or_clone);
                    passages.push(Passage { by: rule.by, before, after, entered });
                }
            }
            if !endless.is_empty() {
                circles.entry(endless).or_insert(states[at].front());
            }
            let next = rest;
            let key = (key(&next, &explorer.fields), kept);
            let to = match known.get(&key) {
                Some(to) => *to,
                None if states.len() >= bound => {
                    complete = false;
                    continue;
                }
                None => {
                    down.push(key.1.clone());
                    known.insert(key, states.len());
                    states.push(next);
                    before.push(Vec::new());
                    open.push_back(states.len() - 1);
                    states.len() - 1
                }
            };
            // Switching the device off leads out of nothing.
            if !device.ends_use(states[to].screen) || device.ends_use(states[at].screen) {
                before[to].push(at);
            }
        }
    }
    let mut shown = vec![false; device.screens.len()];
    for state in &states {
        shown[state.screen.0] = true;
        state.boxes.iter().for_each(|open| shown[open.screen.0] = true);
    }
    // From where home is reached: walked backwards from every state that shows it alone.
    let mut returns = vec![false; states.len()];
    let at_home = |state: &State| state.screen == home && state.boxes.is_empty();
    let mut back: Vec<usize> = (0..states.len()).filter(|state| at_home(&states[*state])).collect();
    while let Some(at) = back.pop() {
        if !std::mem::replace(&mut returns[at], true) {
            back.extend(&before[at]);
        }
    }
    let trapped: BTreeSet<ScreenId> =
        states.iter().zip(&returns).filter(|(_, returns)| !**returns).map(|(state, _)| state.front()).collect();
    // What lies beyond the bound may lead home.
    let trapped = if complete { trapped.into_iter().collect() } else { Vec::new() };
    let endless = circles.into_iter().map(|(events, front)| (front, events)).collect();
    let loose = explorer.loose.clone();
    Exploration { states: states.len(), complete, shown, trapped, passages, fired, moved, endless, loose }
}

pub(super) fn key(state: &State, fields: &[FieldId]) -> Key {
    let mut key = Vec::with_capacity(3 + state.boxes.len() + state.back().len() + 2 * fields.len());
    let screen = |screen: &ScreenId| screen.0 as u64;
    key.push(1 + state.boxes.len() as u64);
    key.extend([&state.screen].into_iter().chain(state.boxes.iter().map(|open| &open.screen)).map(screen));
    key.push(state.back().len() as u64);
    key.extend(state.back().iter().map(screen));
    // Of fields there are always as many.
    key.extend(fields.iter().map(|field| state.values.of(*field).to_bits()));
    for layer in state.saved() {
        let length = key.len();
        key.push(0);
        for (field, value) in layer.iter().filter(|(field, _)| fields.contains(field)) {
            key.extend([field.0 as u64, value.to_bits()]);
            key[length] += 1;
        }
    }
    Key(key)
}

/// What `cancel` would put some of the edited fields back to, layer by layer, to tell states apart.
pub fn saved(state: &State, of: impl Fn(FieldId) -> bool) -> Vec<Vec<(FieldId, u64)>> {
    let layer = |saved: &[(FieldId, f64)]| {
        saved.iter().filter(|(field, _)| of(*field)).map(|(field, value)| (*field, value.to_bits())).collect()
    };
    state.saved().map(layer).collect()
}

/// Whether two states are alike in all that is shown and held.
fn same(a: &State, b: &State) -> bool {
    let layers = |state: &State| state.boxes.iter().map(|open| open.screen).collect::<Vec<_>>();
    a.screen == b.screen && a.back() == b.back() && layers(a) == layers(b) && a.values.now == b.values.now
}

/// What a state becomes by a cause and the events that follow from it, renewed values as they are, and the screen that was
/// entered. `None` where nothing is done.
pub fn fire(device: &Device, state: &State, by: By) -> Option<(State, Option<ScreenId>)> {
    let mut next = state.clone();
    if let By::Press(key) | By::Hold(key) | By::Release(key) = by {
        next.pressed(device, key);
    }
    let outcome = match by {
        By::Event(event) => next.happen(device, event),
        _ => {
            let (_, reaction) = rules(&device.wirings[state.front().0]).find(|(own, _)| *own == by)?;
            next.react(device, reaction, 1.0)
        }
    };
    outcome.acted.then(|| completed(device, next, outcome.entered))
}

/// What a state becomes when a field takes a value from outside, as [`fire`]. `None` where it has it already.
pub fn arrive(device: &Device, state: &State, field: FieldId, value: f64) -> Option<(State, Option<ScreenId>)> {
    if state.values.of(field) == value {
        return None;
    }
    let mut next = state.clone();
    next.values.set(field, value);
    next.keep_within(device, field);
    Some(completed(device, next, false))
}

/// The state after the events that follow from it, and the screen that was entered.
fn completed(device: &Device, mut next: State, mut entered: bool) -> (State, Option<ScreenId>) {
    complete(&mut next, device, |state| state, |state, event| entered |= state.happen(device, event).entered);
    let entered = entered.then_some(next.screen);
    (next, entered)
}

/// The fields that decide what is shown next, with at most [`MANY`] values each.
pub(super) fn deciding(device: &Device) -> Vec<FieldId> {
    Explorer::new(device, MANY, true).fields
}

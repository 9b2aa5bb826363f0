//! Every state that keys, timers and events can bring a device into, up to a bound: to find screens that are never shown
//! and states that are never left.
//!
//! A state is what is in front, what lies below, the way back, and the values of those fields on which the flow depends.
//! Sampled values and the device's own states stay as in the sample pictures; conditions on them are tried both ways,
//! since the world decides. So are conditions on a number with more values than [`VALUES`], which nobody counts through.

use super::state::State;
use crate::behaviour::field::{Motion, Renewal};
use crate::behaviour::states::DeviceState;
use crate::behaviour::trigger::Trigger;
use crate::behaviour::{Action, Alternative, Ends, EventId, FieldChange, How, Reaction, Target, Wiring};
use crate::device::Device;
use crate::screen::ScreenId;
use crate::screen::values::{Condition, FieldId};
use crate::units::Seconds;
use std::collections::{BTreeSet, HashMap, HashSet, VecDeque};

/// States looked at unless another bound is asked for.
pub const STATES: usize = 20_000;

/// A field with more values than these is not followed value by value.
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

/// What tells two states apart.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Key {
    layers: Vec<ScreenId>,
    back: Vec<ScreenId>,
    values: Vec<u64>,
}

/// Explores a device from its home screen, and from the screen of its power-up.
pub fn explore(device: &Device, bound: usize) -> Exploration {
    let free: Vec<bool> = (0..device.fields.len()).map(|field| is_free(device, FieldId(field))).collect();
    let fields = deciding(device, &free);
    let home = device.usage.home;
    let mut known: HashMap<Key, usize> = HashMap::new();
    let mut states = vec![State::new(device, home)];
    if device.usage.start_up != home {
        states.push(State::new(device, device.usage.start_up));
    }
    states.iter().enumerate().for_each(|(index, state)| {
        known.insert(key(state, &fields), index);
    });
    let mut before: Vec<Vec<usize>> = vec![Vec::new(); states.len()];
    let mut complete = true;
    let mut open: VecDeque<usize> = (0..states.len()).collect();
    let (mut passages, mut met, mut fired) = (Vec::new(), HashSet::new(), BTreeSet::new());
    while let Some(at) = open.pop_front() {
        for (rule, next, entered) in steps(device, &free, &states[at]) {
            fired.insert(rule);
            if met.insert((states[at].front(), rule.by, next.front())) {
                passages.push(Passage { by: rule.by, before: states[at].clone(), after: next.clone(), entered });
            }
            let key = key(&next, &fields);
            let to = match known.get(&key) {
                Some(to) => *to,
                None if states.len() >= bound => {
                    complete = false;
                    continue;
                }
                None => {
                    known.insert(key, states.len());
                    states.push(next);
                    before.push(Vec::new());
                    open.push_back(states.len() - 1);
                    states.len() - 1
                }
            };
            before[to].push(at);
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
    Exploration { states: states.len(), complete, shown, trapped, passages, fired }
}

fn key(state: &State, fields: &[FieldId]) -> Key {
    Key {
        layers: [state.screen].into_iter().chain(state.boxes.iter().map(|open| open.screen)).collect(),
        back: state.back().to_vec(),
        values: fields.iter().map(|field| state.values.of(*field).to_bits()).collect(),
    }
}

/// A state that follows: by which rule, and the screen that was entered.
type Edge = (Rule, State, Option<ScreenId>);

/// Every state that follows by one key, timer or event.
fn steps(device: &Device, free: &[bool], state: &State) -> Vec<Edge> {
    let mut all = Vec::new();
    let front = state.front();
    let own = rules(&device.wirings[front.0]).filter(|(by, _)| !matches!(by, By::Event(_)));
    for (by, reaction) in own {
        all.extend(outcomes(device, free, state, (front, by), reaction));
    }
    let layers: Vec<ScreenId> = state.boxes.iter().rev().map(|open| open.screen).chain([state.screen]).collect();
    for event in (0..device.events.len()).map(EventId) {
        let rules =
            layers.iter().flat_map(|layer| device.wirings[layer.0].events.iter().map(|(of, rule)| (*layer, of, rule)));
        if let Some((layer, _, reaction)) = rules.into_iter().find(|(_, of, _)| **of == event) {
            all.extend(outcomes(device, free, state, (layer, By::Event(event)), reaction));
        }
    }
    all
}

/// What a state becomes by a cause, its values as they are, and the screen that was entered. `None` where nothing is done.
pub fn fire(device: &Device, state: &State, by: By) -> Option<(State, Option<ScreenId>)> {
    let mut next = state.clone();
    let outcome = match by {
        By::Event(event) => next.happen(device, event),
        _ => {
            let (_, reaction) = rules(&device.wirings[state.front().0]).find(|(own, _)| *own == by)?;
            next.react(device, reaction, 1.0)
        }
    };
    let entered = outcome.entered.then_some(next.screen);
    outcome.acted.then_some((next, entered))
}

/// The states after a reaction: the alternative that holds, and those that the world's values may make hold.
fn outcomes(
    device: &Device,
    free: &[bool],
    state: &State,
    (screen, by): (ScreenId, By),
    reaction: &Reaction,
) -> Vec<Edge> {
    let mut all = Vec::new();
    for (alternative, one) in reaction.alternatives.iter().enumerate() {
        let decided = |condition: &&Condition| condition.fields().iter().any(|field| free[field.0]);
        let (open, fixed): (Vec<&Condition>, Vec<&Condition>) = one.when.iter().partition(decided);
        if !fixed.iter().all(|condition| condition.holds(&state.values)) {
            continue;
        }
        for actions in ways(&one.actions) {
            let mut next = state.clone();
            let only = Reaction { alternatives: vec![Alternative { when: Vec::new(), actions }] };
            let outcome = next.react(device, &only, 1.0);
            if outcome.acted {
                let entered = outcome.entered.then_some(next.screen);
                all.push((Rule { screen, by, alternative }, next, entered));
            }
        }
        if open.is_empty() {
            break;
        }
    }
    all
}

/// Whether the world moves a field.
fn moves(device: &Device, id: FieldId) -> bool {
    let field = &device.fields[id.0];
    let held = DeviceState::ALL.into_iter().any(|state| device.states.field(state) == Some(id));
    held || field.renewal != Renewal::Never || !matches!(field.motion, Motion::Still)
}

/// Whether conditions on a field are tried both ways: the world moves it, or it has too many values to follow each.
fn is_free(device: &Device, id: FieldId) -> bool {
    let field = &device.fields[id.0];
    let [low, high] = field.range;
    moves(device, id) || (high - low) / field.step >= VALUES
}

/// The field that names the digit that a change changes.
fn cursor(change: &FieldChange) -> Option<FieldId> {
    match change.how {
        How::Digit { cursor, .. } => Some(cursor),
        How::By(_) | How::To(_) => None,
    }
}

/// The ways that actions may go on where a change opens a box when a value would leave its range: values are not
/// followed as far as that, so both ways are taken.
fn ways(actions: &[Action]) -> Vec<Vec<Action>> {
    let stopped = |change: &FieldChange| FieldChange { ends: Ends::Clamp, ..*change };
    let mut ways = Vec::new();
    let mut done = Vec::new();
    for action in actions {
        let opens = match action {
            Action::Change(_) | Action::Pick(..) => action.targets(),
            _ => Vec::new(),
        };
        let with = |screen| done.iter().cloned().chain([Action::Open(screen)]).collect::<Vec<_>>();
        ways.extend(opens.iter().copied().map(with));
        done.push(match action {
            Action::Change(change) if !opens.is_empty() => Action::Change(stopped(change)),
            Action::Pick(by, changes) if !opens.is_empty() => Action::Pick(*by, changes.iter().map(stopped).collect()),
            other => other.clone(),
        });
    }
    ways.insert(0, done);
    ways
}

/// The fields on which it depends what is shown next: those of conditions and targets, and cursors that such changes read.
fn deciding(device: &Device, free: &[bool]) -> Vec<FieldId> {
    let mut fields = BTreeSet::new();
    let reactions = || device.wirings.iter().flat_map(|wiring| wiring.reactions());
    for reaction in reactions() {
        for alternative in &reaction.alternatives {
            fields.extend(alternative.when.iter().flat_map(Condition::fields));
        }
        for action in reaction.every_action() {
            if let Action::Go(Target::By(field, _)) = action {
                fields.insert(*field);
            }
        }
    }
    fields.retain(|field| !free[field.0]);
    // What changes a deciding digit depends on its cursor too.
    let cursors: Vec<FieldId> = reactions()
        .flat_map(Reaction::every_action)
        .flat_map(|action| match action {
            Action::Change(change) if fields.contains(&change.field) => vec![cursor(change)],
            Action::Pick(by, changes) if changes.iter().any(|change| fields.contains(&change.field)) => {
                [Some(*by)].into_iter().chain(changes.iter().map(cursor)).collect()
            }
            _ => Vec::new(),
        })
        .flatten()
        .collect();
    fields.extend(cursors);
    fields.into_iter().filter(|field| !free[field.0]).collect()
}

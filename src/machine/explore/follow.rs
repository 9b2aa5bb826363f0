//! The states that follow a state: what keys, timers and events lead to, run to completion as the machine does it, with
//! both answers where the world decides.

use super::{By, Rule, rules};
use crate::behaviour::field::{Motion, Renewal};
use crate::behaviour::states::DeviceState;
use crate::behaviour::{Action, Ends, EventId, FieldChange, How, Reaction, Target, Times};
use crate::device::Device;
use crate::machine::state::State;
use crate::screen::ScreenId;
use crate::screen::values::{Condition, FieldId};
use std::borrow::Cow;
use std::collections::BTreeSet;
use std::rc::Rc;

/// One rule carried out.
#[derive(Clone, Debug)]
pub(super) struct Edge {
    pub(super) rule: Rule,
    pub(super) before: Rc<State>,
    pub(super) after: Rc<State>,
    /// The screen that was entered.
    pub(super) entered: Option<ScreenId>,
}

/// What a state leads to by one input.
#[derive(Clone)]
pub(super) struct Follows {
    /// The rules carried out, in order.
    pub(super) edges: Vec<Edge>,
    /// The state in which the device comes to rest.
    pub(super) rest: Rc<State>,
    /// Events that go on making one another happen.
    pub(super) endless: Vec<EventId>,
}

/// How a device is explored: which fields decide what is shown next, and on which the world does.
pub(super) struct Explorer<'d> {
    pub(super) device: &'d Device,
    free: Vec<bool>,
    /// The fields on which it depends what is shown next, and whose values are followed.
    pub(super) fields: Vec<FieldId>,
    /// Fields with too many values to follow each.
    pub(super) loose: Vec<FieldId>,
    /// Keys whose release decides what is shown next: they are followed while they stay down.
    pub(super) late: Vec<(ScreenId, usize)>,
    /// Conditions of events are followed too; else their events may happen at any time.
    conditions: bool,
}

impl<'d> Explorer<'d> {
    /// Follows the values of fields that have at most `most` of them, and the conditions of events where these are wanted.
    pub(super) fn new(device: &'d Device, most: f64, conditions: bool) -> Self {
        let all = || (0..device.fields.len()).map(FieldId);
        let counted = |id: FieldId| device.fields[id.0].within.is_some_and(|count| moves(device, count));
        let worldly: Vec<bool> = all().map(|id| moves(device, id) || counted(id)).collect();
        let deciding = deciding(device, &worldly, conditions);
        let many = |id: FieldId| {
            let field = &device.fields[id.0];
            (field.range[1] - field.range[0]) / field.step >= most
        };
        let loose: Vec<FieldId> = deciding.iter().copied().filter(|id| many(*id)).collect();
        let free: Vec<bool> = all().map(|id| worldly[id.0] || loose.contains(&id)).collect();
        let fields: BTreeSet<FieldId> = deciding.into_iter().filter(|id| !free[id.0]).collect();
        let fields: Vec<FieldId> = with_cursors(device, fields).into_iter().filter(|id| !free[id.0]).collect();
        let late = super::down::deciding(device, &fields);
        Self { device, free, fields, loose, late, conditions }
    }

    fn open(&self, condition: &Condition) -> bool {
        condition.fields().iter().any(|field| self.free[field.0])
    }

    /// Whether an event happens by a condition that is followed: then it happens when that becomes true, and else not.
    fn followed(&self, event: EventId) -> bool {
        let event = &self.device.events[event.0];
        self.conditions
            && matches!(event.times, Times::When(condition) if !self.open(&condition))
            && !event.only.iter().any(|condition| self.open(condition))
    }

    /// Every state that follows by one key, timer or event.
    pub(super) fn steps(&self, state: &Rc<State>) -> Vec<Follows> {
        let mut all = Vec::new();
        let front = state.front();
        let own = rules(&self.device.wirings[front.0]).filter(|(by, _)| !matches!(by, By::Event(_)));
        for (by, reaction) in own {
            all.extend(self.outcomes(state, (front, by), reaction, false));
        }
        for event in (0..self.device.events.len()).map(EventId).filter(|event| !self.followed(*event)) {
            let mut fixed = self.device.events[event.0].only.iter().filter(|condition| !self.open(condition));
            if !self.conditions || fixed.all(|condition| condition.holds(&state.values)) {
                all.extend(self.happen(state, event));
            }
        }
        all.into_iter().flat_map(|edge| self.completed(vec![edge], 0)).collect()
    }

    /// What an event leads to: the rule of the front, else of what lies below.
    fn happen(&self, state: &Rc<State>, event: EventId) -> Vec<Edge> {
        let layers = state.boxes.iter().rev().map(|open| open.screen).chain([state.screen]);
        let mut rules = layers.flat_map(|layer| {
            self.device.wirings[layer.0]
                .events
                .iter()
                .filter(|(of, _)| *of == event)
                .map(move |(_, rule)| (layer, rule))
        });
        let Some((layer, reaction)) = rules.next() else { return Vec::new() };
        self.outcomes(state, (layer, By::Event(event)), reaction, false)
    }

    /// Lets the events happen whose conditions have become true, which may make others true.
    pub(super) fn completed(&self, edges: Vec<Edge>, round: usize) -> Vec<Follows> {
        let Some(last) = edges.last() else { return Vec::new() };
        if last.after.is_settled(self.device) {
            return vec![Follows { rest: last.after.clone(), edges, endless: Vec::new() }];
        }
        let mut rest = State::clone(&last.after);
        let risen: Vec<EventId> = rest.risen(self.device).into_iter().filter(|event| self.followed(*event)).collect();
        let rest = Rc::new(rest);
        if risen.is_empty() {
            return vec![Follows { edges, rest, endless: Vec::new() }];
        }
        if round > self.device.events.len() {
            // More rounds than there are events: some happened twice.
            let events: Vec<EventId> = edges.iter().filter_map(|edge| edge.rule.by.event()).collect();
            let again = |event: &EventId| events.iter().filter(|other| *other == event).count() > 1;
            let endless: BTreeSet<EventId> = events.iter().copied().filter(again).collect();
            return vec![Follows { edges, rest, endless: endless.into_iter().collect() }];
        }
        let begun = edges.len();
        let mut ways = vec![(edges, rest)];
        for event in &risen {
            ways = ways
                .into_iter()
                .flat_map(|(edges, state)| {
                    let after = self.happen(&state, *event);
                    let on = |edge: Edge| {
                        let state = edge.after.clone();
                        (edges.iter().cloned().chain([edge]).collect::<Vec<_>>(), state)
                    };
                    match after.is_empty() {
                        true => vec![(edges, state)],
                        false => after.into_iter().map(on).collect(),
                    }
                })
                .collect();
        }
        let on = |(edges, state): (Vec<Edge>, Rc<State>)| match edges.len() > begun {
            true => self.completed(edges, round + 1),
            // No rule answered to any of them: at rest.
            false => vec![Follows { edges, rest: state, endless: Vec::new() }],
        };
        ways.into_iter().flat_map(on).collect()
    }

    /// The states after a reaction: the alternative that holds, and those that the world's values may make hold. What
    /// `stays` only changes fields.
    pub(super) fn outcomes(
        &self,
        state: &Rc<State>,
        (screen, by): (ScreenId, By),
        reaction: &Reaction,
        stays: bool,
    ) -> Vec<Edge> {
        let mut all = Vec::new();
        for (alternative, one) in reaction.alternatives.iter().enumerate() {
            let (open, fixed): (Vec<&Condition>, Vec<&Condition>) =
                one.when.iter().partition(|condition| self.open(condition));
            if !fixed.iter().all(|condition| condition.holds(&state.values)) {
                continue;
            }
            for actions in self.ways(&one.actions) {
                let mut next = State::clone(state);
                let outcome = next.act(self.device, &actions, 1.0, stays);
                if outcome.acted {
                    let entered = outcome.entered.then_some(next.screen);
                    all.push(Edge {
                        rule: Rule { screen, by, alternative },
                        before: state.clone(),
                        after: Rc::new(next),
                        entered,
                    });
                }
            }
            if open.is_empty() {
                break;
            }
        }
        all
    }

    /// The ways that actions may go on where a change opens a box when a value would leave its range: values are not
    /// followed as far as that, so both ways are taken. So are all the screens of a list where the world says which.
    fn ways<'a>(&self, actions: &'a [Action]) -> Vec<Cow<'a, [Action]>> {
        let one_way = |action: &Action| match action {
            Action::Change(_) | Action::Pick(..) => action.targets().is_empty(),
            Action::Go(Target::By { field, rows, .. }) => !self.decided_by_world(*field, *rows),
            _ => true,
        };
        if actions.iter().all(one_way) {
            return vec![Cow::Borrowed(actions)];
        }
        let stopped = |change: &FieldChange| FieldChange { ends: Ends::Clamp, ..*change };
        let mut ways = Vec::new();
        let mut done: Vec<Vec<Action>> = vec![Vec::new()];
        for action in actions {
            let opens = match action {
                Action::Change(_) | Action::Pick(..) => action.targets(),
                _ => Vec::new(),
            };
            let with = |screen| done.iter().map(move |done| [done.as_slice(), &[Action::Open(screen)]].concat());
            ways.extend(opens.iter().copied().flat_map(with));
            let on: Vec<Action> = match action {
                Action::Change(change) if !opens.is_empty() => vec![Action::Change(stopped(change))],
                Action::Pick(by, changes) if !opens.is_empty() => {
                    vec![Action::Pick(*by, changes.iter().map(stopped).collect())]
                }
                Action::Go(Target::By { field, screens, rows }) if self.decided_by_world(*field, *rows) => {
                    let screens: BTreeSet<ScreenId> = screens.iter().copied().collect();
                    // Without rows it leads nowhere.
                    let nowhere = rows.map(|_| Target::By { field: *field, screens: Vec::new(), rows: None });
                    screens.into_iter().map(Target::Screen).chain(nowhere).map(Action::Go).collect()
                }
                other => vec![other.clone()],
            };
            done = done
                .iter()
                .flat_map(|done| on.iter().map(|on| [done.as_slice(), std::slice::from_ref(on)].concat()))
                .collect();
        }
        done.append(&mut ways);
        done.into_iter().map(Cow::Owned).collect()
    }

    /// Whether the world says which of several screens it is.
    fn decided_by_world(&self, field: FieldId, rows: Option<FieldId>) -> bool {
        self.free[field.0] || rows.is_some_and(|rows| self.free[rows.0])
    }
}

/// Whether the world moves a field, or time does.
fn moves(device: &Device, id: FieldId) -> bool {
    let field = &device.fields[id.0];
    let held = DeviceState::ALL.into_iter().any(|state| device.states.field(state) == Some(id));
    held || device.flow_state.is_recent(id) || field.renewal != Renewal::Never || !matches!(field.motion, Motion::Still)
}

/// The field that names the digit that a change changes.
fn cursor(change: &FieldChange) -> Option<FieldId> {
    match change.how {
        How::Digit { cursor, .. } => Some(cursor),
        How::By(_) | How::To(_) => None,
    }
}

/// The fields on which it depends what is shown next: those of conditions and targets, and of events where wanted.
fn deciding(device: &Device, free: &[bool], conditions: bool) -> BTreeSet<FieldId> {
    let mut fields = BTreeSet::new();
    let reactions = || device.wirings.iter().flat_map(|wiring| wiring.reactions());
    for reaction in reactions() {
        for alternative in &reaction.alternatives {
            fields.extend(alternative.when.iter().flat_map(Condition::fields));
        }
        for action in reaction.every_action() {
            if let Action::Go(Target::By { field, rows, .. }) = action {
                fields.extend(rows.iter().chain([field]));
            }
        }
    }
    // Conditions of events count where the event changes what is shown, or such a field.
    let rules = |event: EventId| {
        device
            .wirings
            .iter()
            .flat_map(|wiring| &wiring.events)
            .filter(move |(of, _)| *of == event)
            .map(|(_, rule)| rule)
    };
    let mut open: Vec<EventId> = (0..device.events.len()).map(EventId).filter(|_| conditions).collect();
    loop {
        let matters = |event: &EventId| {
            rules(*event).flat_map(Reaction::every_action).any(|action| match action {
                Action::Change(change) => fields.contains(&change.field) || !action.targets().is_empty(),
                Action::Pick(_, changes) => changes.iter().any(|change| fields.contains(&change.field)),
                _ => true,
            })
        };
        let (now, rest): (Vec<EventId>, Vec<EventId>) = open.into_iter().partition(matters);
        if now.is_empty() {
            break;
        }
        open = rest;
        for event in now.into_iter().map(|event| &device.events[event.0]) {
            if let Times::When(condition) = event.times {
                fields.extend(condition.fields());
            }
            fields.extend(event.only.iter().flat_map(Condition::fields));
        }
    }
    fields.retain(|field| !free[field.0]);
    fields
}

/// Fields and the cursors on which it depends how they change: what changes a digit depends on which.
fn with_cursors(device: &Device, mut fields: BTreeSet<FieldId>) -> BTreeSet<FieldId> {
    let reactions = device.wirings.iter().flat_map(|wiring| wiring.reactions());
    let cursors: Vec<FieldId> = reactions
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
    fields
}

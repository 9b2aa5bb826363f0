//! From what keys, timers and events do by name to what they do by position; what cannot be meant is refused here.

use super::flow::Names;
use super::screens::condition;
use crate::behaviour::{
    Action, Alternative, EventId, Hold, KeyRule, Reaction, Repeat, Since, Timer, Wiring, WrittenKey,
};
use crate::elements::scope::no_field;
use crate::limits;
use crate::project::device::AnywhereSpec;
use crate::project::rules::{Acting, Actions, FasterSpec, KeySpec, SinceSpec};
use crate::project::screen::{RulesSpec, ScreenSpec};
use crate::screen::ScreenId;
use crate::source::amount::{At, Qty};
use crate::source::fault::{Fault, no_such};
use crate::source::spans::Span;
use crate::units::{Seconds, plain_time};

/// Settles the rules of one screen, with those that hold anywhere where the screen says nothing else.
pub fn wiring(
    spec: &ScreenSpec,
    here: ScreenId,
    anywhere: Option<&RulesSpec<'_>>,
    names: &Names<'_>,
    faults: &mut Vec<Fault>,
) -> Wiring {
    let find = |name: &At<String>| names.field(name);
    let mut edits = Vec::new();
    for name in &spec.head.edit {
        match find(name) {
            Some(field) => {
                edits.push(field);
                edits.extend(&names.fields[field.0].text);
            }
            None => faults.push(no_field(name, names.fields)),
        }
    }
    let mut settle = Settle { names, here, edits: !edits.is_empty(), faults };
    let mut wiring = settle.rules(&spec.head.rules());
    wiring.edits = edits;
    if let Some(anywhere) = anywhere {
        // What is wrong there is told once, where it stands: see `anywhere`.
        let mut told = Vec::new();
        let mut settle = Settle { names, here, edits: settle.edits, faults: &mut told };
        let general = settle.rules(anywhere);
        for (own, general) in wiring.keys.iter_mut().zip(general.keys) {
            if !own.acts() && own.repeat.is_none() {
                *own = general;
            } else if own.hold.is_none() && own.repeat.is_none() {
                own.hold = general.hold;
            }
        }
        // A key that the screen lists without any action does nothing here.
        for (number, _) in spec.head.keys.iter().filter(|(_, key)| !key.value.acts()) {
            if let Some(key) = number.parse().ok().and_then(|number| names.key(number)) {
                wiring.keys[key] = KeyRule::default();
            }
        }
        for (own, general) in wiring.written.iter_mut().zip(&general.written) {
            if let (Some(own), Some(_)) = (own, general) {
                own.excepts = true;
            }
        }
        let own: Vec<EventId> = spec.head.on.keys().filter_map(|name| names.event(name)).collect();
        wiring.events.extend(general.events.into_iter().filter(|(event, _)| !own.contains(event)));
        wiring.timers.extend(general.timers);
    }
    wiring.events.retain(|(_, reaction)| reaction.acts());
    wiring
}

/// Notes what is wrong with the rules that hold anywhere.
pub fn anywhere(spec: &RulesSpec<'_>, home: ScreenId, names: &Names<'_>, faults: &mut Vec<Fault>) {
    Settle { names, here: home, edits: true, faults }.rules(spec);
}

/// Which screens another one leads to, whatever else is wrong.
pub fn entered(anywhere: &AnywhereSpec, screens: &[(String, ScreenSpec)], ids: &[String], home: &str) -> Vec<bool> {
    let mut entered = vec![false; ids.len()];
    let mut note = |from: Option<usize>, spec: &RulesSpec<'_>| {
        let keys = spec.keys.values().flat_map(|key| {
            let KeySpec { hold, release, .. } = &key.value;
            let hold = hold.as_ref().map(|hold| hold.value.actions());
            [Some(key.value.actions()), hold, release.as_ref().map(|on| on.value.actions())].into_iter().flatten()
        });
        let timers = spec.after.iter().map(|timer| timer.value.actions());
        let events = spec.on.values().map(|on| on.value.actions());
        for name in keys.chain(timers).chain(events).flat_map(|actions| actions.targets()) {
            let found = ids.iter().position(|id| *id == name).filter(|found| Some(*found) != from);
            found.into_iter().for_each(|found| entered[found] = true);
        }
    };
    note(ids.iter().position(|id| id == home), &anywhere.rules());
    screens.iter().enumerate().for_each(|(index, (_, spec))| note(Some(index), &spec.head.rules()));
    entered
}

impl KeySpec {
    /// Whether it says that anything is done.
    pub fn acts(&self) -> bool {
        self.actions().any() || self.hold.is_some() || self.release.is_some()
    }
}

pub(super) struct Settle<'a, 'n> {
    pub(super) names: &'a Names<'n>,
    /// The screen whose rules these are.
    pub(super) here: ScreenId,
    /// It edits fields.
    pub(super) edits: bool,
    pub(super) faults: &'a mut Vec<Fault>,
}

impl Settle<'_, '_> {
    pub(super) fn fault(&mut self, fault: Fault) {
        self.faults.push(fault);
    }

    fn rules(&mut self, spec: &RulesSpec<'_>) -> Wiring {
        let keys = self.names.keys;
        let mut wiring =
            Wiring { keys: vec![KeyRule::default(); keys], written: vec![None; keys], ..Wiring::default() };
        for (number, key) in spec.keys {
            let Some(position) = number.parse().ok().and_then(|number| self.names.key(number)) else {
                self.fault(super::flow::no_key(key.span.clone(), number, keys));
                continue;
            };
            wiring.keys[position] = self.key(key);
            let labelled = key.value.is_labelled();
            wiring.written[position] = Some(WrittenKey { span: key.span.clone(), labelled, excepts: false });
        }
        for timer in spec.after {
            let Some(wait) = &timer.value.wait else {
                self.fault(Fault::at(timer.span.clone(), "a timer needs `wait`").help("write wait = \"30 s\""));
                continue;
            };
            let wait = self.time(wait, "a timer waits", limits::TIMER);
            let reaction = self.reaction(&timer.span, timer.value.actions());
            if !reaction.acts() {
                self.fault(
                    Fault::at(timer.span.clone(), "this timer does nothing")
                        .rests_on(&timer.span)
                        .help("write go = \"...\""),
                );
            }
            let since = match timer.value.since {
                SinceSpec::Press => Since::Press,
                SinceSpec::Entry => Since::Entry,
            };
            wiring.timers.push(Timer { wait, since, reaction });
        }
        for (name, on) in spec.on {
            let Some(event) = self.names.event(name) else {
                self.fault(no_such("event", "events", (name, &on.span), self.names.events.iter().copied()));
                continue;
            };
            let reaction = self.reaction(&on.span, on.value.actions());
            wiring.events.push((event, reaction));
        }
        wiring
    }

    fn key(&mut self, key: &At<KeySpec>) -> KeyRule {
        let spec = &key.value;
        let press = self.reaction(&key.span, spec.actions());
        let hold = spec.hold.as_ref().map(|hold| {
            let after = hold.value.after.as_ref();
            let after = after.map_or(Seconds(1.0), |after| self.time(after, "a hold takes", limits::HOLD));
            let reaction = self.reaction(&hold.span, hold.value.actions());
            if !reaction.acts() {
                self.fault(
                    Fault::at(hold.span.clone(), "this hold does nothing")
                        .rests_on(&hold.span)
                        .help("write go = \"...\""),
                );
            }
            Hold { after, reaction }
        });
        let repeat = spec.repeat.as_ref().map(|repeat| {
            let after = repeat.value.after.as_ref();
            let after = after.map_or(Seconds(0.6), |after| self.time(after, "repetitions begin after", limits::REPEAT));
            let every = self.time(&repeat.value.every, "a press is repeated", limits::REPEAT);
            let faster = repeat.value.faster.as_ref().map(|faster| {
                let FasterSpec { from, times } = faster.value;
                if from == 0 || !(1.0..=10_000.0).contains(&times) {
                    let fault = Fault::at(faster.span.clone(), "larger steps begin at a repetition from 1 on");
                    self.fault(fault.help("write faster = { from = 10, times = 10 }"));
                }
                (from.max(1), times.clamp(1.0, 10_000.0))
            });
            if !press.acts() {
                self.fault(
                    Fault::at(repeat.span.clone(), "there is no press to repeat")
                        .rests_on(&key.span)
                        .help("add change = { ... }"),
                );
            }
            Repeat { after, every, faster }
        });
        if hold.is_some() && repeat.is_some() {
            let fault = Fault::at(key.span.clone(), "a key either repeats its press or has a hold, not both");
            self.fault(fault.help("while it stays down the two cannot be distinguished"));
        }
        let release = spec.release.as_ref();
        let release = release.map_or(Reaction::default(), |on| self.reaction(&on.span, on.value.actions()));
        KeyRule { press, hold, repeat, release }
    }

    /// A time within bounds.
    fn time(&mut self, time: &At<Qty<Seconds>>, what: &str, [least, most]: [Seconds; 2]) -> Seconds {
        let value = time.value.0;
        if !(least..=most).contains(&value) {
            let fault = Fault::at(
                time.span.clone(),
                format!("{what} {} to {}, found {}", plain_time(least), plain_time(most), plain_time(value)),
            );
            self.fault(fault.help(format!("write a time from \"{}\" to \"{}\"", plain_time(least), plain_time(most))));
        }
        Seconds(value.0.clamp(least.0, most.0)).to_milliseconds()
    }

    fn reaction(&mut self, span: &Span, spec: Actions<'_>) -> Reaction {
        let direct = spec.cancel || spec.change.is_some() || spec.go.is_some() || spec.back;
        let direct = direct || spec.open.is_some() || spec.close;
        let kinds = [direct, !spec.more.is_empty(), !spec.first.is_empty()];
        if kinds.iter().filter(|kind| **kind).count() > 1 {
            let fault =
                Fault::at(span.clone(), "actions are written as keys, as a list `do`, or as alternatives `first`");
            self.fault(fault.help("move all of them into do = [ ... ], or into the alternatives of first = [ ... ]"));
        }
        if !spec.first.is_empty() {
            return self.alternatives(spec);
        }
        let mut actions = self.each(spec.more);
        actions.extend(spec.cancel.then(|| self.cancel(span)).flatten());
        actions.extend(spec.change.and_then(|change| self.change(&change.value, &change.span)));
        actions.extend(spec.go.and_then(|go| self.go(&go.value, &go.span)));
        actions.extend(spec.back.then(|| self.back(span)).flatten());
        actions.extend(spec.close.then(|| self.close(span)).flatten());
        actions.extend(spec.open.and_then(|open| self.open(&open.value, &open.span)));
        self.none_undone(&actions, span);
        Reaction::always(actions)
    }

    /// Of actions in order none undoes what an earlier one decided: ways back, or one `go`, then boxes.
    fn none_undone(&mut self, actions: &[Action], span: &Span) {
        let leads: Vec<&Action> = actions
            .iter()
            .filter(|action| !matches!(action, Action::Change(_) | Action::Pick(..) | Action::Cancel))
            .collect();
        let undone = |pair: &[&Action]| match pair[1] {
            // It closes all boxes and does not ask where it is done.
            Action::Go(_) => true,
            Action::Back | Action::Close => matches!(pair[0], Action::Go(_) | Action::Open(_)),
            _ => false,
        };
        if leads.windows(2).any(undone) {
            let fault = Fault::at(span.clone(), "only one of these actions can decide what is shown next");
            self.fault(fault.help(
                "keep one of `go`, `back` and `close`; `back` and `close` may follow one another, and `open` may follow each of them",
            ));
        }
    }

    fn alternatives(&mut self, spec: Actions<'_>) -> Reaction {
        let mut alternatives = Vec::new();
        for (place, one) in spec.first.iter().enumerate() {
            let when = match &one.value.when {
                Some(when) => condition(&when.value, &when.span, self.names.fields, self.faults).into_iter().collect(),
                None if place + 1 < spec.first.len() => {
                    let fault = Fault::at(one.span.clone(), "what stands after this alternative can never happen");
                    self.fault(fault.help("add a `when`, or move it to the end"));
                    Vec::new()
                }
                None => Vec::new(),
            };
            let actions = self.each(&one.value.actions);
            self.none_undone(&actions, &one.span);
            alternatives.push(Alternative { when, actions });
        }
        Reaction { alternatives }
    }
}

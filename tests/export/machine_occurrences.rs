//! What random scripts come to, counted, so that no part of the flow is lost from them unseen.

use inkjoule::behaviour::flow_state::After;
use inkjoule::behaviour::{Action, KeyRule, Target};
use inkjoule::device::Device;
use inkjoule::limits;
use inkjoule::machine::{Key, State, Taken};
use inkjoule::screen::values::Values;
use std::collections::BTreeMap;

/// What must occur in the scripts of random projects, so that none is lost unseen.
const OCCURRENCES: [&str; 17] = [
    "back",
    "cancel that restores",
    "a press whose rule holds anywhere",
    "an event whose rule holds anywhere",
    "two boxes",
    "boxes to the full depth",
    "USB",
    "the link",
    "the charge",
    "a target of a row",
    "a list without rows",
    "a press that a box covers before its release",
    "a key down twice",
    "a time after a key",
    "a time after an entry",
    "a time after an event",
    "a time that is over",
];

/// How often each thing occurred.
#[derive(Debug, Default)]
pub struct Seen {
    occurred: BTreeMap<&'static str, usize>,
    /// Which times after something ran last.
    running: Vec<bool>,
}

impl Seen {
    /// What another script came to besides.
    pub fn add(&mut self, other: &Self) {
        other.occurred.iter().for_each(|(what, count)| *self.occurred.entry(what).or_default() += count);
    }

    /// What occurred less often than that.
    pub fn rare(&self, least: usize) -> Vec<&'static str> {
        let rare = |what: &&str| self.occurred.get(what).is_none_or(|count| *count < least);
        OCCURRENCES.into_iter().filter(rare).collect()
    }

    /// Times after something that begin or are over.
    pub fn times(&mut self, device: &Device, values: &Values) {
        let recent = &device.flow_state.recent;
        let running: Vec<bool> = recent.iter().map(|recent| values.of(recent.field) == 1.0).collect();
        let before = std::mem::replace(&mut self.running, running.clone());
        for ((recent, before), now) in recent.iter().zip(before).zip(running).filter(|((_, before), now)| before != now)
        {
            self.note("a time that is over", before);
            self.note("a time after a key", now && matches!(recent.cause, After::Key(_)));
            self.note("a time after an entry", now && matches!(recent.cause, After::Entry(_)));
            self.note("a time after an event", now && matches!(recent.cause, After::Event(_)));
        }
    }

    /// Counts something, where it happened.
    pub fn note(&mut self, what: &'static str, happened: bool) {
        *self.occurred.entry(what).or_default() += usize::from(happened);
    }

    /// What a key did, from what it found and left.
    pub fn key(&mut self, device: &Device, [before, after]: [&State; 2], key: Key, taken: Taken) {
        let (deepest, boxes) = (limits::BOX_DEPTH, after.boxes.len());
        self.note("two boxes", boxes == 2 && before.boxes.len() < 2);
        self.note("boxes to the full depth", boxes == deepest && before.boxes.len() < deepest);
        let value = |state: &State, name: &str| device.field(name).map(|field| state.values.of(field));
        let (Key::Down(number), Taken::Acted) = (key, taken) else {
            let lit = |state: &State| value(state, "lamp") == Some(1.0);
            let late = matches!(key, Key::Up(_)) && lit(before) && !lit(after);
            let front = before.front();
            let lights = |rule: &KeyRule| rule.release.acts();
            let (Key::Up(number) | Key::Down(number)) = key;
            let own = device.wirings[front.0].keys.get(number).is_some_and(lights);
            return self.note("a press that a box covers before its release", late && !own);
        };
        let press = &device.wirings[before.front().0].keys[number].press;
        let actions = press.actions(&before.values).unwrap_or_default();
        let does = |wanted: fn(&Action) -> bool| actions.iter().any(wanted);
        let fallen = before.back().len() == after.back().len() + 1 && before.back().last() == Some(&after.screen);
        let by = |action: &Action| matches!(action, Action::Go(Target::By { rows: Some(_), .. }));
        let rows = value(before, "posts").unwrap_or(1.0);
        self.note("back", does(|action| *action == Action::Back) && fallen);
        let edited = |name| value(before, name) != value(after, name);
        let restored = ["deep", "n", "level", "name", "limit"].into_iter().any(edited);
        self.note("cancel that restores", restored && actions == [Action::Cancel]);
        self.note("a press whose rule holds anywhere", number == 3 && edited("calls"));
        self.note("a target of a row", does(by) && rows >= 1.0);
        self.note("a list without rows", does(by) && rows < 1.0);
    }
}

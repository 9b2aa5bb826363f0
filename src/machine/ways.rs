//! The ways that lead on from what a device shows: which keys and timers lead to a screen, each carried out as the machine
//! does it, sampled values as they are.

use super::explore::{By, Key, deciding, fire, key, rules};
use super::state::State;
use crate::device::Device;
use crate::screen::ScreenId;
use crate::screen::values::FieldId;
use std::collections::{HashMap, HashSet, VecDeque};

/// States looked at until a way is given up. A screen that is further away nobody looks for.
const MOST: usize = 2_000;

/// One step on a way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WayStep {
    /// This key is pressed, the first being 0.
    Press(usize),
    /// This key is held until its hold does something.
    Hold(usize),
    /// This timer of the front ends, by its position.
    Timer(usize),
}

impl WayStep {
    /// What it does to a state; `None` for events, which nobody can bring about.
    fn of(by: By) -> Option<Self> {
        match by {
            By::Press(key) | By::Release(key) => Some(Self::Press(key)),
            By::Hold(key) => Some(Self::Hold(key)),
            By::Timer(timer) => Some(Self::Timer(timer)),
            By::Event(_) => None,
        }
    }
}

/// Finds ways through a device's flow; each is looked for once.
#[derive(Debug)]
pub struct Ways {
    /// The fields that decide what is shown next.
    fields: Vec<FieldId>,
    known: HashMap<(Key, ScreenId), Option<WayStep>>,
}

impl Ways {
    /// Of a device.
    pub fn new(device: &Device) -> Self {
        Self { fields: deciding(device), known: HashMap::new() }
    }

    /// The first step of the shortest way to a screen with nothing over it: of presses alone, or, where none leads there,
    /// of presses and timers. `None` where neither leads there, or the screen is shown already.
    pub fn first(&mut self, device: &Device, state: &State, to: ScreenId) -> Option<WayStep> {
        let from = (key(state, &self.fields), to);
        if let Some(known) = self.known.get(&from) {
            return *known;
        }
        let found = self.search(device, state, to, false).or_else(|| self.search(device, state, to, true));
        self.known.insert(from, found);
        found
    }

    /// Whether presses and timers lead from what is shown to a screen; a screen leads to itself.
    pub fn lead(&mut self, device: &Device, from: &State, to: ScreenId) -> bool {
        shows(from, to) || self.first(device, from, to).is_some()
    }

    fn search(&self, device: &Device, start: &State, to: ScreenId, timers: bool) -> Option<WayStep> {
        let mut seen = HashSet::from([key(start, &self.fields)]);
        let mut open: VecDeque<(Option<WayStep>, State)> = VecDeque::from([(None, start.clone())]);
        while let Some((first, state)) = open.pop_front() {
            for by in rules(&device.wirings[state.front().0]).map(|(by, _)| by) {
                let Some(way) = WayStep::of(by).filter(|way| timers || !matches!(way, WayStep::Timer(_))) else {
                    continue;
                };
                let Some((next, _)) = fire(device, &state, by) else { continue };
                let first = first.or(Some(way));
                if shows(&next, to) {
                    return first;
                }
                if seen.len() < MOST && seen.insert(key(&next, &self.fields)) {
                    open.push_back((first, next));
                }
            }
        }
        None
    }
}

fn shows(state: &State, screen: ScreenId) -> bool {
    state.boxes.is_empty() && state.screen == screen
}

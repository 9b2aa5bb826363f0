//! The ways that lead on from what a device shows: which keys and timers lead to a screen, with the values as they are.

use super::state::State;
use crate::behaviour::{Action, Reaction};
use crate::device::Device;
use crate::screen::ScreenId;
use crate::screen::values::Values;
use std::collections::VecDeque;

/// One step on a way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// This key is pressed, the first being 0.
    Press(usize),
    /// This key is held until its hold does something.
    Hold(usize),
    /// This timer of the front ends, by its position.
    Timer(usize),
}

/// What a device shows, as far as ways depend on it.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Place {
    screen: ScreenId,
    boxes: Vec<ScreenId>,
    back: Vec<ScreenId>,
}

impl Place {
    fn of(state: &State) -> Self {
        Self {
            screen: state.screen,
            boxes: state.boxes.iter().map(|open| open.screen).collect(),
            back: state.back().to_vec(),
        }
    }

    fn front(&self) -> ScreenId {
        self.boxes.last().copied().unwrap_or(self.screen)
    }

    /// Where a reaction leads; `None` where it stays here.
    fn after(&self, reaction: &Reaction, values: &Values) -> Option<Self> {
        let mut place = self.clone();
        for action in reaction.actions(values)? {
            match action {
                Action::Go(target) => {
                    let from = place.screen;
                    place.screen = target.screen(values)?;
                    place.boxes.clear();
                    match place.back.iter().position(|known| *known == place.screen) {
                        Some(known) => place.back.truncate(known),
                        None if from != place.screen => place.back.push(from),
                        None => {}
                    }
                }
                Action::Back if place.boxes.is_empty() => place.screen = place.back.pop().unwrap_or(place.screen),
                Action::Back | Action::Close => {
                    place.boxes.pop();
                }
                Action::Open(open) => place.boxes.push(*open),
                Action::Change(_) | Action::Pick(..) | Action::Cancel => {}
            }
        }
        (place != *self).then_some(place)
    }

    /// Every step that leads away, timers only where they are wanted.
    fn ways(&self, device: &Device, values: &Values, timers: bool) -> Vec<(Way, Self)> {
        let wiring = &device.wirings[self.front().0];
        let mut ways = Vec::new();
        for (key, rule) in wiring.keys.iter().enumerate() {
            let presses = [&rule.press, &rule.release];
            ways.extend(
                presses.into_iter().filter_map(|reaction| Some((Way::Press(key), self.after(reaction, values)?))),
            );
            let held = rule.hold.as_ref().and_then(|hold| self.after(&hold.reaction, values));
            ways.extend(held.map(|place| (Way::Hold(key), place)));
        }
        let after = |(index, timer): (usize, &crate::behaviour::Timer)| {
            Some((Way::Timer(index), self.after(&timer.reaction, values)?))
        };
        if timers {
            ways.extend(wiring.timers.iter().enumerate().filter_map(after));
        }
        ways
    }
}

/// The first step of the shortest way to a screen with nothing over it: of presses alone, or, where none leads there, of
/// presses and timers. `None` where neither leads there, or the screen is shown already.
pub fn first(device: &Device, state: &State, to: ScreenId) -> Option<Way> {
    let start = Place::of(state);
    search(device, &state.values, &start, to, false).or_else(|| search(device, &state.values, &start, to, true))
}

/// Whether a way leads from what is shown to a screen, the values as they are; a screen leads to itself.
pub fn lead(device: &Device, from: &State, to: ScreenId, timers: bool) -> bool {
    let start = Place::of(from);
    (start.screen == to && start.boxes.is_empty()) || search(device, &from.values, &start, to, timers).is_some()
}

fn search(device: &Device, values: &Values, start: &Place, to: ScreenId, timers: bool) -> Option<Way> {
    let mut seen = vec![false; device.screens.len()];
    seen[start.front().0] = true;
    let mut open: VecDeque<(Option<Way>, Place)> = VecDeque::from([(None, start.clone())]);
    while let Some((first, place)) = open.pop_front() {
        for (way, next) in place.ways(device, values, timers) {
            let first = first.or(Some(way));
            if next.boxes.is_empty() && next.screen == to {
                return first;
            }
            if !std::mem::replace(&mut seen[next.front().0], true) {
                open.push_back((first, next));
            }
        }
    }
    None
}

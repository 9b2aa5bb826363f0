//! Keys: presses, holds, repetitions, releases, and those that wait for a busy panel. The rules are stated in
//! [`super`]; not for what an action does to the device: that is [`super::state`].

use super::note::{Note, UpdateCause, World};
use super::state::Outcome;
use super::time::{Micros, micros};
use super::{Key, Machine, Taken};
use crate::behaviour::policy::BusyPresses;
use crate::behaviour::{KeyRule, Reaction};
use crate::device::Device;
use crate::limits;
use crate::screen::ScreenId;

/// A key that is down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Down {
    /// Since when.
    pub since: Micros,
    /// What was in front then.
    pub front: ScreenId,
    /// Its hold has done what it does.
    pub held: bool,
    /// How often its press was repeated.
    pub repeats: u32,
    /// What it does belongs to what was in front when it went down; something else is in front now.
    pub stale: bool,
}

/// What a key that stays down does next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stays {
    /// Its hold.
    Hold,
    /// Its press again.
    Repeat,
}

impl Down {
    /// A key that goes down.
    pub fn new(since: Micros, front: ScreenId) -> Self {
        Self { since, front, held: false, repeats: 0, stale: false }
    }

    /// When it does something next by staying down, and what.
    pub fn next(&self, rule: &KeyRule) -> Option<(Micros, Stays)> {
        if self.stale {
            return None;
        }
        let hold = rule.hold.as_ref().filter(|_| !self.held).map(|hold| (self.since + micros(hold.after), Stays::Hold));
        let repeat = rule.repeat.map(|repeat| {
            let times = u64::from(self.repeats) * micros(repeat.every).max(1);
            (self.since + micros(repeat.after) + times, Stays::Repeat)
        });
        match (hold, repeat) {
            (Some(hold), Some(repeat)) => Some(if hold.0 <= repeat.0 { hold } else { repeat }),
            (one, other) => one.or(other),
        }
    }
}

impl Machine {
    /// A key goes down or up.
    pub fn key(&mut self, device: &Device, key: Key, world: &mut impl World) -> Taken {
        if !self.busy() && self.waiting.is_empty() {
            return if self.carry_out(device, self.now, key, world) { Taken::Acted } else { Taken::Nothing };
        }
        let drops = device.policy.busy_presses == BusyPresses::Drop || self.waiting.len() >= limits::WAITING_KEYS;
        match key {
            Key::Down(number) if drops => {
                world.note(Note::Dropped(number));
                Taken::Dropped
            }
            // Without its press a key that is let go does nothing; nor does it twice.
            Key::Up(number) if drops && (!self.is_down(number) || self.waits(key)) => Taken::Nothing,
            Key::Up(_) if drops && self.waiting.is_empty() => {
                if self.carry_out(device, self.now, key, world) {
                    Taken::Acted
                } else {
                    Taken::Nothing
                }
            }
            _ => {
                self.waiting.push_back((self.now, key));
                Taken::Queued
            }
        }
    }

    fn is_down(&self, number: usize) -> bool {
        self.down.get(number).is_some_and(Option::is_some)
    }

    fn waits(&self, key: Key) -> bool {
        self.waiting.iter().any(|(_, waiting)| *waiting == key)
    }

    /// A key goes down and up at once.
    pub fn press(&mut self, device: &Device, key: usize, world: &mut impl World) -> Taken {
        let down = self.key(device, Key::Down(key), world);
        let up = self.key(device, Key::Up(key), world);
        if down == Taken::Nothing { up } else { down }
    }

    /// The rule of a key for what is in front.
    fn rule<'d>(&self, device: &'d Device, key: usize) -> Option<&'d KeyRule> {
        device.wirings[self.state.front().0].keys.get(key)
    }

    pub(super) fn carry_out(&mut self, device: &Device, made: Micros, key: Key, world: &mut impl World) -> bool {
        match key {
            Key::Down(number) => {
                if self.is_down(number) {
                    self.carry_out(device, made, Key::Up(number), world);
                }
                let front = self.state.front();
                let Some(rule) = self.rule(device, number) else { return false };
                if let Some(down) = self.down.get_mut(number) {
                    *down = Some(Down::new(made, front));
                }
                self.state.pressed(device, number);
                let begins = self.start_recent(device);
                let acted = rule.hold.is_none() && self.react(device, (made, number), &rule.press, 1.0, world);
                if begins && !acted {
                    self.rise(device, world);
                }
                if rule.hold.is_some() {
                    return false;
                }
                if !acted && !rule.release.acts() {
                    world.note(Note::Unassigned { key: number, made });
                }
                acted
            }
            Key::Up(number) => {
                let Some(down) = self.down.get_mut(number).and_then(Option::take) else { return false };
                let Some(rule) = device.wirings[down.front.0].keys.get(number) else { return false };
                if down.stale {
                    let outcome = self.state.change_only(device, &rule.release);
                    return self.answer(device, (made, number), outcome, world);
                }
                let mut acted = false;
                if let Some(hold) = rule.hold.as_ref().filter(|_| !down.held) {
                    // A key that waited for the panel may have been held long enough meanwhile.
                    let long = made >= down.since + micros(hold.after);
                    let reaction = if long { &hold.reaction } else { &rule.press };
                    acted = self.react(device, (down.since, number), reaction, 1.0, world);
                    if !acted && !rule.release.acts() {
                        world.note(Note::Unassigned { key: number, made: down.since });
                    }
                }
                if rule.release.acts() {
                    acted |= self.react(device, (made, number), &rule.release, 1.0, world);
                }
                acted
            }
        }
    }

    /// The key that does something next by staying down: when, which, what. Not while the panel is busy, nor once it was
    /// let go, which may wait for the panel.
    pub(super) fn stays(&self, device: &Device) -> Option<(Micros, usize, Stays)> {
        let next = |(number, down): (usize, &Option<Down>)| {
            let down = down.as_ref().filter(|_| !self.waits(Key::Up(number)));
            let (time, stays) = down?.next(self.rule(device, number)?)?;
            Some((time.max(self.busy_until), number, stays))
        };
        // Nothing is down most of the time.
        if self.down.iter().all(Option::is_none) {
            return None;
        }
        self.down.iter().enumerate().filter_map(next).min_by_key(|(time, number, _)| (*time, *number))
    }

    pub(super) fn stay(&mut self, device: &Device, number: usize, stays: Stays, world: &mut impl World) {
        let Some(rule) = self.rule(device, number) else { return };
        let Some(down) = self.down.get_mut(number).and_then(Option::as_mut) else { return };
        match (stays, &rule.hold, rule.repeat) {
            (Stays::Hold, Some(hold), _) => {
                down.held = true;
                self.react(device, (self.now, number), &hold.reaction, 1.0, world);
            }
            (Stays::Repeat, _, Some(repeat)) => {
                // Repetitions that fell into a refresh are not made up for.
                let missed = self.now.saturating_sub(down.since + micros(repeat.after)) / micros(repeat.every).max(1);
                let Some(missed) = u32::try_from(missed + 1).ok().filter(|missed| *missed < u32::MAX) else {
                    // No key stays down for so long: it does nothing more.
                    down.stale = true;
                    return;
                };
                down.repeats += 1;
                let faster = repeat.faster.filter(|(from, _)| down.repeats >= *from);
                down.repeats = down.repeats.max(missed);
                self.react(device, (self.now, number), &rule.press, faster.map_or(1.0, |(_, times)| times), world);
            }
            _ => down.stale = true,
        }
    }

    fn react(
        &mut self,
        device: &Device,
        (made, number): (Micros, usize),
        reaction: &Reaction,
        times: f64,
        world: &mut impl World,
    ) -> bool {
        let outcome = self.state.react(device, reaction, times);
        self.answer(device, (made, number), outcome, world)
    }

    /// What follows from what a key did.
    fn answer(
        &mut self,
        device: &Device,
        (made, number): (Micros, usize),
        outcome: Outcome,
        world: &mut impl World,
    ) -> bool {
        if outcome.acted {
            self.state.pressed(device, number);
            self.mark(UpdateCause::Key(number));
            self.pressed.push((made, number));
            world.note(Note::Acted(number));
        }
        self.follow(device, outcome, true, world);
        if outcome.acted {
            self.rise(device, world);
        }
        outcome.acted
    }
}

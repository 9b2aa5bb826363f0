//! What a running device shows and holds, and what reactions do to it. No time passes here.

use super::behind::behind;
use crate::behaviour::field::{Field, Motion, Renewal};
use crate::behaviour::flow_state::After;
use crate::behaviour::{Action, EventId, FieldChange, Reaction, Wiring};
use crate::device::Device;
use crate::limits;
use crate::screen::ScreenId;
use crate::screen::values::{FieldId, Values};
use std::sync::Arc;

/// What a running device shows and holds.
#[derive(Clone, Debug)]
pub struct State {
    /// The screen, under any boxes.
    pub screen: ScreenId,
    /// Boxes over the screen, the front one last.
    pub boxes: Vec<OpenBox>,
    /// The fields.
    pub values: Values,
    /// The screens that [`Action::Back`] returns to, the nearest last.
    back: Vec<ScreenId>,
    /// What the edited fields of the screen were when it was entered.
    saved: Vec<(FieldId, f64)>,
    /// The fields that each event renews; grades come after what they grade. Shared, since states are often copied.
    renewals: Arc<[Vec<FieldId>]>,
    /// Fields that say how many values there are, each with a field that stays within.
    within: Arc<[(FieldId, FieldId)]>,
    /// For each event with a condition, whether the condition held when it was last looked at.
    held: Vec<bool>,
    /// Times after something that have begun anew since [`State::begun`] was asked.
    begun: Vec<usize>,
}

/// A box over the screen.
#[derive(Clone, Debug)]
pub struct OpenBox {
    /// What it shows.
    pub screen: ScreenId,
    /// The values that what lies below is drawn with, where it is frozen.
    pub below: Option<Values>,
    saved: Vec<(FieldId, f64)>,
}

/// What a reaction did.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Outcome {
    /// It did something: an alternative's conditions held.
    pub acted: bool,
    /// A screen was entered; not for boxes.
    pub entered: bool,
    /// What is in front is another screen or box, or the same one anew.
    pub fronted: bool,
}

impl State {
    /// The screen, and the boxes over it from below.
    pub fn layers(&self) -> impl Iterator<Item = ScreenId> + '_ {
        std::iter::once(self.screen).chain(self.boxes.iter().map(|open| open.screen))
    }

    /// A device that shows a screen with the sample values.
    pub fn new(device: &Device, screen: ScreenId) -> Self {
        let values = device.sample();
        let renewals = (0..device.events.len()).map(|event| renewals(device, EventId(event))).collect();
        let held = vec![false; device.events.len()];
        let within = |(index, field): (usize, &Field)| Some((field.within?, FieldId(index)));
        let mut state = Self {
            screen,
            boxes: Vec::new(),
            values,
            back: Vec::new(),
            saved: Vec::new(),
            renewals,
            within: device.fields.iter().enumerate().filter_map(within).collect(),
            held,
            begun: Vec::new(),
        };
        device.flow_state.show(&mut state.values, screen);
        state.begin(device, After::Entry(screen));
        state.saved = state.edited(device, screen);
        state.settle(device);
        state
    }

    /// A device that shows a screen, or a box over a screen on which it opens: the home screen if it can, else the first
    /// one. With the sample values, and behind it what lies there after the shortest way from the home screen. `None` for
    /// a box that nothing opens.
    pub fn sample(device: &Device, screen: ScreenId) -> Option<Self> {
        let reached = |screen: ScreenId| Self { back: behind(device, screen), ..Self::new(device, screen) };
        if device.screens[screen.0].over.is_none() {
            return Some(reached(screen));
        }
        let opening = |(at, wiring): (usize, &Wiring)| {
            let rules = wiring.reactions().flat_map(|reaction| &reaction.alternatives);
            rules.flat_map(|one| below(&one.actions, ScreenId(at), screen)).collect::<Vec<_>>()
        };
        let grounds: Vec<ScreenId> = device.wirings.iter().enumerate().flat_map(opening).collect();
        let home = grounds.iter().find(|ground| **ground == device.usage.home);
        let from = *home.or(grounds.iter().find(|ground| **ground != screen))?;
        let mut state = match device.screens[from.0].over {
            None => reached(from),
            // A box over a box is shown over the home screen: what lies between does not matter to it.
            Some(_) => Self::new(device, device.usage.home),
        };
        state.open(device, screen);
        Some(state)
    }

    /// Something happens after which times count.
    fn begin(&mut self, device: &Device, what: After) {
        device.flow_state.begin(&mut self.values, what, &mut self.begun);
    }

    /// What `cancel` would put the edited fields back to, for the screen and each box over it.
    pub fn saved(&self) -> impl Iterator<Item = &[(FieldId, f64)]> {
        [self.saved.as_slice()].into_iter().chain(self.boxes.iter().map(|open| open.saved.as_slice()))
    }

    /// A key goes down, or does something by being kept down or let go.
    pub fn pressed(&mut self, device: &Device, key: usize) {
        self.begin(device, After::Key(Some(key)));
    }

    /// The times after something that have begun anew since the last call, by their positions in
    /// [`crate::behaviour::flow_state::FlowState::recent`].
    pub fn begun(&mut self) -> std::vec::Drain<'_, usize> {
        self.begun.drain(..)
    }

    /// The box in front, or the screen.
    pub fn front(&self) -> ScreenId {
        self.boxes.last().map_or(self.screen, |open| open.screen)
    }

    /// The screens that [`Action::Back`] returns to, the nearest last.
    pub fn back(&self) -> &[ScreenId] {
        &self.back
    }

    /// The fields that an event renews, in order.
    pub fn renewals(&self, event: EventId) -> &[FieldId] {
        &self.renewals[event.0]
    }

    /// Does what a reaction says; changes by an amount are `times` as large.
    pub fn react(&mut self, device: &Device, reaction: &Reaction, times: f64) -> Outcome {
        self.carry_out(device, reaction, times, false)
    }

    /// Changes the fields that a reaction changes, and leads nowhere: it belongs to what is no longer in front.
    pub fn change_only(&mut self, device: &Device, reaction: &Reaction) -> Outcome {
        self.carry_out(device, reaction, 1.0, true)
    }

    fn carry_out(&mut self, device: &Device, reaction: &Reaction, times: f64, stays: bool) -> Outcome {
        let actions = reaction.actions(&self.values);
        actions.map_or(Outcome::default(), |actions| self.act(device, actions, times, stays))
    }

    /// Carries out actions; those that only `stays` change fields and lead nowhere.
    pub fn act(&mut self, device: &Device, actions: &[Action], times: f64, stays: bool) -> Outcome {
        let mut outcome = Outcome { acted: true, ..Outcome::default() };
        for action in actions {
            match action {
                Action::Change(change) => {
                    if let Some(screen) = self.change(device, change, times) {
                        outcome.fronted |= !stays && self.open(device, screen);
                        break;
                    }
                }
                Action::Pick(cursor, changes) => {
                    let picked = changes.get(self.values.choice(*cursor, changes.len()));
                    if let Some(screen) = picked.and_then(|change| self.change(device, change, times)) {
                        outcome.fronted |= !stays && self.open(device, screen);
                        break;
                    }
                }
                _ if stays => {}
                Action::Go(target) => {
                    if let Some(screen) = target.screen(&self.values) {
                        self.go(device, screen);
                        (outcome.entered, outcome.fronted) = (true, true);
                    }
                }
                Action::Back if !self.boxes.is_empty() => outcome.fronted |= self.close(device),
                Action::Back => {
                    if let Some(screen) = self.back.pop() {
                        self.show(device, screen);
                        (outcome.entered, outcome.fronted) = (true, true);
                    }
                }
                Action::Open(screen) => outcome.fronted |= self.open(device, *screen),
                Action::Close => outcome.fronted |= self.close(device),
                Action::Cancel => {
                    let saved = match self.boxes.last() {
                        Some(open) => open.saved.clone(),
                        None => self.saved.clone(),
                    };
                    saved.into_iter().for_each(|(field, value)| self.values.put(field, value));
                }
            }
        }
        outcome
    }

    /// Changes a field. Where it would leave its bounds and a box says so, nothing changes and the box is returned.
    fn change(&mut self, device: &Device, change: &FieldChange, times: f64) -> Option<ScreenId> {
        match change.value(&self.values, &device.fields[change.field.0].bounds(&self.values), times) {
            Some(value) => {
                self.values.put(change.field, value);
                self.keep_within(device, change.field);
                None
            }
            None => change.ends.opens(),
        }
    }

    /// Positions that count what a field says exists stay within it.
    pub fn keep_within(&mut self, device: &Device, count: FieldId) {
        for (_, field) in self.within.iter().filter(|(of, _)| *of == count) {
            let [_, high] = device.fields[field.0].bounds(&self.values).range;
            if self.values.of(*field) > high {
                self.values.put(*field, high);
            }
        }
    }

    /// Enters a screen from the one shown, which [`Action::Back`] then returns to. The way back is bounded: the oldest
    /// screen is forgotten. A screen that is on the way already shortens it, so that circles do not fill it.
    fn go(&mut self, device: &Device, screen: ScreenId) {
        match self.back.iter().position(|known| *known == screen) {
            Some(place) => self.back.truncate(place),
            None if self.screen != screen => {
                if self.back.len() == limits::BACK_DEPTH {
                    self.back.remove(0);
                }
                self.back.push(self.screen);
            }
            None => {}
        }
        self.show(device, screen);
    }

    /// Shows a screen as a designer's choice; behind it lies what does after the shortest way from the home screen.
    pub fn jump(&mut self, device: &Device, screen: ScreenId) {
        self.back = behind(device, screen);
        self.show(device, screen);
    }

    fn show(&mut self, device: &Device, screen: ScreenId) {
        device.flow_state.enter(&mut self.values, self.screen);
        device.flow_state.show(&mut self.values, screen);
        self.begin(device, After::Entry(screen));
        self.boxes.clear();
        self.screen = screen;
        self.saved = self.edited(device, screen);
    }

    /// Opens a box; not over itself, and not beyond the depth that there is.
    fn open(&mut self, device: &Device, screen: ScreenId) -> bool {
        if self.boxes.len() == limits::BOX_DEPTH || self.boxes.iter().any(|open| open.screen == screen) {
            return false;
        }
        let frozen = device.screens[screen.0].over.as_ref().is_some_and(|over| over.frozen);
        let below = frozen.then(|| self.values.clone());
        let saved = self.edited(device, screen);
        self.boxes.push(OpenBox { screen, below, saved });
        device.flow_state.show(&mut self.values, screen);
        self.begin(device, After::Entry(screen));
        true
    }

    fn close(&mut self, device: &Device) -> bool {
        let closed = self.boxes.pop().is_some();
        let front = self.front();
        device.flow_state.show(&mut self.values, front);
        closed
    }

    fn edited(&self, device: &Device, screen: ScreenId) -> Vec<(FieldId, f64)> {
        let edits = device.wirings.get(screen.0).map_or(&[][..], |wiring| &wiring.edits);
        edits.iter().map(|field| (*field, self.values.of(*field))).collect()
    }

    /// What an event does to the screen: the rule of what is in front, else of what lies below.
    pub fn happen(&mut self, device: &Device, event: EventId) -> Outcome {
        device.flow_state.happen(&mut self.values, event);
        self.begin(device, After::Event(event));
        let layers = self.boxes.iter().rev().map(|open| open.screen).chain([self.screen]);
        let rule = layers.flat_map(|screen| &device.wirings[screen.0].events).find(|(of, _)| *of == event);
        rule.map_or(Outcome::default(), |(_, reaction)| self.react(device, reaction, 1.0))
    }

    /// Events whose condition has become true since the last call.
    pub fn risen(&mut self, device: &Device) -> Vec<EventId> {
        let mut risen = Vec::new();
        for (index, (event, held)) in device.events.iter().zip(&mut self.held).enumerate() {
            let holds = event.holds(&self.values);
            if holds && !*held {
                risen.push(EventId(index));
            }
            *held = holds;
        }
        risen
    }

    /// Whether no event's condition has become true or false since it was last looked at.
    pub fn is_settled(&self, device: &Device) -> bool {
        device.events.iter().zip(&self.held).all(|(event, held)| event.holds(&self.values) == *held)
    }

    /// Takes conditions that hold now as known, so that no event happens because of them.
    pub fn settle(&mut self, device: &Device) {
        let _known = self.risen(device);
    }
}

/// Lets the events happen whose condition has become true, which may make others true: run to completion. There are at
/// most as many rounds as events and one more; the lint `endless-events` names those that would go on.
pub fn complete<T>(
    whole: &mut T,
    device: &Device,
    state: fn(&mut T) -> &mut State,
    mut happen: impl FnMut(&mut T, EventId),
) {
    for _ in 0..=device.events.len() {
        let risen = state(whole).risen(device);
        if risen.is_empty() {
            return;
        }
        risen.into_iter().for_each(|event| happen(whole, event));
    }
}

/// The screens over which actions may open a box: those that they lead to before, else the one they are done on.
fn below(actions: &[Action], here: ScreenId, opened: ScreenId) -> Vec<ScreenId> {
    let place = actions.iter().position(|action| matches!(action, Action::Open(screen) if *screen == opened));
    let picked = || actions.iter().position(|action| action.targets().contains(&opened));
    let Some(place) = place.or_else(picked) else { return Vec::new() };
    let led = actions[..place].iter().rev().find(|action| matches!(action, Action::Go(_)));
    led.map_or_else(|| vec![here], Action::targets)
}

/// The fields that an event renews, in order; grades come after what they grade.
pub fn renewals(device: &Device, event: EventId) -> Vec<FieldId> {
    let fields = device.fields.iter().enumerate().filter(|(_, field)| field.renewal == Renewal::On(event));
    let (grades, others): (Vec<_>, Vec<_>) =
        fields.partition(|(_, field)| matches!(field.motion, Motion::Grade { .. }));
    others.into_iter().chain(grades).map(|(index, _)| FieldId(index)).collect()
}

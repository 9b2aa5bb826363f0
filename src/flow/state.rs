//! What a running device shows and holds, and how presses and events change it. No time passes here.

use super::field::{Motion, Renewal};
use super::{EventId, How, Times};
use crate::device::Device;
use crate::screen::ScreenId;
use crate::screen::values::{FieldId, Values};
use crate::units::Seconds;
use rand::Rng;

/// What a running device shows and holds.
#[derive(Clone, Debug)]
pub struct State {
    /// The screen.
    pub screen: ScreenId,
    /// The fields.
    pub values: Values,
    renewed: Vec<usize>,
    held: Vec<bool>,
}

/// What a press did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pressed {
    /// Nothing: the key has no meaning on this screen.
    Nothing,
    /// It changed a field.
    Changed,
    /// It led to a screen.
    Entered(ScreenId),
}

impl State {
    /// A device that shows its home screen with the sample values.
    pub fn new(device: &Device) -> Self {
        let values = device.sample();
        let mut state =
            Self { screen: device.usage.home, values, renewed: vec![0; device.fields.len()], held: Vec::new() };
        state.held = state.conditions(device);
        state
    }

    /// Presses a key, the first being 0.
    pub fn press(&mut self, device: &Device, key: usize) -> Pressed {
        let Some(action) = device.wirings[self.screen.0].keys.get(key).copied() else { return Pressed::Nothing };
        if let Some(change) = action.change {
            let [low, high] = device.fields[change.field.0].range;
            let value = match change.how {
                How::By(step) => self.values.of(change.field) + step,
                How::To(value) => value,
            };
            self.values.put(change.field, value.clamp(low, high));
        }
        match action.go {
            Some(screen) => {
                self.enter(device, screen);
                Pressed::Entered(screen)
            }
            None if action.change.is_some() => Pressed::Changed,
            None => Pressed::Nothing,
        }
    }

    /// Renews one field.
    pub fn renew(&mut self, device: &Device, field: FieldId, time: Seconds, random: &mut impl Rng) {
        let count = self.renewed[field.0];
        let value = device.fields[field.0].next(field, &self.values, time, count, random);
        self.renewed[field.0] = count + 1;
        self.values.set(field, value);
    }

    /// An event happens: its fields are renewed, and the screen may change. Grades come after what they grade.
    pub fn happen(
        &mut self,
        device: &Device,
        event: EventId,
        time: Seconds,
        random: &mut impl Rng,
    ) -> Option<ScreenId> {
        let mine = |grades: bool| {
            let fields = device.fields.iter().enumerate();
            fields.filter(move |(_, field)| {
                field.renewal == Renewal::On(event) && matches!(field.motion, Motion::Grade { .. }) == grades
            })
        };
        for (index, _) in mine(false).chain(mine(true)) {
            self.renew(device, FieldId(index), time, random);
        }
        device.recall.happen(&mut self.values, event);
        let led = device.wirings[self.screen.0].events.iter().find(|(of, _)| *of == event).map(|(_, screen)| *screen);
        if let Some(screen) = led {
            self.enter(device, screen);
        }
        led
    }

    /// Enters a screen from the one shown.
    pub fn enter(&mut self, device: &Device, screen: ScreenId) {
        device.recall.enter(&mut self.values, self.screen);
        self.screen = screen;
    }

    /// Events whose condition has become true since the last call.
    pub fn risen(&mut self, device: &Device) -> Vec<EventId> {
        let now = self.conditions(device);
        let risen = now.iter().zip(&self.held).enumerate().filter(|(_, (now, before))| **now && !**before);
        let risen = risen.map(|(event, _)| EventId(event)).collect();
        self.held = now;
        risen
    }

    fn conditions(&self, device: &Device) -> Vec<bool> {
        let holds = |times: &Times| matches!(times, Times::When(condition) if condition.holds(&self.values));
        device.events.iter().map(|event| holds(&event.times)).collect()
    }
}

//! What a running device shows and holds, and how presses and events change it. No time passes here.

use crate::behaviour::field::{Motion, Renewal, Wave};
use crate::behaviour::{EventId, How};
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
    /// The fields that each event renews; grades come after what they grade.
    renewals: Vec<Vec<FieldId>>,
    wave: Wave,
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
        let held = device.events.iter().map(|event| event.holds(&values)).collect();
        let renewals = (0..device.events.len()).map(|event| renewals(device, EventId(event))).collect();
        let renewed = vec![0; device.fields.len()];
        Self { screen: device.usage.home, values, renewed, renewals, wave: Wave::default(), held }
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
        let value = device.fields[field.0].next(field, &self.values, (time, count), &mut self.wave, random);
        self.renewed[field.0] = count + 1;
        self.values.set(field, value);
    }

    /// An event happens: its fields are renewed, and the screen may change.
    pub fn happen(
        &mut self,
        device: &Device,
        event: EventId,
        time: Seconds,
        random: &mut impl Rng,
    ) -> Option<ScreenId> {
        for index in 0..self.renewals[event.0].len() {
            self.renew(device, self.renewals[event.0][index], time, random);
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
}

fn renewals(device: &Device, event: EventId) -> Vec<FieldId> {
    let fields = device.fields.iter().enumerate().filter(|(_, field)| field.renewal == Renewal::On(event));
    let (grades, others): (Vec<_>, Vec<_>) =
        fields.partition(|(_, field)| matches!(field.motion, Motion::Grade { .. }));
    others.into_iter().chain(grades).map(|(index, _)| FieldId(index)).collect()
}

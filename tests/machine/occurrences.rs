//! What random projects come to, counted, so that a check loses no part of the flow unseen.

use crate::drivers::Deed;
use inkjoule::behaviour::Action;
use inkjoule::device::Device;
use inkjoule::machine::{Key, State};
use std::collections::BTreeMap;

/// How often each thing of the flow occurred, so that the check does not lose one unseen.
#[derive(Default)]
pub(crate) struct Occurred(pub(crate) BTreeMap<&'static str, usize>);

impl Occurred {
    pub(crate) fn note(&mut self, what: &'static str, happened: bool) {
        *self.0.entry(what).or_default() += usize::from(happened);
    }

    /// What a deed did, from what it found and left.
    pub(crate) fn between(&mut self, device: &Device, before: &State, after: &State, deed: Option<Deed>) {
        let value = |state: &State, name: &str| state.values.of(device.field(name).expect("a field"));
        let moved = |name: &str| value(before, name) != value(after, name);
        let fallen = after.back().len() + 1 == before.back().len() && before.back().last() == Some(&after.screen);
        if let Some(Deed::Key(Key::Down(key))) = deed {
            let press = &device.wirings[before.front().0].keys[key].press;
            let actions = press.actions(&before.values).unwrap_or_default();
            let does = |wanted: &Action| actions.contains(wanted);
            self.note("back", does(&Action::Back) && fallen);
            self.note("cancel that restores", does(&Action::Cancel) && moved("n"));
            self.note("a press whose rule holds anywhere", key == 3 && moved("calls"));
        }
        self.note("an event whose rule holds anywhere", moved("shaken"));
        self.note("a box", after.boxes.len() == 1 && before.boxes.is_empty());
        for (name, what) in [("usb", "USB"), ("charging", "charging"), ("link", "the link"), ("charge", "the charge")] {
            self.note(what, moved(name));
        }
        let opens = |name: &str, state: &State| state.front() == device.screen(name).expect("a box");
        self.note("a sample for a time after a key", moved("ran"));
        self.note("the box of USB", moved("usb") && opens("b0", after) && !opens("b0", before));
        self.note("the box of a low charge", moved("charge") && opens("b1", after) && !opens("b1", before));
        self.note("the screen of a lost link", value(before, "link") > value(after, "link") && after.boxes.is_empty());
    }
}

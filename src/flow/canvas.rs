//! Draws the picture of the moment into a frame that holds the one before, as little of it as possible.

use super::state::State;
use crate::device::Device;
use crate::frame::Frame;
use crate::screen::ScreenId;
use crate::screen::redraw::Redraw;

/// What is needed to draw a running device.
pub struct Canvas {
    redraws: Vec<Redraw>,
    shown: Option<ScreenId>,
    versions: Vec<u64>,
    changed: Vec<bool>,
}

impl Canvas {
    /// A canvas for frames that show nothing of the device yet.
    pub fn new(device: &Device) -> Self {
        Self {
            redraws: device.screens.iter().map(|screen| Redraw::new(screen, 0)).collect(),
            shown: None,
            versions: vec![0; device.fields.len()],
            changed: vec![false; device.fields.len()],
        }
    }

    /// Brings the frame up to date; it must be the one drawn before, or any frame at first.
    pub fn draw(&mut self, device: &Device, state: &State, frame: &mut Frame) {
        let screen = &device.screens[state.screen.0];
        if self.shown == Some(state.screen) {
            for (index, changed) in self.changed.iter_mut().enumerate() {
                *changed = self.versions[index] != state.values.version[index];
            }
            self.redraws[state.screen.0].draw(screen, 0, &state.values, &self.changed, frame);
        } else {
            screen.draw(0, &state.values, frame);
            self.shown = Some(state.screen);
        }
        self.versions.copy_from_slice(&state.values.version);
    }
}

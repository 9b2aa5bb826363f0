//! Draws the picture of the moment, as little of it as possible, and knows where it may differ from the glass.

use super::state::State;
use crate::device::Device;
use crate::frame::Frame;
use crate::refresh::update::{Change, Planner};
use crate::screen::ScreenId;
use crate::screen::redraw::Redraw;
use std::ops::Range;

/// A running device's glass and the picture that it should show.
pub struct Canvas {
    /// What the glass shows.
    pub glass: Frame,
    /// The picture of the moment.
    next: Frame,
    /// Rows in which the two may differ, if any.
    touched: Option<Range<u32>>,
    redraws: Vec<Redraw>,
    shown: Option<ScreenId>,
    versions: Vec<u64>,
    changed: Vec<bool>,
}

impl Canvas {
    /// A glass that shows nothing of the device yet.
    pub fn new(device: &Device) -> Self {
        let size = device.panel.size();
        let blank = Frame::new(size.width, size.height);
        Self {
            glass: blank.clone(),
            next: blank,
            touched: None,
            redraws: device.screens.iter().map(|screen| Redraw::new(screen, 0)).collect(),
            shown: None,
            versions: vec![0; device.fields.len()],
            changed: vec![false; device.fields.len()],
        }
    }

    /// Brings the picture up to date.
    pub fn draw(&mut self, device: &Device, state: &State) {
        let screen = &device.screens[state.screen.0];
        if self.shown == Some(state.screen) {
            for (index, changed) in self.changed.iter_mut().enumerate() {
                *changed = self.versions[index] != state.values.version[index];
            }
            for island in self.redraws[state.screen.0].stale(&self.changed) {
                island.draw(screen, 0, &state.values, &mut self.next);
                let Range { start, end } = self.touched.take().unwrap_or(island.rows.clone());
                self.touched = Some(start.min(island.rows.start)..end.max(island.rows.end));
            }
        } else {
            screen.draw(0, &state.values, &mut self.next);
            self.touched = Some(0..self.next.height());
            self.shown = Some(state.screen);
        }
        self.versions.copy_from_slice(&state.values.version);
    }

    /// The change from the glass to the picture of the moment.
    pub fn change(&self, device: &Device, planner: &mut Planner) -> Change {
        match &self.touched {
            Some(rows) => planner.change_in(device, &self.glass, &self.next, rows.clone()),
            None => Change::NONE,
        }
    }

    /// The glass now shows the picture of the moment.
    pub fn shown(&mut self) {
        if let Some(rows) = self.touched.take() {
            self.glass.adopt(&self.next, rows);
        }
    }
}

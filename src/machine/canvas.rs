//! Draws the picture of the moment, as little of it as possible, and knows where it may differ from the panel.

use super::state::State;
use crate::device::Device;
use crate::device::drawing::Scenes;
use crate::frame::Frame;
use crate::refresh::drawing::scene;
use crate::refresh::update::{Change, Planner};
use crate::screen::ScreenId;
use crate::screen::redraw::Redraw;
use crate::screen::values::Values;
use std::ops::Range;

/// A running device's panel and the picture that it should show.
#[derive(Debug)]
pub struct Canvas {
    /// What the panel shows.
    pub shown: Frame,
    /// The picture of the moment.
    next: Frame,
    /// Rows in which the two may differ, if any.
    touched: Option<Range<u32>>,
    /// For each screen what is needed to redraw it in the locale shown, once it was.
    redraws: Vec<Option<Redraw>>,
    locale: usize,
    /// The screen of the picture, where no box lies over it.
    drawn: Option<ScreenId>,
    versions: Vec<u64>,
    changed: Vec<bool>,
    /// What drawing the two takes.
    scenes: Scenes,
}

impl Canvas {
    /// A panel that shows nothing of the device yet.
    pub fn new(device: &Device) -> Self {
        let size = device.panel.size();
        let blank = Frame::new(size.width, size.height);
        Self {
            shown: blank.clone(),
            next: blank,
            touched: None,
            redraws: device.screens.iter().map(|_| None).collect(),
            locale: 0,
            drawn: None,
            versions: vec![0; device.fields.len()],
            changed: vec![false; device.fields.len()],
            scenes: Scenes::default(),
        }
    }

    /// Draws in another locale from now on.
    pub fn set_locale(&mut self, locale: usize) {
        if self.locale != locale {
            self.locale = locale;
            self.redraws.fill_with(|| None);
            self.drawn = None;
        }
    }

    /// The locale drawn in.
    pub fn locale(&self) -> usize {
        self.locale
    }

    /// The next picture is drawn as a whole.
    pub fn forget(&mut self) {
        self.drawn = None;
    }

    /// Brings the picture up to date with these values in place of the state's own, if there are any.
    pub fn draw(&mut self, device: &Device, state: &State, instead: Option<&Values>) {
        let screen = &device.screens[state.screen.0];
        let values = instead.unwrap_or(&state.values);
        if !state.boxes.is_empty() || self.drawn != Some(state.screen) || instead.is_some() {
            draw_whole(device, state, self.locale, instead, &mut self.next);
            self.touched = Some(0..self.next.height());
            self.drawn = (state.boxes.is_empty() && instead.is_none()).then_some(state.screen);
            self.scenes.next = scene(device, self.locale, state.layers());
        } else {
            let versions = self.versions.iter().zip(&values.version);
            self.changed.iter_mut().zip(versions).for_each(|(changed, (drawn, now))| *changed = drawn != now);
            let locale = self.locale;
            let redraw = self.redraws[state.screen.0].get_or_insert_with(|| Redraw::new(screen, locale));
            for island in redraw.stale(&self.changed) {
                island.draw(screen, locale, values, &mut self.next);
                let Range { start, end } = self.touched.take().unwrap_or(island.rows.clone());
                self.touched = Some(start.min(island.rows.start)..end.max(island.rows.end));
            }
        }
        self.versions.copy_from_slice(&state.values.version);
    }

    /// The change from the panel to the picture of the moment.
    pub fn change(&self, device: &Device, planner: &mut Planner) -> Change {
        match &self.touched {
            Some(rows) => planner.change(device, &self.shown, &self.next, rows.clone()),
            None => Change::NONE,
        }
    }

    /// What drawing takes from what the panel shows to the picture of the moment.
    pub fn scenes(&self) -> &Scenes {
        &self.scenes
    }

    /// The panel now shows the picture of the moment.
    pub fn adopt(&mut self) {
        self.scenes.shown = Some(self.scenes.next);
        if let Some(rows) = self.touched.take() {
            self.shown.adopt(&self.next, rows);
        }
    }

    /// The panel shows nothing again.
    pub fn blank(&mut self) {
        self.shown.clear(false);
        self.next.clear(false);
        self.touched = None;
        self.drawn = None;
        self.scenes.shown = None;
    }
}

/// The screen with the boxes over it; what lies below a frozen box is drawn with the values of its opening.
pub fn draw_whole(device: &Device, state: &State, locale: usize, instead: Option<&Values>, frame: &mut Frame) {
    let now = instead.unwrap_or(&state.values);
    // A frozen box freezes all that lies below it, the nearest to the screen first.
    let values_of = |layer: usize| state.boxes[layer..].iter().find_map(|open| open.below.as_ref()).unwrap_or(now);
    device.screens[state.screen.0].draw(locale, values_of(0), frame);
    for (index, open) in state.boxes.iter().enumerate() {
        device.screens[open.screen.0].draw_over(locale, values_of(index + 1), frame);
    }
}

/// What drawing takes from one state to another, in the locale that each one's language field chooses, in `locale` where
/// no field does.
pub fn scenes_of(device: &Device, before: &State, after: &State, locale: usize) -> Scenes {
    let passes = |state: &State| {
        let locale = device.locale_of(&state.values).unwrap_or(locale);
        scene(device, locale, state.layers())
    };
    Scenes { shown: Some(passes(before)), next: passes(after) }
}

/// A screen with its sample values in a locale, a box over the screen that opens it.
pub fn pictured(device: &Device, screen: ScreenId, locale: usize) -> Frame {
    match State::sample(device, screen) {
        Some(mut state) if device.screens[screen.0].over.is_some() => {
            state.values = device.spoken(state.values, locale);
            drawn(device, &state, locale)
        }
        _ => device.draw(screen, locale, &device.sample_in(locale)),
    }
}

/// A state as a frame of its own, every box over its screen, in the locale that its language field chooses; in `locale`
/// where no field does.
pub fn drawn(device: &Device, state: &State, locale: usize) -> Frame {
    let locale = device.locale_of(&state.values).unwrap_or(locale);
    let size = device.panel.size();
    let mut frame = Frame::new(size.width, size.height);
    draw_whole(device, state, locale, None, &mut frame);
    frame
}

//! The running device behind a preview: time, state, panel, what was spent. No window, no terminal, no clock of its own.
//!
//! Time moves only by [`Session::advance`]. What the *device* does (presses, timers, events, fields) goes through the
//! emulated panel and is counted, by the same rules as [`crate::simulate`]. What the *designer* does (another
//! locale, worst-case values, another screen, a reload) shows at once and is not counted.

mod running;
mod spending;
mod updating;

pub use crate::machine::UpdateCause;
pub use crate::refresh::seen::Seen;
pub use crate::simulate::live::cause_words;
pub use spending::Spending;
pub use updating::{Update, beyond, reason_words};

use crate::budget::residue::Shading;
use crate::device::Device;
use crate::frame::Frame;
use crate::lint::{Finding, Subject, findings};
use crate::machine::state::State;
use crate::machine::{Machine, Micros, micros, seconds};
use crate::project::Loaded;
use crate::refresh::activity::Activity;
use crate::refresh::residue::Residue;
use crate::screen::ScreenId;
use crate::screen::values::{FieldId, Values};
use crate::simulate::counts::Counts;
use crate::simulate::live::Live;
use crate::source::spans::Sources;
use crate::units::{Celsius, Ratio, Seconds};
use std::cell::OnceCell;

/// How a session begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Begin {
    /// With the home screen on the panel and the sample values, at the time they say, as if it had run for a while.
    Shown,
    /// With a blank panel, at a time after midnight of the first day; the first picture is a refresh like any other.
    Blank(Seconds),
}

/// The temperature that the panel is emulated at.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Weather {
    /// The usage's temperature over the day.
    #[default]
    OverTheDay,
    /// The day's lowest.
    Coldest,
    /// The day's mean, at which a budget costs single updates.
    Mean,
    /// The day's highest.
    Warmest,
}

impl Weather {
    /// The next one, for a key that goes through all of them.
    pub fn next(self) -> Self {
        match self {
            Self::OverTheDay => Self::Coldest,
            Self::Coldest => Self::Mean,
            Self::Mean => Self::Warmest,
            Self::Warmest => Self::OverTheDay,
        }
    }

    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::OverTheDay => "over the day",
            Self::Coldest => "day's lowest",
            Self::Mean => "day's mean",
            Self::Warmest => "day's highest",
        }
    }
}

/// What became of a press.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reply {
    /// It did something.
    Acted,
    /// The key has no meaning on this screen.
    Idle,
    /// The panel is busy; it waits.
    Queued,
    /// The panel is busy; it is lost.
    Lost,
}

/// The speeds that the keys for slower and faster go through; 0 is paused.
pub const SPEEDS: [f64; 5] = [0.0, 1.0, 10.0, 100.0, 1000.0];

/// A running device.
#[derive(Debug)]
pub struct Session {
    device: Device,
    sources: Sources,
    /// What the lints find in the locale shown; sought when it is first asked for.
    findings: OnceCell<Vec<Finding>>,
    live: Live,
    /// A part of a microsecond that [`Session::advance`] still owes.
    owed: f64,
    began: Micros,
    speed: f64,
    weather: Weather,
    counts: Counts,
    update: Option<Update>,
    refused: Option<Celsius>,
}

impl Session {
    /// A session on a loaded project.
    pub fn new(loaded: Loaded, begin: Begin) -> Self {
        let Loaded { device, sources, .. } = loaded;
        let live = Self::begin(&device, begin);
        let mut session = Self {
            began: live.machine.now(),
            counts: Counts::new(&device, 0.0),
            live,
            owed: 0.0,
            speed: 1.0,
            weather: Weather::default(),
            update: None,
            refused: None,
            device,
            sources,
            findings: OnceCell::new(),
        };
        session.look();
        session
    }

    fn begin(device: &Device, begin: Begin) -> Live {
        let home = device.usage.home;
        let machine = match begin {
            Begin::Shown => Machine::shown(device, home, micros(device.usage.sample_at)),
            Begin::Blank(time) => Machine::new(device, device.usage.start_up, micros(time)),
        };
        Live::new(device, machine)
    }

    /// Starts again from a blank panel, as after a change of the battery.
    pub fn restart(&mut self) {
        let locale = self.locale();
        self.live = Self::begin(&self.device, Begin::Blank(self.device.usage.sample_at));
        self.live.machine.set_locale(&self.device, locale);
        self.restart_counts();
        self.look();
    }

    fn restart_counts(&mut self) {
        self.began = self.live.machine.now();
        self.counts = Counts::new(&self.device, 0.0);
        self.update = None;
        self.refused = None;
    }

    /// Takes a changed project: screen, values and locale stay where their names do, counts begin anew, the new
    /// picture shows at once.
    pub fn reload(&mut self, loaded: Loaded) {
        let Loaded { device, sources, .. } = loaded;
        let old = &self.live.machine;
        let screen = device.screen(&self.device.screens[old.state.screen.0].id).unwrap_or(device.usage.home);
        let mut machine = Machine::new(&device, screen, old.now());
        for (index, field) in device.fields.iter().enumerate() {
            let same = |old: &crate::screen::values::FieldId| self.device.fields[old.0].range == field.range;
            let Some(known) = self.device.field(&field.name).filter(same) else { continue };
            machine.state.values.now[index] = old.state.values.of(known);
            let past = old.state.values.past(known);
            if past.len() == machine.state.values.past[index].len() {
                std::sync::Arc::make_mut(&mut machine.state.values.past)[index] = past.to_vec();
            }
        }
        machine.state.settle(&device);
        let locale = device.locales.iter().position(|name| *name == self.device.locales[self.locale()]);
        machine.set_locale(&device, locale.unwrap_or(0));
        machine.instead = old.instead.as_ref().map(|_| device.worst());
        self.live = Live::new(&device, machine);
        (self.device, self.sources) = (device, sources);
        self.findings = OnceCell::new();
        self.restart_counts();
        self.live.show_at_once(&self.device);
    }

    /// Shows a screen without a key leading to it.
    pub fn jump(&mut self, screen: ScreenId) {
        if screen.0 < self.device.screens.len() {
            self.live.machine.jump(&self.device, screen);
            self.live.drive = None;
        }
    }

    /// Shows the screen `step` places further in the project's order, around its ends.
    pub fn jump_by(&mut self, step: i32) {
        let count = self.device.screens.len() as i64;
        let next = (self.screen().0 as i64 + i64::from(step)).rem_euclid(count.max(1));
        self.jump(ScreenId(next as usize));
    }

    /// Shows another locale.
    pub fn set_locale(&mut self, locale: usize) {
        let locale = locale.min(self.device.locales.len().saturating_sub(1));
        self.live.machine.set_locale(&self.device, locale);
        self.findings = OnceCell::new();
        self.live.show_at_once(&self.device);
    }

    /// Shows the values with the widest texts, or the live ones again.
    pub fn set_worst(&mut self, worst: bool) {
        self.live.machine.instead = worst.then(|| self.device.worst());
        self.live.show_at_once(&self.device);
    }

    /// Whether the widest values are shown.
    pub fn worst(&self) -> bool {
        self.live.machine.instead.is_some()
    }

    /// Sets how fast time goes: 1 is real time, 0 stands still.
    pub fn set_speed(&mut self, speed: f64) {
        self.speed = if speed.is_finite() { speed.clamp(0.0, SPEEDS[SPEEDS.len() - 1]) } else { 1.0 };
    }

    /// How fast time goes while the panel rests.
    pub fn speed(&self) -> f64 {
        self.speed
    }

    /// Sets the temperature at which the panel is emulated.
    pub fn set_weather(&mut self, weather: Weather) {
        self.weather = weather;
    }

    /// Which temperature the panel is emulated at.
    pub fn weather(&self) -> Weather {
        self.weather
    }

    /// The temperature of the moment.
    pub fn temperature(&self) -> Celsius {
        let climate = &self.device.usage.climate;
        match self.weather {
            Weather::OverTheDay => climate.at(self.time()),
            Weather::Coldest => climate.low,
            Weather::Mean => climate.mean(),
            Weather::Warmest => climate.high,
        }
    }

    /// The device.
    pub fn device(&self) -> &Device {
        &self.device
    }

    /// The text that the project was read from.
    pub fn sources(&self) -> &Sources {
        &self.sources
    }

    /// What the lints find on the screen shown, in its locale.
    pub fn findings(&self) -> impl Iterator<Item = &Finding> {
        let found = || findings(&Subject::new(&self.device, vec![self.locale()]));
        let here = |finding: &&Finding| finding.shown.as_ref().is_some_and(|shown| shown.screen == self.screen());
        self.findings.get_or_init(found).iter().filter(here)
    }

    /// The screen that the device is on.
    pub fn screen(&self) -> ScreenId {
        self.live.machine.state.screen
    }

    /// The locale shown.
    pub fn locale(&self) -> usize {
        self.live.machine.canvas.locale()
    }

    /// Time after midnight of the first day.
    pub fn time(&self) -> Seconds {
        seconds(self.live.machine.now())
    }

    /// When the counts began.
    pub fn counted_from(&self) -> Seconds {
        seconds(self.began)
    }

    /// What a field holds.
    pub fn value(&self, field: FieldId) -> f64 {
        self.live.machine.state.values.of(field)
    }

    /// Whether the panel refreshes.
    pub fn busy(&self) -> bool {
        self.live.machine.busy()
    }

    /// Presses that wait for the panel.
    pub fn waiting(&self) -> usize {
        self.live.machine.waiting()
    }

    /// The last update, if there was one since the counts began.
    pub fn last_update(&self) -> Option<&Update> {
        self.update.as_ref()
    }

    /// Partial refreshes since the last full one.
    pub fn partials(&self) -> u32 {
        self.live.machine.memory().partials
    }

    /// What was counted since the counts began.
    pub fn counts(&self) -> &Counts {
        &self.counts
    }

    /// The temperature at which the last update was refused, where one was: outside every table of the panel.
    pub fn refused(&self) -> Option<Celsius> {
        self.refused
    }

    /// What is in front: the screen, or a box over it.
    pub fn front(&self) -> ScreenId {
        self.live.machine.state.front()
    }

    /// What the picture is drawn with: the live values, or the worst case's.
    pub fn values(&self) -> &Values {
        self.live.machine.instead.as_ref().unwrap_or(&self.live.machine.state.values)
    }

    /// What the machine shows and holds.
    pub fn state(&self) -> &State {
        &self.live.machine.state
    }

    /// What is seen of the panel now.
    pub fn seen(&self) -> Seen {
        self.live.seen(self.live.machine.now())
    }

    /// The picture that the panel holds once no refresh is under way.
    pub fn display(&self) -> &Frame {
        &self.live.machine.canvas.shown
    }

    /// What partial refreshes have left since the counts began, and what of it lies above a share; `None` where the panel
    /// states no residue.
    pub fn residue(&self, above: Ratio) -> Option<(Shading, &Residue)> {
        Shading::of(&self.device, above).zip(self.counts.residue.as_ref())
    }

    /// How often each region of the panel was driven since the counts began.
    pub fn activity(&self) -> &Activity {
        &self.counts.activity
    }
}

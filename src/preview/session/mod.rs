//! The running device behind a preview: time, state, panel, what was spent. No window, no terminal, no clock of its own.
//!
//! Time moves only by [`Session::advance`]. What the *device* does (presses, timers, events, fields) goes through the
//! emulated panel and is counted, by the same rules as [`crate::simulate`]. What the *designer* does (another
//! locale, worst-case values, another screen, a reload) shows at once and is not counted.

mod glass;
mod queue;
mod running;
mod spending;
mod updating;

pub use glass::Seen;
pub use spending::Spending;
pub use updating::{Cause, Update, reason_words};

use crate::cost::energy::window_cost;
use crate::device::Device;
use crate::frame::Frame;
use crate::lint::{Finding, Subject, findings};
use crate::machine::state::State;
use crate::parameters::Point;
use crate::project::Loaded;
use crate::refresh::policy::Memory;
use crate::refresh::update::Planner;
use crate::screen::ScreenId;
use crate::screen::values::Values;
use crate::simulate::tally::{Origin, Tally};
use crate::source::spans::Sources;
use crate::units::{Celsius, Seconds};
use glass::Drive;
use queue::{Micros, Queue, micros, seconds};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use std::cell::OnceCell;
use std::collections::VecDeque;

/// How a session begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Begin {
    /// With the home screen on the glass and the sample values, at the time they say, as if it had run for a while.
    Shown,
    /// With a blank glass, at a time after midnight of the first day; the first picture is a refresh like any other.
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
    point: Point,
    random: ChaCha8Rng,
    queue: Queue,
    now: Micros,
    /// A part of a microsecond that [`Session::advance`] still owes.
    owed: f64,
    began: Micros,
    speed: f64,
    state: State,
    worst: Option<Values>,
    locale: usize,
    weather: Weather,
    glass: Frame,
    before: Frame,
    drive: Option<Drive>,
    memory: Memory,
    planner: Planner,
    busy_until: Micros,
    last_refresh: Option<Micros>,
    stale: Option<Origin>,
    /// What made the picture stale first, in words.
    why: Option<Cause>,
    entered: Option<ScreenId>,
    waiting: VecDeque<(Micros, usize)>,
    pressed: Vec<(Micros, usize)>,
    generation: u64,
    tally: Tally,
    update: Option<Update>,
    refused: Option<Celsius>,
}

impl Session {
    /// A session on a loaded project.
    pub fn new(loaded: Loaded, begin: Begin) -> Self {
        let Loaded { device, sources, .. } = loaded;
        let point = device.inputs.typical();
        let size = device.panel.size();
        let blank = Frame::new(size.width, size.height);
        let mut session = Self {
            random: ChaCha8Rng::seed_from_u64(device.usage.seed),
            queue: Queue::default(),
            now: 0,
            owed: 0.0,
            began: 0,
            speed: 1.0,
            state: State::new(&device),
            worst: None,
            locale: 0,
            weather: Weather::default(),
            glass: blank.clone(),
            before: blank,
            drive: None,
            memory: Memory::NEW,
            planner: Planner::new(window_cost(&device, &point)),
            busy_until: 0,
            last_refresh: None,
            stale: None,
            why: None,
            entered: None,
            waiting: VecDeque::new(),
            pressed: Vec::new(),
            generation: 0,
            tally: Tally::default(),
            update: None,
            refused: None,
            point,
            device,
            sources,
            findings: OnceCell::new(),
        };
        session.begin(begin);
        session
    }

    fn begin(&mut self, begin: Begin) {
        let start = match begin {
            Begin::Blank(time) => time,
            Begin::Shown => self.device.usage.sample_at,
        };
        self.now = micros(start);
        self.restart_counts();
        self.queue = Queue::default();
        self.state = State::new(&self.device);
        (self.stale, self.why, self.entered, self.drive) = (None, None, None, None);
        (self.busy_until, self.last_refresh) = (self.now, None);
        self.waiting.clear();
        self.pressed.clear();
        self.memory = Memory::NEW;
        self.glass.clear(false);
        self.before.clear(false);
        self.schedule_all();
        match begin {
            Begin::Blank(_) => {
                (self.stale, self.entered) = (Some(Origin::Device), Some(self.device.usage.home));
                self.why = Some(Cause::PowerUp);
                self.look();
            }
            Begin::Shown => {
                self.memory.last_full = Some(start);
                self.show_at_once();
            }
        }
    }

    /// Starts again from a blank glass, as after a change of the battery.
    pub fn restart(&mut self) {
        self.begin(Begin::Blank(self.device.usage.sample_at));
    }

    fn restart_counts(&mut self) {
        self.began = self.now;
        self.tally = Tally::new(&self.device, 0.0);
        self.update = None;
        self.refused = None;
    }

    /// Takes a changed project: screen, values and locale stay where their names do, counts begin anew, the new
    /// picture shows at once.
    pub fn reload(&mut self, loaded: Loaded) {
        let Loaded { device, sources, .. } = loaded;
        let mut state = State::new(&device);
        for (index, field) in device.fields.iter().enumerate() {
            let same = |old: &crate::screen::values::FieldId| self.device.fields[old.0].range == field.range;
            let Some(old) = self.device.field(&field.name).filter(same) else { continue };
            state.values.now[index] = self.state.values.of(old);
            let past = self.state.values.past(old);
            if past.len() == state.values.past[index].len() {
                state.values.past[index] = past.to_vec();
            }
        }
        let screen = device.screen(&self.device.screens[self.state.screen.0].id);
        state.screen = screen.unwrap_or(device.usage.home);
        let _settled = state.risen(&device);
        let locale = device.locales.iter().position(|name| *name == self.device.locales[self.locale]);
        self.locale = locale.unwrap_or(0);
        self.worst = self.worst.as_ref().map(|_| device.worst());
        self.point = device.inputs.typical();
        self.planner = Planner::new(window_cost(&device, &self.point));
        (self.device, self.sources, self.state) = (device, sources, state);
        self.findings = OnceCell::new();
        self.memory.last_full = Some(seconds(self.now));
        self.memory.partials = 0;
        self.waiting.clear();
        self.restart_counts();
        self.queue = Queue::default();
        self.schedule_all();
        self.show_at_once();
    }

    /// Puts the picture of the moment on the glass without a refresh, for changes that are the designer's.
    fn show_at_once(&mut self) {
        let frame = self.compose();
        self.before = frame.clone();
        self.glass = frame;
        (self.drive, self.stale, self.why, self.entered) = (None, None, None, None);
        self.pressed.clear();
        self.busy_until = self.now;
    }

    /// The picture of the moment, whether it is on the glass or not.
    fn compose(&self) -> Frame {
        let values = self.worst.as_ref().unwrap_or(&self.state.values);
        self.device.draw(self.state.screen, self.locale, values)
    }

    /// Shows a screen without a key leading to it.
    pub fn jump(&mut self, screen: ScreenId) {
        if screen.0 < self.device.screens.len() {
            self.state.screen = screen;
            self.generation += 1;
            self.start_timers();
            self.show_at_once();
        }
    }

    /// Shows the screen `step` places further in the project's order, around its ends.
    pub fn jump_by(&mut self, step: i32) {
        let count = self.device.screens.len() as i64;
        let next = (self.state.screen.0 as i64 + i64::from(step)).rem_euclid(count.max(1));
        self.jump(ScreenId(next as usize));
    }

    /// Shows another locale.
    pub fn set_locale(&mut self, locale: usize) {
        self.locale = locale.min(self.device.locales.len().saturating_sub(1));
        self.findings = OnceCell::new();
        self.show_at_once();
    }

    /// Shows the values with the widest texts, or the live ones again.
    pub fn set_worst(&mut self, worst: bool) {
        self.worst = worst.then(|| self.device.worst());
        self.show_at_once();
    }

    /// Whether the widest values are shown.
    pub fn worst(&self) -> bool {
        self.worst.is_some()
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
            Weather::OverTheDay => climate.at(seconds(self.now)),
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
        let found = || findings(&Subject::new(&self.device, vec![self.locale]));
        let here = |finding: &&Finding| finding.shown.as_ref().is_some_and(|shown| shown.screen == self.state.screen);
        self.findings.get_or_init(found).iter().filter(here)
    }

    /// The screen that the device is on.
    pub fn screen(&self) -> ScreenId {
        self.state.screen
    }

    /// The locale shown.
    pub fn locale(&self) -> usize {
        self.locale
    }

    /// Time after midnight of the first day.
    pub fn time(&self) -> Seconds {
        seconds(self.now)
    }

    /// When the counts began.
    pub fn counted_from(&self) -> Seconds {
        seconds(self.began)
    }

    /// Whether the panel refreshes.
    pub fn busy(&self) -> bool {
        self.now < self.busy_until
    }

    /// Presses that wait for the panel.
    pub fn waiting(&self) -> usize {
        self.waiting.len()
    }

    /// The last update, if there was one since the counts began.
    pub fn last_update(&self) -> Option<&Update> {
        self.update.as_ref()
    }

    /// Partial refreshes since the last full one.
    pub fn partials(&self) -> u32 {
        self.memory.partials
    }

    /// What was counted since the counts began.
    pub fn tally(&self) -> &Tally {
        &self.tally
    }

    /// The temperature at which the last update was refused, where one was: outside every table of the panel.
    pub fn refused(&self) -> Option<Celsius> {
        self.refused
    }
}

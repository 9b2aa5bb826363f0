//! What is seen during a journey, moment after moment.

use crate::behaviour::policy::BusyPresses;
use crate::cost::energy::window_cost;
use crate::cost::phases::{Cause, duration, latency, phases, total};
use crate::device::Device;
use crate::device::usage::Journey;
use crate::frame::Frame;
use crate::machine::state::{Pressed, State};
use crate::refresh::policy::{Memory, pick};
use crate::refresh::update::{Mode, Planner, work};
use crate::screen::ScreenId;
use crate::units::{Joules, Seconds};
use embedded_graphics::prelude::Point;
use embedded_graphics::primitives::Rectangle;

/// What a moment belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Somebody looks at a picture that stands.
    Look,
    /// The device works, the glass still shows the old picture.
    Wait,
    /// The glass is driven.
    Drive,
}

/// What is seen for some time.
#[derive(Clone, Debug)]
pub struct Shot {
    /// Ink and paper.
    pub frame: Frame,
    /// Pixels on their way, seen as gray.
    pub settling: Option<Frame>,
    /// The key held down, the first being 0.
    pub key: Option<usize>,
    /// What happens, in a few words.
    pub caption: String,
    /// What it belongs to.
    pub step: Step,
    /// For how long, in the device's time.
    pub time: Seconds,
}

/// How long a key is seen pressed where nothing else would show it.
const PRESS: Seconds = Seconds(0.2);
/// How long the first picture is seen before anything is pressed, and the last one at least.
pub const REST: Seconds = Seconds(1.0);

/// Everything seen during a journey. A press during a refresh waits for its end or is lost, as the project says.
pub fn shots(device: &Device, locale: usize, journey: &Journey) -> Vec<Shot> {
    let mut run = Run::new(device, locale, journey.from);
    if journey.steps.first().is_some_and(|step| step.press.is_some()) {
        run.look(REST);
    }
    for step in &journey.steps {
        if let Some(key) = step.press {
            run.press(key);
        }
        run.look(step.look);
    }
    if run.shots.last().is_some_and(|last| last.step != Step::Look) {
        run.see(run.glass.clone(), None, None, Step::Look, REST);
    }
    run.shots
}

struct Run<'a> {
    device: &'a Device,
    locale: usize,
    state: State,
    glass: Frame,
    memory: Memory,
    planner: Planner,
    now: Seconds,
    /// The panel can take the next update then.
    free: Seconds,
    /// When the journey's next step comes.
    due: Seconds,
    caption: String,
    shots: Vec<Shot>,
}

impl<'a> Run<'a> {
    fn new(device: &'a Device, locale: usize, from: ScreenId) -> Self {
        let mut state = State::new(device);
        state.screen = from;
        let glass = device.draw(from, locale, &state.values);
        let zero = Seconds(0.0);
        Self {
            device,
            locale,
            state,
            glass,
            memory: Memory { partials: 0, last_full: Some(zero) },
            planner: Planner::new(window_cost(device, &device.inputs.typical())),
            now: zero,
            free: zero,
            due: zero,
            caption: String::new(),
            shots: Vec::new(),
        }
    }

    fn see(&mut self, frame: Frame, settling: Option<Frame>, key: Option<usize>, step: Step, time: Seconds) {
        if time.0 > 0.0 {
            self.now += time;
            self.shots.push(Shot { frame, settling, key, caption: self.caption.clone(), step, time });
        }
    }

    /// Looks on until the journey's next step.
    fn look(&mut self, time: Seconds) {
        self.due += time;
        let rest = self.due - self.now;
        self.see(self.glass.clone(), None, None, Step::Look, rest);
    }

    fn press(&mut self, key: usize) {
        if self.now < self.free {
            if self.device.policy.busy_presses == BusyPresses::Drop {
                self.caption = format!("key {} lost: the panel is busy", key + 1);
                return;
            }
            self.see(self.glass.clone(), None, Some(key), Step::Wait, self.free - self.now);
        }
        let entered = match self.state.press(self.device, key) {
            Pressed::Nothing => None,
            Pressed::Changed => Some(None),
            Pressed::Entered(screen) => Some(Some(screen)),
        };
        let next = self.device.draw(self.state.screen, self.locale, &self.state.values);
        match entered {
            Some(entered) => self.update(key, entered, next),
            None => {
                self.caption = format!("key {} does nothing", key + 1);
                self.see(self.glass.clone(), None, Some(key), Step::Wait, PRESS);
            }
        }
    }

    fn update(&mut self, key: usize, entered: Option<ScreenId>, next: Frame) {
        let device = self.device;
        let temperature = device.usage.climate.mean();
        let change = self.planner.change(device, &self.glass, &next);
        let mode = pick(device, self.memory, self.now, temperature, entered);
        let work = if change.pixels == 0 { None } else { work(device, &change, mode, temperature) };
        let Some(work) = work else {
            self.caption = format!("key {}: nothing changes", key + 1);
            self.see(self.glass.clone(), None, Some(key), Step::Wait, PRESS);
            return;
        };
        let point = device.inputs.typical();
        let phases = phases(device, &point, &work);
        let energy: Joules = total(&phases).energy_at(device.battery.nominal());
        let drive: Seconds = phases.iter().filter(|phase| phase.cause == Cause::Drive).map(|phase| phase.time).sum();
        let visible = latency(&phases);
        self.memory.note(mode, self.now);
        self.free = self.now + duration(&phases);
        self.caption = format!("key {}: {}, {visible}, {energy}", key + 1, mode.name());
        self.see(self.glass.clone(), None, Some(key), Step::Wait, visible - drive);
        match mode {
            Mode::Partial => {
                let settling = self.glass.difference(&next);
                self.see(next.clone(), settling, Some(key), Step::Drive, drive);
            }
            Mode::Full => {
                for frame in flash(&self.glass) {
                    self.see(frame, None, Some(key), Step::Drive, drive / 3.0);
                }
            }
        }
        self.glass = next;
    }
}

/// Negative, black, white.
fn flash(frame: &Frame) -> [Frame; 3] {
    let mut negative = frame.clone();
    negative.invert(Rectangle::new(Point::zero(), frame.size()));
    let (mut black, mut white) = (frame.clone(), frame.clone());
    black.clear(true);
    white.clear(false);
    [negative, black, white]
}

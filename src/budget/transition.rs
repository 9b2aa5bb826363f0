//! What single changes of the frame take: each way from a screen to another, with sample values, in a quiet moment. Not for
//! how often they happen; see [`crate::simulate`].

use crate::behaviour::trigger::Trigger;
use crate::cost::energy::window_cost;
use crate::cost::phases::{latency, phases, total};
use crate::device::Device;
use crate::device::drawing::Scenes;
use crate::frame::Frame;
use crate::machine::canvas::{drawn, scenes_of};
use crate::machine::explore::{fire, rules};
use crate::machine::state::State;
use crate::parameters::ParameterSample;
use crate::refresh::update::{Mode, Planner, upright, work};
use crate::refresh::work::Work;
use crate::screen::ScreenId;
use crate::units::{Celsius, Joules, Seconds};
use embedded_graphics::primitives::Rectangle;

/// One way from a screen to another, with sample values.
#[derive(Debug)]
pub struct Transition {
    /// From here.
    pub from: ScreenId,
    /// To there; the same screen where a key changes a field.
    pub to: ScreenId,
    /// What leads there.
    pub trigger: Trigger,
    /// What the panel takes for it.
    pub change: PictureChange,
}

impl Transition {
    /// What leads there, in words: `key 1`, `after 30 s`, `event frost`.
    pub fn by(&self, device: &Device) -> String {
        self.trigger.words(&device.events)
    }
}

/// Every key, timer and event that leads to a screen or changes a field, with sample values.
pub fn transitions(device: &Device, parameters: &ParameterSample, temperature: Celsius) -> Vec<Transition> {
    let mut planner = Planner::new(window_cost(device, parameters));
    let draw = |state: &State| drawn(device, state, 0);
    let mut all = Vec::new();
    for (index, wiring) in device.wirings.iter().enumerate() {
        let Some(begin) = State::sample(device, ScreenId(index)) else { continue };
        let old = draw(&begin);
        for by in rules(wiring).map(|(by, _)| by) {
            let Some((after, entered)) = fire(device, &begin, by) else { continue };
            let pictures = (&old, &draw(&after));
            let scenes = scenes_of(device, &begin, &after, 0);
            let change = picture_change(device, parameters, temperature, &mut planner, entered, pictures, &scenes);
            let (from, to, trigger) = (ScreenId(index), after.front(), by.trigger(wiring));
            all.extend(change.map(|change| Transition { from, to, trigger, change }));
        }
    }
    all
}

/// What the panel takes from one picture to another in a quiet moment.
#[derive(Debug)]
pub struct PictureChange {
    /// Pixels that change.
    pub changed: u64,
    /// Windows in the upright picture.
    pub windows: Vec<Rectangle>,
    /// The waveform that the policy picks.
    pub mode: Mode,
    /// Press to visible.
    pub latency: Seconds,
    /// Energy at the battery.
    pub energy: Joules,
    /// The work, for explanations.
    pub work: Work,
}

/// What leads from one picture to another, with the screen that is entered if one is, and what drawing their scenes takes. `None` outside the panel's tables.
pub fn picture_change(
    device: &Device,
    parameters: &ParameterSample,
    temperature: Celsius,
    planner: &mut Planner,
    entered: Option<ScreenId>,
    (old, new): (&Frame, &Frame),
    scenes: &Scenes,
) -> Option<PictureChange> {
    let change = planner.change(device, old, new, 0..new.height());
    let quiet = crate::refresh::policy::Memory { partials: 0, last_full: Some(Seconds(0.0)) };
    let mode = crate::refresh::policy::pick(device, quiet, Seconds(0.0), temperature, entered);
    let work = match change.pixels {
        0 => Work::default(),
        _ => work(device, device.policy.buffer, &change, scenes, mode, temperature)?,
    };
    let phases = phases(device, parameters, &work, device.battery.nominal());
    let windows = if mode == Mode::Partial { change.windows.as_slice() } else { &[] };
    Some(PictureChange {
        changed: change.pixels,
        windows: windows.iter().map(|window| upright(device, window)).collect(),
        mode,
        latency: latency(&phases),
        energy: total(&phases).energy_at(device.battery.nominal()),
        work,
    })
}

//! The flow as a table: what each key, timer and event does on each screen, and how the panel is refreshed for it.

use crate::behaviour::How;
use crate::device::Device;
use crate::refresh::update::Mode;
use crate::screen::ScreenId;
use serde::Serialize;

/// One way on from a screen.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FlowStep {
    /// The position of the screen among those exported.
    pub screen: usize,
    /// What starts it.
    pub trigger: FlowTrigger,
    /// The position of the screen that it leads to; the same screen where only a field changes.
    pub target: usize,
    /// The refresh it is drawn with, as far as the flow alone decides.
    #[serde(serialize_with = "mode_name")]
    pub mode: Mode,
    /// The field that it changes, and how.
    pub change: Option<FlowChange>,
}

fn mode_name<S: serde::Serializer>(mode: &Mode, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(mode.name())
}

/// What starts a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FlowTrigger {
    /// A soft key, counted from 0.
    Key(usize),
    /// Milliseconds without a press.
    After(u32),
    /// An event, by its position.
    Event(usize),
}

/// A change of a field, in units of its last decimal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct FlowChange {
    /// The position of the field.
    pub field: usize,
    /// Whether the amount is added; else it is set.
    pub added: bool,
    /// The amount.
    pub amount: i32,
    /// Smallest and largest value that it may reach.
    pub range: [i32; 2],
}

/// Every step from an exported screen to an exported one, by their positions in the export: a table that firmware walks
/// must not lead to a screen that it does not have.
pub fn steps(device: &Device, exported: &[ScreenId]) -> Vec<FlowStep> {
    let place = |screen: usize| exported.iter().position(|exported| exported.0 == screen);
    let both = |step: FlowStep| Some(FlowStep { screen: place(step.screen)?, target: place(step.target)?, ..step });
    every(device).into_iter().filter_map(both).collect()
}

/// Every step of every screen of the device, by their positions there.
fn every(device: &Device) -> Vec<FlowStep> {
    let mode = |from: usize, target: usize| {
        let asked = from != target && device.policy.full_on.get(target).copied().unwrap_or(false);
        if asked || device.panel.partial.is_none() { Mode::Full } else { Mode::Partial }
    };
    let mut steps = Vec::new();
    for (screen, wiring) in device.wirings.iter().enumerate() {
        let mut add = |trigger, target: usize, change| {
            steps.push(FlowStep { screen, trigger, target, mode: mode(screen, target), change });
        };
        for (key, rule) in wiring.keys.iter().enumerate() {
            let Some((change, go)) = rule.press.plain().filter(|_| rule.press.acts()) else { continue };
            let change = change.map(|change| {
                let field = change.field.0;
                let scale = 10f64.powi(super::condition::decimals(device, field) as i32);
                let units = |value: f64| (value * scale).round().clamp(-2.0e9, 2.0e9) as i32;
                let (added, amount) = match change.how {
                    How::By(step) => (true, units(step)),
                    How::Digit { by, .. } => (true, units(f64::from(by))),
                    How::To(value) => (false, units(value)),
                };
                FlowChange { field, added, amount, range: device.fields[field].range.map(units) }
            });
            add(FlowTrigger::Key(key), go.map_or(screen, |go| go.0), change);
        }
        for timer in &wiring.timers {
            let wait = (timer.wait.0 * 1000.0).round().clamp(0.0, f64::from(u32::MAX)) as u32;
            timer.reaction.targets().take(1).for_each(|go| add(FlowTrigger::After(wait), go.0, None));
        }
        for (event, reaction) in &wiring.events {
            reaction.targets().take(1).for_each(|go| add(FlowTrigger::Event(event.0), go.0, None));
        }
    }
    steps
}

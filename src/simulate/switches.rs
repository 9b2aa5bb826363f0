//! What a device does otherwise from a state of charge on: the numbers that its conditions compare the charge with, and
//! whose conditions those are. Not for a device that is charged now and then: there the charge moves in the simulation.

use crate::behaviour::states::DeviceState;
use crate::behaviour::{EventId, Times};
use crate::device::Device;
use crate::limits;
use crate::screen::ScreenId;
use crate::screen::values::{Condition, FieldId, Limit, Test};

/// Who does otherwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Switched {
    /// An event happens, or does not.
    Event(EventId),
    /// A field is sampled, or is not.
    Sampling(FieldId),
    /// A load of the board is drawn, or is not.
    Load(usize),
    /// Keys, timers or events of a screen or box do something else.
    Rules(ScreenId),
}

/// As `asked`, where the battery is not charged now and then.
pub fn switched(device: &Device) -> Vec<(f64, Switched)> {
    if device.usage.charging.is_some() { Vec::new() } else { asked(device) }
}

/// A state of charge in percent within each stretch in which the device acts alike, the fullest first; none where it acts
/// alike at any charge.
pub fn stretches(device: &Device) -> Vec<f64> {
    let mut ends: Vec<f64> = asked(device).into_iter().map(|(percent, _)| percent).chain([0.0, 100.0]).collect();
    ends.sort_by(|a, b| b.total_cmp(a));
    ends.dedup();
    match ends.len() {
        0..=2 => Vec::new(),
        // A whole percent, as gauges show it; the lower end belongs to a stretch.
        _ => ends.windows(2).map(|pair| ((pair[0] + pair[1]) / 2.0).floor().max(pair[1])).collect(),
    }
}

/// Every number in percent that a condition compares the charge with, and whose condition it is; each once, in the order
/// of events, fields, loads and screens.
fn asked(device: &Device) -> Vec<(f64, Switched)> {
    let Some(charge) = device.states.field(DeviceState::Charge) else { return Vec::new() };
    let when = |times: &Times| match times {
        Times::When(condition) => Some(*condition),
        Times::Every(..) | Times::PerDay(..) => None,
    };
    let events = device.events.iter().enumerate().flat_map(|(index, event)| {
        let all = when(&event.times).into_iter().chain(event.only.iter().copied());
        all.map(move |condition| (condition, Switched::Event(EventId(index))))
    });
    let fields = device.fields.iter().enumerate().flat_map(|(index, field)| {
        field.only.iter().map(move |condition| (*condition, Switched::Sampling(FieldId(index))))
    });
    let loads = device.load_only.iter().enumerate();
    let loads = loads.flat_map(|(index, only)| only.iter().map(move |condition| (*condition, Switched::Load(index))));
    let rules = device.wirings.iter().enumerate().flat_map(|(index, wiring)| {
        let alternatives = wiring.reactions().flat_map(|reaction| &reaction.alternatives);
        alternatives.flat_map(|one| &one.when).map(move |condition| (*condition, Switched::Rules(ScreenId(index))))
    });
    let number = |condition: Condition| match condition.test {
        Test::Below(Limit::Number(number)) | Test::From(Limit::Number(number)) => Some(number),
        _ => None,
    };
    let asked = events.chain(fields).chain(loads).chain(rules).filter(|(condition, _)| condition.field == charge);
    let mut all: Vec<(f64, Switched)> = Vec::new();
    for (percent, who) in asked.filter_map(|(condition, who)| Some((number(condition)?, who))) {
        if percent > 0.0 && percent < 100.0 && !all.contains(&(percent, who)) {
            all.push((percent, who));
        }
    }
    all
}

/// The states of charge in percent, falling.
pub(super) fn switches(device: &Device) -> Vec<f64> {
    let mut switches: Vec<f64> = switched(device).into_iter().map(|(percent, _)| percent).collect();
    switches.sort_by(|a, b| b.total_cmp(a));
    switches.dedup();
    switches.truncate(limits::REGIMES);
    switches
}

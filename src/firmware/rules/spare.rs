//! Which parts of the machine in C a design does without, by the names that its header gives them.
//!
//! Not for leaving them out; the export does that.

use crate::behaviour::{Action, Hours, KeyRule, Times};
use crate::device::Device;
use crate::firmware::tables::condition::Check;
use crate::screen::values::Condition;

/// Parts that nothing in the design needs.
pub(super) fn spare(device: &Device) -> Vec<&'static str> {
    let keys = || device.wirings.iter().flat_map(|wiring| &wiring.keys);
    let key = |is: fn(&KeyRule) -> bool| keys().any(is);
    let actions = || {
        let reactions = device.wirings.iter().flat_map(|wiring| wiring.reactions());
        reactions.flat_map(|reaction| &reaction.alternatives).flat_map(|one| &one.actions)
    };
    let picks = actions().any(|action| matches!(action, Action::Pick(..)));
    let opens = actions().any(|action| match action {
        Action::Change(change) => change.ends.opens().is_some(),
        Action::Pick(_, changes) => changes.iter().any(|change| change.ends.opens().is_some()),
        _ => false,
    });
    let hours = device.events.iter().any(|event| matches!(event.times, Times::Every(_, hours) if hours != Hours::ALL));
    let flow_state = &device.flow_state;
    let parts = [
        ("INK_FROZEN", device.screens.iter().any(|screen| screen.over.as_ref().is_some_and(|over| over.frozen))),
        ("INK_RELEASES", key(|rule| rule.release.acts())),
        ("INK_FASTER", key(|rule| rule.repeat.is_some_and(|repeat| repeat.faster.is_some()))),
        ("INK_OPENS", opens),
        ("INK_WITHIN", device.fields.iter().any(|field| field.within.is_some())),
        ("INK_PICKS", picks),
        ("INK_COMPARES", conditions(device).any(|condition| Check::of(device, condition).other.is_some())),
        ("INK_DAY_HOURS", hours),
        ("INK_TIMES_AFTER", !flow_state.recent.is_empty()),
        (
            "INK_FLOW_STATES",
            [flow_state.before, flow_state.front].iter().chain(&flow_state.happened).any(Option::is_some),
        ),
    ];
    parts.into_iter().filter(|(_, needed)| !needed).map(|(part, _)| part).collect()
}

/// Every condition of the flow.
fn conditions(device: &Device) -> impl Iterator<Item = &Condition> {
    let reactions = device.wirings.iter().flat_map(|wiring| wiring.reactions());
    let alternatives = reactions.flat_map(|reaction| &reaction.alternatives).flat_map(|one| &one.when);
    let rises = device.events.iter().filter_map(|event| match &event.times {
        Times::When(when) => Some(when),
        Times::Every(..) | Times::PerDay(..) => None,
    });
    let events = device.events.iter().flat_map(|event| &event.only).chain(rises);
    alternatives.chain(events).chain(device.fields.iter().flat_map(|field| &field.only))
}

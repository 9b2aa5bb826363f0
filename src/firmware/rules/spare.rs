//! Which parts of the machine in C a design does without, by the names that its header gives them.
//!
//! Not for leaving them out; the export does that.

use super::sizes;
use crate::behaviour::policy::BusyPresses;
use crate::behaviour::{Action, Hours, How, KeyRule, Target, Times};
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
    let hours = device.events.iter().any(|event| matches!(event.times, Times::Every(_, hours) if hours != Hours::ALL));
    let flow_state = &device.flow_state;
    let timers = device.wirings.iter().any(|wiring| !wiring.timers.is_empty());
    let rises = device.events.iter().any(|event| matches!(event.times, Times::When(_)));
    let changes = || {
        actions().flat_map(|action| match action {
            Action::Change(change) => std::slice::from_ref(change),
            Action::Pick(_, changes) => changes,
            _ => &[],
        })
    };
    let digits = changes().any(|change| matches!(change.how, How::Digit { .. }));
    let parts = [
        ("INK_HOLDS", key(|rule| rule.hold.is_some())),
        ("INK_REPEATS", key(|rule| rule.repeat.is_some())),
        ("INK_KEYS_WAIT", device.policy.busy_presses == BusyPresses::Queue),
        ("INK_TIMERS", timers),
        ("INK_RISES", rises),
        ("INK_EDITS", device.wirings.iter().any(|wiring| !wiring.edits.is_empty())),
        ("INK_DIGITS", digits),
        ("INK_GOES_BY", actions().any(|action| matches!(action, Action::Go(Target::By { .. })))),
        ("INK_LONG_WAITS", sizes::long_waits(device)),
        ("INK_MANY_SCREENS", sizes::many_screens(device)),
        ("INK_BACK_FORGETS", sizes::back_forgets(device)),
        ("INK_FROZEN", device.screens.iter().any(|screen| screen.over.as_ref().is_some_and(|over| over.frozen))),
        ("INK_RELEASES", key(|rule| rule.release.acts())),
        ("INK_FASTER", key(|rule| rule.repeat.is_some_and(|repeat| repeat.faster.is_some()))),
        ("INK_OPENS", changes().any(|change| change.ends.opens().is_some())),
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

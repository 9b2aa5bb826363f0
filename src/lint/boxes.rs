//! `box-no-exit`: a box that no key and no timer takes away.

use super::Subject;
use super::report::Report;
use crate::behaviour::{Action, KeyRule, Reaction};
use crate::source::fault::Fault;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    for view in subject.screens().filter(|view| view.screen.over.is_some()) {
        let wiring = &device.wirings[view.id.0];
        // Switching the device off is no way out.
        let stays = |action: &Action| action.targets().into_iter().any(|screen| !device.ends_use(screen));
        let leaves = |action: &Action| match action {
            Action::Close | Action::Back => true,
            Action::Go(_) => stays(action),
            _ => false,
        };
        let keys = wiring.keys.iter().flat_map(KeyRule::reactions);
        let by_hand = keys.chain(wiring.timers.iter().map(|timer| &timer.reaction));
        if by_hand.flat_map(Reaction::every_action).any(leaves) {
            continue;
        }
        let place = view.screen.span.start..view.screen.span.start;
        let event = wiring.events.iter().find(|(_, reaction)| reaction.every_action().any(leaves));
        let label = match event {
            Some((event, _)) => format!("only the event `{}` closes it", device.events[event.0].name),
            None => "nothing closes it".to_owned(),
        };
        let fault = Fault::at(place, format!("the box `{}` has no way out", view.screen.id)).label(label);
        let fault = fault.help("add a key with close = true, or [[after]] with wait = \"5 s\" and close = true");
        report.see(view.shown(view.sample(), Vec::new()), 0.0, fault);
    }
}

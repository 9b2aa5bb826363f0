//! What lies behind a screen that is shown without having been reached, for pictures and figures of it.

use crate::behaviour::{Action, Reaction};
use crate::device::Device;
use crate::limits;
use crate::screen::ScreenId;
use std::collections::VecDeque;

/// What lies behind a screen that was reached the shortest way from the home screen, whatever had to happen for it: the
/// screens that [`crate::behaviour::Action::Back`] then returns to, the nearest last. Empty where nothing leads there.
pub(super) fn behind(device: &Device, screen: ScreenId) -> Vec<ScreenId> {
    let home = device.usage.home;
    let mut seen = vec![false; device.screens.len()];
    seen[home.0] = true;
    // What is in front, the screen below, and what lies behind that.
    let mut open = VecDeque::from([(home, home, Vec::new())]);
    while let Some((front, below, back)) = open.pop_front() {
        if front == screen {
            return back;
        }
        let actions = device.wirings[front.0].reactions().flat_map(Reaction::every_action);
        for (action, to) in actions.flat_map(|action| action.targets().into_iter().map(move |to| (action, to))) {
            if std::mem::replace(&mut seen[to.0], true) {
                continue;
            }
            let next = match (action, &device.screens[to.0].over) {
                (Action::Go(_), None) => {
                    let keep = back.len().saturating_sub(limits::BACK_DEPTH - 1);
                    (to, to, [&back[keep..], &[below]].concat())
                }
                _ => (to, below, back.clone()),
            };
            open.push_back(next);
        }
    }
    Vec::new()
}

//! `key-idle`: a soft key whose label promises something it does not do, or that acts without saying so.

use super::Subject;
use super::report::Report;
use crate::behaviour::{Action, Reaction, Target};
use crate::screen::ScreenId;
use crate::source::fault::Fault;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    for view in subject.screens() {
        let wiring = &subject.device.wirings[view.id.0];
        let drawn = view.items.iter().any(|item| item.kind == "keys");
        for (key, written) in wiring.written.iter().enumerate() {
            let Some(written) = written else { continue };
            let action = &wiring.keys[key];
            let here = Action::Go(Target::Screen(ScreenId(view.id.0)));
            // A key elsewhere on the instrument has no label on the display.
            let elsewhere = subject.device.display.keys.get(key).is_some_and(|place| place.side.is_none());
            let stays = action.acts() && action.reactions().flat_map(Reaction::every_action).all(|one| *one == here);
            let objection = match (written.labelled, action.acts()) {
                (_, true) if stays => {
                    Some(("leads to the screen it is on", "let it lead to another screen, or take it out"))
                }
                (true, false) => Some((
                    "has a label and does nothing",
                    "add go = \"...\" or change = { ... }, or take the label out",
                )),
                (false, true) if elsewhere => None,
                (true, true) if elsewhere => None,
                (false, true) => Some(("acts without a label", "add label = \"...\"")),
                (false, false) => Some(("has neither a label nor an action", "take it out")),
                (true, true) if !drawn => {
                    Some(("has a label that is not drawn", "add { keys = \"ticks\", bottom = 15 } to the content"))
                }
                (true, true) => None,
            };
            if let Some((what, help)) = objection {
                let fault = Fault::at(written.span.clone(), format!("key {} {what}", key + 1)).help(help);
                report.see(view.shown(view.sample(), Vec::new()), 0.0, fault);
            }
        }
    }
}

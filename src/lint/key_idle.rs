//! `key-idle`: a soft key whose label promises something it does not do, or that acts without saying so.

use super::Subject;
use super::report::Report;
use crate::behaviour::{Action, Reaction, Target};
use crate::screen::ScreenId;
use crate::source::fault::Fault;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    for view in subject.screens() {
        let wiring = &subject.device.wirings[view.id.0];
        let labels: Vec<usize> = view.items.iter().flat_map(|item| item.texts()).filter_map(|text| text.key).collect();
        let drawn = |key: usize| labels.contains(&key);
        for (key, written) in wiring.written.iter().enumerate() {
            let Some(written) = written else { continue };
            let action = &wiring.keys[key];
            let here = Action::Go(Target::Screen(ScreenId(view.id.0)));
            let stays = action.acts() && action.reactions().flat_map(Reaction::every_action).all(|one| *one == here);
            // Its name stands on the instrument, or it lies away from the display.
            let place = &subject.device.display.keys[key];
            let printed = place.side.is_none() || !place.name.is_empty();
            let objection = match (written.labelled, action.acts()) {
                (_, true) if stays => {
                    Some(("leads to the screen it is on", "let it lead to another screen, or delete it"))
                }
                (true, false) => {
                    Some(("has a label and does nothing", "add go = \"...\" or change = { ... }, or delete the label"))
                }
                (false, true) if printed => None,
                (false, true) => Some(("acts without a label", "add label = \"...\"")),
                // An exception to the rule that holds anywhere.
                (false, false) if written.excepts => None,
                (false, false) => Some(("has neither a label nor an action", "delete it")),
                // The words of a key elsewhere on the instrument are for maps and the preview.
                (true, true) if place.side.is_some() && !drawn(key) => Some((
                    "has a label that is not drawn",
                    "add { keys = \"ticks\", bottom = 15 } to the content, for keys at another side with `side`",
                )),
                (true, true) => None,
            };
            if let Some((what, help)) = objection {
                let fault = Fault::at(written.span.clone(), format!("key {} {what}", key + 1)).help(help);
                report.see(view.shown(view.sample(), Vec::new()), 0.0, fault);
            }
        }
    }
}

//! The words on the screen in front as they stand at the moment, and what its soft keys are called.

use super::session::Session;
use crate::machine::explore::{By, fire};
use crate::screen::Item;
use crate::screen::inspect::Said;

/// The texts of the screen in front.
pub fn said(session: &Session) -> Vec<Said> {
    let values = session.values();
    let items = &session.device().screens[session.front().0].pictures[session.locale()];
    let seen = |item: &&Item| item.when.iter().all(|condition| condition.holds(values));
    let operations = items.iter().filter(seen).flat_map(|item| &item.operations);
    operations.flat_map(|operation| operation.said(values)).filter(|said| !said.text.trim().is_empty()).collect()
}

/// What a soft key is called: its label on the screen, else where it leads; `None` where it does nothing.
pub fn key_label(session: &Session, words: &[Said], key: usize) -> Option<String> {
    let device = session.device();
    let acts = device.wirings[session.front().0].keys.get(key).is_some_and(|action| action.acts());
    if !acts {
        return None;
    }
    let label = words.iter().find(|said| said.key == Some(key)).map(|said| said.text.trim().to_owned());
    label.or_else(|| {
        let (then, _) = fire(device, session.state(), By::Press(key))?;
        let screen = &device.screens[then.front().0];
        (then.front() != session.front()).then(|| screen.title(session.locale()).to_owned())
    })
}

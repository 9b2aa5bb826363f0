//! Whether a project is small enough in each of its counts.

use super::Draft;
use crate::limits;
use crate::source::amount::Named;
use crate::source::fault::Fault;

/// A fault for each count that passes its limit.
pub fn faults(draft: &Draft) -> Vec<Fault> {
    let (screens, locales) = (draft.screens.len(), draft.strings.len().max(1));
    let project = &draft.project;
    let mut faults = Vec::new();
    faults.extend(over("screens", screens, limits::SCREENS));
    faults.extend(over("locales", locales, limits::LOCALES));
    faults.extend(over("images of screens (screens times locales)", screens * locales, limits::PICTURES));
    faults.extend(over_in("fields", &project.fields, limits::FIELDS));
    faults.extend(over_in("events", &project.events, limits::EVENTS));
    faults.extend(over_in("rails", &project.board.rails, limits::RAILS));
    faults.extend(over_in("journeys", &project.usage.journeys, limits::JOURNEYS));
    faults
}

fn over(what: &str, found: usize, most: usize) -> Option<Fault> {
    let said = format!("the project has {found} {what}; at most {most} are taken");
    (found > most).then(|| Fault::plain(said).help("split the project, or leave out what this run does not need"))
}

/// Points at the first entry that is too many.
fn over_in<T>(what: &str, all: &Named<T>, most: usize) -> Option<Fault> {
    let first = all.values().nth(most)?;
    let said = format!("the project has {} {what}; at most {most} are taken", all.len());
    Some(Fault::at(first.span.clone(), said).help("split the project, or leave out what this run does not need"))
}

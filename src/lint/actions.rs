//! `never-acts`, `endless-events` and `moot-action`: alternatives that no state of the flow carries out or that change
//! nothing in any, events that go on making one another happen, and actions that another one of the same list undoes.

use super::Subject;
use super::report::Report;
use crate::behaviour::{Action, Alternative, How, Wiring};
use crate::device::Device;
use crate::limits;
use crate::machine::explore::{By, Rule, rules};
use crate::screen::values::{Condition, Limit, Test};
use crate::source::fault::Fault;
use crate::source::spans::Span;

/// Alternatives under conditions that hold in no state, or outside their field's range.
pub(super) fn never(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    let found = subject.explored();
    // The same rule on another screen may be carried out there: rules that hold anywhere stand on all of them.
    let elsewhere = |by: By, alternative: usize, one: &Alternative| {
        found.fired.iter().filter(|rule| rule.by == by && rule.alternative == alternative).any(|rule| {
            let mut same = rules(&device.wirings[rule.screen.0]).filter(|(own, _)| *own == by);
            same.any(|(_, reaction)| reaction.alternatives.get(alternative) == Some(one))
        })
    };
    let never_moves = |rule: &Rule| found.complete && !found.moved.contains(rule);
    for view in subject.screens().filter(|view| found.shown[view.id.0]) {
        let wiring = &device.wirings[view.id.0];
        for (by, reaction) in rules(wiring) {
            for (alternative, one) in reaction.alternatives.iter().enumerate() {
                let outside = one.when.iter().find(|condition| !possible(device, condition));
                let rule = Rule { screen: view.id, by, alternative };
                // What lies beyond the bound may carry it out.
                let idle = found.complete && !found.fired.contains(&rule) && !elsewhere(by, alternative, one);
                let why = match outside {
                    Some(condition) => {
                        let field = &device.fields[condition.field.0];
                        format!("`{}` is from {} to {}", field.name, field.range[0], field.range[1])
                    }
                    None if idle => {
                        format!("in none of the {} states of the flow its condition holds", found.states)
                    }
                    None if own(wiring, by) && never_moves(&rule) => match still(one) {
                        Some(why) => {
                            let message =
                                format!("on `{}`, {} never changes anything", view.screen.id, words(device, by));
                            let fault = Fault::at(place(wiring, by, view.screen.span.start), message).label(why);
                            let fault = fault.help("let it lead where it can lead, or delete it");
                            report.see_by(format!("{rule:?}"), view.shown(view.sample(), Vec::new()), 0.0, fault);
                            continue;
                        }
                        None => continue,
                    },
                    None => continue,
                };
                let message = format!(
                    "on `{}`, alternative {} of {} is never carried out",
                    view.screen.id,
                    alternative + 1,
                    words(device, by)
                );
                let fault = Fault::at(place(wiring, by, view.screen.span.start), message).label(why);
                let fault = fault.help("correct its `when`, or delete it");
                report.see_by(format!("{rule:?}"), view.shown(view.sample(), Vec::new()), 0.0, fault);
            }
        }
    }
}

/// Whether a rule is written for this screen alone: one that holds anywhere may well do nothing here.
fn own(wiring: &Wiring, by: By) -> bool {
    match by {
        By::Press(key) | By::Hold(key) | By::Release(key) => wiring.written.get(key).is_some_and(Option::is_some),
        By::Timer(_) | By::Event(_) => false,
    }
}

/// Why an alternative that only opens or leaves something may change nothing; `None` for one that does more.
fn still(one: &Alternative) -> Option<String> {
    let [action] = one.actions.as_slice() else { return None };
    match action {
        Action::Back => Some("there is nothing behind this screen in any state of the flow".to_owned()),
        Action::Close => Some("no box is open there in any state of the flow".to_owned()),
        Action::Open(_) => Some(format!(
            "the box is open already whenever this is done, or {} boxes are, which is the most",
            limits::BOX_DEPTH
        )),
        _ => None,
    }
}

/// Events that go on making one another happen in one moment, through whatever screens they lead to.
pub(super) fn endless(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    for (front, events) in &subject.explored().endless {
        let names: Vec<&str> = events.iter().map(|event| device.events[event.0].name.as_str()).collect();
        let view = subject.screens().find(|view| view.id == *front);
        let Some(view) = view else { continue };
        let place = view.screen.span.start..view.screen.span.start;
        let message = format!("from `{}` events trigger one another endlessly: {}", view.screen.id, names.join(", "));
        let fault =
            Fault::at(place, message).label("each makes the condition of the next one true, on this screen or another");
        let help = "let one of them set a field that no condition of the others asks, or wait by a timer";
        report.see_by(format!("{events:?}"), view.shown(view.sample(), Vec::new()), 0.0, fault.help(help));
    }
}

/// Whether a field's range lets a condition hold.
fn possible(device: &Device, condition: &Condition) -> bool {
    let [low, high] = device.fields[condition.field.0].range;
    match condition.test {
        Test::Below(Limit::Number(limit)) => low < limit,
        Test::From(Limit::Number(limit)) => high >= limit,
        Test::Is(wanted) => (low..=high).contains(&wanted),
        Test::Below(Limit::Field(_)) | Test::From(Limit::Field(_)) => true,
    }
}

/// Actions of one list of which a later one undoes an earlier one before anything is seen of it.
pub(super) fn moot(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    for view in subject.screens() {
        let wiring = &device.wirings[view.id.0];
        for (by, reaction) in rules(wiring) {
            let Some(what) = reaction.alternatives.iter().find_map(|one| undone(device, &one.actions)) else {
                continue;
            };
            let message =
                format!("on `{}`, {} has an action without effect: {what}", view.screen.id, words(device, by));
            let fault = Fault::at(place(wiring, by, view.screen.span.start), message);
            let fault =
                fault.help("take out the one that is not meant; actions are carried out in order, then drawn once");
            report.see(view.shown(view.sample(), Vec::new()), 0.0, fault);
        }
    }
}

/// The first action that a later one of its list undoes, in words. Two that decide what is shown next are refused.
fn undone(device: &Device, actions: &[Action]) -> Option<String> {
    actions.iter().enumerate().find_map(|(place, action)| {
        let Action::Change(change) = action else { return None };
        let set = |action: &Action| match action {
            Action::Change(other) => other.field == change.field && matches!(other.how, How::To(_)),
            _ => false,
        };
        let field = &device.fields[change.field.0].name;
        actions[place + 1..].iter().any(set).then(|| format!("`{field}` is set again at once"))
    })
}

/// What a rule answers to, in words.
pub(super) fn words(device: &Device, by: By) -> String {
    match by {
        By::Press(key) => format!("key {}", key + 1),
        By::Hold(key) => format!("the hold of key {}", key + 1),
        By::Release(key) => format!("the release of key {}", key + 1),
        By::Timer(timer) => format!("timer {}", timer + 1),
        By::Event(event) => format!("the event `{}`", device.events[event.0].name),
    }
}

/// Where a rule stands: its key's table, else the screen's begin.
pub(super) fn place(wiring: &Wiring, by: By, screen: usize) -> Span {
    let key = match by {
        By::Press(key) | By::Hold(key) | By::Release(key) => wiring.written.get(key).and_then(Option::as_ref),
        By::Timer(_) | By::Event(_) => None,
    };
    key.map_or(screen..screen, |written| written.span.clone())
}

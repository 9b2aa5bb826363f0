//! Refuses events that would trigger one another endlessly in the same moment: each by its condition, each by
//! setting a field that makes the next condition true.
//!
//! Judged for each screen by what its rules set fields to, whatever else holds; a change by an amount leads on from value
//! to value and ends at the range's end, so it makes no circle.

use crate::behaviour::{Action, Event, EventId, How, Times, Wiring};
use crate::screen::values::{Condition, Limit, Test};
use crate::source::fault::Fault;
use crate::source::spans::Span;
use std::collections::BTreeSet;

/// Notes each circle once, at the first of its events; `spans` are the events' tables.
pub fn endless(events: &[Event], spans: &[Span], wirings: &[Wiring], faults: &mut Vec<Fault>) {
    let mut told: BTreeSet<Vec<usize>> = BTreeSet::new();
    for wiring in wirings {
        for start in 0..events.len() {
            let mut path = vec![start];
            if let Some(circle) = circle(events, wiring, &mut path) {
                let mut members = circle.clone();
                members.sort_unstable();
                if told.insert(members) {
                    let names: Vec<&str> = circle.iter().map(|event| events[*event].name.as_str()).collect();
                    let message = format!("these events trigger one another endlessly: {}", names.join(", "));
                    let fault =
                        Fault::at(spans[circle[0]].clone(), message).label("each makes the next one's condition true");
                    faults.push(
                        fault.help(
                            "let one of them set a field that no condition of the others asks, or wait by a timer",
                        ),
                    );
                }
            }
        }
    }
}

/// The circle that comes back to the first event of a path, if there is one.
fn circle(events: &[Event], wiring: &Wiring, path: &mut Vec<usize>) -> Option<Vec<usize>> {
    let last = *path.last()?;
    for next in 0..events.len() {
        if !leads(events, wiring, last, next) {
            continue;
        }
        if next == path[0] && path.len() > 1 {
            return Some(path.clone());
        }
        // A circle is found from its least event.
        if next > path[0] && !path.contains(&next) {
            path.push(next);
            if let Some(found) = circle(events, wiring, path) {
                return Some(found);
            }
            path.pop();
        }
    }
    None
}

/// Whether what an event sets makes the condition of another one true.
fn leads(events: &[Event], wiring: &Wiring, from: usize, to: usize) -> bool {
    let Times::When(condition) = events[to].times else { return false };
    if !matches!(events[from].times, Times::When(_)) {
        return false;
    }
    let rules = wiring.events.iter().filter(|(event, _)| *event == EventId(from));
    rules.flat_map(|(_, reaction)| reaction.every_action()).any(|action| match action {
        Action::Change(change) => match change.how {
            How::To(value) => change.field == condition.field && holds_at(&condition, value),
            How::By(_) | How::Digit { .. } => false,
        },
        _ => false,
    })
}

fn holds_at(condition: &Condition, value: f64) -> bool {
    match condition.test {
        Test::Below(Limit::Number(limit)) => value < limit,
        Test::From(Limit::Number(limit)) => value >= limit,
        Test::Is(wanted) => value == wanted,
        Test::Below(Limit::Field(_)) | Test::From(Limit::Field(_)) => false,
    }
}

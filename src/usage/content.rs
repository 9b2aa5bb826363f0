//! What random numbers belong to, as text: journeys by what is done in them, events by how often they come, fields by how
//! they move. Names and places in the project are left out, so that neither changes a figure.
//!
//! The words are fixed, whatever things are called in the code: other words would draw other numbers, and every project's
//! figures would change.

use crate::behaviour::field::{Field, Motion};
use crate::behaviour::{Event, Hours, Times};
use crate::device::Device;
use crate::device::usage::{Choice, Journey, JourneyStep};
use crate::units::{Ratio, Seconds};
use std::ops::Range;

/// When a journey is made.
pub(super) fn journey(journey: &Journey) -> String {
    format!("journey {} {} {}", journey.per_day, hours(&journey.hours), steps(&journey.steps))
}

/// Which ways through a journey are taken.
pub(super) fn choices(journey: &Journey) -> String {
    let choice = |choice: &Choice| {
        let way = |(chance, steps): &(Ratio, Range<usize>)| format!("(Ratio({:?}), {steps:?})", chance.0);
        format!("Choice {{ at: {}, ways: {}, end: {} }}", choice.at, list(&choice.ways, way), choice.end)
    };
    format!("choices of {} {}", steps(&journey.steps), list(&journey.choices, choice))
}

/// When an event comes that comes at random; empty for others.
pub(super) fn event(event: &Event) -> String {
    match event.times {
        Times::PerDay(rate, within) => format!("event {rate} {}", hours(&within)),
        Times::Every(..) | Times::When(_) => String::new(),
    }
}

/// How a field moves.
pub(super) fn field(device: &Device, field: &Field) -> String {
    let motion = match &field.motion {
        Motion::Still => "Still".to_owned(),
        Motion::Clock => "Clock".to_owned(),
        Motion::Walk { step } => format!("Walk {{ step: {step:?} }}"),
        Motion::Cycle { low, high, period, peak, jitter } => {
            let (period, peak) = (time(*period), time(*peak));
            format!("Cycle {{ low: {low:?}, high: {high:?}, period: {period}, peak: {peak}, jitter: {jitter:?} }}")
        }
        Motion::Count { step } => format!("Count {{ step: {step:?} }}"),
        Motion::Draw => "Draw".to_owned(),
        Motion::Grade { below, .. } => format!("thresholds {below:?}"),
        Motion::Replay { values } => format!("replay {}", values.len()),
    };
    format!("field {:?} {} {} {motion}", field.range, field.sample, field.interval(&device.events).0)
}

fn steps(steps: &[JourneyStep]) -> String {
    let step = |step: &JourneyStep| {
        let hold = step.hold.map_or_else(|| "None".to_owned(), |hold| format!("Some({})", time(hold)));
        format!("Step {{ press: {:?}, hold: {hold}, look: {} }}", step.press, time(step.look))
    };
    list(steps, step)
}

fn hours(hours: &Hours) -> String {
    format!("Hours {{ from: {}, length: {} }}", time(hours.from), time(hours.length))
}

fn time(time: Seconds) -> String {
    format!("Seconds({:?})", time.0)
}

fn list<T>(all: &[T], one: impl Fn(&T) -> String) -> String {
    format!("[{}]", all.iter().map(one).collect::<Vec<_>>().join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::usage::Session;

    /// The texts once held what types are called: one that got another name changed the demo's life from 466 to 473 days.
    #[test]
    fn the_words_stay_as_they_are() {
        let step = |press, hold: Option<f64>, look| JourneyStep { press, hold: hold.map(Seconds), look: Seconds(look) };
        let made = Journey {
            span: 0..0,
            name: "left out".to_owned(),
            per_day: 1.5,
            times: Vec::new(),
            hours: Hours { from: Seconds(28_800.0), length: Seconds(3_600.0) },
            from: None,
            steps: vec![step(Some(0), None, 2.0), step(None, Some(0.7), 1.5)],
            choices: vec![Choice { at: 0, ways: vec![(Ratio(0.3), 1..2)], end: 2 }],
            session: Session::ONCE,
        };
        let steps = "[Step { press: Some(0), hold: None, look: Seconds(2.0) }, \
                     Step { press: None, hold: Some(Seconds(0.7)), look: Seconds(1.5) }]";
        let hours = "Hours { from: Seconds(28800.0), length: Seconds(3600.0) }";
        assert_eq!(journey(&made), format!("journey 1.5 {hours} {steps}"));
        let way = "[Choice { at: 0, ways: [(Ratio(0.3), 1..2)], end: 2 }]";
        assert_eq!(choices(&made), format!("choices of {steps} {way}"));
    }
}

//! `free-wake-ups`: fields that are sampled and events that happen often, for which the project prices no work of the
//! microcontroller.

use super::Subject;
use super::report::Report;
use crate::behaviour::Times;
use crate::behaviour::field::Renewal;
use crate::source::fault::Fault;
use crate::source::spans::Span;
use crate::units::{Seconds, plain_time};

/// What comes more often than this adds up: at 5 mA for 2 ms, once a minute is 0.17 uA, once a second 10 uA.
const OFTEN: Seconds = Seconds(60.0);

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    let mut free: Vec<(String, Seconds, &Span)> = Vec::new();
    if device.board.mcu.sample_time.is_none() {
        free.extend(device.fields.iter().filter_map(|field| match field.renewal {
            Renewal::Every(every) => Some((format!("the field `{}` is sampled", field.name), every, &field.span)),
            _ => None,
        }));
    }
    let events = device.events.iter().filter(|event| event.taken.is_none() && event.awake.is_none());
    free.extend(events.filter_map(|event| match event.times {
        Times::Every(every, _) => Some((format!("the event `{}` happens", event.name), every, &event.span)),
        _ => None,
    }));
    free.retain(|(_, every, _)| *every < OFTEN);
    free.sort_by(|a, b| a.1.0.total_cmp(&b.1.0));
    let Some((what, every, span)) = free.first() else { return };
    let more = match free.len() {
        1 => String::new(),
        2 => ", and 1 more as often".to_owned(),
        count => format!(", and {} more as often", count - 1),
    };
    let message =
        format!("{what} every {}, and the microcontroller's work for it costs nothing{more}", plain_time(*every));
    let help =
        "state board.mcu.sample-time for fields, mcu-awake or a charge for the event; 0 s if it is done without waking";
    report.say(Fault::at((*span).clone(), message).help(help));
}

//! How figures of the budget come about: formula, inputs with their sources, steps, result. Every figure of the table
//! can be asked for by its name, and is told with its topic.
//!
//! Results that are sums or products of the steps shown are calculated again from them, and the tests hold them against the
//! budget's; those of a search or of many devices (cheapest schedule, fleet, sensitivity) are the budget's own.

mod account;
mod battery;
mod counted;
mod day;
mod device;
pub mod update;

pub use battery::{OneSided, one_sided};

use super::figure::{Figure, Topic};
use super::summary::Budget;
use crate::device::Device;
use crate::parameters::ParameterSample;
use crate::source::fault::{Fault, nearest};

/// How a figure comes about.
#[derive(Clone, Debug)]
pub struct Explanation {
    /// For people.
    pub text: String,
    /// Its results: their places in the budget's JSON, and the values.
    pub results: Vec<(&'static str, f64)>,
}

/// What an explanation is made from.
struct Subject<'a> {
    device: &'a Device,
    budget: &'a Budget,
    parameters: ParameterSample,
}

/// Tells of a topic; `None` where the device has nothing of it.
fn told(subject: &Subject<'_>, topic: Topic) -> Option<Explanation> {
    match topic {
        Topic::Life => battery::life(subject),
        Topic::Fleet => battery::fleet(subject),
        Topic::UsableCharge => battery::usable_charge(subject),
        Topic::Battery => battery::tables(subject),
        Topic::Supply => battery::supply(subject),
        Topic::Charging => battery::charging(subject),
        Topic::Wear => counted::wear(subject),
        Topic::LastScreen => battery::last_screen(subject),
        Topic::Day => day::day(subject),
        Topic::AlwaysOn => day::always_on_loads(subject),
        Topic::Counts => counted::counts(subject),
        Topic::Policy => day::policy(subject),
        Topic::Residue => counted::residue(subject),
        Topic::Latency => day::latency(subject),
        Topic::Updates => counted::updates(subject),
        Topic::Memory => device::memory(subject),
        Topic::Flash => device::flash(subject),
        Topic::Sensitivity => device::sensitivity(subject),
    }
}

/// A figure of the table: its value, then how all of its topic comes about.
fn figure(subject: &Subject<'_>, figure: Figure) -> Option<Explanation> {
    let (device, budget, row) = (subject.device, subject.budget, figure.row());
    let topic = told(subject, row.topic);
    let value = figure.value(device, budget);
    if topic.is_none() && value.is_none() {
        return None;
    }
    let limit = figure.limit(device).map_or(String::new(), |limit| format!(", limit {}", row.unit.show(limit)));
    let head = format!("{}: {}{limit} ({})\n", row.heading(), figure.text(device, budget), row.name);
    let Explanation { text, mut results } = topic.unwrap_or(Explanation { text: String::new(), results: Vec::new() });
    results.extend(value.map(|value| (row.pointer, value)));
    Some(Explanation { text: format!("{head}\n{text}"), results })
}

/// Names of all that can be explained beside inputs and screens: topics, then the figures of the table.
pub fn names<'a>() -> impl Iterator<Item = &'a str> {
    Topic::ALL.iter().map(|topic| topic.name()).chain(Figure::ALL.iter().map(|figure| figure.row().name))
}

/// Explains a topic or a figure by its name, or an input by its path.
///
/// # Errors
/// When there is no such topic, figure or input, or the device has nothing of it.
pub fn explain(device: &Device, budget: &Budget, what: &str) -> Result<Explanation, Fault> {
    let subject = Subject { device, budget, parameters: device.inputs.typical() };
    let absent = |meaning: &str| Fault::plain(format!("this device has no such figure: {meaning}"));
    if let Some(topic) = Topic::named(what) {
        return told(&subject, topic).ok_or_else(|| absent(topic.about()));
    }
    if let Some(known) = Figure::named(what) {
        return figure(&subject, known).ok_or_else(|| absent(known.row().title));
    }
    device::input(&subject, what).ok_or_else(|| {
        let inputs = device.inputs.rows().iter().map(|row| row.path.as_str());
        let screens = device.screens.iter().map(|screen| screen.id.as_str());
        let list = Topic::ALL.iter().map(|topic| topic.name()).collect::<Vec<_>>().join(", ");
        let near = nearest(what, names().chain(inputs).chain(screens)).map(|near| format!("{near}\n")).unwrap_or_default();
        Fault::plain(format!("there is no screen, figure or input `{what}`")).help(format!(
            "{near}topics are {list}; figures are named as for `inkjoule sweep --figure`, such as life-days; inputs by their path, such as \
             battery.capacity"
        ))
    })
}

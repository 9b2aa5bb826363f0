//! How figures of the budget come about: formula, inputs with their sources, steps, result.
//!
//! Results that are sums or products of the steps shown are calculated again from them, and the tests hold them against the
//! budget's; those of a search or of many devices (cheapest schedule, fleet, sensitivity) are the budget's own.

mod account;
mod battery;
mod day;
mod device;
pub mod update;

pub use battery::{OneSided, one_sided};

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

/// Explains one figure; `None` where the figure does not exist on a device.
type Explain = fn(&Subject<'_>) -> Option<Explanation>;

/// Figures that can be explained, with what each is.
const FIGURES: [(&str, &str, Explain); 13] = [
    ("life", "the typical life and what ends it", battery::life),
    ("fleet", "the spread of lives over devices", battery::fleet),
    ("usable-charge", "what a new battery can give", battery::usable_charge),
    ("battery", "the battery's tables with their sources", battery::tables),
    ("supply", "the voltage under peak load", battery::supply),
    ("charging", "the time of a charge from the reserve", battery::charging),
    ("last-screen", "what is reserved for the last screen", battery::last_screen),
    ("day", "the energy of a day by cause", day::day),
    ("always-on", "loads that are always there", day::always_on_loads),
    ("policy", "full and partial refreshes and the minimum-energy schedule", day::policy),
    ("latency", "key-to-display latency", day::latency),
    ("memory", "buffering of the image", device::memory),
    ("sensitivity", "what moves the life most", device::sensitivity),
];

/// Names of the figures that can be explained, with what each is.
pub fn figures() -> impl Iterator<Item = (&'static str, &'static str)> {
    FIGURES.into_iter().map(|(name, what, _)| (name, what))
}

/// Explains a figure by its name, or an input by its path.
///
/// # Errors
/// When there is no such figure or input, or the device has no such figure.
pub fn explain(device: &Device, budget: &Budget, what: &str) -> Result<Explanation, Fault> {
    let subject = Subject { device, budget, parameters: device.inputs.typical() };
    if let Some((_, meaning, explain)) = FIGURES.into_iter().find(|(name, _, _)| *name == what) {
        return explain(&subject).ok_or_else(|| Fault::plain(format!("this device has no such figure: {meaning}")));
    }
    device::input(&subject, what).ok_or_else(|| {
        let inputs = device.inputs.rows().iter().map(|row| row.path.as_str());
        let screens = device.screens.iter().map(|screen| screen.id.as_str());
        let known = FIGURES.iter().map(|(name, _, _)| *name).chain(inputs).chain(screens);
        let list = FIGURES.iter().map(|(name, _, _)| *name).collect::<Vec<_>>().join(", ");
        let near = nearest(what, known).map(|near| format!("{near}\n")).unwrap_or_default();
        Fault::plain(format!("there is no screen, figure or input `{what}`"))
            .help(format!("{near}figures are {list}; inputs are named by their path, such as battery.capacity"))
    })
}

//! Which changes would help most: each is tried on the typical device and set beside its life as it is.
//!
//! Changes halve a current, double an interval, or drop a rule of the policy. They can be repeated with `--set`. Not
//! tried is what belongs to the product rather than to its design: how often people look, or a larger battery.

use crate::hardware::load::{Drawn, Shape};
use crate::behaviour::Times;
use crate::behaviour::field::Renewal;
use crate::behaviour::policy::Buffer;
use crate::budget::life::{Habits, life};
use crate::device::Device;
use crate::evaluation::Evaluation;
use crate::parameters::Point;
use crate::project::{load_files, set};
use crate::simulate::simulate;
use crate::units::{Ratio, Seconds, plain_time};

/// Changes that gain less than this share are not worth a line.
const LEAST_GAIN: f64 = 0.005;

/// A change and what it does to the life of the typical device.
#[derive(Clone, Debug)]
pub struct Change {
    /// What to do, as an order.
    pub words: String,
    /// What it asks for in return, where it is not plain.
    pub price: &'static str,
    /// The same for `--set`.
    pub set: String,
    /// Life gained.
    pub gain: Seconds,
    /// The same as a share of the life.
    pub share: Ratio,
}

/// A change to be tried.
struct Trial {
    words: String,
    price: &'static str,
    set: String,
    how: How,
}

enum How {
    /// One input scaled: the simulation stays as it is.
    Scale(usize, f64),
    /// The project loaded and simulated again.
    Again,
}

/// The changes that help, best first.
pub fn changes(side: &Evaluation) -> Vec<Change> {
    let device = &side.device;
    let typical = device.inputs.typical();
    let of =
        |device: &Device, point: &Point, tally: &_| life(device, point, tally, Habits::USUAL).map(|life| life.time);
    let Some(now) = of(device, &typical, &side.budget.tally) else { return Vec::new() };
    let tried = |trial: Trial| {
        let then = match trial.how {
            How::Scale(index, factor) => of(device, &typical.scaled(index, factor), &side.budget.tally)?,
            How::Again => {
                let mut files = side.files.clone();
                set::apply(&mut files, &trial.set).ok()?;
                let changed = load_files(files).ok()?.device;
                let point = changed.inputs.typical();
                of(&changed, &point, &simulate(&changed, &point))?
            }
        };
        let gain = then - now;
        let Trial { words, price, set, .. } = trial;
        Some(Change { words, price, set, gain, share: Ratio(gain / now) })
    };
    let trials = currents(device).into_iter().chain(intervals(device)).chain(policy(side));
    let mut changes: Vec<Change> = trials.filter_map(tried).filter(|change| change.share.0 >= LEAST_GAIN).collect();
    changes.sort_by(|a, b| b.gain.0.total_cmp(&a.gain.0));
    changes
}

/// Currents that are always there, halved.
fn currents(device: &Device) -> Vec<Trial> {
    let mut trials = Vec::new();
    let mut half = |path: &str, words: &dyn Fn(&str, &str) -> String, factor: f64| {
        let Some(index) = device.inputs.rows().iter().position(|row| row.path == path) else { return };
        let row = &device.inputs.rows()[index];
        let scaled = scaled(row.si, row.typ * factor);
        let words = words(&row.shown, &scaled);
        trials.push(Trial { words, price: "", set: format!("{path}={scaled}"), how: How::Scale(index, factor) });
    };
    half("board.mcu.sleep", &|now, then| format!("let the microcontroller sleep at {then} instead of {now}"), 0.5);
    half("board.memory.standby", &|now, then| format!("let the image memory wait at {then} instead of {now}"), 0.5);
    half("panel.sleep", &|now, then| format!("let the panel sleep at {then} instead of {now}"), 0.5);
    for rail in &device.board.rails {
        let words = |now: &str, then: &str| {
            format!("feed the rail {} from a regulator that takes {then} for itself instead of {now}", rail.name)
        };
        half(&format!("board.rails.{}.quiescent", rail.name), &words, 0.5);
    }
    for load in &device.board.loads {
        let path = format!("board.loads.{}", load.name);
        match &load.shape {
            Shape::Pulses { .. } => {
                let words = |now: &str, then: &str| {
                    format!("switch the {} on every {then} instead of every {now}", plain(&load.name))
                };
                half(&format!("{path}.period"), &words, 2.0);
            }
            Shape::Always(drawn) => {
                let (key, what) = match drawn {
                    Drawn::Current(_) => ("current", "current"),
                    Drawn::Power(_) => ("power", "power"),
                };
                let words =
                    |now: &str, then: &str| format!("halve the {what} of the {}, {now}, to {then}", plain(&load.name));
                half(&format!("{path}.{key}"), &words, 0.5);
            }
        }
    }
    for event in device.events.iter().filter(|event| !matches!(event.times, Times::Every(..))) {
        let words = |now: &str, then: &str| format!("spend {then} instead of {now} on each {}", plain(&event.name));
        half(&format!("events.{}.charge", event.name), &words, 0.5);
    }
    trials
}

/// A name of the project as a word of a sentence.
fn plain(name: &str) -> String {
    name.replace(['-', '_'], " ")
}

/// A value in an SI unit as a project writes it.
fn scaled(si: &str, value: f64) -> String {
    use crate::units::{Amps, Coulombs, Watts};
    match si {
        "A" => Amps(value).to_string(),
        "C" => Coulombs(value).to_string(),
        "W" => Watts(value).to_string(),
        _ => Seconds(value).to_string(),
    }
}

/// Intervals of events and fields, doubled.
fn intervals(device: &Device) -> Vec<Trial> {
    let again = |words: String, price: &'static str, set: String| Trial { words, price, set, how: How::Again };
    let mut trials = Vec::new();
    for event in &device.events {
        if let Times::Every(interval, _) = event.times {
            let (now, then) = (plain_time(interval), plain_time(interval * 2.0));
            let words = format!("let the {} come every {then} instead of every {now}", plain(&event.name));
            let set = format!("events.{}.every={then}", event.name);
            trials.push(again(words, "values are older when they are read", set));
        }
    }
    for field in &device.fields {
        if let Renewal::Every(interval) = field.renewal
            && interval < crate::units::DAY
        {
            let (now, then) = (plain_time(interval), plain_time(interval * 2.0));
            let words = format!("renew the field {} every {then} instead of every {now}", field.name);
            let set = format!("fields.{}.every={then}", field.name);
            trials.push(again(words, "the value is older when it is read", set));
        }
    }
    trials
}

/// Rules of the refresh policy, relaxed one at a time.
fn policy(side: &Evaluation) -> Vec<Trial> {
    let device = &side.device;
    let policy = &device.policy;
    let again = |words: String, price: &'static str, set: String| Trial { words, price, set, how: How::Again };
    let mut trials = Vec::new();
    let full: Vec<&str> = device
        .screens
        .iter()
        .zip(&policy.full_on)
        .filter(|(_, full)| **full)
        .map(|(screen, _)| screen.id.as_str())
        .collect();
    let partial = device.panel.partial.is_some();
    for id in full.iter().filter(|_| partial) {
        let rest: Vec<String> = full.iter().filter(|other| *other != id).map(|other| format!("{other:?}")).collect();
        let set = format!("policy.full-on=[{}]", rest.join(", "));
        trials.push(again(format!("enter {id} with a partial refresh"), "traces of the screen before may show", set));
    }
    if let Some(every) = policy.full_every {
        let (now, then) = (plain_time(every), plain_time(every * 2.0));
        let words = format!("refresh the standing picture fully every {then} instead of every {now}");
        trials.push(again(words, "only if the panel's maker allows it", format!("policy.full-every={then}")));
    }
    if policy.min_interval.0 > 0.0 {
        let (now, then) = (plain_time(policy.min_interval), plain_time(policy.min_interval * 2.0));
        let words = format!("keep {then} between redraws of changed values instead of {now}");
        let price = "values are shown later";
        trials.push(again(words, price, format!("policy.min-interval={then}")));
    }
    for scheme in side.budget.schemes.iter().filter(|scheme| scheme.fits && scheme.buffer != policy.buffer) {
        let value = match scheme.buffer {
            Buffer::Ram => "ram".to_owned(),
            Buffer::Memory => "memory".to_owned(),
            Buffer::Bands(lines) => format!("{{ bands = {lines} }}"),
        };
        let words = format!("buffer the image as {}", scheme.name);
        trials.push(again(words, "", format!("policy.buffer={value}")));
    }
    trials
}

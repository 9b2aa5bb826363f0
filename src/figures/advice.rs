//! Which changes would help most: each is tried on the random devices of the budget and set beside their median life.
//!
//! Changes halve a current, double an interval, or drop a rule of the policy. They can be repeated with `--set`. Not
//! tried is what belongs to the product rather than to its design: how often people look, or a larger battery. A change
//! that breaks one of the project's limits is left out.

use crate::behaviour::Times;
use crate::behaviour::field::Renewal;
use crate::behaviour::policy::Buffer;
use crate::budget::figure::chosen;
use crate::budget::fleet::{self, Unit};
use crate::budget::life::Ending;
use crate::budget::residue::{caveat, worst};
use crate::budget::summary::{Budget, budget};
use crate::check;
use crate::device::Device;
use crate::hardware::load::{Drawn, Shape};
use crate::project::{load_files, set};
use crate::simulate::counts::Counts;
use crate::simulate::simulate;
use crate::source::files::Files;
use crate::table::wrap;
use crate::units::column::column;
use crate::units::{Bytes, Ratio, Seconds, figures, plain_time};
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::fmt::{self, Write as _};

/// Changes that gain less than this share are not worth a line.
const LEAST_GAIN: f64 = 0.005;

/// How many of the best are held against the limits and tried together.
const BEST: usize = 3;

/// A change and what it does to the median life.
#[derive(Clone, Debug)]
pub struct Improvement {
    /// What to do, as an order.
    pub words: String,
    /// What it asks for in return.
    pub price: &'static str,
    /// The same for `--set`.
    pub set: Setting,
    /// The worst ghosting residue with it, where the panel states what one partial refresh leaves: for changes of the
    /// policy, and for others that move it.
    pub residue: Option<String>,
    /// Median life gained.
    pub gain: Seconds,
    /// The same as a share of the life.
    pub share: Ratio,
}

/// One value of a project set to another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Setting {
    /// Its path, as in `--set`.
    pub path: String,
    /// The value, as the project writes it.
    pub value: String,
}

impl Setting {
    fn new(path: impl Into<String>, value: impl Into<String>) -> Self {
        Self { path: path.into(), value: value.into() }
    }

    /// `path=value` so that a shell keeps it together.
    pub fn quoted(&self) -> String {
        let quote = if self.value.contains('"') { '\'' } else { '"' };
        format!("{}={quote}{}{quote}", self.path, self.value)
    }
}

/// `path=value`, as the argument of `--set`.
impl fmt::Display for Setting {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}={}", self.path, self.value)
    }
}

/// Where to put the next hour.
#[derive(Clone, Debug, Default)]
pub struct Advice {
    /// Changes that help, the best first.
    pub changes: Vec<Improvement>,
    /// What the best three do together, where there are as many.
    pub together: Option<Seconds>,
    /// The assumption that moves the life more than any other, with its elasticity.
    pub assumption: Option<(String, f64)>,
    /// What ends the median life where it ends at once: no charge that is saved lengthens it.
    pub at_once: Option<Ending>,
}

/// What to do where the life ends at once.
pub fn at_once(ending: Ending) -> String {
    let why = match ending {
        Ending::Voltage | Ending::Collapse => {
            ": the battery does not support the peak load, so see to the supply first (--explain supply)"
        }
        Ending::Charge | Ending::Refreshes | Ending::Shelf | Ending::Cycles => "",
    };
    format!("The median device stops at once, limited by {}{why}.", ending.words())
}

/// A change to be tried.
struct Trial {
    words: String,
    price: &'static str,
    set: Setting,
    how: How,
}

enum How {
    /// One input scaled: the simulation stays as it is.
    Scale(usize, f64),
    /// The project loaded and simulated again.
    Again,
}

/// What would help a project whose files, model and budget these are.
pub fn advice(files: &Files, device: &Device, now: &Budget) -> Advice {
    let assumption = device.inputs.rows().iter().filter(|row| !row.sourced()).filter_map(|row| {
        let entry = now.sensitivity(device).iter().find(|entry| entry.input == row.path)?;
        (entry.elasticity.abs() >= LEAST_GAIN).then(|| (row.path.clone(), entry.elasticity))
    });
    let assumption = assumption.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
    let Ok(life) = &now.life else { return Advice { assumption, ..Advice::default() } };
    let median = life.p50.time;
    if median <= Seconds(0.0) {
        return Advice { assumption, at_once: Some(life.p50.ending), ..Advice::default() };
    }
    let changed = |sets: &[&Setting]| {
        let mut files = files.clone();
        sets.iter().try_for_each(|change| set::apply(&mut files, &change.to_string())).ok()?;
        load_files(files).ok().map(|loaded| loaded.device)
    };
    let usual = fleet::mean_of_ln(device, &now.counts, life.middle(device));
    let tried = |trial: Trial| {
        let again = match trial.how {
            How::Scale(..) => None,
            How::Again => Some(changed(&[&trial.set]).map(|changed| {
                let counts = simulate(&changed, &changed.inputs.typical());
                (changed, counts)
            })?),
        };
        let now_device = device;
        let (device, counts) = again.as_ref().map_or((device, &now.counts), |(device, counts)| (device, counts));
        let unit = |unit: Unit| match trial.how {
            How::Scale(index, factor) => Unit { parameters: unit.parameters.scaled(index, factor), ..unit },
            How::Again => unit,
        };
        // Most changes do little, as the few devices around the median show already.
        let around = life.middle(device).into_iter().map(unit).collect();
        if fleet::mean_of_ln(device, counts, around) - usual < LEAST_GAIN / 2.0 {
            return None;
        }
        let gain = fleet::changed_median(device, counts, &life.order, &unit).ok()? - median;
        let Trial { words, price, set, .. } = trial;
        let [before, after] =
            [(now_device, &now.counts), (device, counts)].map(|(device, counts)| residue(device, counts));
        // Beside every advice on the policy, and wherever it changes.
        let stays = before == after;
        let verb = if stays { "stays" } else { "becomes" };
        let told = after.filter(|_| !stays || set.path.starts_with("policy."));
        let residue = told.map(|after| format!("the worst ghosting residue {verb} {after}"));
        Some(Improvement { words, price, set, residue, gain, share: Ratio(gain / median) })
    };
    let trials: Vec<Trial> = currents(device).into_iter().chain(intervals(device)).chain(policy(device, now)).collect();
    let mut changes: Vec<Improvement> =
        trials.into_par_iter().filter_map(tried).filter(|change| change.share.0 >= LEAST_GAIN).collect();
    changes.sort_by(|a, b| b.gain.0.total_cmp(&a.gain.0));
    let broken = |device: &Device, budget: &Budget| -> BTreeSet<&'static str> {
        check::limits(device, budget).into_iter().filter_map(|fault| fault.id).collect()
    };
    let before = broken(device, now);
    let within = |change: &Improvement| {
        changed(&[&change.set]).is_some_and(|device| broken(&device, &budget(&device)).is_subset(&before))
    };
    let mut kept = 0;
    changes.retain(|change| {
        let keep = kept >= BEST || within(change);
        kept += usize::from(keep);
        keep
    });
    let best: Vec<&Setting> = changes.iter().take(BEST).map(|change| &change.set).collect();
    let together = (best.len() == BEST).then(|| {
        let changed = changed(&best)?;
        let counts = simulate(&changed, &changed.inputs.typical());
        fleet::changed_median(&changed, &counts, &life.order, &|unit| unit).ok().map(|life| life - median)
    });
    Advice { changes, together: together.flatten(), assumption, at_once: None }
}

/// The advice as lines for a terminal.
pub fn text(advice: &Advice, width: usize) -> String {
    let mut out = String::new();
    if let Some(ending) = advice.at_once {
        out += &wrap(&at_once(ending), width, 0);
    } else if advice.changes.is_empty() {
        out += &wrap("No single change that was tried lengthens the median life by half a percent.", width, 0);
    }
    let shown: Vec<&Improvement> = advice.changes.iter().take(BEST).collect();
    let gains = column(&shown.iter().map(|change| change.gain).chain(advice.together).collect::<Vec<_>>());
    for (change, gain) in shown.into_iter().zip(&gains) {
        let share = figures((change.share.0 * 1000.0).round() / 10.0);
        let residue = change.residue.as_ref().map_or(String::new(), |residue| format!("; {residue}"));
        let line = format!("+{gain} ({share} %) {}; in return, {}{residue}", change.words, change.price);
        out += &wrap(&line, width, 4);
        let _ = writeln!(out, "    --set {}", change.set.quoted());
    }
    if let (Some(_), Some(gain)) = (advice.together, gains.last()) {
        let _ = writeln!(out, "+{gain} all three together");
    }
    if let Some((path, elasticity)) = &advice.assumption {
        let line = format!(
            "Of your assumptions {path} moves the life most ({elasticity:+.2} % for 1 % more): measure it first."
        );
        out += &wrap(&line, width, 0);
    }
    out
}

/// A current is halved by another part.
const PART: (f64, &str) = (0.5, "it takes another part or another setting of it");

/// Currents that are always there, halved.
fn currents(device: &Device) -> Vec<Trial> {
    let mut trials = Vec::new();
    let mut half = |path: &str, words: &dyn Fn(&str, &str) -> String, (factor, price): (f64, &'static str)| {
        let Some(index) = device.inputs.rows().iter().position(|row| row.path == path) else { return };
        let row = &device.inputs.rows()[index];
        let scaled = scaled(row.si, row.typ * factor);
        let words = words(&row.shown, &scaled);
        trials.push(Trial { words, price, set: Setting::new(path, scaled), how: How::Scale(index, factor) });
    };
    half("board.mcu.sleep", &|now, then| format!("let the microcontroller sleep at {then} instead of {now}"), PART);
    half(
        "board.memory.standby",
        &|now, then| format!("let the image memory stand by at {then} instead of {now}"),
        PART,
    );
    half("panel.sleep", &|now, then| format!("let the panel sleep at {then} instead of {now}"), PART);
    for rail in &device.board.rails {
        let words = |now: &str, then: &str| {
            format!("feed the rail {} from a regulator that takes {then} for itself instead of {now}", rail.name)
        };
        half(&format!("board.rails.{}.quiescent", rail.name), &words, PART);
    }
    for load in &device.board.loads {
        let path = format!("board.loads.{}", load.name);
        match &load.shape {
            Shape::Pulses { .. } => {
                let words = |now: &str, then: &str| {
                    format!("switch the {} on every {then} instead of every {now}", plain(&load.name))
                };
                half(&format!("{path}.period"), &words, (2.0, "it comes half as often"));
            }
            Shape::Always(drawn) => {
                let (key, what) = match drawn {
                    Drawn::Current(_) => ("current", "current"),
                    Drawn::Power(_) => ("power", "power"),
                };
                let words =
                    |now: &str, then: &str| format!("halve the {what} of the {}, {now}, to {then}", plain(&load.name));
                half(&format!("{path}.{key}"), &words, PART);
            }
        }
    }
    for event in device.events.iter().filter(|event| !matches!(event.times, Times::Every(..))) {
        let words = |now: &str, then: &str| format!("spend {then} instead of {now} on each {}", plain(&event.name));
        half(&format!("events.{}.charge", event.name), &words, (0.5, "it has to do with half of the time or current"));
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
    let again = |words: String, price: &'static str, set: Setting| Trial { words, price, set, how: How::Again };
    let mut trials = Vec::new();
    for event in &device.events {
        if let Times::Every(interval, _) = event.times {
            let (now, then) = (plain_time(interval), plain_time(interval * 2.0));
            let words = format!("let the {} come every {then} instead of every {now}", plain(&event.name));
            let set = Setting::new(format!("events.{}.every", event.name), then);
            trials.push(again(words, "values are older when they are read", set));
        }
    }
    for field in &device.fields {
        if let Renewal::Every(interval) = field.renewal
            && interval < crate::units::DAY
        {
            let (now, then) = (plain_time(interval), plain_time(interval * 2.0));
            let words = format!("update the field {} every {then} instead of every {now}", field.name);
            let set = Setting::new(format!("fields.{}.every", field.name), then);
            trials.push(again(words, "the value is older when it is read", set));
        }
    }
    trials
}

/// The worst ghosting residue, with the word assumption where its input is one.
fn residue(device: &Device, counts: &Counts) -> Option<String> {
    let ghost = worst(device, counts)?;
    let percent = figures(ghost.share.0 * 100.0);
    Some(format!("{percent} % of the contrast{}", caveat(ghost.assumed)))
}

/// Cells of the memo that is tried.
const MEMO: u32 = 500;

/// Rules of the refresh policy, relaxed one at a time.
fn policy(device: &Device, budget: &Budget) -> Vec<Trial> {
    let policy = &device.policy;
    let again = |words: String, price: &'static str, set: Setting| Trial { words, price, set, how: How::Again };
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
        let set = Setting::new("policy.full-on", format!("[{}]", rest.join(", ")));
        trials.push(again(format!("enter {id} with a partial refresh"), "traces of the screen before may show", set));
    }
    if let Some(every) = policy.full_every {
        let (now, then) = (plain_time(every), plain_time(every * 2.0));
        let words = format!("run a full refresh of the idle screen every {then} instead of every {now}");
        trials.push(again(words, "only if the panel's maker allows it", Setting::new("policy.full-every", then)));
    }
    if policy.min_interval.0 > 0.0 {
        let (now, then) = (plain_time(policy.min_interval), plain_time(policy.min_interval * 2.0));
        let words = format!("keep {then} between redraws of changed values instead of {now}");
        let price = "values are shown later";
        trials.push(again(words, price, Setting::new("policy.min-interval", then)));
    }
    for scheme in
        budget.schemes.iter().filter(|scheme| budget.room(device, scheme).is_some() && scheme.buffer != policy.buffer)
    {
        let (value, price) = match scheme.buffer {
            Buffer::Ram => ("ram".to_owned(), "it takes the RAM of a whole image"),
            Buffer::External(lines) => (format!("{{ external-lines = {lines} }}"), "it takes an external memory"),
            Buffer::StripLines(lines) => {
                (format!("{{ strip-lines = {lines} }}"), "the image is drawn again for each strip")
            }
        };
        let words = format!("buffer the image as {}", scheme.name);
        trials.push(again(words, price, Setting::new("policy.buffer", value)));
    }
    let memo = Bytes(f64::from(2 * MEMO));
    let fits = chosen(device, budget).and_then(|scheme| budget.room(device, scheme)).is_some_and(|left| left >= memo);
    if device.board.mcu.drawing.is_exported() && policy.memo.is_none() && fits {
        let words = format!("note what is drawn in a memo of {MEMO} cells");
        let price = "it takes two bytes of RAM for each, and about 2 KiB of flash";
        trials.push(again(words, price, Setting::new("policy.memo", MEMO.to_string())));
    }
    trials
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_set_stays_together_whatever_names_hold() {
        let set = Setting::new("policy.full-on", "[\"a\"]");
        assert_eq!(set.quoted(), "policy.full-on='[\"a\"]'");
        let set = Setting::new("board.loads.a=b.current", "2 uA");
        assert_eq!(
            (set.quoted(), set.to_string()),
            ("board.loads.a=b.current=\"2 uA\"".into(), "board.loads.a=b.current=2 uA".into())
        );
    }
}

//! From keys, timers, events and journeys by name to positions; walks every journey to see that its keys exist.

use super::fields::{hours, time_of_day};
use crate::behaviour::field::Field;
use crate::behaviour::policy::{Buffer, BufferSpec, Policy};
use crate::behaviour::{Action, Change, EventId, How, Timer, Wiring, WrittenKey};
use crate::device::climate::Climate;
use crate::device::usage::{Charging, Journey, Step, Usage};
use crate::elements::scope::no_field;
use crate::limits;
use crate::project::device::{ChargingSpec, JourneySpec, PolicySpec, UsageSpec};
use crate::project::screen::ScreenSpec;
use crate::screen::ScreenId;
use crate::screen::values::FieldId;
use crate::source::amount::At;
use crate::source::fault::{Fault, nearest};
use crate::source::files::unfileable;
use crate::units::{DAY, Seconds};
use jiff::civil::{Date, DateTime};

/// Names that flow and usage may refer to.
pub struct Names<'a> {
    /// Screens in order.
    pub screens: &'a [String],
    /// Events in order.
    pub events: &'a [&'a str],
    /// Fields in order.
    pub fields: &'a [Field],
    /// Number of soft keys.
    pub keys: usize,
}

impl Names<'_> {
    /// A screen by name.
    pub fn screen(&self, name: &At<String>, faults: &mut Vec<Fault>) -> Option<ScreenId> {
        let found = self.screens.iter().position(|screen| *screen == name.value).map(ScreenId);
        if found.is_none() {
            let fault = Fault::at(name.span.clone(), format!("there is no screen `{}`", name.value));
            let help = nearest(&name.value, self.screens.iter().map(String::as_str));
            faults.push(fault.help(help.unwrap_or_else(|| format!("write screens/{}.toml", name.value))));
        }
        found
    }

    fn key(&self, number: u32) -> Option<usize> {
        (number as usize).checked_sub(1).filter(|key| *key < self.keys)
    }
}

/// The fault for a key that the device does not have.
fn no_key(span: crate::source::spans::Span, name: &str, keys: usize) -> Fault {
    Fault::at(span, format!("there is no soft key {name}"))
        .help(format!("device.toml lists {keys} keys under glass.keys, numbered from 1"))
}

/// What keys, timers and events do on one screen.
pub fn wiring(spec: &ScreenSpec, names: &Names<'_>, faults: &mut Vec<Fault>) -> Wiring {
    let mut wiring =
        Wiring { keys: vec![Action::default(); names.keys], written: vec![None; names.keys], ..Wiring::default() };
    for (number, key) in &spec.head.keys {
        let Some(position) = number.parse().ok().and_then(|number| names.key(number)) else {
            faults.push(no_key(key.span.clone(), number, names.keys));
            continue;
        };
        let go = key.value.go.as_ref().and_then(|go| names.screen(go, faults));
        let change = key.value.change.as_ref().and_then(|change| {
            let name = &change.value.field;
            let field = names.fields.iter().position(|field| field.name == name.value).map(FieldId);
            if field.is_none() {
                faults.push(no_field(name, names.fields));
            }
            let how = match (change.value.by, change.value.to) {
                (Some(by), None) => How::By(by),
                (None, Some(to)) => How::To(to),
                _ => {
                    faults.push(Fault::at(change.span.clone(), "a change has exactly one of `by` and `to`"));
                    return None;
                }
            };
            Some(Change { field: field?, how })
        });
        wiring.keys[position] = Action { go, change };
        let labelled = key.value.label.as_ref().is_some_and(|label| !label.value.trim().is_empty());
        wiring.written[position] = Some(WrittenKey { span: key.span.clone(), labelled });
    }
    for timer in &spec.head.after {
        if timer.value.wait.value.0.0 <= 0.0 {
            faults.push(Fault::at(timer.value.wait.span.clone(), "a timer must wait longer than nothing"));
        }
        if let Some(go) = names.screen(&timer.value.go, faults) {
            wiring.timers.push(Timer { wait: timer.value.wait.value.0, go });
        }
    }
    for (name, on) in &spec.head.on {
        let event = names.events.iter().position(|event| event == name).map(EventId);
        if event.is_none() {
            let fault = Fault::at(on.span.clone(), format!("there is no event `{name}`"));
            faults.push(fault.help(nearest(name, names.events.iter().copied()).unwrap_or_default()));
        }
        if let (Some(event), Some(go)) = (event, names.screen(&on.value.go, faults)) {
            wiring.events.push((event, go));
        }
    }
    wiring
}

/// The refresh policy.
pub fn policy(spec: &PolicySpec, lines: u32, has_memory: bool, names: &Names<'_>, faults: &mut Vec<Fault>) -> Policy {
    let mut full_on = vec![false; names.screens.len()];
    for name in &spec.full_on {
        if let Some(screen) = names.screen(name, faults) {
            full_on[screen.0] = true;
        }
    }
    if let Some(every) = spec.full_every.as_ref().filter(|every| every.value.0 <= Seconds(0.0)) {
        let fault = Fault::at(every.span.clone(), "full refreshes cannot follow at once on one another");
        faults.push(fault.help("write the longest time without one, such as \"24 h\""));
    }
    Policy {
        max_partials: spec.max_partials.value,
        full_every: spec.full_every.as_ref().map(|every| every.value.0),
        full_on,
        min_interval: spec.min_interval.0,
        busy_presses: spec.busy_presses,
        buffer: buffer(&spec.buffer, lines, has_memory).unwrap_or_else(|fault| {
            faults.push(fault);
            Buffer::Ram
        }),
    }
}

/// How the image is buffered, on a panel of so many lines.
fn buffer(spec: &At<BufferSpec>, lines: u32, has_memory: bool) -> Result<Buffer, Fault> {
    let wrong = |message: &str, help: &str| Err(Fault::at(spec.span.clone(), message).help(help));
    match spec.value.into() {
        Buffer::Memory if !has_memory => wrong(
            "the board has no external memory to buffer the image in",
            "add [board.memory], or write buffer = \"ram\" or buffer = { bands = 16 }",
        ),
        Buffer::Bands(0) => wrong("a band of no lines holds nothing", "write buffer = { bands = 16 }"),
        // A band of all lines is the most that there is.
        Buffer::Bands(band) => Ok(Buffer::Bands(band.min(lines))),
        other => Ok(other),
    }
}

/// How the device is used.
pub fn usage(
    spec: &UsageSpec,
    names: &Names<'_>,
    wirings: &[Wiring],
    has_charger: bool,
    faults: &mut Vec<Fault>,
) -> Option<Usage> {
    let home = names.screen(&spec.home, faults);
    let start = spec.start.value.parse::<Date>().map(|date| date.at(0, 0, 0, 0));
    let start = start.unwrap_or_else(|_| {
        faults.push(Fault::at(spec.start.span.clone(), "expected a date").help("write \"2031-04-12\""));
        DateTime::default()
    });
    let days = days(spec, faults);
    let sample_at = time_of_day(&spec.sample_at).map_err(|fault| faults.push(fault)).unwrap_or_default();
    let climate = climate(spec, start, days, faults);
    let charging = spec.charging.as_ref().and_then(|at| charging(at, has_charger, faults));
    let home = home?;
    let journeys =
        spec.journeys.iter().filter_map(|(name, at)| journey(name, at, home, names, wirings, faults)).collect();
    Some(Usage {
        home,
        start,
        sample_at,
        days,
        seed: spec.seed,
        spread: spec.spread.0,
        climate: climate?,
        climate_spread: spec.temperature.spread.0,
        charging,
        journeys,
    })
}

/// Days simulated: as many as asked for, a whole year where the temperature moves over it, a week otherwise.
fn days(spec: &UsageSpec, faults: &mut Vec<Fault>) -> u32 {
    let Some(days) = &spec.days else { return if spec.temperature.months.is_some() { 365 } else { 7 } };
    if !(1..=limits::DAYS).contains(&days.value) {
        faults.push(Fault::at(days.span.clone(), format!("expected 1 to {} days", limits::DAYS)));
    }
    days.value.clamp(1, limits::DAYS)
}

/// Temperature over the day and the year.
fn climate(spec: &UsageSpec, start: DateTime, days: u32, faults: &mut Vec<Fault>) -> Option<Climate> {
    let temperature = &spec.temperature;
    let warmest = time_of_day(&temperature.warmest).map_err(|fault| faults.push(fault)).unwrap_or_default();
    const ONE_OF: &str = "write either `low` and `high`, or `months` with twelve pairs like [\"-4 °C\", \"3 °C\"]";
    match (&temperature.low, &temperature.high, &temperature.months) {
        (Some(low), Some(high), None) => {
            if low.value.0 > high.value.0 {
                faults.push(Fault::at(high.span.clone(), "the day's high is below its low"));
            }
            Some(Climate::daily(low.value.0, high.value.0, warmest))
        }
        (None, None, Some(months)) => {
            let pairs: Vec<_> = months.value.iter().map(|[low, high]| [low.0, high.0]).collect();
            if let Some(month) = pairs.iter().position(|[low, high]| low > high) {
                let what = format!("in month {} the day's high is below its low", month + 1);
                faults.push(Fault::at(months.span.clone(), what));
            }
            let count = pairs.len();
            let months = pairs.try_into().map_err(|_| {
                let what = format!("expected twelve months, found {count}");
                faults.push(Fault::at(months.span.clone(), what).help(ONE_OF));
            });
            Some(Climate::yearly(months.ok()?, warmest, start, days))
        }
        (low, high, months) => {
            let span = months.as_ref().map(|months| months.span.clone());
            let span =
                span.or(low.as_ref().map(|low| low.span.clone())).or(high.as_ref().map(|high| high.span.clone()));
            let what = "the day's temperatures are not told";
            faults.push(Fault::at(span.unwrap_or_else(|| temperature.warmest.span.clone()), what).help(ONE_OF));
            None
        }
    }
}

/// When the device is at its charger.
fn charging(at: &At<ChargingSpec>, has_charger: bool, faults: &mut Vec<Fault>) -> Option<Charging> {
    let spec = &at.value;
    if !has_charger {
        let fault = Fault::at(at.span.clone(), "the board has no charger");
        faults.push(fault.help("describe it under [board.charger], or remove [usage.charging]"));
    }
    let days = spec.every.value.0 / DAY;
    if !(1.0..=366.0).contains(&days) || days.fract().abs() > 1e-9 {
        faults.push(Fault::at(spec.every.span.clone(), "expected whole days, 1 to 366").help("write \"2 d\""));
    }
    let length = spec.length.value.0;
    if length.0 <= 0.0 || length >= spec.every.value.0 {
        faults.push(Fault::at(
            spec.length.span.clone(),
            "a charge must last longer than nothing and end before the next",
        ));
    }
    let begins = time_of_day(&spec.at).map_err(|fault| faults.push(fault)).unwrap_or_default();
    Some(Charging { every: days.clamp(1.0, 366.0) as u32, at: begins, length: Seconds(length.0.max(0.0)) })
}

fn journey(
    name: &str,
    at: &At<JourneySpec>,
    home: ScreenId,
    names: &Names<'_>,
    wirings: &[Wiring],
    faults: &mut Vec<Fault>,
) -> Option<Journey> {
    let spec = &at.value;
    if let Some(fault) = unfileable("a journey", name, &at.span) {
        faults.push(fault);
        return None;
    }
    let from = match &spec.from {
        Some(from) => names.screen(from, faults)?,
        None => home,
    };
    if !(0.0..=10_000.0).contains(&spec.per_day.value) {
        faults.push(Fault::at(spec.per_day.span.clone(), "expected a number of times a day, 0 to 10000"));
        return None;
    }
    let mut steps = Vec::new();
    let mut here = from;
    for step in &spec.steps {
        let press = match &step.value.press {
            None => None,
            Some(press) => match names.key(press.value) {
                Some(key) => Some(key),
                None => {
                    faults.push(no_key(press.span.clone(), &press.value.to_string(), names.keys));
                    return None;
                }
            },
        };
        if step.value.look.0.0 < 0.0 {
            faults.push(Fault::at(step.span.clone(), "a time to look cannot be negative"));
        }
        for _ in 0..step.value.times.min(limits::STEPS as u32) {
            if let Some(key) = press {
                let action = wirings[here.0].keys[key];
                if !action.acts() {
                    let screen = &names.screens[here.0];
                    let fault =
                        Fault::at(step.span.clone(), format!("key {} does nothing on the screen `{screen}`", key + 1));
                    faults.push(fault.label(format!("the journey `{name}` is on `{screen}` here")));
                    return None;
                }
                here = action.go.unwrap_or(here);
            }
            steps.push(Step { press, look: Seconds(step.value.look.0.0.max(0.0)) });
        }
        if steps.len() > limits::STEPS {
            faults.push(Fault::at(at.span.clone(), format!("a journey may have at most {} steps", limits::STEPS)));
            return None;
        }
    }
    let hours = hours(spec.between.as_ref(), faults);
    Some(Journey { name: name.to_owned(), per_day: spec.per_day.value, hours, from, steps })
}

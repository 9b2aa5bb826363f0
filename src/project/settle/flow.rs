//! From keys, timers, events and journeys by name to positions; walks every journey to see that its keys exist.

use super::fields::{hours, time_of_day};
use crate::behaviour::EventId;
use crate::behaviour::field::Field;
use crate::behaviour::policy::{Buffer, BufferSpec, Policy};
use crate::device::climate::Climate;
use crate::device::usage::{Charging, Choice, Journey, JourneyStep, Session, Usage};
use crate::limits;
use crate::project::device::PolicySpec;
use crate::project::usage::{ChargingSpec, JourneySpec, SessionSpec, StepSpec, UsageSpec};
use crate::screen::ScreenId;
use crate::screen::values::FieldId;
use crate::source::amount::{At, List};
use crate::source::fault::{Fault, Table, no_such};
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
    /// Number of keys.
    pub keys: usize,
    /// Which screens are boxes.
    pub boxes: &'a [bool],
    /// Which screens another one leads to.
    pub entered: &'a [bool],
}

impl Names<'_> {
    /// A screen by name.
    pub fn screen(&self, name: &At<String>, faults: &mut Vec<Fault>) -> Option<ScreenId> {
        let found = self.screens.iter().position(|screen| *screen == name.value).map(ScreenId);
        if found.is_none() {
            let known = self.screens.iter().map(String::as_str);
            let fault = no_such("screen", "screens", (&name.value, &name.span), known);
            let new = format!("write screens/{}.toml for a new one", name.value);
            let help = match &fault.help {
                Some(help) if help.starts_with("did") => help.clone(),
                Some(known) => format!("{known}; {new}"),
                None => new,
            };
            faults.push(fault.help(help));
        }
        found
    }

    /// A field by name.
    pub fn field(&self, name: &At<String>) -> Option<FieldId> {
        self.fields.iter().position(|field| field.name == name.value).map(FieldId)
    }

    /// An event by name.
    pub fn event(&self, name: &str) -> Option<EventId> {
        self.events.iter().position(|event| *event == name).map(EventId)
    }

    /// A key by its number, counted from 1.
    pub fn key(&self, number: u32) -> Option<usize> {
        (number as usize).checked_sub(1).filter(|key| *key < self.keys)
    }
}

/// The fault for a key that the device does not have.
pub fn no_key(span: crate::source::spans::Span, name: &str, keys: usize) -> Fault {
    Fault::at(span, format!("there is no soft key {name}"))
        .help(format!("device.toml lists {keys} keys under display.keys, numbered from 1"))
        .follows(Table::Display)
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
        let fault = Fault::at(every.span.clone(), "full refreshes cannot follow one another immediately");
        faults.push(fault.help("write the longest time without one, such as \"24 h\""));
    }
    Policy {
        max_partials: spec.max_partials.value,
        full_every: spec.full_every.as_ref().map(|every| every.value.0.to_milliseconds()),
        full_on,
        min_interval: spec.min_interval.0.to_milliseconds(),
        busy_presses: spec.busy_presses,
        buffer: buffer(&spec.buffer, lines, has_memory).unwrap_or_else(|fault| {
            faults.push(fault);
            Buffer::Ram
        }),
        memo: memo(spec.memo.as_ref(), faults),
    }
}

/// Cells of the memo.
fn memo(spec: Option<&At<u32>>, faults: &mut Vec<Fault>) -> Option<u32> {
    let spec = spec?;
    if !(1..=u32::from(u16::MAX)).contains(&spec.value) {
        let fault = Fault::at(spec.span.clone(), format!("a memo has 1 to {} cells, found {}", u16::MAX, spec.value));
        faults.push(fault.help("write memo = 500 for 1,000 bytes of RAM, or leave it out for none"));
    }
    Some(spec.value.clamp(1, u16::MAX.into()))
}

/// How the image is buffered, on a panel of so many lines.
fn buffer(spec: &At<BufferSpec>, lines: u32, has_memory: bool) -> Result<Buffer, Fault> {
    let wrong = |message: &str, help: &str| Err(Fault::at(spec.span.clone(), message).help(help));
    match spec.value.into() {
        Buffer::External(_) if !has_memory => wrong(
            "the board has no external memory to buffer the image in",
            "add [board.memory], or write buffer = \"ram\" or buffer = { strip-lines = 16 }",
        )
        .map_err(|fault: Fault| fault.wants("board", "memory")),
        Buffer::StripLines(0) => wrong("a strip of no lines holds nothing", "write buffer = { strip-lines = 16 }"),
        Buffer::External(0..2) => {
            wrong("fewer than two lines at a time cannot be drawn", "write buffer = { external-lines = 16 }")
        }
        Buffer::External(band) if matches!(spec.value, BufferSpec::External) => Ok(Buffer::External(band.min(lines))),
        Buffer::StripLines(band) | Buffer::External(band) if band > lines => wrong(
            &format!("a strip of {band} lines is more than the {lines} lines of the panel"),
            "write how many lines are drawn at once, such as buffer = { strip-lines = 16 }, or buffer = \"ram\" for all",
        ),
        other => Ok(other),
    }
}

/// How the device is used.
pub fn usage(spec: &UsageSpec, names: &Names<'_>, has_charger: bool, faults: &mut Vec<Fault>) -> Option<Usage> {
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
    let known = home.is_some();
    // Journeys from nowhere are not followed.
    let home = home.or_else(|| (!names.screens.is_empty()).then_some(ScreenId(0)))?;
    let start_up = spec.start_up.as_ref().map_or(Some(home), |name| start_up(name, names, faults));
    let journeys = spec.journeys.iter().filter(|_| known);
    let journeys = journeys.filter_map(|(name, at)| journey(name, at, home, names, faults)).collect();
    Some(Usage {
        home,
        start_up: start_up?,
        start,
        sample_at,
        days,
        seed: spec.seed,
        spread: spec.spread.0,
        climate: climate?,
        climate_spread: spec.temperature.value.spread.0,
        charging,
        journeys,
    })
}

/// The screen shown at power-up: no box.
fn start_up(name: &At<String>, names: &Names<'_>, faults: &mut Vec<Fault>) -> Option<ScreenId> {
    let screen = names.screen(name, faults)?;
    if names.boxes[screen.0] {
        let message = format!("`{}` is a box: it stands over a screen", name.value);
        faults.push(Fault::at(name.span.clone(), message).help("name a screen that is no box"));
    }
    Some(screen)
}

/// Days simulated: as many as asked for, a whole year where the temperature moves over it, a week otherwise.
fn days(spec: &UsageSpec, faults: &mut Vec<Fault>) -> u32 {
    let Some(days) = &spec.days else { return if spec.temperature.value.months.is_some() { 365 } else { 7 } };
    if !(1..=limits::DAYS).contains(&days.value) {
        faults.push(Fault::at(days.span.clone(), format!("expected 1 to {} days", limits::DAYS)));
    }
    days.value.clamp(1, limits::DAYS)
}

/// Temperature over the day and the year.
fn climate(spec: &UsageSpec, start: DateTime, days: u32, faults: &mut Vec<Fault>) -> Option<Climate> {
    let temperature = &spec.temperature.value;
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
            let pairs: Vec<_> = months.value.iter().map(|List([low, high])| [low.0, high.0]).collect();
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
        (_, _, months) => {
            let what = match months {
                Some(_) => "the day's temperatures are stated twice",
                None => "the day's temperatures are missing",
            };
            faults.push(Fault::at(spec.temperature.span.clone(), what).help(ONE_OF));
            None
        }
    }
}

/// When the device is at its charger.
fn charging(at: &At<ChargingSpec>, has_charger: bool, faults: &mut Vec<Fault>) -> Option<Charging> {
    let spec = &at.value;
    if !has_charger {
        let fault = Fault::at(at.span.clone(), "the board has no charger").wants("board", "charger");
        faults.push(fault.help("describe it under [board.charger], or remove [usage.charging]"));
    }
    let days = spec.every.value.0 / DAY;
    if !(1.0..=366.0).contains(&days) || days.fract().abs() > 1e-9 {
        faults.push(Fault::at(spec.every.span.clone(), "expected whole days, 1 to 366").help("write \"2 d\""));
    }
    let length = spec.length.value.0;
    if length.0 <= 0.0 || length >= spec.every.value.0 {
        faults.push(Fault::at(spec.length.span.clone(), "a charge must last longer than 0 s and end before the next"));
    }
    let begins = time_of_day(&spec.at).map_err(|fault| faults.push(fault)).unwrap_or_default();
    Some(Charging { every: days.clamp(1.0, 366.0) as u32, at: begins, length: Seconds(length.0.max(0.0)) })
}

fn journey(
    name: &str,
    at: &At<JourneySpec>,
    home: ScreenId,
    names: &Names<'_>,
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
    let start = (!spec.anywhere).then_some(from);
    let per_day = match &spec.per_day {
        Some(per_day) if !(0.0..=10_000.0).contains(&per_day.value) => {
            faults.push(Fault::at(per_day.span.clone(), "expected a number of times a day, 0 to 10000"));
            return None;
        }
        Some(per_day) if !spec.at.is_empty() => {
            let fault = Fault::at(per_day.span.clone(), "a journey has either `per-day` or `at`, not both");
            faults.push(fault.help("write per-day for random times, at for the same times every day"));
            return None;
        }
        Some(per_day) => per_day.value,
        None if spec.at.is_empty() => {
            let fault = Fault::at(at.span.clone(), format!("how often is the journey `{name}` made?"));
            faults.push(fault.help("write per-day = 3, or at = [\"07:30\", \"19:00\"]"));
            return None;
        }
        None => 0.0,
    };
    let times = spec.at.iter().filter_map(|time| time_of_day(time).map_err(|fault| faults.push(fault)).ok()).collect();
    let session = spec.session.as_ref().map_or(Session::ONCE, |session| self::session(session, faults));
    let mut walk = Walk { names, faults, steps: Vec::new(), choices: Vec::new() };
    walk.all(&spec.steps)?;
    let Walk { steps, choices, .. } = walk;
    if steps.len() > limits::STEPS {
        faults.push(Fault::at(at.span.clone(), format!("a journey may have at most {} steps", limits::STEPS)));
        return None;
    }
    let hours = hours(spec.between.as_ref(), faults);
    Some(Journey {
        span: at.span.clone(),
        name: name.to_owned(),
        per_day,
        times,
        hours,
        from: start,
        steps,
        choices,
        session,
    })
}

fn session(at: &At<SessionSpec>, faults: &mut Vec<Fault>) -> Session {
    let SessionSpec { times, every } = &at.value;
    if !(1..=1_000).contains(times) || !(Seconds(1.0)..=DAY).contains(&every.0) {
        let fault = Fault::at(at.span.clone(), "a session makes a journey 1 to 1000 times, at most a day apart");
        faults.push(fault.help("write session = { times = 8, every = \"10 min\" }"));
    }
    Session { times: (*times).clamp(1, 1_000), every: Seconds(every.0.0.clamp(1.0, DAY.0)) }
}

/// The steps of a journey while they are settled.
struct Walk<'a, 'n> {
    names: &'a Names<'n>,
    faults: &'a mut Vec<Fault>,
    steps: Vec<JourneyStep>,
    choices: Vec<Choice>,
}

impl Walk<'_, '_> {
    /// Settles steps. `None` where one names a key that there is not, or says no time. Whether a press means something where
    /// the journey is then, the machine tells: see the lint `journey-derails`.
    fn all(&mut self, specs: &[At<StepSpec>]) -> Option<()> {
        for step in specs {
            match step.value.either.is_empty() {
                true => self.step(step)?,
                false => self.either(step)?,
            }
            if self.steps.len() > limits::STEPS {
                break;
            }
        }
        Some(())
    }

    fn either(&mut self, step: &At<StepSpec>) -> Option<()> {
        let spec = &step.value;
        if spec.press.is_some() || spec.hold.is_some() || spec.look.is_some() || spec.times != 1 {
            let fault = Fault::at(step.span.clone(), "a step is either a press and a look, or a choice");
            self.faults.push(fault.help("give the choice a step of its own: { either = [ ... ] }"));
        }
        let sum: f64 = spec.either.iter().map(|way| way.value.chance.0.0).sum();
        if sum > 1.0 + 1e-9 || spec.either.iter().any(|way| !(0.0..=1.0).contains(&way.value.chance.0.0)) {
            let fault = Fault::at(step.span.clone(), "the chances of these alternatives add up to more than 100 %");
            self.faults.push(fault.help("write chance = \"30 %\" and so on"));
        }
        let at = self.steps.len();
        self.steps.push(JourneyStep { press: None, hold: None, look: Seconds(0.0) });
        let mut ways = Vec::new();
        for way in &spec.either {
            let start = self.steps.len();
            self.all(&way.value.steps)?;
            ways.push((way.value.chance.0, start..self.steps.len()));
        }
        self.choices.push(Choice { at, ways, end: self.steps.len() });
        Some(())
    }

    fn step(&mut self, step: &At<StepSpec>) -> Option<()> {
        let press = match &step.value.press {
            None => None,
            Some(press) => match self.names.key(press.value) {
                Some(key) => Some(key),
                None => {
                    self.faults.push(no_key(press.span.clone(), &press.value.to_string(), self.names.keys));
                    return None;
                }
            },
        };
        let hold = step.value.hold.as_ref().map(|hold| {
            if press.is_none() || !(Seconds(0.0)..=limits::HOLD[1]).contains(&hold.value.0) {
                let fault = Fault::at(hold.span.clone(), "a key is held for some time up to a minute");
                self.faults.push(fault.help("write { press = 1, hold = \"2 s\", look = \"3 s\" }"));
            }
            Seconds(hold.value.0.0.clamp(0.0, limits::HOLD[1].0))
        });
        let Some(look) = step.value.look.as_ref().map(|look| look.value.0) else {
            let fault = Fault::at(step.span.clone(), "this step lacks `look`: how long somebody looks after the press");
            self.faults.push(fault.help("write { press = 1, look = \"3 s\" }"));
            return None;
        };
        if look.0 < 0.0 {
            self.faults.push(Fault::at(step.span.clone(), "a time to look cannot be negative"));
        }
        for _ in 0..step.value.times.min(limits::STEPS as u32) {
            self.steps.push(JourneyStep { press, hold, look: Seconds(look.0.max(0.0)) });
        }
        Some(())
    }
}

//! Exact inputs at exact times: a script that somebody wrote, or the recorded log of a device's keys. Both become the same
//! list, which filmstrips and tests play.
//!
//! # Scripts
//! A text file, one step a line; `#` begins a comment. Keys count from 1.
//!
//! ```text
//! from home              # the screen shown at first (the project's home screen where it is not said)
//! at 07:30               # the time of day (that of the sample pictures)
//! press 1                # a short press
//! hold 3 2 s             # down for so long
//! down 2                 # down, until
//! up 2
//! wait 1.5 s             # nothing for so long
//! event frost            # the event happens
//! set level 12.5         # a value arrives
//! usb on                 # external power comes; off: it goes
//! charging on            # the battery is being charged; off
//! charge 40 %            # state of charge
//! link lost              # the link is lost; back
//! expect alarm           # this screen or box is in front now
//! ```
//!
//! # Key logs
//! Comma-separated values, a line for each edge: seconds from any begin, key, `down` or `up`. A first line that is no
//! number names the columns (`time`, `key`, `state`) in any order.

use crate::behaviour::EventId;
use crate::behaviour::states::DeviceState;
use crate::device::Device;
use crate::limits;
use crate::machine::{Key, Micros, micros};
use crate::screen::ScreenId;
use crate::screen::values::FieldId;
use crate::source::fault::{Fault, nearest};
use crate::units::{Ratio, Seconds, stated};

/// One input.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Input {
    /// A key goes down or up.
    Key(Key),
    /// An event happens.
    Event(EventId),
    /// A value arrives.
    Value(FieldId, f64),
    /// This is in front, or the script is wrong.
    Expect(ScreenId),
    /// Nothing, so that time passes until then.
    Rest,
}

/// An input with its time after the script's begin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Timed {
    /// When.
    pub at: Micros,
    /// What.
    pub input: Input,
    /// The line that says so.
    pub line: usize,
}

/// Inputs in the order of their times.
#[derive(Clone, Debug, PartialEq)]
pub struct Script {
    /// The screen shown at first.
    pub from: ScreenId,
    /// When it begins, after midnight of the first day.
    pub begin: Seconds,
    /// The inputs.
    pub inputs: Vec<Timed>,
}

/// How long a short press keeps a key down.
const SHORT: Seconds = Seconds(0.1);

/// Reads a script; `name` stands before the line in messages.
///
/// # Errors
/// The first line that means nothing, with what was expected.
pub fn script(device: &Device, name: &str, text: &str) -> Result<Script, Fault> {
    let mut script = Script { from: device.usage.home, begin: device.usage.sample_at, inputs: Vec::new() };
    let mut now = 0;
    for (index, line) in lines(name, text)? {
        let words: Vec<&str> = line.split_whitespace().collect();
        let Some((verb, rest)) = words.split_first() else { continue };
        let reader = Line { device, name, number: index, verb, rest };
        reader.carry(verb, &mut now, &mut script)?;
    }
    // Time passes to the end of the last wait.
    script.inputs.push(Timed { at: now, input: Input::Rest, line: 0 });
    Ok(script)
}

/// Lines with their numbers, comments and ends cut off, bounded in number.
fn lines<'t>(name: &str, text: &'t str) -> Result<Vec<(usize, &'t str)>, Fault> {
    let all = text.lines().map(|line| line.split('#').next().unwrap_or_default().trim());
    let all: Vec<_> =
        all.enumerate().map(|(index, line)| (index + 1, line)).filter(|(_, line)| !line.is_empty()).collect();
    match all.len() <= limits::SCRIPT_LINES {
        true => Ok(all),
        false => {
            Err(Fault::plain(format!("{name} has {} lines, at most {} are played", all.len(), limits::SCRIPT_LINES)))
        }
    }
}

/// A line of a script without its first word.
struct Line<'a> {
    device: &'a Device,
    name: &'a str,
    number: usize,
    verb: &'a str,
    rest: &'a [&'a str],
}

impl Line<'_> {
    fn fault(&self, message: impl std::fmt::Display, help: impl Into<String>) -> Fault {
        Fault::plain(format!("{}:{}: {message}", self.name, self.number)).help(help)
    }

    fn carry(&self, verb: &str, now: &mut Micros, script: &mut Script) -> Result<(), Fault> {
        let begun = !script.inputs.is_empty() || *now > 0;
        let mut add = |at: Micros, input| script.inputs.push(Timed { at, input, line: self.number });
        match verb {
            "from" if !begun => script.from = self.screen()?,
            "at" if !begun => script.begin = self.time_of_day()?,
            "press" => {
                let key = self.only_key()?;
                add(*now, Input::Key(Key::Down(key)));
                *now += micros(SHORT);
                add(*now, Input::Key(Key::Up(key)));
            }
            "hold" => {
                let key = self.key()?;
                if self.rest.len() < 2 {
                    return Err(
                        self.fault("the time to hold the key is missing", format!("write hold {} 2 s", key + 1))
                    );
                }
                add(*now, Input::Key(Key::Down(key)));
                *now += self.time(1)?;
                add(*now, Input::Key(Key::Up(key)));
            }
            "down" => add(*now, Input::Key(Key::Down(self.only_key()?))),
            "up" => add(*now, Input::Key(Key::Up(self.only_key()?))),
            "wait" => *now += self.time(0)?,
            "event" => add(*now, Input::Event(self.event()?)),
            "set" => add(*now, self.value()?),
            "expect" => add(*now, Input::Expect(self.screen()?)),
            "usb" => add(*now, self.state(DeviceState::Usb, &[("on", 1.0), ("off", 0.0)])?),
            "charging" => add(*now, self.state(DeviceState::Charging, &[("on", 1.0), ("off", 0.0)])?),
            "link" => add(*now, self.state(DeviceState::Link, &[("back", 1.0), ("lost", 0.0)])?),
            "charge" => {
                let share =
                    stated::<Ratio>(&self.rest.join(" ")).map_err(|why| self.fault(why, "write charge 40 %"))?;
                add(*now, Input::Value(self.holder(DeviceState::Charge)?, share.0 * 100.0));
            }
            "from" | "at" => return Err(self.fault(format!("`{verb}` stands before the first input"), "move it up")),
            _ => {
                let help = nearest(verb, VERBS.iter().copied())
                    .unwrap_or_else(|| format!("write one of {}", VERBS.join(", ")));
                return Err(self.fault(format!("`{verb}` means nothing in a script"), help));
            }
        }
        match *now <= LONGEST {
            true => Ok(()),
            false => Err(self.fault("a script lasts a week at most", "take shorter waits")),
        }
    }

    /// A key with nothing behind it.
    fn only_key(&self) -> Result<usize, Fault> {
        let key = self.key()?;
        match self.rest.get(1..) {
            Some([word, ..]) => Err(self.fault(
                format!("a word too many after the key: `{word}`"),
                "each line holds one command: put the next on a line of its own",
            )),
            _ => Ok(key),
        }
    }

    fn key(&self) -> Result<usize, Fault> {
        let keys = self.device.keys();
        let number = self.rest.first().and_then(|word| word.parse::<usize>().ok());
        let key = number.and_then(|number| number.checked_sub(1)).filter(|key| *key < keys);
        key.ok_or_else(|| self.fault(format!("expected a key from 1 to {keys}"), "write press 1, or hold 1 2 s"))
    }

    fn time(&self, from: usize) -> Result<Micros, Fault> {
        let text = self.rest.get(from..).unwrap_or_default().join(" ");
        match stated::<Seconds>(&text) {
            Ok(time) if time.0 >= 0.0 && time.0 <= LONGEST as f64 * 1e-6 => Ok(micros(time)),
            Ok(_) => Err(self.fault("a time is from 0 s to a week", "write wait 2 s")),
            Err(why) => Err(self.fault(why, "write wait 2 s, or hold 1 2 s")),
        }
    }

    fn time_of_day(&self) -> Result<Seconds, Fault> {
        let parsed = self.rest.first().and_then(|word| word.split_once(':')).and_then(|(hours, minutes)| {
            let (hours, minutes): (u32, u32) = (hours.parse().ok()?, minutes.parse().ok()?);
            (hours < 24 && minutes < 60).then_some(hours * 3600 + minutes * 60)
        });
        let fault = || self.fault("expected a time of day", "write at 07:30");
        parsed.map(|seconds| Seconds(f64::from(seconds))).ok_or_else(fault)
    }

    fn screen(&self) -> Result<ScreenId, Fault> {
        let id = self.rest.first().copied().unwrap_or_default();
        let known = || self.device.screens.iter().map(|screen| screen.id.as_str());
        let fault = || self.fault(format!("there is no screen `{id}`"), nearest(id, known()).unwrap_or_default());
        self.device.screen(id).ok_or_else(fault)
    }

    fn event(&self) -> Result<EventId, Fault> {
        let name = self.rest.first().copied().unwrap_or_default();
        let known = || self.device.events.iter().map(|event| event.name.as_str());
        let fault = || self.fault(format!("there is no event `{name}`"), nearest(name, known()).unwrap_or_default());
        known().position(|known| known == name).map(EventId).ok_or_else(fault)
    }

    fn value(&self) -> Result<Input, Fault> {
        let (name, number) = match self.rest {
            [name, number] => (*name, number.parse::<f64>().ok().filter(|number| number.is_finite())),
            _ => ("", None),
        };
        let known = || self.device.fields.iter().map(|field| field.name.as_str());
        let Some(field) = self.device.field(name) else {
            return Err(self.fault(format!("there is no field `{name}`"), nearest(name, known()).unwrap_or_default()));
        };
        let [low, high] = self.device.fields[field.0].range;
        let number = number.filter(|number| (low..=high).contains(number));
        let fault = || self.fault(format!("expected a number from {low} to {high}"), format!("write set {name} {low}"));
        Ok(Input::Value(field, number.ok_or_else(fault)?))
    }

    fn state(&self, state: DeviceState, words: &[(&str, f64)]) -> Result<Input, Fault> {
        let word = self.rest.first().copied().unwrap_or_default();
        let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        let value = words.iter().find(|(known, _)| *known == word).map(|(_, value)| *value);
        let value = value.ok_or_else(|| {
            self.fault(
                format!("expected {}, found `{word}`", known.join(" or ")),
                format!("write {} {}", self.verb, known[0]),
            )
        })?;
        Ok(Input::Value(self.holder(state)?, value))
    }

    fn holder(&self, state: DeviceState) -> Result<FieldId, Fault> {
        let name = state.name();
        let help = format!("add a field with holds = \"{name}\" to device.toml");
        self.device.states.field(state).ok_or_else(|| self.fault(format!("no field holds the state `{name}`"), help))
    }
}

/// The words that a line of a script begins with.
const VERBS: &[&str] = &[
    "from", "at", "press", "hold", "down", "up", "wait", "event", "set", "usb", "charging", "charge", "link", "expect",
];

/// A week.
const LONGEST: Micros = 7 * 86_400 * 1_000_000;

/// Reads the log of a device's keys; `name` stands before the line in messages. It begins half a second before the first
/// edge and ends a second after the last.
///
/// # Errors
/// The first line that is no edge of a key, or that is earlier than the one before.
pub fn log(device: &Device, name: &str, text: &str) -> Result<Script, Fault> {
    let mut columns = [0, 1, 2];
    let mut inputs: Vec<Timed> = Vec::new();
    let mut first = None;
    for (place, (number, line)) in lines(name, text)?.into_iter().enumerate() {
        let cells: Vec<&str> = line.split([',', ';', '\t']).map(str::trim).collect();
        let fault = |message: &str| {
            let help = "write lines such as 12.350,1,down; a heading, if any, is time,key,state";
            Fault::plain(format!("{name}:{number}: {message}")).help(help)
        };
        let named =
            ["time", "key", "state"].map(|wanted| cells.iter().position(|cell| cell.eq_ignore_ascii_case(wanted)));
        if let (0, [Some(time), Some(key), Some(state)]) = (place, named) {
            columns = [time, key, state];
            continue;
        }
        let cell = |column: usize| cells.get(columns[column]).copied().unwrap_or_default();
        let time = cell(0).parse::<f64>().ok().filter(|time| time.is_finite());
        let time = time.ok_or_else(|| fault("expected a time in seconds"))?;
        let since = time - *first.get_or_insert(time);
        let key = cell(1).parse::<usize>().ok().and_then(|key| key.checked_sub(1)).filter(|key| *key < device.keys());
        let key = key.ok_or_else(|| fault(&format!("expected a key from 1 to {}", device.keys())))?;
        let key = match cell(2).to_ascii_lowercase().as_str() {
            "down" | "1" => Key::Down(key),
            "up" | "0" => Key::Up(key),
            _ => return Err(fault("expected `down` or `up`")),
        };
        let at = micros(LEAD + Seconds(since));
        if since < 0.0 || inputs.last().is_some_and(|last| last.at > at) {
            return Err(fault("this is earlier than the line before"));
        }
        if at > LONGEST {
            return Err(fault("a log lasts a week at most"));
        }
        inputs.push(Timed { at, input: Input::Key(key), line: number });
    }
    let end = inputs.last().map_or(0, |last| last.at) + micros(Seconds(1.0));
    inputs.push(Timed { at: end, input: Input::Rest, line: 0 });
    Ok(Script { from: device.usage.home, begin: device.usage.sample_at, inputs })
}

/// From the begin of a log to its first edge.
const LEAD: Seconds = Seconds(0.5);

/// Plays a script on a running device: gives each input at its time.
#[derive(Clone, Debug)]
pub struct Player<'s> {
    script: &'s Script,
    next: usize,
}

impl<'s> Player<'s> {
    /// Nothing played yet.
    pub fn new(script: &'s Script) -> Self {
        Self { script, next: 0 }
    }

    /// When the next input comes, after midnight of the first day; `None` at the end.
    pub fn next(&self) -> Option<Micros> {
        self.script.inputs.get(self.next).map(|timed| micros(self.script.begin) + timed.at)
    }

    /// The next input, if its time has come.
    pub fn take(&mut self, now: Micros) -> Option<Timed> {
        self.next().filter(|at| *at <= now)?;
        let timed = self.script.inputs.get(self.next).copied();
        self.next += 1;
        timed
    }
}

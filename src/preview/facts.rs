//! What the preview says about the running device, line by line; the window and the terminal both show these.

use super::command::{Command, STATE_KEYS};
use super::session::{Session, beyond, cause_words, reason_words};
use super::view::View;
use crate::behaviour::Times;
use crate::behaviour::states::DeviceState;
use crate::refresh::update::Mode;
use crate::units::{Celsius, DAY, Seconds, figures, plain_time};

/// One line.
#[derive(Clone, Debug, PartialEq)]
pub enum Fact {
    /// The name of what follows.
    Heading(String),
    /// A name and what it is at the moment.
    Pair {
        /// The name.
        label: &'static str,
        /// What it is.
        value: String,
        /// It needs attention.
        alert: bool,
    },
    /// Something to do, with the key for it.
    Action {
        /// The key's name.
        key: String,
        /// What it does.
        text: String,
        /// The same as a command.
        command: Command,
    },
    /// A remark.
    Remark(String),
}

fn pair(label: &'static str, value: impl Into<String>) -> Fact {
    Fact::Pair { label, value: value.into(), alert: false }
}

fn alert(label: &'static str, value: impl Into<String>) -> Fact {
    Fact::Pair { label, value: value.into(), alert: true }
}

/// Everything worth saying now.
pub fn facts(session: &Session, view: &View) -> Vec<Fact> {
    let mut facts = vec![Fact::Heading(session.device().name.clone())];
    facts.extend(now(session));
    facts.push(Fact::Heading("Last update".into()));
    facts.extend(update(session));
    facts.push(Fact::Heading(format!("Since {}", clock(session.counted_from()))));
    facts.extend(counted(session));
    if view.activity {
        let drives = || session.activity().regions().map(|(_, region)| region.drives());
        let times = |count: Option<u64>| format!("{} times", count.unwrap_or(0));
        facts.push(pair("driven, max", times(drives().max())));
        facts.push(pair("driven, min", times(drives().min())));
    }
    if view.residue {
        let said = match session.residue(view.residue_above) {
            Some((shading, left)) => format!("{}, shaded above {}", shading.most(left), shading.above),
            None => "panel.residue is not stated".to_owned(),
        };
        facts.push(pair("residue, max", said));
    }
    if view.findings {
        facts.push(Fact::Heading("Findings on this screen".into()));
        facts.extend(findings(session));
    }
    facts.extend(events(session));
    facts.extend(states(session));
    facts
}

/// States of the device that fields hold, with the keys that change them.
fn states(session: &Session) -> Vec<Fact> {
    let device = session.device();
    let mut facts = Vec::new();
    for (key, turn, state, text) in STATE_KEYS {
        let Some(field) = device.states.field(*state) else { continue };
        if facts.is_empty() {
            facts.push(Fact::Heading("States".into()));
        }
        let value = session.value(field);
        let shown = match state {
            DeviceState::Charge => format!("{} %", figures(value)),
            _ if value > 0.5 => "yes".to_owned(),
            _ => "no".to_owned(),
        };
        facts.push(Fact::Action {
            key: key.to_string(),
            text: format!("{text}: {shown}"),
            command: Command::State(*turn),
        });
    }
    facts
}

/// What the lints find here, each in a line.
fn findings(session: &Session) -> Vec<Fact> {
    let found: Vec<Fact> = session.findings().map(|finding| Fact::Remark(finding.fault.message.clone())).collect();
    if found.is_empty() { vec![Fact::Remark("none".into())] } else { found }
}

fn now(session: &Session) -> Vec<Fact> {
    let device = session.device();
    let mut facts = vec![pair("screen", device.screens[session.screen().0].id.clone())];
    if session.front() != session.screen() {
        facts.push(pair("box in front", device.screens[session.front().0].id.clone()));
    }
    if device.locales.len() > 1 {
        facts.push(pair("locale", device.locales[session.locale()].clone()));
    }
    if session.worst() {
        facts.push(alert("values", "worst case"));
    }
    let speed = match session.speed() {
        0.0 => "paused".to_owned(),
        speed => format!("{} x", figures(speed)),
    };
    facts.push(pair("time", format!("{}, {speed}", clock(session.time()))));
    let Celsius(degrees) = session.temperature();
    let weather = session.weather().name();
    facts.push(pair("temperature", format!("{} °C, {weather}", figures((degrees * 10.0).round() / 10.0))));
    facts.push(match (session.refused(), session.busy(), session.waiting()) {
        (Some(at), ..) => alert("panel", format!("blocked: {}", beyond(&device.panel.full, at, "its table"))),
        (None, true, 0) => pair("panel", "refreshing"),
        (None, true, waiting) => pair("panel", format!("refreshing, {waiting} waiting")),
        (None, false, _) => pair("panel", "idle"),
    });
    facts
}

fn update(session: &Session) -> Vec<Fact> {
    let Some(update) = session.last_update() else { return vec![Fact::Remark("none yet".into())] };
    let waveform = match (update.mode, update.windows.len()) {
        (Mode::Full, _) => "full".to_owned(),
        (Mode::Partial, 1) => "partial, 1 window".to_owned(),
        (Mode::Partial, count) => format!("partial, {count} windows"),
    };
    let mut facts = vec![pair("cause", cause_words(update.cause, session.device())), pair("waveform", waveform)];
    if let Some(reason) = update.reason {
        facts.push(pair("reason", reason_words(reason)));
    }
    facts.push(pair("changed", format!("{} px", crate::units::grouped(&update.changed.to_string()))));
    facts.push(pair("latency", update.latency.to_string()));
    if update.waited.0 > 0.0 {
        facts.push(pair("after waiting", update.waited.to_string()));
    }
    facts.push(pair("energy", update.energy.to_string()));
    facts
}

fn counted(session: &Session) -> Vec<Fact> {
    let (counts, spending) = (session.counts(), session.spending());
    let mut facts = vec![
        pair("refreshes", format!("{} full, {} partial", counts.full, counts.partial)),
        pair("partials in a row", format!("{} of {}", session.partials(), session.device().policy.max_partials)),
    ];
    let lost = counts.lost_presses;
    facts.push(match lost {
        0 => pair("presses", counts.presses.to_string()),
        _ => alert("presses", format!("{}, {lost} dropped", counts.presses)),
    });
    facts.push(pair("spent", spending.all.to_string()));
    facts.push(pair("on refreshes", spending.refreshes.to_string()));
    if spending.paced {
        facts.push(match spending.life {
            Some(life) => pair("battery at this pace", plain_time(life)),
            None => alert("battery at this pace", "outside its tables"),
        });
    }
    facts
}

fn events(session: &Session) -> Vec<Fact> {
    let events = &session.device().events;
    let mut facts = Vec::new();
    if !events.is_empty() {
        facts.push(Fact::Heading("Events".into()));
    }
    for (index, event) in events.iter().enumerate().take(12) {
        let when = match event.times {
            Times::Every(interval, _) => format!(", every {}", plain_time(interval)),
            Times::PerDay(rate, _) => format!(", {} a day", figures(rate)),
            Times::When(_) => String::new(),
        };
        let text = format!("{}{when}", event.name);
        facts.push(Fact::Action { key: format!("F{}", index + 1), text, command: Command::Inject(index) });
    }
    facts
}

/// A time after midnight of the first day as a clock shows it.
pub fn clock(time: Seconds) -> String {
    let minutes = (time.0.max(0.0) / 60.0) as u64;
    let (days, hours, minutes) = (minutes / 1440, minutes / 60 % 24, minutes % 60);
    match time < DAY {
        true => format!("{hours:02}:{minutes:02}"),
        false => format!("day {}, {hours:02}:{minutes:02}", days + 1),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clocks_count_days_from_the_second_on() {
        assert_eq!(clock(Seconds(36_059.0)), "10:00");
        assert_eq!(clock(Seconds(86_400.0 + 60.0)), "day 2, 00:01");
    }
}

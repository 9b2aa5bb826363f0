//! The runners of a random project: simulation, preview and filmstrip, each with what it sent when; what a script's presses
//! are as deeds by hand.

use crate::occurrences::Occurred;
use crate::plans::{BEGIN, Plan, Step};
use inkjoule::device::Device;
use inkjoule::filmstrip::{self, Shot, Showing};
use inkjoule::frame::Frame;
use inkjoule::machine::{Key, Machine, Micros, UpdateCause, micros};
use inkjoule::preview::command::Turn;
use inkjoule::preview::session::{Begin, Session};
use inkjoule::project::Loaded;
use inkjoule::refresh::update::Mode;
use inkjoule::simulate::simulate_watched;
use inkjoule::units::Seconds;
use inkjoule::usage::person::Person;
use proptest::prelude::*;
use std::fmt::Write as _;

/// One update as a runner saw it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Seen {
    pub(crate) time: Micros,
    pub(crate) cause: UpdateCause,
    pub(crate) mode: Mode,
    pub(crate) frame: Frame,
}

pub(crate) fn in_simulation(device: &Device, until: Micros) -> Vec<Seen> {
    let mut seen = Vec::new();
    let parameters = device.inputs.typical();
    simulate_watched(device, &parameters, |machine, update| {
        let time = machine.now();
        if time >= micros(BEGIN) && time < until {
            seen.push(Seen { time, cause: update.cause, mode: update.mode, frame: machine.canvas.shown.clone() });
        }
    });
    seen
}

/// What a person or the world does in the preview.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Deed {
    Key(Key),
    Turn(Turn),
}

/// The journey by hand: key by key at its times. Where a person chooses, as the person of every runner does.
pub(crate) fn by_journey(plan: &Plan, device: &Device) -> Vec<(Micros, Deed)> {
    let mut chosen = chosen(device).into_iter();
    let mut inputs = Vec::new();
    let mut at = micros(BEGIN);
    for step in &plan.steps {
        let (key, hold, look) = match step {
            Step::Turn(..) => continue,
            Step::Press(key, hold, look) => (chosen.next().map(|_| *key), *hold, *look),
            Step::Either(_, _, look) => (chosen.next(), 0, *look),
        };
        let key = key.expect("the person walks every step");
        let up = at + u64::from(hold) * 100_000;
        inputs.extend([(at, Deed::Key(Key::Down(key))), (up, Deed::Key(Key::Up(key)))]);
        at = up.max(at + u64::from(look) * 100_000);
    }
    inputs
}

/// The keys that the person presses, in order, wherever that leads.
pub(crate) fn chosen(device: &Device) -> Vec<usize> {
    let mut person = Person::new(device);
    let mut machine = Machine::new(device, device.usage.home, 0);
    person.begin(0, 0);
    let mut keys = Vec::new();
    while let Some(next) = person.next() {
        machine.pass(next);
        while let Some(key) = person.act(device, &machine) {
            if let Key::Down(number) = key {
                keys.push(number);
            }
        }
    }
    keys
}

/// The same steps with the turns of the device's states as the text of a script, and by hand. The first turn comes at an
/// odd time, so that it meets nothing else.
pub(crate) fn by_script(plan: &Plan) -> (String, Vec<(Micros, Deed)>) {
    // Never at a whole second, at which the device's own events come: which of two in one moment is first, nobody states.
    let mut text = String::from("from s0\nat 00:10\nwait 1.7 ms\n");
    let mut inputs = Vec::new();
    let mut at = micros(BEGIN) + 1_700;
    let (mut usb, mut charging, mut link, mut charge) = (false, false, true, 20);
    let on = |is: bool| if is { "on" } else { "off" };
    for step in &plan.steps {
        let (key, hold, look) = match step {
            Step::Turn(turn, look) => {
                at += 37_500;
                text.push_str("wait 37.5 ms\n");
                inputs.push((at, Deed::Turn(*turn)));
                let _ = match turn {
                    Turn::Usb => {
                        (usb, charging) = (!usb, !usb);
                        writeln!(text, "usb {}\ncharging {}", on(usb), on(charging))
                    }
                    Turn::Charging => {
                        charging = !charging;
                        writeln!(text, "charging {}", on(charging))
                    }
                    Turn::Link => {
                        link = !link;
                        writeln!(text, "link {}", if link { "back" } else { "lost" })
                    }
                    Turn::Fuller | Turn::Emptier => {
                        charge = (charge + if *turn == Turn::Fuller { 5 } else { -5 }).clamp(0, 100);
                        writeln!(text, "charge {charge} %")
                    }
                };
                // What comes next comes later.
                at += u64::from(look + 1) * 100_000;
                let _ = writeln!(text, "wait {} ms", (look + 1) * 100);
                continue;
            }
            Step::Press(key, hold, look) => (key, *hold, *look),
            Step::Either(_, [first, _], look) => (first, 0, *look),
        };
        let up = at + u64::from(hold) * 100_000;
        inputs.extend([(at, Deed::Key(Key::Down(*key))), (up, Deed::Key(Key::Up(*key)))]);
        let rest = look.saturating_sub(hold);
        let _ = writeln!(text, "down {0}\nwait {1} ms\nup {0}\nwait {2} ms", key + 1, hold * 100, rest * 100);
        at = up + u64::from(rest) * 100_000;
    }
    // The rest of a second, so that the last answer is seen.
    text.push_str("wait 12 s\n");
    (text, inputs)
}

/// The deeds at their times in the preview.
pub(crate) fn in_preview(
    loaded: Loaded,
    inputs: &[(Micros, Deed)],
    until: Micros,
    occurred: &mut Occurred,
) -> Vec<Seen> {
    let mut session = Session::new(loaded, Begin::Shown);
    let mut seen = Vec::new();
    let mut last = None;
    let mut inputs = inputs.iter().copied().peekable();
    loop {
        if let Some(update) = session.last_update().filter(|update| Some(update.time) != last) {
            let (time, cause, mode) = (micros(update.time), update.cause, update.mode);
            last = Some(update.time);
            seen.push(Seen { time, cause, mode, frame: session.display().clone() });
        }
        let wake = session.wake().unwrap_or(until).min(until);
        let before = session.state().clone();
        let next = inputs.peek().copied().filter(|(time, _)| *time <= wake && *time < until);
        match next {
            Some((time, Deed::Turn(turn))) => {
                inputs.next();
                session.run_to(time, &[]);
                assert!(session.turn(turn));
            }
            Some((time, Deed::Key(_))) => {
                // All keys of one moment go in together, as a person's do.
                let same = |next: &(Micros, Deed)| next.0 == time && matches!(next.1, Deed::Key(_));
                let keys: Vec<Key> = std::iter::from_fn(|| match inputs.next_if(same)? {
                    (_, Deed::Key(key)) => Some(key),
                    _ => None,
                })
                .collect();
                session.run_to(time, &keys);
            }
            None if wake >= until => return seen,
            None => session.run_to(wake, &[]),
        }
        let device = session.device();
        occurred.between(device, &before, session.state(), next.map(|(_, deed)| deed));
    }
}

/// The pictures that stand after each drive, with their times.
pub(crate) fn in_film(device: &Device) -> (Vec<(Micros, Mode, Frame)>, Micros) {
    of_film(&filmstrip::shots(device, 0, 0, Some(BEGIN)), BEGIN)
}

/// The pictures that stand after each drive of these shots, with their times, and when the last shot ends.
pub(crate) fn of_film(shots: &[Shot], begin: Seconds) -> (Vec<(Micros, Mode, Frame)>, Micros) {
    let mut now = micros(begin);
    let mut seen = Vec::new();
    let mut driven: Option<(Micros, Mode)> = None;
    for (place, shot) in shots.iter().enumerate() {
        if shot.step == Showing::Drive && driven.is_none() {
            let mode = if shot.settling.is_some() { Mode::Partial } else { Mode::Full };
            driven = Some((now, mode));
        }
        let next = shots.get(place + 1);
        now += micros(shot.time);
        let ends = shot.step == Showing::Drive && next.is_none_or(|next: &Shot| next.step != Showing::Drive);
        if let (true, Some((at, mode)), Some(next)) = (ends, driven, next) {
            seen.push((at, mode, next.frame.clone()));
            driven = None;
        }
    }
    (seen, now)
}

/// The film shows what was sent: the waveform and the frame, once the drive is over.
pub(crate) fn compare_film(film: &[(Micros, Mode, Frame)], sent: &[Seen]) -> Result<(), TestCaseError> {
    for (at, mode, frame) in film {
        let sent = sent.iter().rfind(|update| update.time <= *at);
        prop_assert!(sent.is_some_and(|sent| sent.frame == *frame && sent.mode == *mode), "film at {at}: {sent:?}");
    }
    // It ends with the person's last look, while the device goes on.
    let last = film.last().map_or(0, |(at, ..)| *at);
    let until = sent.iter().filter(|update| update.time <= last).count();
    prop_assert_eq!(film.len(), until, "of {}", sent.len());
    Ok(())
}

//! `journey-derails`, `journey-stranded` and `trapped`: journeys whose presses mean nothing, screens from which nothing
//! leads to a journey's screen, and states that are never left.

use super::Subject;
use super::report::Report;
use crate::device::Device;
use crate::device::usage::Journey;
use crate::limits;
use crate::machine::ways::Ways;
use crate::machine::{Key, Machine, Note, State, World, micros};
use crate::screen::values::{FieldId, Values};
use crate::screen::{Role, ScreenId};
use crate::source::fault::Fault;
use crate::units::Seconds;

/// A world in which nothing moves and nothing happens by itself.
#[derive(Default)]
struct Still {
    puzzled: Option<usize>,
}

impl World for Still {
    fn sample(&mut self, _: &Device, field: FieldId, _: Seconds, values: &Values) -> f64 {
        values.of(field)
    }

    fn note(&mut self, note: Note) {
        if let Note::Unassigned { key, .. } = note {
            self.puzzled = Some(key);
        }
    }
}

/// A journey that stops with the sample values, though nothing comes between.
pub(super) fn derails(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    for journey in &device.usage.journeys {
        let Some(from) = journey.from else { continue };
        let ways = journey.ways(limits::JOURNEY_WAYS);
        if let Some((step, key, screen)) = ways.iter().find_map(|way| stops(device, journey, way, from)) {
            let on = &device.screens[screen.0].id;
            let message = format!(
                "the journey `{}` stops at its step {}: key {} does nothing on `{on}`",
                journey.name,
                step + 1,
                key + 1
            );
            let fault = Fault::at(journey.span.clone(), message);
            report.say(fault.help("let the journey press keys that are assigned there, or give the key an action"));
        }
    }
}

/// The step at which one way through a journey stops, its key, and what is in front.
fn stops(device: &Device, journey: &Journey, way: &[usize], from: ScreenId) -> Option<(usize, usize, ScreenId)> {
    let mut machine = Machine::shown(device, from, 0);
    // With what lies behind it on the way from the home screen.
    machine.state = State::sample(device, from).unwrap_or(machine.state);
    let mut world = Still::default();
    let mut now = 0;
    for (index, step) in way.iter().map(|index| (*index, &journey.steps[*index])) {
        let front = machine.state.front();
        let begun = now;
        if let Some(key) = step.press {
            machine.key(device, Key::Down(key), &mut world);
            now += step.hold.map_or(0, micros);
            machine.run(device, now, &mut world);
            machine.key(device, Key::Up(key), &mut world);
            machine.show_at_once(device);
            if world.puzzled.is_some() {
                return Some((index, key, front));
            }
        }
        // Timers end during a look, one after the other.
        let end = now.max(begun + micros(step.look));
        while let Some(next) = machine.wake(device).filter(|next| *next > now && *next <= end) {
            now = next;
            machine.run(device, now, &mut world);
            machine.show_at_once(device);
        }
        now = end;
        machine.pass(now);
    }
    None
}

/// Screens that events, timers or keys lead to and from which no presses and no timers lead to a journey's screen.
pub(super) fn stranded(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    let reached = &subject.explored().shown;
    let mut ways = Ways::new(device);
    for view in subject.screens().filter(|view| reached[view.id.0] && view.screen.over.is_none()) {
        // These go away when their cause does.
        if matches!(view.screen.role, Some(Role::BatteryEmpty | Role::Off)) {
            continue;
        }
        let Some(state) = State::sample(device, view.id) else { continue };
        let mut cut = |journey: &&Journey| journey.from.is_some_and(|from| !ways.lead(device, &state, from));
        let names: Vec<&str> =
            device.usage.journeys.iter().filter(|journey| cut(journey)).map(|journey| journey.name.as_str()).collect();
        if let [first, rest @ ..] = names.as_slice() {
            let more = if rest.is_empty() { String::new() } else { format!(" and {} more", rest.len()) };
            let place = view.screen.span.start..view.screen.span.start;
            let message =
                format!("from `{}` nothing leads to where the journey `{first}`{more} begins", view.screen.id);
            let fault = Fault::at(place, message);
            let fault =
                fault.help("add a key or a timer that leads on; until then such journeys count as stopped early");
            report.see(view.shown(view.sample(), Vec::new()), 0.0, fault);
        }
    }
}

/// States from which nothing leads back to the home screen, whatever is pressed and whatever happens.
pub(super) fn trapped(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    let found = subject.explored();
    for view in subject.screens().filter(|view| found.trapped.contains(&view.id)) {
        if matches!(view.screen.role, Some(Role::BatteryEmpty | Role::Off)) {
            continue;
        }
        let home = &device.screens[device.usage.home.0].id;
        let place = view.screen.span.start..view.screen.span.start;
        let message = format!("a state of `{}` is never left: nothing leads from it back to `{home}`", view.screen.id);
        let fault = Fault::at(place, message).label(format!("one of {} states of the flow", found.states));
        let fault = fault.help("add a key, a timer or an event that leads on in every state, or `close` to a box");
        report.see(view.shown(view.sample(), Vec::new()), 0.0, fault);
    }
}

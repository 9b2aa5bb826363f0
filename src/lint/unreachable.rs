//! `unreachable`: a screen or box that no state of the flow shows.

use super::Subject;
use super::report::Report;
use crate::behaviour::Wiring;
use crate::device::Device;
use crate::screen::Role;
use crate::screen::ScreenId;
use crate::source::fault::Fault;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    let usage = &subject.device.usage;
    let mut led = reach(subject.device, usage.home);
    let at_power_up = reach(subject.device, usage.start_up);
    led.iter_mut().zip(at_power_up).for_each(|(home, other)| *home |= other);
    let found = subject.explored();
    // What lies beyond the bound of the exploration may show it.
    for view in subject.screens().filter(|view| !led[view.id.0] || found.complete && !found.shown[view.id.0]) {
        // The firmware itself shows these.
        if matches!(view.screen.role, Some(Role::BatteryEmpty | Role::LinkLost | Role::Off)) {
            continue;
        }
        let home = &subject.device.screens[subject.device.usage.home.0].id;
        let place = view.screen.span.start..view.screen.span.start;
        let kind = if view.screen.over.is_some() { "box" } else { "screen" };
        let mut fault = Fault::at(place, format!("nothing leads from `{home}` to the {kind} `{}`", view.screen.id));
        if led[view.id.0] {
            fault = fault.label("no state of the flow carries out what would lead to it");
        }
        let help =
            "let a key, timer or event lead to it, give it the role battery-empty, link-lost or off, or delete it";
        report.see(view.shown(view.sample(), Vec::new()), 0.0, fault.help(help));
    }
}

/// Screens that can be reached from one.
fn reach(device: &Device, from: ScreenId) -> Vec<bool> {
    let mut reached = vec![false; device.screens.len()];
    let mut open = vec![from];
    while let Some(screen) = open.pop() {
        if !std::mem::replace(&mut reached[screen.0], true) {
            open.extend(every_way(&device.wirings[screen.0]));
        }
    }
    reached
}

/// Where keys, timers and events lead.
fn every_way(wiring: &Wiring) -> Vec<ScreenId> {
    wiring.reactions().flat_map(|reaction| reaction.targets()).collect()
}

//! `dead-end`: a screen from which no keys lead back to the home screen.

use super::Subject;
use super::report::Report;
use crate::behaviour::{Action, Reaction};
use crate::device::Device;
use crate::screen::Role;
use crate::source::fault::Fault;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    let home = device.usage.home;
    if device.display.keys.is_empty() {
        return;
    }
    let returns = returning(device);
    for view in subject.screens() {
        // These go away when their cause does.
        let gone_with_cause = matches!(view.screen.role, Some(Role::BatteryEmpty | Role::LinkLost | Role::Off));
        // A box is left for what lies below: see `trapped`.
        if gone_with_cause || returns[view.id.0] || view.screen.over.is_some() {
            continue;
        }
        // The screen of a power-up stands while the device starts.
        let leads_on =
            device.wirings[view.id.0].timers.iter().any(|timer| timer.reaction.targets().any(|to| to == home));
        if view.id == device.usage.start_up && leads_on {
            continue;
        }
        let timer = device.wirings[view.id.0].timers.iter().map(|timer| timer.wait.0).min_by(f64::total_cmp);
        let label = timer
            .map_or("no timer leads on either".to_owned(), |wait| format!("only a timer leads on, after {wait} s"));
        let place = view.screen.span.start..view.screen.span.start;
        let name = &device.screens[home.0].id;
        let fault = Fault::at(place, format!("no keys lead from the screen `{}` back to `{name}`", view.screen.id))
            .label(label);
        let fault = fault.help(format!("add [keys] 1 = {{ label = \"Back\", go = \"{name}\" }}"));
        report.see(view.shown(view.sample(), Vec::new()), 0.0, fault);
    }
}

/// For each screen, whether keys lead from it to the home screen: the ways are walked backwards from there.
fn returning(device: &Device) -> Vec<bool> {
    let mut before: Vec<Vec<usize>> = vec![Vec::new(); device.screens.len()];
    for (screen, wiring) in device.wirings.iter().enumerate() {
        let next = wiring.keys.iter().flat_map(|rule| rule.reactions()).flat_map(|reaction| reaction.targets());
        // Switching the device off is no way back.
        for next in next.filter(|next| !device.ends_use(*next)) {
            before[next.0].push(screen);
        }
    }
    // A way back leads to wherever the screen was entered from, by key, timer or event; closing a box to what lies below.
    let mut entered: Vec<Vec<usize>> = vec![Vec::new(); device.screens.len()];
    for (screen, wiring) in device.wirings.iter().enumerate() {
        for next in wiring.reactions().flat_map(|reaction| reaction.targets()) {
            entered[next.0].push(screen);
        }
    }
    for (screen, wiring) in device.wirings.iter().enumerate() {
        let mut actions = wiring.keys.iter().flat_map(|rule| rule.reactions()).flat_map(Reaction::every_action);
        if actions.any(|action| matches!(action, Action::Back | Action::Close)) {
            for from in &entered[screen] {
                before[*from].push(screen);
            }
        }
    }
    let mut returns = vec![false; device.screens.len()];
    let mut open = vec![device.usage.home.0];
    while let Some(screen) = open.pop() {
        if !std::mem::replace(&mut returns[screen], true) {
            open.extend(&before[screen]);
        }
    }
    returns
}

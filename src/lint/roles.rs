//! `no-empty-screen` and `no-link-screen`: screens that tell the user that what the panel shows is no longer true.

use super::Subject;
use super::report::Report;
use super::timestamp::is_live;
use crate::screen::element::Nature;
use crate::screen::values::FieldId;
use crate::screen::{Item, Role};
use crate::source::fault::Fault;

pub(super) fn empty(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    let live = (0..device.fields.len()).any(|field| is_live(device, FieldId(field)));
    if live && !has(subject, Role::BatteryEmpty) {
        let fault = Fault::plain(
            "no screen is shown when the battery is empty: the display would go on showing the last value",
        );
        report.say(fault.help("write a screen with role = \"battery-empty\" and no live values"));
    }
}

/// Only where some screen shows the state of a link, or an event comes over one: a device without has no link to lose.
pub(super) fn link(subject: &Subject<'_>, report: &mut Report<'_>) {
    let sign = |item: &&Item| item.nature == Nature::LinkSign;
    let linked = subject.screens().find_map(|view| view.items.iter().find(sign).map(|item| (view, item)));
    if let Some((view, item)) = linked.filter(|_| !has(subject, Role::LinkLost)) {
        let fault =
            Fault::at(item.span.clone(), "no screen is shown when the link is lost and values no longer arrive");
        let fault = fault.help("write a screen with role = \"link-lost\" that says when data was last received");
        report.see(view.shown(view.showing(item), vec![item.area]), 0.0, fault);
    } else if let Some(event) = subject.device.events.iter().find(|event| event.link)
        && !has(subject, Role::LinkLost)
    {
        let message = format!("no screen is shown when the link is lost over which `{}` comes", event.name);
        let help = "write a screen with role = \"link-lost\" that says when data was last received";
        report.say(Fault::at(event.span.clone(), message).help(help));
    }
}

fn has(subject: &Subject<'_>, role: Role) -> bool {
    subject.device.screens.iter().any(|screen| screen.role == Some(role))
}

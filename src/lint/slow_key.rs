//! `slow-key`: a key that somebody waits for longer than a second, and why.
//!
//! Up to about a second a person's flow of thought stays unbroken, though the delay is noticed (Miller, AFIPS Fall Joint
//! Computer Conference 1968, 267-277; from memory).

use super::Subject;
use super::actions::words;
use super::report::Report;
use crate::behaviour::policy::Buffer;
use crate::budget::passages::{PassageUpdate, passage_updates};
use crate::budget::transition::PictureChange;
use crate::cost::phases::{Cause, latency, phases};
use crate::device::Device;
use crate::machine::explore::By;
use crate::parameters::ParameterSample;
use crate::refresh::policy::{Memory, Reason, must_be_full};
use crate::refresh::update::{Mode, typical_work};
use crate::source::fault::Fault;
use crate::units::Seconds;

/// Longest time that an answer may take.
const PATIENCE: Seconds = Seconds(1.0);

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    let parameters = device.inputs.typical();
    let by_key = |way: &&PassageUpdate| matches!(way.by, By::Press(_) | By::Hold(_) | By::Release(_));
    let all = passage_updates(device, &parameters, subject.explored());
    let quick: Vec<&PassageUpdate> = all
        .iter()
        .filter(by_key)
        .filter(|way| way.update.as_ref().is_some_and(|update| update.changed > 0 && update.latency <= PATIENCE))
        .collect();
    forced(device, &parameters, &quick, report);
    for view in subject.screens() {
        let here = all.iter().filter(by_key).filter(|way| way.to == view.id);
        let slow: Vec<(&PassageUpdate, &PictureChange)> = here
            .filter_map(|way| way.update.as_ref().map(|update| (way, update)))
            .filter(|(_, update)| update.changed > 0 && update.latency > PATIENCE)
            .collect();
        let Some((way, update)) = slow.iter().max_by(|a, b| a.1.latency.0.total_cmp(&b.1.latency.0)) else { continue };
        let from = &device.screens[way.from.0].id;
        let more = match slow.len() {
            1 => String::new(),
            2 => "; also for 1 more transition".to_owned(),
            count => format!("; also for {} more transitions", count - 1),
        };
        let message = format!(
            "`{}` has an update latency of {} after {} on `{from}`: longer than {PATIENCE}{more}",
            view.screen.id,
            update.latency,
            words(device, way.by)
        );
        let (why, help) = reason(device, &parameters, way, update);
        let place = view.screen.span.start..view.screen.span.start;
        let fault = Fault::at(place, message).label(why).help(help);
        report.see(view.shown(view.sample(), Vec::new()), 0.0, fault);
    }
}

/// Where the partial limit makes one refresh in this many full, or one in fewer, people meet it again and again: as common
/// practice, a wait now and then is taken for the display's own.
const OFTEN: u32 = 10;

/// Answers that are quick while they are partial and slow each time the partial limit makes them full.
fn forced(device: &Device, parameters: &ParameterSample, quick: &[&PassageUpdate], report: &mut Report<'_>) {
    let limit = device.policy.max_partials;
    let mean = device.usage.climate.mean();
    let partial = device.panel.partial.as_ref().is_some_and(|partial| partial.covers(mean));
    if !partial || quick.is_empty() || limit == 0 || limit + 1 >= OFTEN {
        return;
    }
    let Some(work) = typical_work(device, Mode::Full, mean) else { return };
    let waited = latency(&phases(device, parameters, &work, device.battery.nominal()));
    if waited <= PATIENCE {
        return;
    }
    let of = |count: usize, one: &str, more: &str| format!("{count} {}", if count == 1 { one } else { more });
    let message = format!(
        "one refresh in {} is full and takes {waited}, longer than {PATIENCE}, after keys of {} that answer sooner otherwise",
        limit + 1,
        of(quick.len(), "transition", "transitions"),
    );
    let fault = Fault::plain(message).label(format!("full refresh: {}", Reason::Count.words()));
    report.say(fault.help(
        "raise policy.max-partials as far as the panel's maker lets you, or state full-every for when nobody waits",
    ));
}

/// Why an update takes so long, and what helps.
fn reason(
    device: &Device,
    parameters: &ParameterSample,
    way: &PassageUpdate,
    update: &PictureChange,
) -> (String, String) {
    let quiet = Memory { partials: 0, last_full: Some(Seconds(0.0)) };
    let full = must_be_full(device, quiet, Seconds(0.0), device.usage.climate.mean(), way.entered);
    if let Some(reason) = full {
        let help = match reason {
            Reason::Screen => "take the screen out of policy.full-on, or accept the wait where people expect it",
            Reason::NoPartial => "choose a panel with a partial waveform, or signal `please wait` by other means",
            _ => "widen the panel's partial table with the maker's data, or change the policy",
        };
        return (format!("full refresh: {}", reason.words()), help.to_owned());
    }
    let phases = phases(device, parameters, &update.work, device.battery.nominal());
    let before = phases.iter().filter(|phase| phase.before_visible);
    let longest = before.max_by(|a, b| a.time.0.total_cmp(&b.time.0));
    let why = longest.map_or_else(String::new, |phase| format!("{} alone takes {}", phase.name, phase.time));
    let strips = matches!(device.policy.buffer, Buffer::StripLines(_));
    let rendering = longest.is_some_and(|phase| phase.cause == Cause::Render);
    let help = match (rendering, strips) {
        (true, _) if device.board.mcu.drawing.is_exported() => {
            "the exported machine draws both frames in strips to compare them: write more lines a strip, memo = 500 in \
             [policy] where there is room, or raise the clock of the microcontroller"
        }
        (true, true) => {
            "policy.buffer is strip-lines, so each frame is rendered once a strip: write more lines a strip, or buffer = \
             \"ram\" or \"external\" where there is room; or raise the clock of the microcontroller"
        }
        (true, false) => "change fewer pixels, or raise the clock of the microcontroller",
        (false, _) => "change fewer pixels, or raise the clock of the bus or of the microcontroller",
    };
    (why, help.to_owned())
}

//! `editor-range`: a change that would lead out of its field's range, so that something else comes of it.

use super::Subject;
use super::actions::{place, words};
use super::report::Report;
use crate::behaviour::{Action, FieldChange, How};
use crate::device::Device;
use crate::machine::explore::rules;
use crate::source::fault::Fault;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    for view in subject.screens() {
        let wiring = &device.wirings[view.id.0];
        for (by, reaction) in rules(wiring) {
            for action in reaction.every_action() {
                let Action::Change(change) = action else { continue };
                let Some((what, help)) = objection(device, change) else { continue };
                let field = &device.fields[change.field.0];
                let message = format!(
                    "on `{}`, {} leaves the range of `{}`: {what}",
                    view.screen.id,
                    words(device, by),
                    field.name
                );
                let label = format!("its range is {} to {}", field.range[0], field.range[1]);
                let fault = Fault::at(place(wiring, by, view.screen.span.start), message).label(label).help(help);
                report.see(view.shown(view.sample(), Vec::new()), 0.0, fault);
            }
        }
    }
}

/// How a change leaves its field's range whatever the value is, and what to do.
fn objection(device: &Device, change: &FieldChange) -> Option<(String, String)> {
    let field = &device.fields[change.field.0];
    let [low, high] = field.range;
    let width = high - low;
    match change.how {
        How::To(value) if !(low..=high).contains(&value) => {
            Some((format!("{value} is outside it"), format!("write a value from {low} to {high}")))
        }
        How::By(by) if by.abs() > width => {
            Some((format!("{by} is more than it is wide"), format!("write at most by = {width}")))
        }
        How::Digit { cursor, by } => {
            let (by, unit) = (f64::from(by), field.step);
            let most = device.fields[cursor.0].range[1].clamp(0.0, 15.0);
            let step = (by * unit).abs() * 10f64.powf(most.round());
            // The leading digit may be as large as the range's larger end.
            let digits = (high.abs().max(low.abs()) / unit).log10().floor();
            (step > width).then(|| {
                let cursor = &device.fields[cursor.0].name;
                (
                    format!("at `{cursor}` = {most} its digit counts {step}"),
                    format!("give `{cursor}` the range = [0, {}]", digits.max(0.0)),
                )
            })
        }
        How::To(_) | How::By(_) => None,
    }
}

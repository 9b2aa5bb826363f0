//! `usb-load`: a load that is drawn only while USB is attached, on a rail that the battery feeds.
//!
//! The board's tree says where a load comes from: USB feeds only what stands on a rail with `source = "usb"`. All else
//! is the battery's, also while the device is at its charger, which puts it back.

use super::Subject;
use super::report::Report;
use crate::behaviour::states::DeviceState;
use crate::device::Device;
use crate::hardware::rail::{RailId, Source};
use crate::screen::values::{Condition, Limit, Test};
use crate::source::fault::Fault;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    let Some(usb) = device.states.field(DeviceState::Usb) else { return };
    let attached = |condition: &Condition| {
        let holds = match condition.test {
            Test::Is(number) | Test::From(Limit::Number(number)) => number > 0.0 && number <= 1.0,
            _ => false,
        };
        condition.field == usb && holds
    };
    let only = device.board.loads.iter().zip(&device.load_only).filter(|(_, only)| only.iter().any(attached));
    for (load, _) in only.filter(|(load, _)| by_battery(device, load.rail)) {
        let rail = &device.board.rails[load.rail.0].name;
        let message =
            format!("the load `{}` draws current only while USB is attached, and the battery feeds it", load.name);
        let fault = Fault::at(load.span.clone(), message).label(format!("its rail is `{rail}`"));
        report.say(fault.help("put it on a rail with source = \"usb\"; the charger replaces what it takes otherwise"));
    }
}

/// Whether the battery stands at the begin of a rail.
fn by_battery(device: &Device, rail: RailId) -> bool {
    match device.board.rails[rail.0].source {
        Source::Battery => true,
        Source::Usb => false,
        // Rails come from earlier ones, so this ends.
        Source::Rail(above) => by_battery(device, above),
    }
}

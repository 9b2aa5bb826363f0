//! `efficiency-unknown`: currents of a switching rail that its table of efficiency does not reach. The nearest row counts
//! there: a share known for milliamperes flatters a microampere. `rail-overload`: more on a rail than its regulator gives.

use super::Subject;
use super::report::Report;
use crate::cost::currents::currents;
use crate::hardware::rail::Regulator;
use crate::source::fault::Fault;
use crate::units::Amps;

/// A current this little beyond a row is taken as that row's.
const NEAR: f64 = 1.05;

/// `rail-overload`.
pub(super) fn overload(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    let parameters = device.inputs.typical();
    let [_, most] = currents(device, &parameters, device.battery.nominal());
    for (rail, most) in device.board.rails.iter().zip(most) {
        let Some(limit) = rail.limit.map(|limit| Amps(device.inputs.row(limit).min)) else { continue };
        if most > limit {
            let message = format!("the rail `{}` carries up to {most}; its limit is {limit}", rail.name);
            let help = "use a stronger regulator, spread the loads over time, or charge its capacitor more slowly";
            report.say(Fault::at(rail.span.clone(), message).help(help));
        }
    }
}

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    let parameters = device.inputs.typical();
    let [asleep, most] = currents(device, &parameters, device.battery.nominal());
    for ((rail, asleep), most) in device.board.rails.iter().zip(asleep).zip(most) {
        let Regulator::Switching { efficiency, .. } = &rail.regulator else { continue };
        let Some((from, to)) = efficiency.known() else { continue };
        let mut say = |what: String, row: Amps| {
            let fault = Fault::at(rail.span.clone(), format!("the rail `{}` carries {what}", rail.name));
            let help = format!(
                "add a row {{ at = \"{row}\", is = \"...\" }} from its maker's curve; until then the nearest row is used"
            );
            report.say(fault.help(help));
        };
        if asleep.0 > 0.0 && asleep * NEAR < from {
            say(format!("{asleep} in sleep, and its efficiency is known from {from}"), asleep);
        }
        if most > to * NEAR {
            say(format!("up to {most} in an update, and its efficiency is known up to {to}"), most);
        }
    }
}

//! `efficiency-unknown`: currents of a switching rail that its table of efficiency does not reach. The nearest row counts
//! there: a share known for milliamperes flatters a microampere.

use super::Subject;
use super::report::Report;
use crate::cost::phases::phases;
use crate::device::Device;
use crate::hardware::rail::{RailId, Regulator};
use crate::parameters::Point;
use crate::refresh::update::{Change, Mode, work};
use crate::source::fault::Fault;
use crate::units::Amps;

/// A current this little beyond a row is taken as that row's.
const NEAR: f64 = 1.05;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    let point = device.inputs.typical();
    for (index, rail) in device.board.rails.iter().enumerate() {
        let Regulator::Switching { efficiency, .. } = &rail.regulator else { continue };
        let Some((from, to)) = efficiency.known() else { continue };
        let (asleep, most) = (device.asleep(&point, RailId(index)), most(device, &point, RailId(index)));
        let mut say = |what: String, row: Amps| {
            let fault = Fault::at(rail.span.clone(), format!("the rail `{}` carries {what}", rail.name));
            let help = format!(
                "add a row {{ at = \"{row}\", is = \"...\" }} from its maker's curve; till then the nearest row counts"
            );
            report.say(fault.help(help));
        };
        if asleep.0 > 0.0 && asleep * NEAR < from {
            say(format!("{asleep} asleep, and its efficiency is known from {from}"), asleep);
        }
        if most > to * NEAR {
            say(format!("up to {most} in an update, and its efficiency is known up to {to}"), most);
        }
    }
}

/// The most that flows on a rail in an update, at the ends of the usage's temperatures.
fn most(device: &Device, point: &Point, rail: RailId) -> Amps {
    let asleep = device.asleep(point, rail);
    let climate = &device.usage.climate;
    let modes = [Mode::Full, Mode::Partial].into_iter().flat_map(|mode| [(mode, climate.low), (mode, climate.high)]);
    let works = modes.filter_map(|(mode, temperature)| work(device, &Change::NONE, mode, temperature));
    let currents =
        works.flat_map(|work| phases(device, point, &work)).filter(|phase| phase.time.0 > 0.0).map(|phase| {
            let loads = phase.loads.into_iter().flatten().filter(|load| load.rail == rail);
            loads.map(|load| load.current).sum::<Amps>()
        });
    asleep + currents.fold(Amps(0.0), |most, current| if current > most { current } else { most })
}

//! `capacitor-leakage`: a capacitor beside the battery whose leakage costs more than a stated share of all that is always
//! drawn. Not for whether it helps: see the supply section of the budget.

use super::Subject;
use super::report::Report;
use crate::cost::always_on::always_on;
use crate::cost::consumer::Consumer;
use crate::source::fault::Fault;

/// Share of what is always drawn that leakage may take unremarked (common practice: below a tenth it is lost in the
/// spread of the other sleep currents).
const SHARE: f64 = 0.1;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    let Some(beside) = &device.battery.capacitor else { return };
    let volts = device.battery.nominal();
    let all = always_on(device, &device.inputs.typical(), volts);
    let current = |of: &dyn Fn(Consumer) -> bool| {
        all.iter().filter(|load| of(load.what)).map(|load| load.load_current.at(volts)).sum::<crate::units::Amps>()
    };
    let (leakage, whole) = (current(&|what| what == Consumer::Leakage), current(&|_| true));
    if leakage > whole * SHARE {
        let percent = 100.0 * (leakage / whole);
        let message = format!(
            "the capacitor beside the battery leaks {leakage}, {percent:.0} % of the {whole} that are always drawn"
        );
        let help = "use one of less leakage or less capacitance, or measure it after a day under voltage: data sheets \
                    state it after minutes";
        report.say(Fault::at(beside.span.clone(), message).help(help));
    }
}

//! Whether each consumer's supply window suits what its rail has, the battery full and empty, at rest and at 25 °C.
//!
//! The voltage under a peak is the budget's: a window that is left there ends the life.

use super::hardware::Bench;
use crate::behaviour::Event;
use crate::cell::peak::LoadCurrent;
use crate::device::consumers::{Consumer, consumers};
use crate::hardware::battery::Battery;
use crate::hardware::board::Board;
use crate::hardware::need::least_battery;
use crate::hardware::panel::Panel;
use crate::hardware::rail::Window;
use crate::hardware::tree::{On, Tree};
use crate::parameters::Inputs;
use crate::project::hardware::WindowSpec;
use crate::source::amount::At;
use crate::source::fault::Fault;
use crate::units::{Celsius, Ratio, Seconds, Volts};

impl Bench<'_> {
    /// A consumer's supply window.
    pub(super) fn window(&mut self, spec: Option<&At<WindowSpec>>) -> Option<Window> {
        let spec = spec?;
        let (min, max) = (spec.value.min.map(|min| min.0), spec.value.max.map(|max| max.0));
        let window = Window {
            min: min.unwrap_or(Volts(0.0)),
            max: max.unwrap_or(Volts(f64::INFINITY)),
            span: spec.span.clone(),
        };
        if (min.is_none() && max.is_none()) || window.min >= window.max {
            let fault = Fault::at(spec.span.clone(), "no voltage lies in this supply window");
            self.fault(fault.help("write supply = { min = \"2.4 V\", max = \"3.6 V\" }, or one of the two"));
            return None;
        }
        Some(window)
    }
}

/// Notes consumers that their rails never suit, as errors, and charge that a window leaves unused, as warnings.
pub fn check(
    board: &Board,
    panel: &Panel,
    events: &[Event],
    battery: &Battery,
    inputs: &Inputs,
    faults: &mut Vec<Fault>,
) {
    // A board without rails has been noted.
    if board.rails.is_empty() {
        return;
    }
    let parameters = inputs.typical();
    // A battery that cannot be has been noted.
    let Ok(case) = battery.cell(&parameters, Seconds(0.0)).at(Celsius(25.0)) else { return };
    let (full, empty) = (case.state_of_charge(case.start()), case.state_of_charge(case.floor()));
    let (high, low) = (case.ocv(full), case.ocv(empty));
    let volts = |battery: Volts, consumer: &Consumer<'_>| {
        let tree = Tree { rails: &board.rails, parameters: &parameters, battery };
        tree.flow(&vec![LoadCurrent::default(); board.rails.len()], On::ALL).nodes[consumer.rail.0].output
    };
    for consumer in consumers(board, panel, events) {
        let name = &board.rails[consumer.rail.0].name;
        let Consumer { who, window, .. } = &consumer;
        let most = volts(high, &consumer);
        if most > window.max {
            let message = format!(
                "{who} is rated for at most {} and the rail `{name}` has {most} when the battery is full ({high})",
                window.max
            );
            faults.push(Fault::at(window.span.clone(), message).help(
                "feed it from a regulator of a lower output, or use a battery of a lower voltage; beyond its maker's limit a part can fail permanently",
            ));
        }
        let least = least_battery(&board.rails, &parameters, &[], consumer.rail, window.min);
        if most < window.min || least > high {
            let message =
                format!("{who} needs {} and the rail `{name}` has at most {most}: it never works", window.min);
            faults.push(Fault::at(window.span.clone(), message).help(
                "feed it from a rail of a higher voltage, such as a boost or buck-boost converter, or use more cells in series",
            ));
        } else if least > low && consumer.needed {
            let stop = super::supply::charge_where(&case, empty, full, |battery| battery >= least);
            let unused = Ratio((stop.0 - empty.0) / (full.0 - empty.0));
            if unused.0 >= super::supply::NEGLIGIBLE.0 && own_window_decides(board, &parameters, &consumer, least) {
                let message = format!(
                    "{who} needs {} on the rail `{name}`, which ends at a battery voltage of {least} and leaves {unused} of the usable charge",
                    window.min
                );
                let fault = Fault::at(window.span.clone(), message);
                faults.push(
                    fault
                        .label(format!("the battery gives {low} (empty) to {high} (full)"))
                        .help("use a boost or buck-boost converter, or a part that works from a lower voltage; as it is, the life ends there")
                        .warning(),
                );
            }
        }
    }
}

/// Whether the window asks for more than the rail itself, which has a warning of its own.
fn own_window_decides(
    board: &Board,
    parameters: &crate::parameters::ParameterSample,
    consumer: &Consumer<'_>,
    least: Volts,
) -> bool {
    least > least_battery(&board.rails, parameters, &[], consumer.rail, Volts(0.0))
}

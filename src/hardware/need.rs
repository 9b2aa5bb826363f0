//! The least battery voltage at which a rail still has a voltage: from the consumer up to the battery.
//!
//! Not for how the battery holds it under load: see [`crate::cell::peak`].

use super::rail::{OutOfRange, Rail, RailId, Regulator, Source, Topology};
use crate::parameters::ParameterSample;
use crate::units::{Amps, Volts};

/// The least battery voltage at which a rail works and has at least `output`, this much flowing on each rail; infinite
/// where no voltage will do.
pub fn least_battery(
    rails: &[Rail],
    parameters: &ParameterSample,
    most: &[Amps],
    rail: RailId,
    output: Volts,
) -> Volts {
    let is = &rails[rail.0];
    let follows = is.out_of_range == OutOfRange::Follow;
    let never = Volts(f64::INFINITY);
    let own = match &is.regulator {
        Regulator::Direct => output,
        Regulator::Switch { resistance, .. } => {
            output + parameters.of(*resistance) * most.get(rail.0).copied().unwrap_or_default()
        }
        Regulator::Linear { output: held, .. } if output > *held => never,
        Regulator::Linear { dropout, .. } if follows => output + parameters.of(*dropout),
        Regulator::Linear { output: held, dropout, .. } => *held + parameters.of(*dropout),
        Regulator::Switching { topology: Topology::Boost, output: held, .. } if follows && output > *held => output,
        Regulator::Switching { output: held, .. } if output > *held => never,
        Regulator::Switching { topology: Topology::Buck, output: held, .. } => {
            if follows {
                output
            } else {
                *held
            }
        }
        Regulator::Switching { .. } => Volts(0.0),
    };
    let input = if own > is.min_input { own } else { is.min_input };
    match is.source {
        Source::Battery => input,
        // It is there or it is not, whatever the battery has.
        Source::Usb => Volts(0.0),
        Source::Rail(above) => least_battery(rails, parameters, most, above, input),
    }
}

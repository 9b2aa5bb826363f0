//! The device on which the supply is weakest: each input at the end of its tolerance that leaves the least margin.
//!
//! Not for the life, whose spread is found by Monte Carlo: see [`super::fleet`].

use super::fault::BudgetFault;
use super::supply_corners::{self, SupplyCorners};
use crate::cell::peak::{Corner, Terminal};
use crate::device::Device;
use crate::parameters::ParameterSample;

/// The weakest device. Currents add up and resistances multiply, so each input's worse end is worse whatever the others
/// are; it is found from the typical device, one input at a time. Inputs that do not matter to the supply keep their
/// typical value.
///
/// # Errors
/// Where the corners of the typical device are unknown.
pub fn weakest(device: &Device) -> Result<ParameterSample, BudgetFault> {
    let typical = device.inputs.typical();
    let usual = margin(&supply_corners::of(device, &typical)?);
    let mut weakest = typical.clone();
    for (index, row) in device.inputs.rows().iter().enumerate().filter(|(_, row)| row.min < row.max) {
        let at = |value: f64| {
            let supply_corners = supply_corners::of(device, &typical.with(index, value)).ok()?;
            Some((margin(&supply_corners), value))
        };
        let ends = [at(row.min), at(row.max)];
        let worse = ends.into_iter().flatten().filter(|(margin, _)| *margin < usual);
        if let Some((_, value)) = worse.min_by(|a, b| a.0.total_cmp(&b.0)) {
            weakest = weakest.with(index, value);
        }
    }
    Ok(weakest)
}

/// The least voltage above the needed one over all updates and corners. A brown-out is below every voltage, and the
/// deeper the less power the battery could still give.
fn margin(supply_corners: &SupplyCorners) -> f64 {
    const BELOW_ALL: f64 = -1e6;
    let of = |corner: &Corner| match corner.terminal {
        Terminal::Holds(volts) => (volts - supply_corners.needed).0,
        Terminal::Collapses => BELOW_ALL + corner.largest_power.map_or(0.0, |power| power.0) - corner.resistance.0,
    };
    supply_corners.rows.iter().flat_map(|row| &row.supply_corners).map(of).fold(f64::INFINITY, f64::min)
}

//! The device on which the supply is weakest: each input at the end of its tolerance that leaves the least margin.
//!
//! Not for the life, whose spread is found by Monte Carlo: see [`super::fleet`].

use super::fault::BudgetFault;
use super::supply_corners::{self, SupplyCorners};
use crate::cell::peak::{Corner, Terminal};
use crate::device::Device;
use crate::parameters::ParameterSample;

/// The weakest device. Currents add up and resistances multiply, so each input's worse end is worse whatever the others
/// are; it is found from the typical device, one input at a time. An input that does nothing there may do something
/// beside others: two rows of a table that both raise a phase which is not the hardest on the typical device. So what
/// is left is tried all at its one end and all at its other, and from there all inputs one by one. Inputs that do not
/// matter to the supply keep their typical value.
///
/// # Errors
/// Where the corners of the typical device are unknown.
pub fn weakest(device: &Device) -> Result<ParameterSample, BudgetFault> {
    let typical = device.inputs.typical();
    let usual = margin(&supply_corners::of(device, &typical)?);
    let of = |parameters: &ParameterSample| Some(margin(&supply_corners::of(device, parameters).ok()?));
    let mut weakest = typical.clone();
    let (mut silent, mut spread) = (Vec::new(), Vec::new());
    for (index, row) in device.inputs.rows().iter().enumerate().filter(|(_, row)| row.min < row.max) {
        spread.push((index, [row.min, row.typ, row.max]));
        let ends = [row.min, row.max].map(|value| Some((of(&typical.with(index, value))?, value)));
        let worse = ends.into_iter().flatten().filter(|(margin, _)| *margin < usual);
        match worse.min_by(|a, b| a.0.total_cmp(&b.0)) {
            Some((_, value)) => weakest = weakest.with(index, value),
            None => silent.push((index, [row.min, row.typ, row.max])),
        }
    }
    let mut least = of(&weakest).unwrap_or(usual);
    for end in [0, 2] {
        let mut other = silent.iter().fold(weakest.clone(), |all, (index, values)| all.with(*index, values[end]));
        let Some(mut margin) = of(&other).filter(|margin| *margin < least) else { continue };
        for (index, values) in &spread {
            // The typical value where another is not worse.
            for value in [values[1], values[0], values[2]] {
                let changed = other.with(*index, value);
                let kept = of(&changed).filter(|new| if value == values[1] { *new <= margin } else { *new < margin });
                if let Some(new) = kept {
                    (other, margin) = (changed, new);
                }
            }
        }
        (weakest, least) = (other, margin);
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

//! Cautions that belong beside the figures of supply and charging: shown only where a figure could tempt.
//!
//! Not for those that go with every budget: see [`super::summary::cautions`].

use super::summary::{Budget, supply_holds};
use crate::cost::reserve::unsupplied;
use crate::device::Device;
use crate::parameters::Input;
use crate::units::{Amps, Ohms, Ratio, Seconds};

/// A primary cell whose capacity would last less than this at its peak current is near to what makers limit in pulses
/// (assumption: data sheets of coin and bobbin cells state pulse limits from about a hundredth of their capacity an hour).
const PULSE: Seconds = Seconds(100.0 * 3600.0);

/// The cautions beside the supply of a device.
pub fn beside_supply(device: &Device, budget: &Budget) -> Vec<String> {
    let mut all: Vec<String> = unsupplied(device, &device.inputs.typical())
        .into_iter()
        .map(|load| {
            format!(
                "{} needs {} and is outside its supply window once the battery is below {}, {} of its usable charge: the \
                 device goes on without it, down to {}. What it draws there is counted all the same.",
                load.who, load.needs, load.below, load.charge, load.least
            )
        })
        .collect();
    all.extend(pulses(device, budget));
    if let Some(inrush) = inrush(device) {
        all.push(format!(
            "Inserting the battery charges the empty capacitor beside it with up to {inrush}: contacts, fuses and the cell \
             must withstand that; mind the polarity of capacitor and battery."
        ));
    }
    if budget.charge_time.is_some() {
        all.push(
            "The time of a charge is no permission: charge only within the temperatures, voltage and current that the \
             cell's maker states, with a charger and protection made for it."
                .to_owned(),
        );
    }
    all
}

/// Where a primary cell seems to hold a peak of which its maker may say otherwise. A stated limit that the peak exceeds is an
/// error of its own.
fn pulses(device: &Device, budget: &Budget) -> Option<String> {
    let battery = &device.battery;
    if battery.chemistry.rechargeable || battery.max_current.is_some() || !supply_holds(budget) {
        return None;
    }
    let peak = peak(budget)?;
    let capacity = device.inputs.typical().of(battery.capacity);
    (capacity / peak < PULSE).then(|| {
        format!(
            "The peak of {peak} is a pulse for a primary cell, and no limit of pulses is stated: the voltage is that of a \
             cell behind its resistance, which says nothing about what its maker allows. Check the maker's pulse data for a \
             cold, aged cell and write battery.max-current."
        )
    })
}

/// The largest current of the battery at its corners.
fn peak(budget: &Budget) -> Option<Amps> {
    let corners = budget.supply_corners.as_ref().ok()?;
    let currents = corners.rows.iter().flat_map(|row| {
        row.supply_corners.iter().filter_map(|corner| {
            let volts = corner.terminal.volts()?;
            Some(row.peak(corner).battery_current(corner.ocv, corner.resistance, volts))
        })
    });
    currents.max_by(|a, b| a.0.total_cmp(&b.0))
}

/// The largest current into the empty capacitor when the battery is inserted: that of a full new cell at the hottest with
/// the smallest resistances, `V_open / (R + r)`.
fn inrush(device: &Device) -> Option<Amps> {
    let min = |input: Input<Ohms>| Ohms(device.inputs.row(input).min);
    let esr = min(device.battery.capacitor.as_ref()?.resistance);
    let mut cell = device.battery.cell(&device.inputs.typical(), Seconds(0.0));
    cell.resistance = min(device.battery.resistance);
    let case = cell.at(device.usage.climate.high).or_else(|_| cell.at(device.usage.climate.mean())).ok()?;
    let all = case.resistance(Ratio(1.0)) + esr;
    (all.0 > 0.0).then(|| case.ocv(Ratio(1.0)) / all)
}

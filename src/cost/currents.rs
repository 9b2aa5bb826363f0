//! What flows on each rail: at rest, and at most.
//!
//! Not for what that takes from the battery: see [`super::supply`].

use super::phases::{Maker, phases_at};
use super::supply::Supply;
use crate::cell::peak::Pull;
use crate::device::Device;
use crate::hardware::tree::Flow;
use crate::parameters::Point;
use crate::refresh::update::{Change, Mode, work};
use crate::units::{Amps, Volts};

/// What flows on each rail at rest, and the most in an update at the ends of the usage's temperatures or in a pulse.
pub fn currents(device: &Device, point: &Point, volts: Volts) -> [Vec<Amps>; 2] {
    let maker = Maker::new(device, point, volts);
    let supply = Supply::new(device, point, volts);
    let on = |flow: &Flow| -> Vec<Amps> { flow.nodes.iter().map(|node| node.demand.at(node.output)).collect() };
    let climate = &device.usage.climate;
    let modes = [Mode::Full, Mode::Partial].into_iter().flat_map(|mode| [(mode, climate.low), (mode, climate.high)]);
    let works = modes.filter_map(|(mode, temperature)| work(device, &Change::NONE, mode, temperature));
    let phases = works.flat_map(|work| phases_at(device, point, &work, volts)).filter(|phase| phase.time.0 > 0.0);
    let updates: Vec<Flow> = phases.map(|phase| maker.flow(&phase)).collect();
    let pulses = device.board.loads.iter().filter(|load| load.blink.is_some());
    let pulses = pulses.map(|load| {
        supply.flow(supply.needs(load.rail), &[(load.rail, Pull::current(point.of(load.current)))])
    });
    let asleep = on(supply.rest());
    let mut most = asleep.clone();
    for flow in updates.into_iter().chain(pulses) {
        for (most, now) in most.iter_mut().zip(on(&flow)) {
            *most = if now > *most { now } else { *most };
        }
    }
    // A rail that is off carries nothing.
    most.iter_mut().for_each(|current| *current = if current.0.is_finite() { *current } else { Amps(0.0) });
    [asleep, most]
}

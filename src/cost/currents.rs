//! What flows on each rail: at rest, and at most.
//!
//! Not for what that takes from the battery: see [`super::supply`].

use super::phases::{Maker, Phase};
use super::supplies::Supplies;
use crate::device::Device;
use crate::hardware::load::{Amount, Drawn, Shape};
use crate::hardware::tree::Flow;
use crate::parameters::ParameterSample;
use crate::refresh::update::{Mode, typical_work};
use crate::units::{Amps, Volts};
use std::rc::Rc;

/// What flows on each rail at rest, and the most in an update at the ends of the usage's temperatures or in a pulse.
pub fn currents(device: &Device, parameters: &ParameterSample, volts: Volts) -> [Vec<Amps>; 2] {
    Supplies::new(device, parameters).currents(volts)
}

impl Supplies<'_> {
    /// See [`currents`].
    pub fn currents(&self, volts: Volts) -> [Vec<Amps>; 2] {
        let (device, parameters) = (self.device, self.parameters);
        let (mut maker, supply) = (Maker::on(self, volts), self.at(volts));
        let on = |flow: &Flow| -> Vec<Amps> { flow.nodes.iter().map(|node| node.demand.at(node.output)).collect() };
        let climate = &device.usage.climate;
        let modes =
            [Mode::Full, Mode::Partial].into_iter().flat_map(|mode| [(mode, climate.low), (mode, climate.high)]);
        let works = modes.filter_map(|(mode, temperature)| typical_work(device, mode, temperature));
        let phases: Vec<Phase> =
            works.flat_map(|work| maker.phases(&work)).filter(|phase| phase.time.0 > 0.0).collect();
        let updates: Vec<Rc<Flow>> = phases.iter().map(|phase| maker.flow(phase)).collect();
        let loads = device.board.loads.iter().zip(&device.load_only);
        let pulses = loads.filter(|(load, only)| load.pulsed() || !only.is_empty()).flat_map(|(load, _)| {
            let drawn: Vec<Drawn> = match &load.shape {
                Shape::Always(drawn) => vec![*drawn],
                Shape::Pulses { steps, .. } => steps.iter().map(|step| step.drawn).collect(),
            };
            drawn.into_iter().map(|drawn| (load.rail, drawn.load_current(parameters))).collect::<Vec<_>>()
        });
        let events =
            device.events.iter().filter_map(|event| event.taken.as_ref()).flat_map(|taken| match &taken.what {
                Amount::Charge(_) => Vec::new(),
                Amount::Steps(steps) => {
                    steps.iter().map(|step| (taken.rail, step.drawn.load_current(parameters))).collect()
                }
            });
        let pulses =
            pulses.chain(events).map(|(rail, load_current)| supply.flow(supply.needs(rail), &[(rail, load_current)]));
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
}

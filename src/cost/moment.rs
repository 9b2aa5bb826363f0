//! The hardest moment: the largest draw of whatever may happen at one time.
//!
//! An update goes through its phases one after the other; pulsed loads and events with a profile may come in any of them,
//! each with its hardest step, unless they are stated never to coincide. Every set that exclusions leave is tried with
//! every phase, so the maximum is exact. Not for events that are stated as a bare charge: their current is unknown.

use super::phases::Phase;
use super::supply::Supply;
use crate::cell::capacitor::Peak;
use crate::cell::peak::LoadCurrent;
use crate::device::Device;
use crate::device::party::Party;
use crate::hardware::load::{Amount, Shape, Step};
use crate::hardware::rail::RailId;
use crate::hardware::tree::On;
use crate::parameters::ParameterSample;
use crate::units::{Seconds, Volts};

/// The hardest moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Moment {
    /// What leaves the battery, everything that is always on included, and beside a capacitor what goes before and after.
    pub peak: Peak,
    /// The phase of the update that it lies in, and when that begins after the press; `None` beside an update.
    pub phase: Option<(&'static str, Seconds)>,
    /// What else draws.
    pub with: Vec<Party>,
}

impl Moment {
    /// Its parts in words: `drive, full, from 150 ms on, with the load light and the event report`.
    pub fn words(&self, device: &Device) -> String {
        let name = |party: &Party| match party {
            Party::Update => "an update".to_owned(),
            Party::Load(load) => format!("the load `{}`", device.board.loads[*load].name),
            Party::Event(event) => format!("the event `{}`", device.events[*event].name),
        };
        let phase = match self.phase {
            Some((phase, at)) => format!("{phase}, from {at} on"),
            None => "beside any update".to_owned(),
        };
        let with: Vec<String> = self.with.iter().map(name).collect();
        if with.is_empty() { phase } else { format!("{phase}, with {}", with.join(" and ")) }
    }
}

/// What a party adds: its rail and its hardest step.
pub(super) fn added(
    device: &Device,
    parameters: &ParameterSample,
    party: Party,
    volts: Volts,
) -> Option<(RailId, LoadCurrent)> {
    let hardest = |steps: &[Step]| {
        let load_currents = steps.iter().map(|step| step.drawn.load_current(parameters));
        load_currents.max_by(|a, b| a.at(volts).0.total_cmp(&b.at(volts).0))
    };
    match party {
        Party::Update => None,
        Party::Load(index) => {
            let load = &device.board.loads[index];
            let load_current = match &load.shape {
                Shape::Always(drawn) => Some(drawn.load_current(parameters)),
                Shape::Pulses { steps, .. } => hardest(steps),
            };
            load_current.map(|load_current| (load.rail, load_current))
        }
        Party::Event(index) => {
            let taken = device.events[index].taken.as_ref()?;
            let Amount::Steps(steps) = &taken.what else { return None };
            hardest(steps).map(|load_current| (taken.rail, load_current))
        }
    }
}

/// The hardest moment around an update of these phases, at a battery voltage.
pub fn hardest(device: &Device, parameters: &ParameterSample, phases: &[Phase], volts: Volts) -> Moment {
    let supply = Supply::new(device, parameters, volts);
    let rest = supply.rest().battery;
    let mut most = Moment { peak: rest.into(), phase: None, with: Vec::new() };
    for set in &device.coincident {
        let with: Vec<Party> = set.iter().copied().filter(|party| *party != Party::Update).collect();
        let others: Vec<(RailId, LoadCurrent)> =
            with.iter().filter_map(|party| added(device, parameters, *party, volts)).collect();
        let on = others.iter().fold(On::NONE, |on, (rail, _)| on.and(supply.needs(*rail)));
        let mut consider = |on: On, loads: &[(RailId, LoadCurrent)], phase: Option<(&'static str, Seconds)>| {
            let load_current = supply.beyond(on, loads) + rest;
            if load_current.at(volts) > most.peak.load_current.at(volts) {
                most = Moment { peak: load_current.into(), phase, with: with.clone() };
            }
        };
        consider(on, &others, None);
        if !set.contains(&Party::Update) {
            continue;
        }
        let mut at = Seconds(0.0);
        for phase in phases.iter().filter(|phase| phase.time.0 > 0.0) {
            let own = phase.loads.iter().flatten().map(|load| (load.rail, load.drawn));
            let loads: Vec<(RailId, LoadCurrent)> = own.chain(others.iter().copied()).collect();
            consider(on.and(phase.on), &loads, Some((phase.name, at)));
            at += phase.time;
        }
    }
    most
}

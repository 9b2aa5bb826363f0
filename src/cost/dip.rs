//! The deepest dip beside a capacitor: an update with whatever may coincide, phase after phase, where the capacitor counts
//! what went before.
//!
//! As in [`super::moment`] every set that exclusions leave is tried with every phase. The largest steps of what coincides
//! begin together, with the beginning of the phase or so that the longest of them ends with it: within a phase the voltage only
//! falls or only rises, so the lowest lies at one of its ends. Steps before and after the largest lie where the profile
//! puts them. Loads that come again and again count before the update as long as they have, and during it with their mean.

use super::moment::{Moment, added};
use super::phases::Phase;
use super::supply::Supply;
use crate::cell::capacitor::{Buffered, Capacitor, Leg, Peak, Train};
use crate::cell::peak::LoadCurrent;
use crate::device::Device;
use crate::device::party::Party;
use crate::hardware::load::{Amount, Shape, Step};
use crate::hardware::rail::{Draw, RailId};
use crate::hardware::tree::On;
use crate::parameters::ParameterSample;
use crate::units::{Ohms, Seconds, Volts};
use std::sync::Arc;

/// A battery on which dips are compared: its voltage and resistance.
pub type Source = (Volts, Ohms);

/// Something drawn on a rail between two times after the beginning of the update.
#[derive(Clone, Copy, Debug)]
struct Part {
    rail: RailId,
    load_current: LoadCurrent,
    from: f64,
    until: f64,
}

/// The capacitor of one device.
pub fn capacitor(device: &Device, parameters: &ParameterSample) -> Option<Capacitor> {
    let beside = device.battery.capacitor.as_ref()?;
    Some(Capacitor { capacitance: parameters.of(beside.capacitance), resistance: parameters.of(beside.resistance) })
}

/// The legs with the deepest dip around an update of these phases, on a battery; the battery's voltage in `volts` is that
/// at which switching rails take their power.
pub fn deepest(
    device: &Device,
    parameters: &ParameterSample,
    (phases, volts): (&[Phase], Volts),
    on: (Capacitor, Source),
) -> Moment {
    let supply = Supply::new(device, parameters, volts);
    let leakage = device
        .battery
        .capacitor
        .as_ref()
        .map_or(LoadCurrent::default(), |own| LoadCurrent::current(parameters.of(own.leakage)));
    let always = supply.rest().battery + leakage;
    let mut most: Option<(f64, Moment)> = None;
    for set in &device.coincident {
        let with: Vec<Party> = set.iter().copied().filter(|party| *party != Party::Update).collect();
        let together = Together::of(device, parameters, &supply, &with, volts);
        let phases = if set.contains(&Party::Update) { phases } else { &[] };
        for at in together.places(phases) {
            let (legs, names) = together.legs(&supply, always, phases, at);
            let buffered = Buffered { capacitor: on.0, always, trains: together.trains(&supply, always), legs };
            let dip = buffered.dip(on.1.0, on.1.1);
            let height = dip.terminal.volts().map_or(f64::NEG_INFINITY, f64::from);
            if most.as_ref().is_some_and(|(lowest, _)| *lowest <= height) {
                continue;
            }
            let load_current = buffered.legs.get(dip.leg).map_or(always, |leg| leg.load_current);
            let phase = names.get(dip.leg).copied().flatten();
            let phase = phase.map(|name| (name, Seconds(dip.at.0 - together.before(at))));
            let peak = Peak { load_current, buffered: Some(Arc::new(buffered)) };
            most = Some((height, Moment { peak, phase, with: with.clone() }));
        }
    }
    most.map_or(Moment { peak: always.into(), phase: None, with: Vec::new() }, |most| most.1)
}

/// What coincides: the steps of each, with their times against the beginning of their largest ones.
struct Together {
    parts: Vec<Part>,
    /// Loads that come again and again: rail, steps and period.
    trains: Vec<(RailId, Vec<Leg>, Seconds)>,
    /// The mean of these trains at the battery.
    mean: LoadCurrent,
    /// How long the longest of the largest steps lasts.
    longest: f64,
}

impl Together {
    fn of(device: &Device, parameters: &ParameterSample, supply: &Supply<'_>, with: &[Party], volts: Volts) -> Self {
        let mut all = Self { parts: Vec::new(), trains: Vec::new(), mean: LoadCurrent::default(), longest: 0.0 };
        for party in with {
            match party {
                Party::Update => {}
                Party::Load(index) => match &device.board.loads[*index].shape {
                    Shape::Always(_) => {
                        let (from, until) = (f64::NEG_INFINITY, f64::INFINITY);
                        let added = added(device, parameters, *party, volts);
                        all.parts.extend(added.map(|(rail, load_current)| Part { rail, load_current, from, until }));
                    }
                    Shape::Pulses { steps, period } => {
                        let rail = device.board.loads[*index].rail;
                        let legs = all.profile(parameters, rail, steps, volts);
                        let period = parameters.of(*period);
                        let needs = supply.needs(rail);
                        let drawn = legs
                            .iter()
                            .map(|leg| Draw::of(supply.beyond(needs, &[(rail, leg.load_current)]), leg.time));
                        all.mean = all.mean + drawn.sum::<Draw>().per(period);
                        all.trains.push((rail, legs, period));
                    }
                },
                Party::Event(index) => {
                    if let Some(taken) = &device.events[*index].taken
                        && let Amount::Steps(steps) = &taken.what
                    {
                        all.profile(parameters, taken.rail, steps, volts);
                    }
                }
            }
        }
        all
    }

    /// Puts the steps of a profile around the beginning of its largest one.
    fn profile(&mut self, parameters: &ParameterSample, rail: RailId, steps: &[Step], volts: Volts) -> Vec<Leg> {
        let legs: Vec<Leg> = steps
            .iter()
            .map(|step| Leg { load_current: step.drawn.load_current(parameters), time: parameters.of(step.time) })
            .collect();
        let largest = (0..legs.len())
            .max_by(|a, b| legs[*a].load_current.at(volts).0.total_cmp(&legs[*b].load_current.at(volts).0));
        let Some(largest) = largest else { return legs };
        let mut from = -legs[..largest].iter().map(|leg| leg.time.0).sum::<f64>();
        for leg in &legs {
            let until = from + leg.time.0;
            self.parts.push(Part { rail, load_current: leg.load_current, from, until });
            from = until;
        }
        self.longest = self.longest.max(legs[largest].time.0);
        legs
    }

    /// The times after the beginning of the update at which the largest steps may begin.
    fn places(&self, phases: &[Phase]) -> Vec<f64> {
        let mut all = Vec::new();
        let mut begin = 0.0;
        for phase in phases.iter().filter(|phase| phase.time.0 > 0.0) {
            all.push(begin);
            begin += phase.time.0;
            if self.longest > 0.0 {
                all.push(begin - self.longest);
            }
        }
        if all.is_empty() {
            all.push(0.0);
        }
        // Where nothing has a place one is enough: the whole update is gone through.
        if self.longest == 0.0 {
            all.truncate(1);
        }
        all
    }

    /// How much earlier than the update the legs begin.
    fn before(&self, at: f64) -> f64 {
        let first = self.parts.iter().map(|part| part.from + at).filter(|from| from.is_finite()).fold(0.0, f64::min);
        -first
    }

    /// One leg after another, and the phase that each lies in.
    fn legs(
        &self,
        supply: &Supply<'_>,
        always: LoadCurrent,
        phases: &[Phase],
        at: f64,
    ) -> (Vec<Leg>, Vec<Option<&'static str>>) {
        let mut spans: Vec<(f64, f64, &Phase)> = Vec::with_capacity(phases.len());
        let mut end = 0.0;
        for phase in phases.iter().filter(|phase| phase.time.0 > 0.0) {
            spans.push((end, end + phase.time.0, phase));
            end += phase.time.0;
        }
        let mut edges: Vec<f64> = spans.iter().map(|span| span.1).chain([0.0]).collect();
        edges.extend(
            self.parts.iter().flat_map(|part| [part.from + at, part.until + at]).filter(|edge| edge.is_finite()),
        );
        edges.sort_by(f64::total_cmp);
        edges.dedup();
        let (mut legs, mut names) = (Vec::new(), Vec::new());
        for pair in edges.windows(2) {
            let middle = 0.5 * (pair[0] + pair[1]);
            let phase = spans.iter().find(|span| span.0 <= middle && middle < span.1).map(|span| span.2);
            let own = phase.iter().flat_map(|phase| phase.loads.iter().flatten());
            let own = own.map(|load| (load.rail, load.drawn));
            let parts = self.parts.iter().filter(|part| part.from + at <= middle && middle < part.until + at);
            let loads: Vec<(RailId, LoadCurrent)> =
                own.chain(parts.map(|part| (part.rail, part.load_current))).collect();
            let needed = loads.iter().fold(On::NONE, |on, (rail, _)| on.and(supply.needs(*rail)));
            let on = phase.map_or(needed, |phase| needed.and(phase.on));
            let load_current = supply.beyond(on, &loads) + always + self.mean;
            legs.push(Leg { load_current, time: Seconds(pair[1] - pair[0]) });
            names.push(phase.map(|phase| phase.name));
        }
        (legs, names)
    }

    fn trains(&self, supply: &Supply<'_>, always: LoadCurrent) -> Vec<Train> {
        let one = |(rail, legs, period): &(RailId, Vec<Leg>, Seconds)| {
            let leg = |leg: &Leg| {
                let load_current = supply.beyond(supply.needs(*rail), &[(*rail, leg.load_current)]) + always;
                Leg { load_current, time: leg.time }
            };
            Train { legs: legs.iter().map(leg).collect(), period: *period }
        };
        self.trains.iter().map(one).collect()
    }
}

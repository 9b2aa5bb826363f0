//! The hardest moment: the largest draw of whatever may happen at one time.
//!
//! An update goes through its phases one after the other; pulsed loads and events with a profile may come in any of them,
//! each with its hardest step, unless they are stated never to coincide. The microcontroller runs too wherever something
//! may wake it, and rails that are switched on for a load charge their output capacitors before it draws. Every set that
//! exclusions leave is tried with every phase and with every rail up or being charged, so the maximum is exact. Not for
//! events that are stated as a bare charge: their current is unknown.

use super::phases::{Drawer, Phase};
use super::supplies::Supplies;
use super::supply::Starting;
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
    /// What else holds then.
    pub beside: Beside,
    /// What makes the load up then beside all that is always on, each with its rail. Beside a capacitor the voltage is lower
    /// by what went before, too.
    pub parts: Vec<(Part, RailId, LoadCurrent)>,
}

/// A part of the hardest moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// What draws in the phase of the update.
    Update(Drawer),
    /// A load or an event.
    Party(Party),
    /// The output capacitor of a rail that is switched on.
    Inrush(RailId),
    /// The microcontroller, woken beside the update.
    Woken,
}

impl Part {
    /// Its name in tables.
    pub fn words(self, device: &Device) -> String {
        match self {
            Self::Update(drawer) => drawer.name().to_owned(),
            Self::Party(Party::Update) => "update".to_owned(),
            Self::Party(Party::Load(load)) => device.board.loads[load].name.clone(),
            Self::Party(Party::Event(event)) => device.events[event].name.clone(),
            Self::Inrush(rail) => format!("inrush of {}", device.board.rails[rail.0].name),
            Self::Woken => "mcu, woken".to_owned(),
        }
    }
}

/// What draws beside an update and other parties.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Beside {
    /// Something else wakes the microcontroller.
    pub woken: bool,
    /// The rails whose output capacitors are being charged.
    pub starting: Vec<RailId>,
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
        let starting = self.beside.starting.iter();
        let starting = starting.map(|rail| format!("the inrush of the rail `{}`", device.board.rails[rail.0].name));
        let woken = self.beside.woken.then(|| "the woken microcontroller".to_owned());
        let with: Vec<String> = self.with.iter().map(name).chain(starting).chain(woken).collect();
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

/// Whether the microcontroller runs in a phase anyway.
pub(super) fn runs(phase: &Phase) -> bool {
    phase.loads.iter().flatten().any(|load| load.who == Drawer::Mcu)
}

/// The hardest moment around an update of these phases, at a battery voltage.
pub fn hardest(supplies: &Supplies<'_>, phases: &[Phase], volts: Volts) -> Moment {
    let (device, parameters, supply) = (supplies.device, supplies.parameters, supplies.at(volts));
    let rest = supply.rest().battery;
    let mut most =
        Moment { peak: rest.into(), phase: None, with: Vec::new(), beside: Beside::default(), parts: Vec::new() };
    let mcu = device.awake(parameters);
    for set in &device.coincident {
        let with: Vec<Party> = set.iter().copied().filter(|party| *party != Party::Update).collect();
        let others: Vec<(Party, RailId, LoadCurrent)> = with
            .iter()
            .filter_map(|party| added(device, parameters, *party, volts).map(|(rail, drawn)| (*party, rail, drawn)))
            .collect();
        let on = others.iter().fold(On::NONE, |on, (_, rail, _)| on.and(supply.needs(*rail)));
        let woken = device.woken(parameters, &with).is_some();
        let inrushes = supply.inrushes(on);
        let mut consider = |starting: &[Starting], phase: Option<(&Phase, Seconds)>| {
            // A rail that the update has on is not being charged.
            if phase.is_some_and(|(phase, _)| starting.iter().any(|start| phase.on.has(start.rail.0))) {
                return None;
            }
            let up = || others.iter().filter(|(_, rail, _)| !supply.waits(*rail, starting));
            let inrush = |start: &Starting| (Part::Inrush(start.rail), start.rail, LoadCurrent::current(start.inrush));
            let own = phase.into_iter().flat_map(|(phase, _)| phase.loads.iter().flatten());
            let mut parts: Vec<(Part, RailId, LoadCurrent)> =
                own.map(|load| (Part::Update(load.who), load.rail, load.drawn)).collect();
            let drawn = up().map(|(party, rail, drawn)| (Part::Party(*party), *rail, *drawn));
            parts.extend(drawn.chain(starting.iter().map(inrush)));
            let on = phase.map_or(On::NONE, |(phase, _)| phase.on);
            let on = parts.iter().fold(on, |on, (_, rail, _)| on.and(supply.needs(*rail)));
            // A microcontroller that an update runs is not woken beside it.
            let woken = woken && phase.is_none_or(|(phase, _)| !runs(phase));
            parts.extend(woken.then_some((Part::Woken, mcu.0, mcu.1)));
            let loads: Vec<_> = parts.iter().map(|(_, rail, drawn)| (*rail, *drawn)).collect();
            let load_current = supply.beyond(on, &loads) + rest;
            if load_current.at(volts) > most.peak.load_current.at(volts) {
                let beside = Beside { woken, starting: starting.iter().map(|start| start.rail).collect() };
                let phase = phase.map(|(phase, at)| (phase.name, at));
                let with = up().map(|(party, ..)| *party).collect();
                most = Moment { peak: load_current.into(), phase, with, beside, parts };
            }
            Some(load_current.at(volts).0)
        };
        supply.highest(&inrushes, |starting| consider(starting, None));
        if !set.contains(&Party::Update) {
            continue;
        }
        let mut at = Seconds(0.0);
        for phase in phases.iter().filter(|phase| phase.time.0 > 0.0) {
            supply.highest(&inrushes, |starting| consider(starting, Some((phase, at))));
            at += phase.time;
        }
    }
    most
}

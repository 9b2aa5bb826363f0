//! The deepest dip beside a capacitor: an update with whatever may coincide, phase after phase, where the capacitor counts
//! what went before.
//!
//! As in [`super::moment`] every set that exclusions leave is tried with every phase. Whatever is drawn for a time leaves
//! the capacitor lowest when it ends. In a circuit of currents dips add up, so the deepest is where all that coincide end
//! together, and with them a phase: loads of different lengths are put end to end with it, not begun together. Of a profile
//! that step ends there after which the battery alone with the capacitor is lowest; the others lie where the profile puts
//! them. Output capacitors of rails are charged before what needs them. Loads that come again and again count before the
//! update as long as they have, and during it with their mean.

use super::moment::{Beside, Moment, Part, added, runs};
use super::phases::Phase;
use super::supplies::Supplies;
use super::supply::{Starting, Supply};
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

/// Something drawn on a rail between two times after the moment in which what coincides ends.
#[derive(Clone, Copy, Debug)]
struct Drawn {
    /// Of the woken microcontroller, which an update may run anyway, only where it does not.
    part: Part,
    rail: RailId,
    load_current: LoadCurrent,
    from: f64,
    until: f64,
}

/// What flows at one moment.
struct Flowing<'a> {
    phase: Option<&'a Phase>,
    /// What each part draws on its rail.
    parts: Vec<(Part, RailId, LoadCurrent)>,
}

impl Flowing<'_> {
    fn has(&self, part: Part) -> bool {
        self.parts.iter().any(|(known, ..)| *known == part)
    }
}

/// The capacitor of one device.
pub fn capacitor(device: &Device, parameters: &ParameterSample) -> Option<Capacitor> {
    let beside = device.battery.capacitor.as_ref()?;
    Some(Capacitor { capacitance: parameters.of(beside.capacitance), resistance: parameters.of(beside.resistance) })
}

/// The legs with the deepest dip around an update of these phases, on a battery; the battery's voltage in `volts` is that
/// at which switching rails take their power.
pub fn deepest(supplies: &Supplies<'_>, (phases, volts): (&[Phase], Volts), on: (Capacitor, Source)) -> Moment {
    let (device, parameters, supply) = (supplies.device, supplies.parameters, supplies.at(volts));
    let leakage = device
        .battery
        .capacitor
        .as_ref()
        .map_or(LoadCurrent::default(), |own| LoadCurrent::current(parameters.of(own.leakage)));
    let always = supply.rest().battery + leakage;
    let ground = Ground { device, parameters, supply: &supply, always, volts, on };
    let mut most: Option<(f64, Moment)> = None;
    let mut ends = vec![(0.0, None)];
    for phase in phases.iter().filter(|phase| phase.time.0 > 0.0) {
        ends.push((ends[ends.len() - 1].0 + phase.time.0, Some(phase)));
    }
    for set in &device.coincident {
        let (phases, ends) = if set.contains(&Party::Update) { (phases, &ends[..]) } else { (&[][..], &ends[..1]) };
        let with: Vec<Party> = set.iter().copied().filter(|party| *party != Party::Update).collect();
        let inrushes = supply.inrushes(ground.held(&with));
        let mut known: Vec<(Vec<Starting>, Together)> = Vec::new();
        // Where nothing ends one place is enough: the whole update is gone through.
        let mut endless: Option<f64> = None;
        let mut consider = |starting: &[Starting], (at, phase): (f64, Option<&Phase>)| {
            // Not while the update has a rail on that is being charged.
            if phase.is_some_and(|phase| starting.iter().any(|start| phase.on.has(start.rail.0))) {
                return None;
            }
            let place = known.iter().position(|(of, _)| of == starting).unwrap_or_else(|| {
                known.push((starting.to_vec(), Together::of(&ground, &with, starting)));
                known.len() - 1
            });
            let together = &known[place].1;
            let never = together.parts.iter().all(|part| !part.until.is_finite());
            if let Some(before) = endless.filter(|_| never) {
                return Some(before);
            }
            let always = always + together.lasting(&ground);
            let (legs, middles) = together.legs(&ground, phases, at);
            let buffered = Buffered { capacitor: on.0, always, trains: together.trains(&ground, always), legs };
            let dip = buffered.dip(on.1.0, on.1.1);
            let height = dip.terminal.volts().map_or(f64::NEG_INFINITY, f64::from);
            if most.as_ref().is_none_or(|(lowest, _)| height < *lowest) {
                let flowing = middles.get(dip.leg).map(|middle| together.flowing(phases, at, *middle));
                let load_current = buffered.legs.get(dip.leg).map_or(always, |leg| leg.load_current);
                let phase = flowing.as_ref().and_then(|flowing| flowing.phase);
                let phase = phase.map(|phase| (phase.name, Seconds(dip.at.0 - together.before(at))));
                let woken = flowing.as_ref().is_some_and(|flowing| flowing.has(Part::Woken));
                let beside = Beside { woken, starting: starting.iter().map(|start| start.rail).collect() };
                let parts = flowing.map_or_else(Vec::new, |flowing| flowing.parts);
                let peak = Peak { load_current, buffered: Some(Arc::new(buffered)) };
                most = Some((height, Moment { peak, phase, with: together.with.clone(), beside, parts }));
            }
            endless = never.then_some(-height).or(endless);
            Some(-height)
        };
        for end in ends {
            supply.highest(&inrushes, |starting| consider(starting, *end));
        }
    }
    let nothing =
        || Moment { peak: always.into(), phase: None, with: Vec::new(), beside: Beside::default(), parts: Vec::new() };
    most.map_or_else(nothing, |most| most.1)
}

/// What dips are calculated on.
struct Ground<'a> {
    device: &'a Device,
    parameters: &'a ParameterSample,
    supply: &'a Supply<'a>,
    always: LoadCurrent,
    volts: Volts,
    on: (Capacitor, Source),
}

impl Ground<'_> {
    /// The rails that loads need which are on as long as their conditions hold.
    fn held(&self, with: &[Party]) -> On {
        let lasting = with.iter().filter_map(|party| match party {
            Party::Load(index) => Some(&self.device.board.loads[*index]).filter(|load| !load.pulsed()),
            Party::Update | Party::Event(_) => None,
        });
        lasting.fold(On::NONE, |on, load| on.and(self.supply.needs(load.rail)))
    }

    /// Steps on a rail one after the other, first the charging of the output capacitors that they need charged.
    fn profile(&self, rail: RailId, steps: &[Step], up: On) -> Vec<(RailId, Leg)> {
        let starting = self.supply.inrushes(self.supply.needs(rail)).rails().into_iter();
        let charged = starting
            .filter(|start| !up.has(start.rail.0))
            .map(|start| (start.rail, Leg { load_current: LoadCurrent::current(start.inrush), time: start.time }));
        let step = |step: &Step| {
            let load_current = step.drawn.load_current(self.parameters);
            (rail, Leg { load_current, time: self.parameters.of(step.time) })
        };
        charged.chain(steps.iter().map(step)).collect()
    }

    /// A leg as the battery sees it.
    fn beyond(&self, (rail, leg): &(RailId, Leg)) -> Leg {
        let load_current = self.supply.beyond(self.supply.needs(*rail), &[(*rail, leg.load_current)]);
        Leg { load_current, time: leg.time }
    }

    /// The leg at whose end the battery is lowest under these alone.
    fn lowest(&self, legs: &[(RailId, Leg)]) -> usize {
        let legs = legs.iter().map(|leg| self.beyond(leg));
        let legs = legs.map(|leg| Leg { load_current: leg.load_current + self.always, ..leg }).collect();
        let alone = Buffered { capacitor: self.on.0, always: self.always, trains: Vec::new(), legs };
        alone.dip(self.on.1.0, self.on.1.1).leg
    }
}

/// What coincides: the steps of each, with their times against the moment in which they end.
struct Together {
    parts: Vec<Drawn>,
    /// Loads that come again and again: rails, steps and period.
    trains: Vec<(Vec<(RailId, Leg)>, Seconds)>,
    /// The mean of these trains at the battery.
    mean: LoadCurrent,
    /// Who takes part.
    with: Vec<Party>,
}

impl Together {
    /// While these rails are being charged what needs them waits; it begins when they are.
    fn of(ground: &Ground<'_>, with: &[Party], starting: &[Starting]) -> Self {
        let mut all = Self { parts: Vec::new(), trains: Vec::new(), mean: LoadCurrent::default(), with: Vec::new() };
        let (device, parameters) = (ground.device, ground.parameters);
        for start in starting {
            let load_current = LoadCurrent::current(start.inrush);
            let part = Part::Inrush(start.rail);
            all.parts.push(Drawn { part, rail: start.rail, load_current, from: -start.time.0, until: 0.0 });
        }
        let held = ground.held(with);
        for party in with {
            match party {
                Party::Update => continue,
                Party::Load(index) => match &device.board.loads[*index].shape {
                    Shape::Always(_) => {
                        let Some((rail, load_current)) = added(device, parameters, *party, ground.volts) else {
                            continue;
                        };
                        let from = if ground.supply.waits(rail, starting) { 0.0 } else { f64::NEG_INFINITY };
                        let part = Part::Party(*party);
                        all.parts.push(Drawn { part, rail, load_current, from, until: f64::INFINITY });
                    }
                    Shape::Pulses { steps, period } => {
                        let rail = device.board.loads[*index].rail;
                        if ground.supply.waits(rail, starting) {
                            continue;
                        }
                        let legs = ground.profile(rail, steps, held);
                        all.put(ground, *party, &legs);
                        let period = parameters.of(*period);
                        let drawn = legs.iter().map(|leg| ground.beyond(leg));
                        let drawn: Draw = drawn.map(|leg| Draw::of(leg.load_current, leg.time)).sum();
                        all.mean = all.mean + drawn.per(period);
                        all.trains.push((legs, period));
                    }
                },
                Party::Event(index) => {
                    let taken = device.events[*index].taken.as_ref();
                    let Some((rail, Amount::Steps(steps))) = taken.map(|taken| (taken.rail, &taken.what)) else {
                        continue;
                    };
                    if ground.supply.waits(rail, starting) {
                        continue;
                    }
                    all.put(ground, *party, &ground.profile(rail, steps, held));
                }
            }
            all.with.push(*party);
        }
        if let Some(time) = device.woken(parameters, &all.with) {
            let (rail, load_current) = device.awake(parameters);
            all.parts.push(Drawn { part: Part::Woken, rail, load_current, from: -time.0, until: 0.0 });
        }
        all
    }

    /// Puts legs around the end of the one after which the battery is lowest.
    fn put(&mut self, ground: &Ground<'_>, party: Party, legs: &[(RailId, Leg)]) {
        if legs.is_empty() {
            return;
        }
        let lowest = ground.lowest(legs);
        let mut from = -legs[..=lowest].iter().map(|(_, leg)| leg.time.0).sum::<f64>();
        for (index, (rail, leg)) in legs.iter().enumerate() {
            // The end itself without rounding, so that all end at once.
            let until = if index == lowest { 0.0 } else { from + leg.time.0 };
            self.parts.push(Drawn {
                part: Part::Party(party),
                rail: *rail,
                load_current: leg.load_current,
                from,
                until,
            });
            from = until;
        }
    }

    /// How much earlier than the update the legs begin.
    fn before(&self, at: f64) -> f64 {
        let first = self.parts.iter().map(|part| part.from + at).filter(|from| from.is_finite()).fold(0.0, f64::min);
        -first
    }

    /// One leg after another, and the middle of each after the beginning of the update.
    fn legs(&self, ground: &Ground<'_>, phases: &[Phase], at: f64) -> (Vec<Leg>, Vec<f64>) {
        let mut edges = vec![0.0];
        for phase in phases.iter().filter(|phase| phase.time.0 > 0.0) {
            edges.push(edges[edges.len() - 1] + phase.time.0);
        }
        edges.extend(
            self.parts.iter().flat_map(|part| [part.from + at, part.until + at]).filter(|edge| edge.is_finite()),
        );
        edges.sort_by(f64::total_cmp);
        edges.dedup();
        let supply = ground.supply;
        let (mut legs, mut middles) = (Vec::new(), Vec::new());
        for pair in edges.windows(2) {
            let middle = 0.5 * (pair[0] + pair[1]);
            let flowing = self.flowing(phases, at, middle);
            let loads: Vec<(RailId, LoadCurrent)> =
                flowing.parts.iter().map(|(_, rail, load_current)| (*rail, *load_current)).collect();
            let needed = loads.iter().fold(On::NONE, |on, (rail, _)| on.and(supply.needs(*rail)));
            let on = flowing.phase.map_or(needed, |phase| needed.and(phase.on));
            let load_current = supply.beyond(on, &loads) + ground.always + self.mean;
            legs.push(Leg { load_current, time: Seconds(pair[1] - pair[0]) });
            middles.push(middle);
        }
        (legs, middles)
    }

    /// What flows at a time after the beginning of the update.
    fn flowing<'a>(&self, phases: &'a [Phase], at: f64, time: f64) -> Flowing<'a> {
        let mut end = 0.0;
        let phase = phases.iter().filter(|phase| phase.time.0 > 0.0).find(|phase| {
            let begin = end;
            end += phase.time.0;
            begin <= time && time < end
        });
        let run = phase.is_some_and(runs);
        let own = phase.iter().flat_map(|phase| phase.loads.iter().flatten());
        let own = own.map(|load| (Part::Update(load.who), load.rail, load.drawn));
        let parts = self.parts.iter().filter(|part| part.from + at <= time && time < part.until + at);
        let parts = parts.filter(|drawn| !(drawn.part == Part::Woken && run));
        let parts = own.chain(parts.map(|drawn| (drawn.part, drawn.rail, drawn.load_current))).collect();
        Flowing { phase, parts }
    }

    /// What has been drawn long before, and goes on.
    fn lasting(&self, ground: &Ground<'_>) -> LoadCurrent {
        let parts = self.parts.iter().filter(|part| part.from == f64::NEG_INFINITY);
        let loads: Vec<(RailId, LoadCurrent)> = parts.map(|part| (part.rail, part.load_current)).collect();
        let on = loads.iter().fold(On::NONE, |on, (rail, _)| on.and(ground.supply.needs(*rail)));
        ground.supply.beyond(on, &loads)
    }

    fn trains(&self, ground: &Ground<'_>, always: LoadCurrent) -> Vec<Train> {
        let one = |(legs, period): &(Vec<(RailId, Leg)>, Seconds)| {
            let legs = legs.iter().map(|leg| ground.beyond(leg));
            let legs = legs.map(|leg| Leg { load_current: leg.load_current + always, ..leg });
            Train { legs: legs.collect(), period: *period }
        };
        self.trains.iter().map(one).collect()
    }
}

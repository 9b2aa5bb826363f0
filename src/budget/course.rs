//! What a device draws along a discharge: what always flows, and on it the pulses of its updates, loads and events, each
//! at the voltage that it leaves.
//!
//! Not for what ends a life under the hardest moment, nor for the mean draw of a day: see [`super::life`].

use crate::cell::capacitor::Capacitor;
use crate::cell::life::LifeFault;
use crate::cell::peak::LoadCurrent;
use crate::cell::pulsed::{Demand, Groups, Pulse, Pulsed};
use crate::cell::varying::Varying;
use crate::cost::always_on::{Rates, events_of, pulses_are_steady};
use crate::cost::dip::capacitor;
use crate::cost::phases::{Loads, Maker, taken_each};
use crate::cost::supplies::Supplies;
use crate::cost::supply::Supply;
use crate::device::Device;
use crate::hardware::rail::{OutOfRange, Rail, Source};
use crate::parameters::ParameterSample;
use crate::simulate::counts::Counts;
use crate::units::{Amps, DAY, Ohms, Ratio, Volts, Watts};
use std::cell::RefCell;

/// What a device in use draws at one battery voltage.
struct Use {
    /// The mean of all of it.
    mean: LoadCurrent,
    /// The part of the mean that comes in pulses; always as many and in the same order.
    pulses: Vec<Pulse>,
}

/// What is drawn in a phase of all updates, and when.
struct Drawing {
    pulse: Pulse,
    loads: Loads,
}

/// What the phases take at battery voltages that are sure to be asked for.
#[derive(Default)]
struct Ahead {
    volts: Vec<Volts>,
    /// For each phase at each voltage, one phase after the other.
    taken: Vec<LoadCurrent>,
}

/// A device in use: its updates so much more often than simulated.
struct InUse<'a, 'b> {
    supplies: &'b Supplies<'a>,
    counts: &'b Counts,
    usage: f64,
    rates: Rates,
    /// What it draws at the nominal voltage beside its updates.
    beside: Use,
    /// All of that but what flows at rest is the same at every battery voltage.
    steady: bool,
}

impl<'a, 'b> InUse<'a, 'b> {
    fn new(supplies: &'b Supplies<'a>, counts: &'b Counts, usage: f64) -> Self {
        let (rates, nominal) = (counts.rates(), supplies.device.battery.nominal());
        let beside = beside(supplies, &rates, nominal);
        let steady = pulses_are_steady(supplies.device, &supplies.nominal());
        Self { supplies, counts, usage, rates, beside, steady }
    }

    /// The phases of its updates at a battery voltage.
    fn drawings(&self, volts: Volts) -> Vec<Drawing> {
        let mut maker = Maker::on(self.supplies, volts);
        let mut all = Vec::with_capacity(32);
        let span = DAY * self.counts.days;
        for (work, scale) in [(&self.counts.by_people, self.usage), (&self.counts.by_itself, 1.0)] {
            for phase in maker.phases(work).into_iter().filter(|phase| phase.time.0 > 0.0) {
                let share = Ratio(phase.time / span * scale);
                let time = phase.time / work.updates.max(1.0);
                let pulse = Pulse { share, time, load_current: phase.draw.per(phase.time) };
                all.push(Drawing { pulse, loads: phase.loads });
            }
        }
        all
    }

    /// What the phases take at these voltages and in their middles. Only where rails do not move one another: what is drawn,
    /// and when, is then the same at every voltage.
    fn ahead(&self, bends: &[Volts], drawings: &[Drawing]) -> Ahead {
        let nominal = self.supplies.nominal();
        if !nominal.flat() {
            return Ahead::default();
        }
        let middles = bends.windows(2).map(|pair| Volts(0.5 * (pair[0].0 + pair[1].0)));
        let volts: Vec<Volts> = bends.iter().copied().chain(middles).collect();
        let supplies: Vec<_> = volts.iter().map(|volts| self.supplies.at(*volts)).collect();
        let mut taken = vec![LoadCurrent::default(); drawings.len() * volts.len()];
        for (place, Drawing { pulse, loads }) in drawings.iter().enumerate() {
            let (before, rest) = taken.split_at_mut(place * volts.len());
            let row = &mut rest[..volts.len()];
            match drawings[..place].iter().position(|before| before.loads == *loads) {
                Some(same) => row.copy_from_slice(&before[same * volts.len()..][..volts.len()]),
                None if loads.iter().flatten().all(|load| nominal.steady(load.rail)) => row.fill(pulse.load_current),
                None => taken_each(&supplies, loads, row),
            }
        }
        Ahead { volts, taken }
    }

    /// What it draws at a battery voltage; `drawings` are the phases of its updates at another one.
    fn at(&self, volts: Volts, drawings: &[Drawing], ahead: &Ahead) -> Use {
        let Some(place) = ahead.volts.iter().position(|known| *known == volts) else {
            return self.of(volts, self.drawings(volts).iter().map(|drawing| drawing.pulse));
        };
        let phases = drawings.iter().zip(ahead.taken.chunks_exact(ahead.volts.len()));
        self.of(volts, phases.map(|(drawing, taken)| Pulse { load_current: taken[place], ..drawing.pulse }))
    }

    /// What it draws at a battery voltage, its updates as these pulses.
    fn of(&self, volts: Volts, updates: impl Iterator<Item = Pulse>) -> Use {
        let (device, parameters) = (self.supplies.device, self.supplies.parameters);
        let mut all = if self.steady {
            let rest = |supply: &Supply<'_>| supply.rest().battery;
            let (here, nominal) = (rest(&self.supplies.at(volts)), rest(&self.supplies.nominal()));
            let mut pulses = Vec::with_capacity(self.beside.pulses.len() + updates.size_hint().0);
            pulses.extend_from_slice(&self.beside.pulses);
            let more = LoadCurrent { current: here.current - nominal.current, power: here.power - nominal.power };
            Use { mean: self.beside.mean + more, pulses }
        } else {
            beside(self.supplies, &self.rates, volts)
        };
        for pulse in updates {
            all.mean = all.mean + pulse.mean();
            all.pulses.push(pulse);
        }
        if let Some(capacitor) = capacitor(device, parameters) {
            all.smooth(capacitor, parameters.of(device.battery.resistance) * f64::from(device.battery.series));
        }
        all
    }
}

/// What a device draws at a battery voltage beside its updates, where things happen at these rates.
fn beside(supplies: &Supplies<'_>, rates: &Rates, volts: Volts) -> Use {
    let mut all = Use { mean: LoadCurrent::default(), pulses: Vec::with_capacity(32) };
    let events = events_of(supplies.device, supplies.parameters, rates, &supplies.at(volts));
    for load in supplies.always_on(volts).iter().chain(&events) {
        all.mean = all.mean + load.load_current;
        all.pulses.extend_from_slice(&load.pulses);
    }
    all
}

impl Use {
    /// As the battery sees them behind a capacitor: of the same charge, as much smaller and longer as leaves of a pulse
    /// what it costs beyond its mean.
    fn smooth(&mut self, capacitor: Capacitor, source: Ohms) {
        for pulse in &mut self.pulses {
            let left = capacitor.left_of_a_pulse(source, pulse.time);
            let smaller =
                LoadCurrent { current: pulse.load_current.current * left, power: pulse.load_current.power * left };
            let longer = Pulse { share: Ratio(pulse.share.0 / left), time: pulse.time / left, load_current: smaller };
            // What would always be drawn is a part of the base.
            *pulse = if longer.share.0 < 1.0 { longer } else { Pulse { share: Ratio(0.0), ..longer } };
        }
    }

    /// What always flows, and each group's pulse together with it; `places` tells each pulse's group.
    fn demands(&self, groups: &Groups) -> (LoadCurrent, Vec<(Ratio, LoadCurrent)>) {
        let mut sums = vec![(0.0, LoadCurrent::default()); groups.count];
        for (pulse, place) in self.pulses.iter().zip(&groups.places).filter(|(pulse, _)| pulse.share.0 > 0.0) {
            let sum = &mut sums[*place];
            *sum = (sum.0 + pulse.share.0, sum.1 + pulse.mean());
        }
        let of_pulses: LoadCurrent = sums.iter().map(|(_, load_current)| *load_current).sum();
        // Rounding alone could make the rest negative.
        let rest = |all: f64, pulsed: f64| (all - pulsed).max(0.0);
        let base = LoadCurrent {
            current: Amps(rest(self.mean.current.0, of_pulses.current.0)),
            power: Watts(rest(self.mean.power.0, of_pulses.power.0)),
        };
        let with = |(share, load_current): (f64, LoadCurrent)| {
            let load_current = LoadCurrent {
                current: Amps(load_current.current.0 / share),
                power: Watts(load_current.power.0 / share),
            };
            (Ratio(share), base + load_current)
        };
        (base, sums.into_iter().map(with).collect())
    }
}

/// What a device in use draws along a discharge.
pub struct Course {
    /// Its mean at the nominal voltage.
    pub mean: LoadCurrent,
    /// All of it, over the charge.
    pub drawn: Pulsed,
}

/// What a device in use draws along a discharge; over the terminal voltage where efficiencies or outputs depend on that.
///
/// # Errors
/// A negative or non-finite draw.
pub fn course(supplies: &Supplies<'_>, counts: &Counts, usage: f64) -> Result<Course, LifeFault> {
    let (device, parameters) = (supplies.device, supplies.parameters);
    let nominal = device.battery.nominal();
    let in_use = InUse::new(supplies, counts, usage);
    let drawings = in_use.drawings(nominal);
    let typical = in_use.of(nominal, drawings.iter().map(|drawing| drawing.pulse));
    let groups = Groups::of(&typical.pulses, nominal);
    let (base, with) = typical.demands(&groups);
    if !device.board.rails.iter().any(Rail::follows_input) {
        let with = with.into_iter().map(|(share, load_current)| (share, Demand::LoadCurrent(load_current)));
        let drawn = Pulsed::new(Demand::LoadCurrent(base), with.collect(), groups.spread)?;
        return Ok(Course { mean: typical.mean, drawn });
    }
    let volts = bends(device, parameters);
    let ahead = in_use.ahead(&volts, &drawings);
    // The same few voltages are asked for by all demands.
    let known: RefCell<Vec<(Volts, Vec<LoadCurrent>)>> = RefCell::default();
    let at = |demand: usize, volts: Volts| {
        let mut known = known.borrow_mut();
        let place = known.iter().position(|(at, _)| *at == volts).unwrap_or_else(|| {
            let (base, with) = in_use.at(volts, &drawings, &ahead).demands(&groups);
            let all = std::iter::once(base).chain(with.into_iter().map(|(_, load_current)| load_current));
            known.push((volts, all.collect()));
            known.len() - 1
        });
        known[place].1.get(demand).copied().unwrap_or_default()
    };
    let varying = |demand: usize| Demand::Varying(Varying::of(&volts, |volts| at(demand, volts)));
    let with = with.iter().enumerate().map(|(index, (share, _))| (*share, varying(index + 1)));
    Ok(Course { mean: typical.mean, drawn: Pulsed::new(varying(0), with.collect(), groups.spread)? })
}

/// The battery voltages between which what is drawn is smooth: columns of efficiencies, and where rails begin to follow
/// their input.
fn bends(device: &Device, parameters: &ParameterSample) -> Vec<Volts> {
    let (rails, chemistry) = (&device.board.rails, &device.battery.chemistry);
    let series = f64::from(device.battery.series);
    let low = 0.5 * chemistry.minimum.0 * series;
    let high = chemistry.ocv.rows().map(|row| row.1.0).fold(chemistry.maximum.0, f64::max) * series;
    let mut volts: Vec<f64> = rails.iter().flat_map(Rail::columns).map(f64::from).collect();
    // Rails that hold their output and are fed by the battery itself take the same beyond their first and last column.
    let settled = |rail: &Rail| rail.out_of_range == OutOfRange::Stop && !rail.sags();
    let at_battery = |rail: &Rail| rail.columns().next().is_none() || rail.source == Source::Battery;
    if !rails.iter().all(|rail| settled(rail) && at_battery(rail)) {
        volts.extend([low, high]);
        volts.extend(rails.iter().filter_map(|rail| rail.bend(parameters)).map(f64::from));
        volts.retain(|volts| (low..=high).contains(volts));
    }
    volts.sort_by(f64::total_cmp);
    volts.dedup();
    volts.into_iter().map(Volts).collect()
}

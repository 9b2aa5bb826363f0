//! What a device draws along a discharge: what always flows, and on it the pulses of its updates, loads and events, each
//! at the voltage that it leaves.
//!
//! Not for what ends a life under the hardest moment, nor for the mean draw of a day: see [`super::life`].

use crate::cell::capacitor::Capacitor;
use crate::cell::life::LifeFault;
use crate::cell::peak::LoadCurrent;
use crate::cell::pulsed::{Demand, Groups, Pulse, Pulsed};
use crate::cell::varying::Varying;
use crate::cost::always_on::{Rates, always_on, events};
use crate::cost::dip::capacitor;
use crate::cost::phases::Maker;
use crate::device::Device;
use crate::hardware::rail::{OutOfRange, Rail, Source};
use crate::parameters::ParameterSample;
use crate::refresh::work::Work;
use crate::simulate::counts::Counts;
use crate::units::{Amps, DAY, Ohms, Ratio, Volts, Watts};
use std::cell::RefCell;
use std::collections::HashMap;

/// What a device in use draws at one battery voltage.
struct Use {
    /// The mean of all of it.
    mean: LoadCurrent,
    /// The part of the mean that comes in pulses; always as many and in the same order.
    pulses: Vec<Pulse>,
}

impl Use {
    /// Of updates so much more often than simulated, where things happen at these rates.
    fn of(
        device: &Device,
        parameters: &ParameterSample,
        (counts, rates, usage): (&Counts, &Rates, f64),
        volts: Volts,
    ) -> Self {
        let mut all = Self { mean: LoadCurrent::default(), pulses: Vec::with_capacity(32) };
        for load in always_on(device, parameters, volts).into_iter().chain(events(device, parameters, rates, volts)) {
            all.mean = all.mean + load.load_current;
            all.pulses.extend(load.pulses);
        }
        let mut maker = Maker::new(device, parameters, volts);
        all.updates(&mut maker, (counts, &counts.by_people, usage));
        all.updates(&mut maker, (counts, &counts.by_itself, 1.0));
        if let Some(capacitor) = capacitor(device, parameters) {
            all.smooth(capacitor, parameters.of(device.battery.resistance) * f64::from(device.battery.series));
        }
        all
    }

    fn updates(&mut self, maker: &mut Maker<'_>, (counts, work, scale): (&Counts, &Work, f64)) {
        for phase in maker.phases(work) {
            self.mean = self.mean + (phase.draw * scale).per(DAY * counts.days);
            if phase.time.0 > 0.0 {
                let share = Ratio(phase.time / (DAY * counts.days) * scale);
                let time = phase.time / work.updates.max(1.0);
                self.pulses.push(Pulse { share, time, load_current: phase.draw.per(phase.time) });
            }
        }
    }

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
pub fn course(device: &Device, parameters: &ParameterSample, counts: &Counts, usage: f64) -> Result<Course, LifeFault> {
    let nominal = device.battery.nominal();
    let (rates, made) = (counts.rates(), |rates, volts| Use::of(device, parameters, (counts, rates, usage), volts));
    let typical = made(&rates, nominal);
    let groups = Groups::of(&typical.pulses, nominal);
    let (base, with) = typical.demands(&groups);
    if !device.board.rails.iter().any(Rail::follows_input) {
        let with = with.into_iter().map(|(share, load_current)| (share, Demand::LoadCurrent(load_current)));
        let drawn = Pulsed::new(Demand::LoadCurrent(base), with.collect(), groups.spread)?;
        return Ok(Course { mean: typical.mean, drawn });
    }
    // The same few voltages are asked for by all demands.
    let known: RefCell<HashMap<u64, Vec<LoadCurrent>>> = RefCell::default();
    let at = |demand: usize, volts: Volts| {
        let mut known = known.borrow_mut();
        let all = known.entry(volts.0.to_bits()).or_insert_with(|| {
            let (base, with) = made(&rates, volts).demands(&groups);
            std::iter::once(base).chain(with.into_iter().map(|(_, load_current)| load_current)).collect()
        });
        all.get(demand).copied().unwrap_or_default()
    };
    let volts = bends(device, parameters);
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

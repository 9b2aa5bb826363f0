//! What a device draws along a discharge: what always flows, and on it the pulses of its updates, loads and events, each
//! at the voltage that it leaves.
//!
//! Not for what ends a life under the hardest moment, nor for the mean draw of a day: see [`super::life`].

use super::life::mean_pull;
use crate::cell::life::LifeFault;
use crate::cell::peak::Pull;
use crate::cell::pulsed::{Demand, Pulse, Pulsed, grouped};
use crate::cost::phases::phases;
use crate::cost::standing::{events, standing};
use crate::device::Device;
use crate::hardware::rail::Rail;
use crate::parameters::Point;
use crate::refresh::work::Work;
use crate::simulate::tally::Tally;
use crate::units::{Amps, DAY, Ratio, Volts, Watts};
use std::sync::Arc;

/// Points of the battery's voltage at which the currents are reckoned; between them they are taken as straight lines.
const POINTS: usize = 33;

/// The pulses of a device in use at a battery voltage; always as many and in the same order.
fn pulses(device: &Device, point: &Point, tally: &Tally, usage: f64, volts: Volts) -> Vec<Pulse> {
    let loads = standing(device, point, volts).into_iter().chain(events(device, point, &tally.rates(), volts));
    let mut all: Vec<Pulse> = loads.flat_map(|load| load.pulses).collect();
    let mut updates = |work: &Work, scale: f64| {
        for phase in phases(device, point, work, volts).iter().filter(|phase| phase.time.0 > 0.0) {
            let share = Ratio(phase.time / (DAY * tally.days) * scale);
            let time = phase.time / work.updates.max(1.0);
            all.push(Pulse { share, time, pull: phase.draw.per(phase.time) });
        }
    };
    updates(&tally.by_people, usage);
    updates(&tally.by_itself, 1.0);
    all
}

/// What always flows, and each group's pulse together with it; `places` tells each pulse's group.
fn demands(mean: Pull, pulses: &[Pulse], (groups, places): (usize, &[usize])) -> (Pull, Vec<(Ratio, Pull)>) {
    let mut sums = vec![(0.0, Pull::default()); groups];
    for (pulse, place) in pulses.iter().zip(places) {
        let sum = &mut sums[*place];
        *sum = (sum.0 + pulse.share.0, sum.1 + pulse.mean());
    }
    let of_pulses: Pull = sums.iter().map(|(_, pull)| *pull).sum();
    // Rounding alone could make the rest negative.
    let rest = |all: f64, pulsed: f64| (all - pulsed).max(0.0);
    let base = Pull {
        current: Amps(rest(mean.current.0, of_pulses.current.0)),
        power: Watts(rest(mean.power.0, of_pulses.power.0)),
    };
    let used = sums.into_iter().filter(|(share, _)| *share > 0.0);
    let with = |(share, pull): (f64, Pull)| {
        let pull = Pull { current: Amps(pull.current.0 / share), power: Watts(pull.power.0 / share) };
        (Ratio(share), base + pull)
    };
    (base, used.map(with).collect())
}

/// What a device in use draws along a discharge; over the terminal voltage where a rail follows its input.
///
/// # Errors
/// A negative or non-finite draw.
pub fn course(device: &Device, point: &Point, tally: &Tally, usage: f64) -> Result<Pulsed, LifeFault> {
    let nominal = device.battery.nominal();
    let typical = pulses(device, point, tally, usage, nominal);
    let (groups, places) = grouped(&typical, nominal);
    let mean = mean_pull(device, point, tally, usage, nominal);
    let (base, with) = demands(mean, &typical, (groups.len(), &places));
    if !device.board.rails.iter().any(Rail::follows_input) {
        let with = with.into_iter().map(|(share, pull)| (share, Demand::Pull(pull)));
        return Pulsed::new(Demand::Pull(base), with.collect());
    }
    let volts: Arc<[f64]> = voltages(device, point).into();
    let mut tables = vec![Vec::with_capacity(volts.len()); 1 + with.len()];
    for at in volts.iter().map(|volts| Volts(*volts)) {
        let here = pulses(device, point, tally, usage, at);
        let mean = mean_pull(device, point, tally, usage, at);
        let (base, pulses) = demands(mean, &here, (groups.len(), &places));
        let currents = std::iter::once(base).chain(pulses.into_iter().map(|(_, pull)| pull)).map(|pull| pull.at(at).0);
        tables.iter_mut().zip(currents).for_each(|(table, amps)| table.push(amps));
    }
    let mut tables = tables.into_iter().map(|table| Demand::Table(volts.clone(), table));
    let base = tables.next().ok_or(LifeFault::Load)?;
    Pulsed::new(base, with.into_iter().map(|(share, _)| share).zip(tables).collect())
}

fn voltages(device: &Device, point: &Point) -> Vec<f64> {
    let chemistry = &device.battery.chemistry;
    let series = f64::from(device.battery.series);
    let low = 0.5 * chemistry.minimum.0 * series;
    let high = chemistry.ocv.rows().map(|row| row.1.0).fold(chemistry.maximum.0, f64::max) * series;
    let step = (high - low) / (POINTS - 1) as f64;
    let mut volts: Vec<f64> = (0..POINTS).map(|index| low + step * index as f64).collect();
    // Where a rail begins to follow its input the current bends.
    volts.extend(device.board.rails.iter().filter_map(|rail| rail.bend(point)).map(f64::from));
    volts.sort_by(f64::total_cmp);
    volts.dedup();
    volts
}

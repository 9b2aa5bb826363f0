//! Loads that are always there: sleep currents, regulators' own currents, blinking lights; and what happens now and then:
//! radio events, the microcontroller's work for keys and samples, loads bound to a condition.

use super::consumer::Consumer;
use super::supply::Supply;
use crate::behaviour::{Event, EventId};
use crate::cell::peak::Pull;
use crate::cell::pulsed::Pulse;
use crate::device::Device;
use crate::hardware::load::{Amount, Load, Shape, Step};
use crate::hardware::rail::{Draw, RailId};
use crate::hardware::tree::On;
use crate::parameters::{Input, Point};
use crate::units::{Amps, DAY, Ratio, Seconds, Volts};

/// One standing load.
#[derive(Clone, Debug)]
pub struct Standing {
    /// What it is.
    pub what: Consumer,
    /// Mean pull on the battery.
    pub pull: Pull,
    /// The part of the mean that comes in pulses; the rest is always there. A stated bare charge has no pulse: its
    /// current is unknown.
    pub pulses: Vec<Pulse>,
    /// Pull while it is on.
    pub on: Pull,
}

/// Every standing load of a device at a battery voltage, on which the efficiency of a switching rail may depend.
pub fn standing(device: &Device, point: &Point, volts: Volts) -> Vec<Standing> {
    let board = &device.board;
    let supply = Supply::new(device, point, volts);
    // What is always on shares what its rail takes for all of it.
    let always = |what: Consumer, rail: RailId, current: Amps| {
        let pull = supply.part(rail, Pull::current(current));
        Standing { what, pull, pulses: Vec::new(), on: pull }
    };
    let mut all = vec![
        always(Consumer::McuSleep, board.mcu.rail, point.of(board.mcu.sleep)),
        always(Consumer::PanelSleep, device.panel.rail, point.of(device.panel.sleep)),
    ];
    if let Some(memory) = &board.memory {
        all.push(always(Consumer::MemoryStandby, memory.rail, point.of(memory.standby)));
    }
    for (index, node) in supply.rest().nodes.iter().enumerate() {
        let rail = RailId(index);
        if node.own.current.0 > 0.0 {
            let pull = supply.above(rail, node.own);
            all.push(Standing { what: Consumer::Quiescent(rail), pull, pulses: Vec::new(), on: pull });
        }
    }
    if let Some(own) = device.battery.protection {
        let pull = Pull::current(point.of(own));
        all.push(Standing { what: Consumer::Protection, pull, pulses: Vec::new(), on: pull });
    }
    if let Some(beside) = &device.battery.capacitor {
        let pull = Pull::current(point.of(beside.leakage));
        all.push(Standing { what: Consumer::Leakage, pull, pulses: Vec::new(), on: pull });
    }
    for (index, load) in board.loads.iter().enumerate().filter(|(index, _)| device.load_only[*index].is_empty()) {
        all.push(match &load.shape {
            Shape::Always(drawn) => {
                let pull = supply.part(load.rail, drawn.pull(point));
                Standing { what: Consumer::Load(index), pull, pulses: Vec::new(), on: pull }
            }
            Shape::Pulses { steps, period } => pulses(device, point, &supply, (index, steps), point.of(*period)),
        });
    }
    all
}

/// A load that comes again and again, and what it takes of the microcontroller.
fn pulses(
    device: &Device,
    point: &Point,
    supply: &Supply<'_>,
    (index, steps): (usize, &[Step]),
    period: Seconds,
) -> Standing {
    let load = &device.board.loads[index];
    let needs = supply.needs(load.rail);
    let step = |step: &Step| (on_its_rail(supply, load, step.drawn.pull(point)), point.of(step.time));
    let pulls: Vec<(Pull, Seconds)> = steps.iter().map(step).collect();
    let mean = pulls.iter().map(|(pull, time)| scaled(*pull, Ratio(*time / period))).sum::<Pull>();
    let starts = if load.with_rail { Draw::default() } else { supply.start_up(needs) };
    let awake = running(device, point, supply, load.awake);
    let each = pulls.iter().map(|(pull, time)| Pulse { share: Ratio(*time / period), time: *time, pull: *pull });
    let work = awake_pulse(device, point, load.awake, awake, Ratio(1.0 / period.0));
    let besides = starts + awake;
    let pull = if besides == Draw::default() { mean } else { mean + besides.per(period) };
    let volts = device.battery.nominal();
    let hardest = pulls.iter().map(|(pull, _)| *pull).max_by(|a, b| a.at(volts).0.total_cmp(&b.at(volts).0));
    let pulses = each.chain(work).collect();
    Standing { what: Consumer::Load(index), pull, pulses, on: hardest.unwrap_or_default() }
}

/// What a load takes while its rail is on for it; of a rail that is on anyway, what comes on top of that.
fn on_its_rail(supply: &Supply<'_>, load: &Load, drawn: Pull) -> Pull {
    let needs = supply.needs(load.rail);
    let all = supply.beyond(needs, &[(load.rail, drawn)]);
    if !load.with_rail {
        return all;
    }
    let rail = supply.beyond(needs, &[]);
    Pull { current: all.current - rail.current, power: all.power - rail.power }
}

/// What the microcontroller takes beyond sleep when it wakes and runs for a time; nothing where it need not wake.
fn running(device: &Device, point: &Point, supply: &Supply<'_>, time: Option<Input<Seconds>>) -> Draw {
    let Some(time) = time else { return Draw::default() };
    let mcu = &device.board.mcu;
    let current = point.of(mcu.active) - point.of(mcu.sleep);
    let pull = supply.beyond(On::NONE, &[(mcu.rail, Pull::current(current))]);
    Draw::of(pull, point.of(mcu.wake) + point.of(time))
}

/// The microcontroller at work as a pulse, so often a second.
fn awake_pulse(
    device: &Device,
    point: &Point,
    time: Option<Input<Seconds>>,
    taken: Draw,
    per_second: Ratio,
) -> Option<Pulse> {
    let time = point.of(device.board.mcu.wake) + point.of(time?);
    let pull = (time.0 > 0.0).then(|| taken.per(time))?;
    Some(Pulse { share: Ratio(time.0 * per_second.0), time, pull })
}

/// How often things happen in a mean day that cost something beside the drawing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rates {
    /// Each event.
    pub events: Vec<f64>,
    /// Presses of keys.
    pub keys: f64,
    /// Renewals of fields.
    pub samples: f64,
    /// For each load of the board, the share of time in which its conditions hold.
    pub held: Vec<Ratio>,
}

/// What happens now and then takes beside its drawing, at a battery voltage: events, presses, renewals, and loads bound
/// to a condition.
pub fn events(device: &Device, point: &Point, rates: &Rates, volts: Volts) -> Vec<Standing> {
    let supply = Supply::new(device, point, volts);
    let mut all = Vec::new();
    for (index, (event, rate)) in device.events.iter().zip(&rates.events).enumerate() {
        let what = Consumer::Event(EventId(index));
        let taken = event_taken(device, point, event, &supply) * *rate;
        if event.taken.is_some() || event.awake.is_some() {
            let pulses = event_pulses(device, point, event, &supply, *rate);
            all.push(Standing { what, pull: taken.per(DAY), pulses, on: Pull::default() });
        }
    }
    let mcu = &device.board.mcu;
    let work = [(Consumer::KeyWork, mcu.key_time, rates.keys), (Consumer::SampleWork, mcu.sample_time, rates.samples)];
    for (what, time, rate) in work {
        if time.is_none() {
            continue;
        }
        let once = running(device, point, &supply, time);
        let pulses = awake_pulse(device, point, time, once, Ratio(rate / DAY.0)).into_iter().collect();
        all.push(Standing { what, pull: (once * rate).per(DAY), pulses, on: Pull::default() });
    }
    for (index, load) in device.board.loads.iter().enumerate().filter(|(index, _)| !device.load_only[*index].is_empty())
    {
        let share = rates.held.get(index).copied().unwrap_or(Ratio(0.0));
        let one = match &load.shape {
            Shape::Always(drawn) => {
                let pull = on_its_rail(&supply, load, drawn.pull(point));
                let pulses = vec![Pulse { share: Ratio(1.0), time: DAY, pull }];
                Standing { what: Consumer::Load(index), pull, pulses, on: pull }
            }
            Shape::Pulses { steps, period } => pulses(device, point, &supply, (index, steps), point.of(*period)),
        };
        let held = |pulse: &Pulse| Pulse { share: Ratio(pulse.share.0 * share.0), ..*pulse };
        let pulses = one.pulses.iter().map(held).collect();
        all.push(Standing { pull: scaled(one.pull, share), pulses, ..one });
    }
    all
}

/// What one occurrence of an event takes from the battery, beside its drawing. Of a bare charge the mean current is far
/// below the pulse's; the efficiency is that at a pulse of one second.
pub fn event_taken(device: &Device, point: &Point, event: &Event, supply: &Supply<'_>) -> Draw {
    const PULSE: Seconds = Seconds(1.0);
    let own = event.taken.as_ref().map_or(Draw::default(), |taken| {
        let needs = supply.needs(taken.rail);
        let during = |pull: Pull, time: Seconds| Draw::of(supply.beyond(needs, &[(taken.rail, pull)]), time);
        let drawn = match &taken.what {
            Amount::Charge(charge) => during(Pull::current(point.of(*charge) / PULSE), PULSE),
            Amount::Steps(steps) => steps.iter().map(|step| during(step.drawn.pull(point), point.of(step.time))).sum(),
        };
        drawn + supply.start_up(needs)
    });
    own + running(device, point, supply, event.awake)
}

/// The pulses of an event that comes so often a day: the steps of its profile, and the microcontroller at work.
fn event_pulses(device: &Device, point: &Point, event: &Event, supply: &Supply<'_>, rate: f64) -> Vec<Pulse> {
    let per_second = Ratio(rate / DAY.0);
    let steps = event.taken.iter().filter_map(|taken| match &taken.what {
        Amount::Steps(steps) => Some((taken.rail, steps)),
        Amount::Charge(_) => None,
    });
    let pulse = |(rail, step): (RailId, &Step)| {
        let time: Seconds = point.of(step.time);
        let pull = supply.beyond(supply.needs(rail), &[(rail, step.drawn.pull(point))]);
        Pulse { share: Ratio(time.0 * per_second.0), time, pull }
    };
    let own = steps.flat_map(|(rail, steps)| steps.iter().map(move |step| (rail, step))).map(pulse);
    let work = running(device, point, supply, event.awake);
    own.chain(awake_pulse(device, point, event.awake, work, per_second)).collect()
}

fn scaled(pull: Pull, by: Ratio) -> Pull {
    Pull { current: pull.current * by.0, power: pull.power * by.0 }
}

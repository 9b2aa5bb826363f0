//! Loads that are always there: sleep currents, regulators' own currents, blinking lights; and what happens now and then:
//! radio events, the microcontroller's work for keys and samples, loads bound to a condition.

use super::consumer::Consumer;
use super::supply::{StartUps, Supply};
use crate::behaviour::{Event, EventId};
use crate::cell::peak::LoadCurrent;
use crate::cell::pulsed::Pulse;
use crate::device::Device;
use crate::hardware::load::{Amount, Load, Shape, Step};
use crate::hardware::rail::{Draw, RailId};
use crate::hardware::tree::On;
use crate::parameters::{Input, ParameterSample};
use crate::units::{Amps, DAY, Ratio, Seconds, Volts};

/// One always-on load.
#[derive(Clone, Debug)]
pub struct AlwaysOn {
    /// What it is.
    pub what: Consumer,
    /// Mean load on the battery.
    pub load_current: LoadCurrent,
    /// The part of the mean that comes in pulses; the rest is always there. A stated bare charge has no pulse: its
    /// current is unknown.
    pub pulses: Vec<Pulse>,
    /// Load current while it is on.
    pub on: LoadCurrent,
}

/// Every always-on load of a device at a battery voltage, on which the efficiency of a switching rail may depend.
pub fn always_on(device: &Device, parameters: &ParameterSample, volts: Volts) -> Vec<AlwaysOn> {
    always_on_of(device, parameters, &Supply::new(device, parameters, volts))
}

/// As [`always_on`], through a supply that is there.
pub fn always_on_of(device: &Device, parameters: &ParameterSample, supply: &Supply<'_>) -> Vec<AlwaysOn> {
    let board = &device.board;
    // What is always on shares what its rail takes for all of it.
    let always = |what: Consumer, rail: RailId, current: Amps| {
        let load_current = supply.part(rail, LoadCurrent::current(current));
        AlwaysOn { what, load_current, pulses: Vec::new(), on: load_current }
    };
    let mut all = vec![
        always(Consumer::McuSleep, board.mcu.rail, parameters.of(board.mcu.sleep)),
        always(Consumer::PanelSleep, device.panel.rail, parameters.of(device.panel.sleep)),
    ];
    if let Some(memory) = &board.memory {
        all.push(always(Consumer::MemoryStandby, memory.rail, parameters.of(memory.standby)));
    }
    for (index, node) in supply.rest().nodes.iter().enumerate() {
        let rail = RailId(index);
        if node.own.current.0 > 0.0 {
            let load_current = supply.above(rail, node.own);
            all.push(AlwaysOn { what: Consumer::Quiescent(rail), load_current, pulses: Vec::new(), on: load_current });
        }
    }
    if let Some(own) = device.battery.protection {
        let load_current = LoadCurrent::current(parameters.of(own));
        all.push(AlwaysOn { what: Consumer::Protection, load_current, pulses: Vec::new(), on: load_current });
    }
    if let Some(beside) = &device.battery.capacitor {
        let load_current = LoadCurrent::current(parameters.of(beside.leakage));
        all.push(AlwaysOn { what: Consumer::Leakage, load_current, pulses: Vec::new(), on: load_current });
    }
    for (index, load) in board.loads.iter().enumerate().filter(|(index, _)| device.load_only[*index].is_empty()) {
        all.push(match &load.shape {
            Shape::Always(drawn) => {
                let load_current = supply.part(load.rail, drawn.load_current(parameters));
                AlwaysOn { what: Consumer::Load(index), load_current, pulses: Vec::new(), on: load_current }
            }
            Shape::Pulses { steps, period } => {
                pulses(device, parameters, supply, (index, steps), parameters.of(*period))
            }
        });
    }
    all
}

/// A load that comes again and again, and what it takes of the microcontroller.
fn pulses(
    device: &Device,
    parameters: &ParameterSample,
    supply: &Supply<'_>,
    (index, steps): (usize, &[Step]),
    period: Seconds,
) -> AlwaysOn {
    let load = &device.board.loads[index];
    let needs = supply.needs(load.rail);
    let step = |step: &Step| (on_its_rail(supply, load, step.drawn.load_current(parameters)), parameters.of(step.time));
    let load_currents: Vec<(LoadCurrent, Seconds)> = steps.iter().map(step).collect();
    let mean = load_currents
        .iter()
        .map(|(load_current, time)| scaled(*load_current, Ratio(*time / period)))
        .sum::<LoadCurrent>();
    let starts = if load.with_rail { Draw::default() } else { supply.start_up(needs) };
    let waits = if load.with_rail { Seconds(0.0) } else { supply.start_ups(needs).time() };
    let awake = running(device, parameters, supply, (load.awake, waits));
    let each = load_currents.iter().map(|(load_current, time)| Pulse {
        share: Ratio(*time / period),
        time: *time,
        load_current: *load_current,
    });
    let work = awake_pulse(device, parameters, (load.awake, waits), awake, Ratio(1.0 / period.0));
    let besides = starts + awake;
    let load_current = if besides == Draw::default() { mean } else { mean + besides.per(period) };
    let volts = device.battery.nominal();
    let hardest = load_currents
        .iter()
        .map(|(load_current, _)| *load_current)
        .max_by(|a, b| a.at(volts).0.total_cmp(&b.at(volts).0));
    let pulses = each.chain(work).collect();
    AlwaysOn { what: Consumer::Load(index), load_current, pulses, on: hardest.unwrap_or_default() }
}

/// What a load takes while its rail is on for it; of a rail that is on anyway, what comes on top of that.
fn on_its_rail(supply: &Supply<'_>, load: &Load, drawn: LoadCurrent) -> LoadCurrent {
    let needs = supply.needs(load.rail);
    let all = supply.beyond(needs, &[(load.rail, drawn)]);
    if !load.with_rail {
        return all;
    }
    let rail = supply.beyond(needs, &[]);
    LoadCurrent { current: all.current - rail.current, power: all.power - rail.power }
}

/// How long the microcontroller runs, and before that waits awake until rails are up.
type Awake = (Option<Input<Seconds>>, Seconds);

/// What the microcontroller takes beyond sleep when it wakes, waits and runs for a time; nothing where it need not wake.
fn running(device: &Device, parameters: &ParameterSample, supply: &Supply<'_>, (time, waits): Awake) -> Draw {
    let Some(time) = time else { return Draw::default() };
    let load_current = supply.beyond(On::NONE, &[device.awake(parameters)]);
    Draw::of(load_current, parameters.of(device.board.mcu.wake) + waits + parameters.of(time))
}

/// The microcontroller at work as a pulse, so often a second.
fn awake_pulse(
    device: &Device,
    parameters: &ParameterSample,
    (time, waits): Awake,
    taken: Draw,
    per_second: Ratio,
) -> Option<Pulse> {
    let time = parameters.of(device.board.mcu.wake) + waits + parameters.of(time?);
    let load_current = (time.0 > 0.0).then(|| taken.per(time))?;
    Some(Pulse { share: Ratio(time.0 * per_second.0), time, load_current })
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
    /// For each load of the board, how often they begin to hold.
    pub begun: Vec<f64>,
}

/// What happens now and then takes beside its drawing, at a battery voltage: events, presses, renewals, and loads bound
/// to a condition.
pub fn events(device: &Device, parameters: &ParameterSample, rates: &Rates, volts: Volts) -> Vec<AlwaysOn> {
    events_of(device, parameters, rates, &Supply::new(device, parameters, volts))
}

/// As [`events`], through a supply that is there.
pub fn events_of(device: &Device, parameters: &ParameterSample, rates: &Rates, supply: &Supply<'_>) -> Vec<AlwaysOn> {
    let mut all = Vec::new();
    for (index, (event, rate)) in device.events.iter().zip(&rates.events).enumerate() {
        let what = Consumer::Event(EventId(index));
        let taken = event_taken(device, parameters, event, supply) * *rate;
        if event.taken.is_some() || event.awake.is_some() {
            let pulses = event_pulses(device, parameters, event, supply, *rate);
            all.push(AlwaysOn { what, load_current: taken.per(DAY), pulses, on: LoadCurrent::default() });
        }
    }
    let mcu = &device.board.mcu;
    let work = [(Consumer::KeyWork, mcu.key_time, rates.keys), (Consumer::SampleWork, mcu.sample_time, rates.samples)];
    for (what, time, rate) in work {
        if time.is_none() {
            continue;
        }
        let time = (time, Seconds(0.0));
        let once = running(device, parameters, supply, time);
        let pulses = awake_pulse(device, parameters, time, once, Ratio(rate / DAY.0)).into_iter().collect();
        all.push(AlwaysOn { what, load_current: (once * rate).per(DAY), pulses, on: LoadCurrent::default() });
    }
    for index in (0..device.board.loads.len()).filter(|index| !device.load_only[*index].is_empty()) {
        let share = rates.held.get(index).copied().unwrap_or(Ratio(0.0));
        let one = bound(device, parameters, supply, index);
        let held = |pulse: &Pulse| Pulse { share: Ratio(pulse.share.0 * share.0), ..*pulse };
        let begun = rates.begun.get(index).copied().unwrap_or_default();
        let starts = bound_start(device, supply, index);
        let pulses = one.pulses.iter().map(held).chain(starts.pulses(Ratio(begun / DAY.0))).collect();
        let load_current = scaled(one.load_current, share) + (starts.draw() * begun).per(DAY);
        all.push(AlwaysOn { load_current, pulses, ..one });
    }
    all
}

/// Whether all that comes and goes in [`always_on`] and [`events`] takes the same at every battery voltage.
pub fn pulses_are_steady(device: &Device, supply: &Supply<'_>) -> bool {
    let board = &device.board;
    let loads = board.loads.iter().map(|load| load.rail);
    let events = device.events.iter().filter_map(|event| event.taken.as_ref()).map(|taken| taken.rail);
    loads.chain(events).chain([board.mcu.rail]).all(|rail| supply.steady(rail))
}

/// A load that is bound to a condition, while that holds.
fn bound(device: &Device, parameters: &ParameterSample, supply: &Supply<'_>, index: usize) -> AlwaysOn {
    let load = &device.board.loads[index];
    match &load.shape {
        Shape::Always(drawn) => {
            let load_current = on_its_rail(supply, load, drawn.load_current(parameters));
            let pulses = vec![Pulse { share: Ratio(1.0), time: DAY, load_current }];
            AlwaysOn { what: Consumer::Load(index), load_current, pulses, on: load_current }
        }
        Shape::Pulses { steps, period } => pulses(device, parameters, supply, (index, steps), parameters.of(*period)),
    }
}

/// What charging the output capacitors of its rails takes whenever the condition of a load begins to hold; what the rails
/// take meanwhile is within the load's own time. Not for pulsed loads, whose rail is
/// switched on for each pulse, nor for a load beside that of the rail itself.
fn bound_start(device: &Device, supply: &Supply<'_>, index: usize) -> StartUps {
    let load = &device.board.loads[index];
    let once = !device.load_only[index].is_empty() && !load.pulsed() && !load.with_rail;
    if once { supply.charging(supply.needs(load.rail)) } else { StartUps::default() }
}

/// What the battery gives whenever something happens, beside its drawing, at a battery voltage.
#[derive(Clone, Debug)]
pub struct Occasions {
    /// One occurrence of each event.
    pub events: Vec<Draw>,
    /// The microcontroller's work for a press.
    pub key: Draw,
    /// Its work for the renewal of a field.
    pub sample: Draw,
    /// For each load of the board that is bound to a condition, its mean load while that holds.
    pub held: Vec<Option<LoadCurrent>>,
    /// For each load of the board, what switching its rail on takes when its condition begins to hold.
    pub begun: Vec<Draw>,
}

impl Occasions {
    /// Those of a device.
    pub fn of(device: &Device, parameters: &ParameterSample, volts: Volts) -> Self {
        let supply = Supply::new(device, parameters, volts);
        let mcu = &device.board.mcu;
        let held = |(index, only): (usize, &Vec<_>)| {
            (!only.is_empty()).then(|| bound(device, parameters, &supply, index).load_current)
        };
        Self {
            events: device.events.iter().map(|event| event_taken(device, parameters, event, &supply)).collect(),
            key: running(device, parameters, &supply, (mcu.key_time, Seconds(0.0))),
            sample: running(device, parameters, &supply, (mcu.sample_time, Seconds(0.0))),
            held: device.load_only.iter().enumerate().map(held).collect(),
            begun: (0..device.board.loads.len()).map(|index| bound_start(device, &supply, index).draw()).collect(),
        }
    }
}

/// What one occurrence of an event takes from the battery, beside its drawing. Of a bare charge the mean current is far
/// below the pulse's; the efficiency is that at a pulse of one second.
pub fn event_taken(device: &Device, parameters: &ParameterSample, event: &Event, supply: &Supply<'_>) -> Draw {
    const PULSE: Seconds = Seconds(1.0);
    let own = event.taken.as_ref().map_or(Draw::default(), |taken| {
        let needs = supply.needs(taken.rail);
        let during = |load_current: LoadCurrent, time: Seconds| {
            Draw::of(supply.beyond(needs, &[(taken.rail, load_current)]), time)
        };
        let drawn = match &taken.what {
            Amount::Charge(charge) => during(LoadCurrent::current(parameters.of(*charge) / PULSE), PULSE),
            Amount::Steps(steps) => {
                steps.iter().map(|step| during(step.drawn.load_current(parameters), parameters.of(step.time))).sum()
            }
        };
        drawn + supply.start_up(needs)
    });
    own + running(device, parameters, supply, awake(event, supply))
}

/// How long the microcontroller is awake for an event, its rail's start-up included.
fn awake(event: &Event, supply: &Supply<'_>) -> Awake {
    let rails = event.taken.as_ref().map(|taken| supply.start_ups(supply.needs(taken.rail)));
    (event.awake, rails.map_or(Seconds(0.0), |rails| rails.time()))
}

/// The pulses of an event that comes so often a day: the steps of its profile, and the microcontroller at work.
fn event_pulses(
    device: &Device,
    parameters: &ParameterSample,
    event: &Event,
    supply: &Supply<'_>,
    rate: f64,
) -> Vec<Pulse> {
    let per_second = Ratio(rate / DAY.0);
    let steps = event.taken.iter().filter_map(|taken| match &taken.what {
        Amount::Steps(steps) => Some((taken.rail, steps)),
        Amount::Charge(_) => None,
    });
    let pulse = |(rail, step): (RailId, &Step)| {
        let time: Seconds = parameters.of(step.time);
        let load_current = supply.beyond(supply.needs(rail), &[(rail, step.drawn.load_current(parameters))]);
        Pulse { share: Ratio(time.0 * per_second.0), time, load_current }
    };
    let own = steps.flat_map(|(rail, steps)| steps.iter().map(move |step| (rail, step))).map(pulse);
    let awake = awake(event, supply);
    let work = running(device, parameters, supply, awake);
    own.chain(awake_pulse(device, parameters, awake, work, per_second)).collect()
}

fn scaled(load_current: LoadCurrent, by: Ratio) -> LoadCurrent {
    LoadCurrent { current: load_current.current * by.0, power: load_current.power * by.0 }
}

//! Loads that are always there: sleep currents, regulators' own currents, blinking lights, radio events.

use super::consumer::Consumer;
use super::supply::Supply;
use crate::behaviour::{Event, EventId};
use crate::cell::peak::Pull;
use crate::device::Device;
use crate::hardware::rail::{Draw, RailId};
use crate::parameters::Point;
use crate::units::{Amps, Coulombs, DAY, Ratio, Seconds, Volts};

/// One standing load.
#[derive(Clone, Debug)]
pub struct Standing {
    /// What it is.
    pub what: Consumer,
    /// Mean pull on the battery.
    pub pull: Pull,
    /// Pull while it is on.
    pub on: Pull,
    /// How it comes about.
    pub how: String,
}

/// Every standing load of a device, its battery half full.
pub fn standing(device: &Device, point: &Point) -> Vec<Standing> {
    standing_at(device, point, device.battery.nominal())
}

/// As [`standing`], at a battery voltage, on which the efficiency of a switching rail may depend.
pub fn standing_at(device: &Device, point: &Point, volts: Volts) -> Vec<Standing> {
    let board = &device.board;
    let supply = Supply::new(device, point, volts);
    let on = |rail: RailId| format!(" on {}", board.rails[rail.0].name);
    // What is always on shares what its rail takes for all of it.
    let always = |what: Consumer, rail: RailId, current: Amps| {
        let pull = supply.part(rail, Pull::current(current));
        Standing { what, pull, on: pull, how: format!("{current}{}", on(rail)) }
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
            let off = if node.on { "" } else { ", off" };
            let how = format!("{} of its own{off}", node.own.current);
            all.push(Standing { what: Consumer::Quiescent(rail), pull, on: pull, how });
        }
    }
    for (index, load) in board.loads.iter().enumerate() {
        let current = point.of(load.current);
        all.push(match load.blink {
            None => always(Consumer::Load(index), load.rail, current),
            Some((lit, period)) => {
                let (lit, period): (Seconds, Seconds) = (point.of(lit), point.of(period));
                let how = format!("{current} for {lit} in every {period}{}", on(load.rail));
                let needs = supply.needs(load.rail);
                let pull = supply.beyond(needs, &[(load.rail, Pull::current(current))]);
                let start = supply.start_up(needs).per(period);
                Standing { what: Consumer::Load(index), pull: scaled(pull, Ratio(lit / period)) + start, on: pull, how }
            }
        });
    }
    all
}

/// What events take beside their drawing, at so many a day each, the battery half full.
pub fn events(device: &Device, point: &Point, per_day: &[f64]) -> Vec<Standing> {
    events_at(device, point, per_day, device.battery.nominal())
}

/// As [`events`], at a battery voltage.
pub fn events_at(device: &Device, point: &Point, per_day: &[f64], volts: Volts) -> Vec<Standing> {
    let with_charge = device.events.iter().zip(per_day).enumerate();
    let with_charge = with_charge.filter_map(|(index, (event, rate))| Some((index, event, rate, event.charge?)));
    with_charge
        .map(|(index, event, rate, (rail, charge))| {
            let charge: Coulombs = point.of(charge);
            let how =
                format!("{charge} x {} a day on {}", crate::units::figures(*rate), device.board.rails[rail.0].name);
            let taken = event_taken(device, point, event, volts);
            Standing { what: Consumer::Event(EventId(index)), pull: (taken * *rate).per(DAY), on: Pull::default(), how }
        })
        .collect()
}

/// What one occurrence of an event takes from the battery at a voltage, beside its drawing. The mean current is far below
/// the pulse's; the efficiency is that at a pulse of one second.
pub fn event_taken(device: &Device, point: &Point, event: &Event, volts: Volts) -> Draw {
    let Some((rail, charge)) = event.charge else { return Draw::default() };
    const PULSE: Seconds = Seconds(1.0);
    let supply = Supply::new(device, point, volts);
    let needs = supply.needs(rail);
    let pulse = Pull::current(point.of(charge) / PULSE);
    Draw::of(supply.beyond(needs, &[(rail, pulse)]), PULSE) + supply.start_up(needs)
}

fn scaled(pull: Pull, by: Ratio) -> Pull {
    Pull { current: pull.current * by.0, power: pull.power * by.0 }
}

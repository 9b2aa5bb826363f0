//! How a always-on load comes about, in words, for explanations. Not for what it takes: see [`super::always_on`], which is
//! asked thousands of times for each once that somebody reads.

use super::always_on::{Occasions, Rates};
use super::consumer::Consumer;
use super::supply::Supply;
use crate::behaviour::Event;
use crate::device::Device;
use crate::hardware::load::{Amount, Shape};
use crate::hardware::rail::{Draw, RailId};
use crate::parameters::{Input, ParameterSample};
use crate::units::{Ratio, Seconds, Volts, figures};

/// How a always-on load or an event comes about on a device at a battery voltage; empty for parts of a refresh, whose
/// phases say it.
pub fn how(device: &Device, parameters: &ParameterSample, rates: &Rates, volts: Volts, what: Consumer) -> String {
    let board = &device.board;
    let name = |rail: RailId| &board.rails[rail.0].name;
    let worked = |time: Option<Input<Seconds>>, rate: f64| {
        let awake = |time| format!("awake for {} + {} x {} a day", parameters.of(board.mcu.wake), time, figures(rate));
        time.map_or_else(String::new, |time| awake(parameters.of(time)))
    };
    match what {
        Consumer::Refresh(_) | Consumer::RefreshLoss => String::new(),
        Consumer::McuSleep => format!("{} on {}", parameters.of(board.mcu.sleep), name(board.mcu.rail)),
        Consumer::PanelSleep => format!("{} on {}", parameters.of(device.panel.sleep), name(device.panel.rail)),
        Consumer::MemoryStandby => board
            .memory
            .as_ref()
            .map_or_else(String::new, |memory| format!("{} on {}", parameters.of(memory.standby), name(memory.rail))),
        Consumer::Quiescent(rail) => {
            let node = Supply::new(device, parameters, volts).rest().nodes[rail.0];
            format!("{} of its own{}", node.own.current, if node.on { "" } else { ", off" })
        }
        Consumer::Protection => {
            device.battery.protection.map_or_else(String::new, |own| format!("{} at the battery", parameters.of(own)))
        }
        Consumer::Leakage => {
            let beside = device.battery.capacitor.as_ref();
            beside.map_or_else(String::new, |own| format!("{} at the battery", parameters.of(own.leakage)))
        }
        Consumer::Load(index) => {
            let load = drawn(device, parameters, index);
            if device.load_only[index].is_empty() {
                return load;
            }
            let share = rates.held.get(index).copied().unwrap_or(Ratio(0.0));
            let begun = rates.begun.get(index).copied().unwrap_or_default();
            let charging = begun > 0.0 && Occasions::of(device, parameters, volts).begun[index] != Draw::default();
            let starts = if charging { format!("; its rail charged {} a day", figures(begun)) } else { String::new() };
            format!("{load} for {share} of the time{starts}")
        }
        Consumer::Event(event) => {
            let rate = rates.events.get(event.0).copied().unwrap_or_default();
            happens(device, parameters, &device.events[event.0], rate)
        }
        Consumer::KeyWork => worked(board.mcu.key_time, rates.keys),
        Consumer::SampleWork => worked(board.mcu.sample_time, rates.samples),
    }
}

/// What a load of the board draws, and when.
fn drawn(device: &Device, parameters: &ParameterSample, index: usize) -> String {
    let load = &device.board.loads[index];
    let rail = &device.board.rails[load.rail.0].name;
    let (steps, period) = match &load.shape {
        Shape::Always(drawn) => return format!("{} on {rail}", drawn.words(parameters)),
        Shape::Pulses { steps, period } => (steps, parameters.of(*period)),
    };
    let pulses = match steps.as_slice() {
        [one] => format!("{} for {} in every {period} on {rail}", one.drawn.words(parameters), parameters.of(one.time)),
        _ => format!("{} steps in every {period} on {rail}", steps.len()),
    };
    match load.awake {
        None => pulses,
        Some(time) => format!("{pulses}; the microcontroller awake for {}", parameters.of(time)),
    }
}

/// What an event takes, and how often it comes.
fn happens(device: &Device, parameters: &ParameterSample, event: &Event, rate: f64) -> String {
    let rate = figures(rate);
    let taken = event.taken.as_ref().map(|taken| {
        let rail = &device.board.rails[taken.rail.0].name;
        match &taken.what {
            Amount::Charge(charge) => format!("{} x {rate} a day on {rail}", parameters.of(*charge)),
            Amount::Steps(steps) => format!("{} steps x {rate} a day on {rail}", steps.len()),
        }
    });
    let awake = event.awake.map(|time| format!("the microcontroller awake for {} x {rate} a day", parameters.of(time)));
    [taken, awake].into_iter().flatten().collect::<Vec<_>>().join("; ")
}

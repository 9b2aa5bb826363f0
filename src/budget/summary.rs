//! Everything a budget says, computed once: text, JSON and reports are written from these values.

use super::fault::BudgetFault;
use super::fleet::{DEVICES, Fleet, Unit, elasticity, fleet};
use super::life::{Ending, last_screen, recharge, usable};
use super::memory::{Scheme, schemes};
use super::supply_corners::{self, SupplyCorners};
use super::transition::{Transition, transitions};
use super::worst_case::weakest;
use crate::cell::CellFault;
use crate::cost::always_on::{always_on, events};
use crate::cost::consumer::{Consumer, ConsumerKind};
use crate::cost::phases::{Phase, by_cause, latency, phases, total};
use crate::device::Device;
use crate::firmware::footprint::Footprint;
use crate::limits;
use crate::parameters::ParameterSample;
use crate::refresh::drawing::entering;
use crate::refresh::schedule::{Rules, cheapest};
use crate::refresh::update::{Change, Mode, typical_work, work};
use crate::refresh::work::Work;
use crate::screen::ScreenId;
use crate::simulate::counts::Counts;
use crate::simulate::simulate;
use crate::source::fault::Fault;
use crate::units::{Celsius, Coulombs, DAY, Joules, Ratio, Seconds, Volts};
use rayon::prelude::*;
use std::fmt;
use std::sync::OnceLock;

/// A whole screen drawn with a full refresh.
#[derive(Debug)]
pub struct ScreenCost {
    /// The screen.
    pub screen: ScreenId,
    /// Share of its pixels that are black.
    pub black: Ratio,
    /// Press to visible.
    pub latency: Seconds,
    /// Energy at the battery.
    pub energy: Joules,
    /// Charge at the battery.
    pub charge: Coulombs,
    /// Bytes sent to the panel.
    pub bytes: f64,
}

/// How much an input moves the median life.
#[derive(Debug)]
pub struct Sensitivity {
    /// The input's path.
    pub input: String,
    /// Relative change of the life over relative change of the input.
    pub elasticity: f64,
}

/// A budget.
#[derive(Debug)]
pub struct Budget {
    /// The temperature at which single updates are costed: the usage's mean.
    pub temperature: Celsius,
    /// The voltage at which energies are stated.
    pub voltage: Volts,
    /// Ways to buffer the image.
    pub schemes: Vec<Scheme>,
    /// Full refreshes of every screen.
    pub screens: Vec<ScreenCost>,
    /// Ways between screens.
    pub transitions: Vec<Transition>,
    /// What the simulation counted.
    pub counts: Counts,
    /// Energy of a mean day by cause, largest first.
    pub causes: Vec<(Consumer, Joules)>,
    /// Energy a day of the refreshes under the project's policy, and at least.
    pub policy: [Joules; 2],
    /// Charge a new battery can give at the mean temperature.
    pub usable: Result<Coulombs, CellFault>,
    /// Time of a charge from the reserve, where the device stops.
    pub charge_time: Option<Seconds>,
    /// Energy that the last screen needs.
    pub last_screen: Joules,
    /// The battery under its peak loads, on the device with the greatest currents and resistance.
    pub supply_corners: Result<SupplyCorners, BudgetFault>,
    /// Lives of many devices.
    pub life: Result<Fleet, BudgetFault>,
    /// Inputs without a source.
    pub assumptions: Vec<Assumption>,
    /// What the firmware's tables take, once somebody asks.
    live: OnceLock<Option<Footprint>>,
    /// Inputs by their effect on the life, once somebody asks: few do, and it takes as long as the lives.
    sensitivity: OnceLock<Vec<Sensitivity>>,
}

/// The work of a screen's full refresh.
pub fn full_work(device: &Device, temperature: Celsius) -> Work {
    typical_work(device, Mode::Full, temperature).unwrap_or_default()
}

/// The work of a full refresh that shows this screen.
pub fn screen_work(device: &Device, screen: ScreenId, temperature: Celsius) -> Work {
    let (buffer, scenes) = (device.policy.buffer, entering(device, screen));
    work(device, buffer, &Change::NONE, &scenes, Mode::Full, temperature).unwrap_or_default()
}

/// Calculates a device.
pub fn budget(device: &Device) -> Budget {
    budget_watched(device, &|| ())
}

/// Calculates a device and calls `done` for each of its [`DEVICES`] random devices, from any thread.
pub fn budget_watched(device: &Device, done: &(dyn Fn() + Sync)) -> Budget {
    budget_of(device, DEVICES, done)
}

/// The same with as many random devices.
pub fn budget_of(device: &Device, devices: u32, done: &(dyn Fn() + Sync)) -> Budget {
    let parameters = device.inputs.typical();
    let temperature = device.usage.climate.mean();
    let voltage = device.battery.nominal();
    let counts = simulate(device, &parameters);
    let cheapest = cheapest_energy(device, &counts, &parameters, temperature);
    let days = counts.days.max(f64::MIN_POSITIVE);
    let supply_corners = weakest(device).and_then(|weakest| supply_corners::of(device, &weakest));
    let life = fleet(device, &counts, devices, done);
    let charge_time = recharge(device, &parameters, &counts).and_then(Result::ok).map(|time| time.total());
    Budget {
        temperature,
        voltage,
        schemes: schemes(device, &parameters, temperature),
        screens: (0..device.screens.len())
            .map(|id| screen_cost(device, &parameters, ScreenId(id), temperature))
            .collect(),
        transitions: transitions(device, &parameters, temperature),
        causes: causes(device, &parameters, &counts, voltage),
        policy: [counts.energy / days, cheapest / days],
        usable: usable(device, &parameters, &counts),
        supply_corners,
        charge_time,
        last_screen: last_screen(device, &parameters).energy_at(voltage),
        life,
        assumptions: assumptions(device),
        live: OnceLock::new(),
        sensitivity: OnceLock::new(),
        counts,
    }
}

fn screen_cost(device: &Device, parameters: &ParameterSample, screen: ScreenId, temperature: Celsius) -> ScreenCost {
    let frame = device.draw(screen, 0, &device.sample());
    let work = screen_work(device, screen, temperature);
    let phases = phases(device, parameters, &work, device.battery.nominal());
    let draw = total(&phases);
    let voltage = device.battery.nominal();
    let pixels = f64::from(frame.width()) * f64::from(frame.height());
    ScreenCost {
        screen,
        black: Ratio(frame.ink_count() as f64 / pixels),
        latency: latency(&phases),
        energy: draw.energy_at(voltage),
        charge: draw.charge_at(voltage),
        bytes: work.panel_bytes,
    }
}

/// Energy of a mean day by cause; the parts add up to the whole.
fn causes(device: &Device, parameters: &ParameterSample, counts: &Counts, voltage: Volts) -> Vec<(Consumer, Joules)> {
    let mut all = counts.by_people.clone();
    all += &counts.by_itself;
    let phases: Vec<Phase> = phases(device, parameters, &all, device.battery.nominal());
    let (by_cause, loss) = by_cause(&phases, voltage);
    let per_day = |energy: Joules| energy / counts.days;
    let mut causes: Vec<(Consumer, Joules)> =
        by_cause.into_iter().map(|(cause, energy)| (Consumer::Refresh(cause), per_day(energy))).collect();
    causes.push((Consumer::RefreshLoss, per_day(loss)));
    let rates = counts.rates();
    let others = always_on(device, parameters, device.battery.nominal()).into_iter().chain(events(
        device,
        parameters,
        &rates,
        device.battery.nominal(),
    ));
    causes.extend(others.map(|load| (load.what, voltage * load.load_current.at(voltage) * DAY)));
    causes.retain(|(_, energy)| energy.0 != 0.0);
    causes.sort_by(|a, b| b.1.0.total_cmp(&a.1.0));
    causes
}

/// Energy of the cheapest legal schedule of the simulated updates.
fn cheapest_energy(device: &Device, counts: &Counts, parameters: &ParameterSample, temperature: Celsius) -> Joules {
    let idle_full = crate::cost::energy::draw(device, parameters, &full_work(device, temperature))
        .energy_at(device.battery.nominal());
    let rules = Rules {
        max_partials: clean_partials(device, parameters).min(device.policy.max_partials),
        max_age: device.policy.full_every,
        idle_full,
        last_full: None,
    };
    cheapest(&counts.steps, &rules).map_or(counts.energy, |schedule| schedule.total.cost)
}

/// Partial refreshes in a row after which no region can have passed the project's limit of residue, each region taken as
/// driven by all of them; without bound where no limit or no residue is stated.
fn clean_partials(device: &Device, parameters: &ParameterSample) -> u32 {
    let stated = device.panel.residue.zip(device.limits.residue.as_ref());
    stated.map_or(u32::MAX, |(each, limit)| {
        let each: Ratio = parameters.of(each);
        // Shares that fit exactly must not be lost to rounding.
        if each.0 > 0.0 { (limit.value.0 / each.0 + 1e-9).floor().min(f64::from(u32::MAX)) as u32 } else { u32::MAX }
    })
}

/// Relative effect of each input on the median life.
fn sensitivity(device: &Device, life: &Result<Fleet, BudgetFault>, counts: &Counts) -> Vec<Sensitivity> {
    let middle: Vec<Unit> = life.as_ref().map(|life| life.middle(device)).unwrap_or_default();
    let rows: Vec<_> = device.inputs.rows().iter().enumerate().filter(|(_, row)| row.typ != 0.0).collect();
    let one = |(index, row): &(usize, &crate::parameters::InputRow)| Sensitivity {
        input: row.path.clone(),
        elasticity: elasticity(device, counts, &middle, *index),
    };
    let mut all: Vec<Sensitivity> = rows.par_iter().map(one).collect();
    all.sort_by(|a, b| b.elasticity.abs().total_cmp(&a.elasticity.abs()));
    all
}

/// An input without a source.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Assumption {
    /// Its path in the project.
    pub path: String,
    /// Its value with its spread, as a person reads it.
    pub shown: String,
}

impl fmt::Display for Assumption {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} = {}", self.path, self.shown)
    }
}

fn assumptions(device: &Device) -> Vec<Assumption> {
    let rows = device.inputs.rows().iter().filter(|row| !row.sourced());
    rows.map(|row| Assumption { path: row.path.clone(), shown: row.shown.clone() }).collect()
}

/// Where a capacitor stands beside the battery.
const CAPACITOR_CAUTION: &str = "Capacitor beside the battery: polarised ones and supercapacitors fail with the wrong polarity or above their rating; inserting the battery charges an empty one at V / (R + ESR), which contacts, fuses and the cell must withstand; supercapacitors in series need balancing, which adds to the leakage.";

/// Cautions that go with every budget.
pub fn cautions(device: &Device) -> Vec<String> {
    let mut cautions: Vec<String> = device.battery.chemistry.cautions.iter().map(ToString::to_string).collect();
    cautions.extend(device.battery.capacitor.is_some().then(|| CAPACITOR_CAUTION.to_owned()));
    cautions.extend([
        "A bistable screen shows its last image when the device is dead: a value without its time can be stale. \
         Never let the screen be the only alarm where someone can be hurt."
            .to_owned(),
        "Update currents, waveforms and temperature limits come from the panel's maker; a wrong waveform or too many \
         unbalanced partial refreshes can damage a panel permanently."
            .to_owned(),
        "All figures are estimates from the inputs given; measure the first board.".to_owned(),
    ]);
    cautions
}

impl Budget {
    /// Why this budget must not be used: the simulation stopped before its end, and its days do not speak for the rest.
    pub fn refusal(&self, device: &Device) -> Option<Fault> {
        let counts = &self.counts;
        let days = device.usage.days;
        let message = format!(
            "{days} days are too many to simulate: after {:.1} of them there were {} refreshes",
            counts.days,
            counts.full + counts.partial
        );
        let label =
            format!("at most {} refreshes and {} happenings are simulated", limits::UPDATES, limits::HAPPENINGS);
        // Half of what was reached, so that chance does not pass the limit again.
        let fewer = (counts.days / 2.0).floor().max(1.0);
        let help = format!(
            "{label}; write usage.days = {fewer}, or longer intervals of fields, events and timers; nothing is made up for the rest"
        );
        counts.stopped_early.then(|| Fault::plain(message).help(help))
    }

    /// What the tables and the interpreter of a `c-live` export take; `None` where it cannot be exported.
    pub fn live(&self, device: &Device) -> Option<Footprint> {
        *self.live.get_or_init(|| Footprint::of_device(device))
    }

    /// Inputs by their effect on the life, largest first; `device` is that of the budget.
    pub fn sensitivity(&self, device: &Device) -> &[Sensitivity] {
        self.sensitivity.get_or_init(|| sensitivity(device, &self.life, &self.counts))
    }

    /// The lowest voltage of the battery under an update, over all corners; `None` where it browns out or is unknown.
    pub fn worst_voltage(&self) -> Option<Volts> {
        self.supply_corners.as_ref().ok()?.worst.terminal.volts()
    }

    /// How many of the random devices are limited by voltage or by a brown-out, and how many there are.
    pub fn ended_by_voltage(&self) -> (u32, u32) {
        let endings = self.life.iter().flat_map(|life| &life.endings);
        endings.fold((0, 0), |(short, all), (ending, count)| match ending {
            Ending::Voltage | Ending::Collapse => (short + count, all + count),
            Ending::Charge | Ending::Refreshes | Ending::Shelf | Ending::Cycles => (short, all + count),
        })
    }

    /// Energy of a mean day, all causes together.
    pub fn energy_per_day(&self) -> Joules {
        self.causes.iter().map(|(_, energy)| *energy).sum()
    }

    /// Energy of a mean day that goes into refreshes, regulator losses included.
    pub fn refreshes_per_day(&self) -> Joules {
        self.causes.iter().filter(|(what, _)| what.kind() == ConsumerKind::Refresh).map(|(_, energy)| *energy).sum()
    }
}

/// Whether the battery holds the least input of the rails under its peak loads, on the weakest device.
pub fn supply_holds(budget: &Budget) -> bool {
    budget
        .supply_corners
        .as_ref()
        .is_ok_and(|supply_corners| supply_corners.worst.terminal.reaches(supply_corners.needed))
}

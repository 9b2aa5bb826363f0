//! How long the battery lasts: what a day draws, with its pulses, through the cell's physics, for one device.

use super::course::course;
use super::fault::BudgetFault;
use super::regimes::Regime;
use crate::cell::ageing::{self, Ageing};
use crate::cell::capacitor::Peak;
use crate::cell::charging::{ChargeFault, ChargeTime, Charger};
use crate::cell::chemistry::OHM_AMPERE_HOUR;
use crate::cell::life::{CutOff, EndedBy};
use crate::cell::peak::LoadCurrent;
use crate::cell::{Case, Cell, CellFault};
use crate::cost::always_on::{always_on, events};
use crate::cost::dip::{capacitor, deepest};
use crate::cost::moment::{Moment, hardest};
use crate::cost::phases::{Cause, Drawer, Maker, phases, total};
pub use crate::cost::reserve::{coldest, last_screen, least_input, new_cell};
use crate::cost::supplies::Supplies;
use crate::device::Device;
use crate::parameters::ParameterSample;
use crate::refresh::update::{Mode, typical_work};
use crate::simulate::counts::{Counts, regimes};
use crate::units::{Celsius, Coulombs, DAY, Ohms, PerSecond, Ratio, Seconds, Volts};

/// What ends a life.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ending {
    /// The usable charge is gone.
    Charge,
    /// The voltage under the peak of an update is too low for a rail.
    Voltage,
    /// No voltage bears the load.
    Collapse,
    /// The panel's rated number of refreshes.
    Refreshes,
    /// The battery's age limit.
    Shelf,
    /// The battery's full cycles.
    Cycles,
}

impl Ending {
    /// In words, after "limited by".
    pub fn words(self) -> &'static str {
        match self {
            Self::Charge => "usable capacity",
            Self::Voltage => "supply voltage under peak load",
            Self::Collapse => "brown-out under load",
            Self::Refreshes => "rated refreshes of the panel",
            Self::Shelf => "shelf life of the battery",
            Self::Cycles => "cycle life of the battery",
        }
    }
}

/// The life of one device.
#[derive(Clone, Copy, Debug)]
pub struct Life {
    /// How long.
    pub time: Seconds,
    /// What ends it.
    pub ending: Ending,
}

/// How one device is used, beside its own inputs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Habits {
    /// How much more often than usual its owner uses it.
    pub usage: f64,
    /// How much warmer than the usage's climate its battery is.
    pub warmer: Celsius,
}

impl Habits {
    /// As the project says.
    pub const USUAL: Self = Self { usage: 1.0, warmer: Celsius(0.0) };
}

/// Mean load of a device in use at a battery voltage; `usage` scales what people cause.
pub fn mean_load(
    device: &Device,
    parameters: &ParameterSample,
    counts: &Counts,
    usage: f64,
    volts: Volts,
) -> LoadCurrent {
    let of = |work| total(&phases(device, parameters, work, volts));
    let refreshes = of(&counts.by_people) * usage + of(&counts.by_itself);
    let rates = counts.rates();
    let always_on = always_on(device, parameters, volts).into_iter().chain(events(device, parameters, &rates, volts));
    always_on.map(|load| load.load_current).chain([refreshes.per(DAY * counts.days)]).sum()
}

/// The peak load of an update in a mode at the coldest temperature at which the mode is allowed, always-on loads
/// included and lights on. `None` where the panel has no such mode or is never warm enough for it.
pub fn peak_when_cold(device: &Device, parameters: &ParameterSample, mode: Mode) -> Option<Peak> {
    cold_peak(&Supplies::new(device, parameters), mode)
}

fn cold_peak(supplies: &Supplies<'_>, mode: Mode) -> Option<Peak> {
    let device = supplies.device;
    let climate = &device.usage.climate;
    let lowest = match mode {
        Mode::Full => climate.low,
        Mode::Partial => {
            let table = device.panel.partial.as_ref()?.knots.first()?.at;
            if table > climate.low { table } else { climate.low }
        }
    };
    moment_of(supplies, mode, lowest).map(|moment| moment.peak)
}

/// The hardest moment of an update in a mode at a temperature, with its parts. `None` where the mode's table does not
/// reach it.
pub fn moment(device: &Device, parameters: &ParameterSample, mode: Mode, temperature: Celsius) -> Option<Moment> {
    moment_of(&Supplies::new(device, parameters), mode, temperature)
}

fn moment_of(supplies: &Supplies<'_>, mode: Mode, temperature: Celsius) -> Option<Moment> {
    let (device, parameters, minimum) = (supplies.device, supplies.parameters, supplies.least_input());
    let work = typical_work(device, mode, temperature)?;
    let rise = match mode {
        Mode::Full => device.panel.full.rise(parameters, temperature),
        Mode::Partial => device.panel.partial.as_ref()?.rise(parameters, temperature),
    };
    let mut all = Maker::on(supplies, device.battery.nominal()).phases(&work);
    let driven =
        all.iter_mut().filter(|phase| phase.cause == Cause::Drive).flat_map(|phase| &mut phase.loads).flatten();
    driven
        .filter(|load| load.rail == device.panel.rail && load.who == Drawer::Panel)
        .for_each(|load| load.drawn = load.drawn + device.panel.currents.drawn(rise));
    let beside = capacitor(device, parameters).and_then(|own| Some((own, source(supplies, temperature)?)));
    Some(match beside {
        Some(beside) => deepest(supplies, (&all, minimum), beside),
        None => hardest(supplies, &all, minimum),
    })
}

/// The battery on which dips beside a capacitor are compared: new, only its reserve left, at a temperature or, where its
/// tables do not reach that, at the usage's mean.
fn source(supplies: &Supplies<'_>, temperature: Celsius) -> Option<(Volts, Ohms)> {
    let cell = supplies.new_cell();
    let case = cell.at(temperature).or_else(|_| cell.at(supplies.device.usage.climate.mean())).ok()?;
    let charge = case.state_of_charge(case.floor());
    Some((case.ocv(charge), case.resistance(charge)))
}

/// The peak load of a full refresh at the coldest temperature, and the least battery voltage all rails need.
pub fn peak(device: &Device, parameters: &ParameterSample) -> (Peak, Volts) {
    let supplies = Supplies::new(device, parameters);
    (cold_peak(&supplies, Mode::Full).unwrap_or_default(), supplies.least_input())
}

/// The loads under which a life ends: those of every kind of update that the policy uses. A device that could go on with
/// partial refreshes alone is not taken to do so: the policy asks for the next full one, and without that nobody states
/// what is left on the display.
fn cut_offs(supplies: &Supplies<'_>) -> Vec<CutOff> {
    let (peak, minimum) = (cold_peak(supplies, Mode::Full).unwrap_or_default(), supplies.least_input());
    let mut all = vec![CutOff { peak, minimum }];
    let partial = (supplies.device.policy.max_partials > 0).then(|| cold_peak(supplies, Mode::Partial)).flatten();
    // One that takes less in every way never ends a life first.
    let less =
        |peak: &Peak, of: &LoadCurrent| peak.load_current.current <= of.current && peak.load_current.power <= of.power;
    if let Some(peak) = partial.filter(|peak| peak.buffered.is_some() || !less(peak, &all[0].peak.load_current)) {
        all.push(CutOff { peak, minimum });
    }
    all
}

/// The charge that a new battery can give at the usage's mean temperature.
///
/// # Errors
/// See [`CellFault`].
pub fn usable(device: &Device, parameters: &ParameterSample, counts: &Counts) -> Result<Coulombs, CellFault> {
    let mean = mean_load(device, parameters, counts, 1.0, device.battery.nominal());
    cell_in_use(device, parameters, counts, mean).usable_charge(device.usage.climate.mean())
}

/// The new cell as it is used: the rate of a mean load, the cycles of the charges, and the rest between updates.
pub fn cell_in_use(device: &Device, parameters: &ParameterSample, counts: &Counts, mean: LoadCurrent) -> Cell {
    in_use(new_cell(device, parameters), device, counts, mean)
}

fn in_use(mut cell: Cell, device: &Device, counts: &Counts, mean: LoadCurrent) -> Cell {
    cell.rate = mean.at(device.battery.nominal()).0 * OHM_AMPERE_HOUR / cell.capacity.0;
    let time = DAY * counts.days.max(f64::MIN_POSITIVE);
    cell.cycles = PerSecond(counts.charges.map_or(0.0, |charges| charges.cycles() / time.0));
    cell.rest = time / (counts.by_people.updates + counts.by_itself.updates).max(1.0);
    cell
}

/// How long a life can be at most, and what bounds it: the battery's age limit, its cycle
/// life or the panel's rated refreshes; `usage`
/// scales what people cause.
pub fn bound(device: &Device, counts: &Counts, usage: f64) -> (Seconds, Ending) {
    let refreshes = (counts.by_people.updates * usage + counts.by_itself.updates) / counts.days;
    let rated = device.panel.rated_refreshes.map(|rated| DAY * (rated as f64 / refreshes.max(1e-9)));
    let ends = [(device.battery.shelf, Ending::Shelf)].into_iter();
    let ends = ends.chain(rated.map(|rated| (rated, Ending::Refreshes)));
    let all = ends.chain(cycle_life(device, counts).map(|time| (time, Ending::Cycles)));
    all.min_by(|a, b| a.0.0.total_cmp(&b.0.0)).unwrap_or((device.battery.shelf, Ending::Shelf))
}

/// How long the full cycles last that the battery is good for. `None` where it isn't charged or no cycle life is stated.
pub fn cycle_life(device: &Device, counts: &Counts) -> Option<Seconds> {
    let cycles = counts.charges.map(|charges| charges.cycles()).filter(|cycles| *cycles > 0.0)?;
    let life = device.battery.cell(&device.inputs.typical(), Seconds(0.0)).cycle_life().ok()??;
    Some(DAY * (counts.days * life.cycles / cycles))
}

/// A charge of the new battery with the device running, from where the device stops: its reserve. `None` without a
/// charger.
///
/// # Errors
/// See [`ChargeFault`].
pub fn recharge(
    device: &Device,
    parameters: &ParameterSample,
    counts: &Counts,
) -> Option<Result<ChargeTime, ChargeFault>> {
    let charger = device.board.charger.as_ref()?;
    let asked = Charger { current: parameters.of(charger.current), termination: parameters.of(charger.termination) };
    let (cell, load) =
        (new_cell(device, parameters), mean_load(device, parameters, counts, 1.0, device.battery.nominal()));
    let from = |case: Case| case.state_of_charge(case.floor());
    let time = |from| cell.charge_time(charger.temperature, from, asked, load);
    Some(cell.at(charger.temperature).map(from).map_err(ChargeFault::from).and_then(time))
}

/// The life of one device.
///
/// # Errors
/// Outside the cell's tables, where nothing is left beside the reserve, or where nothing ends it.
pub fn life(
    device: &Device,
    parameters: &ParameterSample,
    counts: &Counts,
    habits: Habits,
) -> Result<Life, BudgetFault> {
    through(device, parameters, counts, habits, counts.below.len() + 1)
}

/// How long the device's life stays in each stretch of the charge, the fullest first; one alone where it does the same
/// at every charge.
///
/// # Errors
/// See [`life`].
pub fn stretches(device: &Device, parameters: &ParameterSample, counts: &Counts) -> Result<Vec<Seconds>, BudgetFault> {
    let mut before = Seconds(0.0);
    let length = |count| {
        let end = through(device, parameters, counts, Habits::USUAL, count)?.time;
        let length = end - std::mem::replace(&mut before, end);
        Ok(Seconds(length.0.max(0.0)))
    };
    (1..=counts.below.len() + 1).map(length).collect()
}

/// The life to the end of so many stretches of the charge.
fn through(
    device: &Device,
    parameters: &ParameterSample,
    counts: &Counts,
    habits: Habits,
    count: usize,
) -> Result<Life, BudgetFault> {
    let supplies = Supplies::new(device, parameters);
    let of = |counts| course(&supplies, counts, habits.usage).map_err(ageing::AgeingFault::from);
    let first = of(counts)?;
    let mut cell = in_use(supplies.new_cell(), device, counts, first.mean);
    let temperature = within_tables(&cell, device.usage.climate.mean(), habits.warmer);
    cell.kept_at = temperature;
    let cut_offs = cut_offs(&supplies);
    let (limit, bound) = bound(device, counts, habits.usage);
    let coldest = within_tables(&cell, coldest(device), habits.warmer);
    let ageing = Ageing { cell: &cell, temperature, coldest, cut_offs: &cut_offs, age_limit: Some(limit) };
    let run = if counts.below.is_empty() {
        ageing.run(|discharge, from| discharge.between(from, discharge.case.floor(), &first.drawn))
    } else {
        let drawn = |counts| of(counts).map(|course| course.drawn);
        let courses = std::iter::once(Ok(first.drawn)).chain(counts.below.iter().map(|(_, below)| drawn(below)));
        let regime = |((until, _), course): ((Ratio, &Counts), Result<_, _>)| Ok(Regime { until, course: course? });
        let all: Vec<Regime> = regimes(counts).zip(courses).map(regime).collect::<Result<_, ageing::AgeingFault>>()?;
        ageing.run(|discharge, from| super::regimes::through(discharge, from, &all, count))
    };
    let run = run?;
    let ending = match run.ended_by {
        EndedBy::ChargeExhausted => Ending::Charge,
        EndedBy::VoltageTooLow { .. } => Ending::Voltage,
        EndedBy::Collapse { .. } | EndedBy::LoadCollapse => Ending::Collapse,
        EndedBy::AgeLimit => bound,
    };
    Ok(Life { time: run.time, ending })
}

/// The temperature so much warmer than the mean, cut where the cell's tables end; the mean itself stays as it is.
fn within_tables(cell: &Cell, mean: Celsius, warmer: Celsius) -> Celsius {
    if warmer.0 == 0.0 {
        return mean;
    }
    let (capacity, resistance) = (cell.chemistry.capacity.domain(), cell.chemistry.resistance.domain());
    let (low, high) = (capacity.0.0.max(resistance.0.0), capacity.1.0.min(resistance.1.0));
    Celsius((mean + warmer).0.clamp(low.min(mean.0), high.max(mean.0)))
}

//! The battery under the peak load of each kind of update, at every corner of its use: cold and hot, new and aged,
//! full and empty; and the largest update that it can still draw when it is cold, empty and aged.

use super::fault::BudgetFault;
use super::life::{coldest, least_input, moment, new_cell, peak_when_cold};
use crate::cell::capacitor::Peak;
use crate::cell::peak::{Corner, Fill, LoadCurrent, Span, Warmth, Wear, supply_corners, terminal, worst};
use crate::cost::always_on::always_on;
use crate::cost::energy::draw;
use crate::cost::phases::{Drawer, Maker, phases};
use crate::cost::supply::Supply;
use crate::device::Device;
use crate::parameters::ParameterSample;
use crate::refresh::update::{Mode, typical_work};
use crate::units::{Amps, Seconds, Volts};

/// One kind of update at the corners.
#[derive(Clone, Debug)]
pub struct CornerRow {
    /// The waveform.
    pub mode: Mode,
    /// Its peak load, always-on loads included: cold, hot.
    pub peaks: [Peak; 2],
    /// Its eight corners.
    pub supply_corners: Vec<Corner>,
}

/// The battery at its corners.
#[derive(Clone, Debug)]
pub struct SupplyCorners {
    /// The device whose corners they are.
    pub device: ParameterSample,
    /// The least battery voltage that all rails need.
    pub needed: Volts,
    /// Age of the aged cell: half of the battery's age limit.
    pub aged: Seconds,
    /// Each kind of update that the panel has, a full refresh first.
    pub rows: Vec<CornerRow>,
    /// The corner with the lowest voltage of all kinds of update that the policy uses.
    pub worst: Corner,
    /// The kind of update with that voltage; a full refresh where no other is worse.
    pub mode: Mode,
    /// The largest current that the cold, empty, aged battery can still give on the panel's rail.
    pub largest_current: Amps,
    /// The current that the panel takes at its hardest, in the coldest full refresh.
    pub full_current: Amps,
    /// The largest update that it can still draw; `None` where it can draw none.
    pub largest_update: Option<Mode>,
    /// How many such updates the charge kept back pays for, cold.
    pub reserve_updates: f64,
}

impl CornerRow {
    /// The peak load at a corner.
    pub fn peak(&self, at: &Corner) -> &Peak {
        &self.peaks[usize::from(at.warmth == Warmth::Hot)]
    }

    /// The corner with the lowest voltage.
    pub fn worst(&self) -> Option<&Corner> {
        worst(&self.supply_corners)
    }
}

/// The corners of one device; for the budget's, the one with the greatest currents and resistance:
/// [`super::worst_case::weakest`].
///
/// # Errors
/// Where the cell's tables or the full waveform do not reach the usage's temperatures, or nothing is left beside the
/// reserve.
pub fn of(device: &Device, parameters: &ParameterSample) -> Result<SupplyCorners, BudgetFault> {
    let needed = least_input(device, parameters);
    let climate = &device.usage.climate;
    let span = Span { cold: climate.low, hot: climate.high, aged: device.battery.shelf / 2.0 };
    let mut cell = new_cell(device, parameters);
    cell.rest = device.battery.stored;
    let mut rows = Vec::new();
    for mode in [Mode::Full, Mode::Partial] {
        if let Some(cold) = peak_when_cold(device, parameters, mode) {
            let hot = moment(device, parameters, mode, climate.high).map_or_else(|| cold.clone(), |moment| moment.peak);
            let peaks = [cold, hot];
            rows.push(CornerRow { mode, supply_corners: supply_corners(&cell, span, &peaks, needed)?, peaks });
        }
    }
    let no_full = BudgetFault::Waveform { mode: Mode::Full, at: climate.low };
    let first = rows.first().filter(|row| row.mode == Mode::Full).ok_or_else(|| no_full.clone())?;
    let is_end = |at: &&Corner| (at.warmth, at.fill, at.wear) == (Warmth::Cold, Fill::Empty, Wear::Aged);
    let end = first.supply_corners.iter().find(is_end).ok_or_else(|| no_full.clone())?;
    let mut worst = (Mode::Full, *first.worst().ok_or(no_full)?);
    for row in rows.iter().filter(|row| row.mode == Mode::Partial && device.policy.max_partials > 0) {
        let height = |corner: &Corner| corner.terminal.volts().map_or(f64::NEG_INFINITY, f64::from);
        if let Some(corner) = row.worst().filter(|corner| height(corner) < height(&worst.1)) {
            worst = (row.mode, *corner);
        }
    }
    let (mode, worst) = worst;
    let holds = |row: &&CornerRow| row.worst().is_some_and(|corner| corner.terminal.reaches(needed));
    let largest_update = rows.iter().find(holds).map(|row| row.mode);
    let kept = cell.factors(coldest(device)).ok().map(|factors| factors.stored() * factors.reserve.0);
    let one = largest_update.and_then(|mode| typical_work(device, mode, coldest(device)));
    let reserve_updates =
        kept.zip(one).map_or(0.0, |(kept, work)| kept / draw(device, parameters, &work).charge_at(needed));
    Ok(SupplyCorners {
        device: parameters.clone(),
        needed,
        aged: span.aged,
        largest_current: largest_current(device, parameters, end, needed),
        full_current: full_current(device, parameters),
        worst,
        mode,
        largest_update,
        reserve_updates,
        rows,
    })
}

/// The current of the panel's full waveform at the coldest temperature, or of its booster where that is larger.
fn full_current(device: &Device, parameters: &ParameterSample) -> Amps {
    let Some(work) = typical_work(device, Mode::Full, coldest(device)) else {
        return Amps(0.0);
    };
    let volts = device.battery.nominal();
    let maker = Maker::new(device, parameters, volts);
    let phases = phases(device, parameters, &work, volts);
    let loads = phases.iter().filter(|phase| phase.time.0 > 0.0).flat_map(|phase| phase.loads.iter().flatten());
    let panel = loads.filter(|load| load.who == Drawer::Panel).map(|load| maker.current(load).0);
    Amps(panel.fold(0.0, f64::max))
}

/// The largest current on the panel's rail at which the terminals still hold `needed`, all always-on loads drawn too.
fn largest_current(device: &Device, parameters: &ParameterSample, at: &Corner, needed: Volts) -> Amps {
    let always: LoadCurrent = always_on(device, parameters, needed).into_iter().map(|load| load.on).sum();
    let (supply, rail) = (Supply::new(device, parameters, needed), device.panel.rail);
    let holds = |current: f64| {
        let load_current = supply.beyond(supply.needs(rail), &[(rail, LoadCurrent::current(Amps(current)))]) + always;
        terminal(at.ocv, at.resistance, load_current).reaches(needed)
    };
    // Far beyond what any panel takes; 50 halvings of it are finer than a nanoampere.
    const MOST: f64 = 10.0;
    if holds(MOST) {
        return Amps(MOST);
    }
    let (mut good, mut bad) = (0.0, MOST);
    if !holds(good) {
        return Amps(0.0);
    }
    for _ in 0..50 {
        let middle = 0.5 * (good + bad);
        if holds(middle) { good = middle } else { bad = middle }
    }
    Amps(good)
}

/// `cold, empty, aged` and the like.
pub fn words(corner: &Corner) -> String {
    let warmth = if corner.warmth == Warmth::Cold { "cold" } else { "hot" };
    let fill = if corner.fill == Fill::Full { "full" } else { "empty" };
    let wear = if corner.wear == Wear::New { "new" } else { "aged" };
    format!("{warmth}, {fill}, {wear}")
}

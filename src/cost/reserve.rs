//! The battery that a device begins with, and what it keeps in reserve: the stated share and the charge of the last
//! screen.
//!
//! Not for what the battery does under load or over time: see [`crate::cell`] and [`super::battery_state`].

use super::phases::{Maker, total};
use super::supplies::Supplies;
use crate::cell::Cell;
use crate::device::Device;
use crate::device::consumers::{Consumer, consumers};
use crate::hardware::need::least_battery;
use crate::hardware::rail::{Draw, Rail, RailId};
use crate::parameters::ParameterSample;
use crate::refresh::update::{Mode, typical_work};
use crate::units::{Amps, Celsius, Ratio, Seconds, Volts};

/// The coldest temperature of the usage.
pub fn coldest(device: &Device) -> Celsius {
    device.usage.climate.low
}

/// What a device needs of its battery's voltage, and for whom.
#[derive(Clone, Debug, PartialEq)]
pub struct Needed {
    /// The least battery voltage.
    pub least: Volts,
    /// The consumer whose supply window asks for it, its rail and its voltage; `None` where a rail or the cell does.
    pub by: Option<(String, RailId, Volts)>,
}

/// The least battery voltage at which every rail works and every consumer that is needed stays in its supply window.
pub fn least_input(device: &Device, parameters: &ParameterSample) -> Volts {
    Supplies::new(device, parameters).least_input()
}

impl Supplies<'_> {
    /// See [`least_input`].
    pub fn least_input(&self) -> Volts {
        *self.least.get_or_init(|| least(self.device, self.parameters, &self.carried()))
    }

    /// What flows on each rail at most, where a load switch drops a voltage with it; nothing otherwise.
    fn carried(&self) -> Vec<Amps> {
        let [_, most] = if self.device.board.rails.iter().any(Rail::sags) {
            self.currents(self.device.battery.nominal())
        } else {
            Default::default()
        };
        most
    }

    /// See [`new_cell`].
    pub fn new_cell(&self) -> Cell {
        let device = self.device;
        let mut cell = device.battery.cell(self.parameters, Seconds(0.0));
        cell.kept_at = device.usage.climate.mean();
        cell.swings = device.usage.climate.swings().clone();
        let kept = self.last_screen().charge_at(self.least_input());
        if let Ok(factors) = cell.factors(coldest(device)).or_else(|_| cell.factors(device.usage.climate.mean())) {
            cell.reserve = Ratio((cell.reserve.0 + kept / factors.stored()).clamp(0.0, 1.0));
        }
        cell
    }

    /// See [`last_screen`].
    pub fn last_screen(&self) -> Draw {
        let device = self.device;
        let work = typical_work(device, Mode::Full, coldest(device)).unwrap_or_default();
        total(&Maker::on(self, device.battery.nominal()).phases(&work))
    }
}

fn least(device: &Device, parameters: &ParameterSample, most: &[Amps]) -> Volts {
    let rails = &device.board.rails;
    let floor = device.battery.chemistry.minimum * f64::from(device.battery.series);
    let own = (0..rails.len()).map(|rail| least_battery(rails, parameters, most, RailId(rail), Volts(0.0)));
    let windows = consumers(&device.board, &device.panel, &device.events);
    let windows = windows.iter().filter(|consumer| consumer.needed);
    let windows = windows.map(|consumer| least_battery(rails, parameters, most, consumer.rail, consumer.window.min));
    own.chain(windows).fold(floor, |most, volts| if volts > most { volts } else { most })
}

/// As [`least_input`], with the consumer that asks for it.
pub fn needed(device: &Device, parameters: &ParameterSample) -> Needed {
    let most = Supplies::new(device, parameters).carried();
    let (rails, least) = (&device.board.rails, least(device, parameters, &most));
    let asks = |consumer: &Consumer<'_>| {
        let own = least_battery(rails, parameters, &most, consumer.rail, Volts(0.0));
        let here = least_battery(rails, parameters, &most, consumer.rail, consumer.window.min);
        consumer.needed && here >= least && here > own
    };
    let by = consumers(&device.board, &device.panel, &device.events).into_iter().find(asks);
    Needed { least, by: by.map(|consumer| (consumer.who, consumer.rail, consumer.window.min)) }
}

/// A load that the device goes on without.
#[derive(Clone, Debug, PartialEq)]
pub struct Unsupplied {
    /// Who it is.
    pub who: String,
    /// The minimum of its supply window.
    pub needs: Volts,
    /// The battery voltage below which its rail is under that.
    pub below: Volts,
    /// The share of the new battery's usable charge that is below it, at the usage's mean temperature.
    pub charge: Ratio,
    /// The least battery voltage of the device itself.
    pub least: Volts,
}

/// The loads that are not needed and are outside their supply window while the device lives on.
pub fn unsupplied(device: &Device, parameters: &ParameterSample) -> Vec<Unsupplied> {
    let supplies = Supplies::new(device, parameters);
    let (rails, least, most) = (&device.board.rails, supplies.least_input(), supplies.carried());
    let case = supplies.new_cell().at(device.usage.climate.mean()).ok();
    let unneeded = consumers(&device.board, &device.panel, &device.events).into_iter().filter(|one| !one.needed);
    let one = |consumer: Consumer<'_>| {
        let below = least_battery(rails, parameters, &most, consumer.rail, consumer.window.min);
        let case = case.as_ref().filter(|_| below > least)?;
        let [empty, full] = [case.floor(), case.start()].map(|charge| case.state_of_charge(charge).0);
        // The open-circuit voltage never falls as the charge rises; 40 halvings are finer than a percent by far.
        let (mut low, mut high) = (empty, full);
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if case.ocv(Ratio(middle)) < below { low = middle } else { high = middle }
        }
        let charge = Ratio((low - empty) / (full - empty));
        (charge.0 > 1e-6).then_some(Unsupplied { who: consumer.who, needs: consumer.window.min, below, charge, least })
    };
    unneeded.filter_map(one).collect()
}

/// What the last screen needs at the coldest temperature: one full refresh.
pub fn last_screen(device: &Device, parameters: &ParameterSample) -> Draw {
    Supplies::new(device, parameters).last_screen()
}

/// The battery of one device when new; the charge of the last screen is kept back beside the stated reserve, as a share
/// of what the battery stores at its coldest, so that it is there when it is needed.
pub fn new_cell(device: &Device, parameters: &ParameterSample) -> Cell {
    Supplies::new(device, parameters).new_cell()
}

//! The battery's state of charge while a device is used and comes to its charger now and then.
//!
//! One definition of the state of charge everywhere: that of the open-circuit table, 1 at the chemistry's largest
//! voltage. A cell charged to less is full below 1, and full cycles count the charge between 0 and 1. The state stays
//! when the temperature changes. Load currents are those at the battery's half-full voltage. Not for the life until the
//! battery is empty: that is integrated over the falling voltage, in [`crate::budget::life`].

use super::always_on::always_on;
use super::reserve::new_cell;
use crate::cell::charging::{ChargeFault, Charger};
use crate::cell::peak::LoadCurrent;
use crate::cell::{Case, Cell, CellFault};
use crate::device::Device;
use crate::parameters::ParameterSample;
use crate::units::{Amps, Celsius, Coulombs, Ratio, Seconds, Volts};

/// What the charges of a simulation came to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Charges {
    /// How often the device was at its charger.
    pub count: u64,
    /// State of charge of the full battery: below 1 where it is charged to less than the chemistry's largest voltage.
    pub full: Ratio,
    /// The lowest state of charge.
    pub lowest: Ratio,
    /// Charge put into the battery.
    pub charged: Coulombs,
    /// Charge between a state of charge of 0 and 1.
    pub whole: Coulombs,
    /// When it was empty, its reserve apart, for the first time.
    pub empty: Option<Seconds>,
    /// Charges that could not be made: outside the cell's limits, or the device takes all the charger gives.
    pub refused: u64,
}

impl Charges {
    /// Full cycles that the charges come to.
    pub fn cycles(&self) -> f64 {
        self.charged / self.whole
    }
}

/// Where and how a battery is charged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dock {
    /// The charger.
    pub charger: Charger,
    /// Its temperature.
    pub temperature: Celsius,
}

/// The battery of a running device.
#[derive(Debug)]
pub struct BatteryState {
    cell: Cell,
    /// The cell at the temperature of use.
    case: Case,
    dock: Dock,
    charge: Coulombs,
    always: LoadCurrent,
    drain: Amps,
    since: Seconds,
    docked: bool,
    /// What came of it so far.
    pub charges: Charges,
}

impl BatteryState {
    /// The full battery of a device. `None` without a charger, or outside the cell's tables.
    pub fn new(device: &Device, parameters: &ParameterSample) -> Option<Self> {
        let charger = device.board.charger.as_ref()?;
        let dock = Dock {
            charger: Charger {
                current: parameters.of(charger.current),
                termination: parameters.of(charger.termination),
            },
            temperature: charger.temperature,
        };
        let always: LoadCurrent =
            always_on(device, parameters, device.battery.nominal()).into_iter().map(|load| load.load_current).sum();
        let climate = device.usage.climate.mean();
        Self::full(new_cell(device, parameters), climate, dock, (always, device.battery.nominal())).ok()
    }

    /// A full cell used at a temperature, under a load that is always there, its current taken at a voltage.
    ///
    /// # Errors
    /// A cell that cannot be, or a temperature outside its tables.
    pub fn full(
        cell: Cell,
        temperature: Celsius,
        dock: Dock,
        (always, nominal): (LoadCurrent, Volts),
    ) -> Result<Self, CellFault> {
        let case = cell.at(temperature)?;
        let (charge, whole) = (case.start(), case.charge(Ratio(1.0)));
        let full = case.state_of_charge(charge);
        Ok(Self {
            dock,
            charge,
            drain: always.at(nominal),
            always,
            since: Seconds(0.0),
            docked: false,
            charges: Charges { count: 0, full, lowest: full, charged: Coulombs(0.0), whole, empty: None, refused: 0 },
            case,
            cell,
        })
    }

    /// The state of charge when it was last looked at.
    pub fn state_of_charge(&self) -> Ratio {
        self.case.state_of_charge(self.charge)
    }

    /// What refreshes and events take at once; at the charger they are fed from there.
    pub fn spend(&mut self, charge: Coulombs, now: Seconds) {
        self.drain_until(now);
        if !self.docked {
            self.charge = self.charge - charge;
            self.note(now);
        }
    }

    /// The device comes to its charger.
    pub fn plug(&mut self, now: Seconds) {
        self.drain_until(now);
        self.docked = true;
        self.since = now;
    }

    /// It is taken away.
    pub fn unplug(&mut self, now: Seconds) {
        if !std::mem::take(&mut self.docked) {
            return;
        }
        let elapsed = now - self.since;
        self.since = now;
        match self.charged_for(elapsed) {
            Ok(to) => {
                let to = self.case.charge(to);
                // Rounding alone could make a full battery lose by a charge.
                self.charges.charged += Coulombs((to - self.charge).0.max(0.0));
                self.charge = to;
                self.charges.count += 1;
            }
            Err(_) => self.charges.refused += 1,
        }
    }

    /// The end of the simulation.
    pub fn end(&mut self, now: Seconds) {
        self.drain_until(now);
    }

    fn charged_for(&self, time: Seconds) -> Result<Ratio, ChargeFault> {
        let from = Ratio(self.state_of_charge().0.clamp(0.0, 1.0));
        self.cell.charge_for(self.dock.temperature, from, self.dock.charger, self.always, time)
    }

    /// The load and self-discharge, which acts on what lies above the reserve: `dq/dt = -I - k (q - q_reserve)`.
    fn drain_until(&mut self, now: Seconds) {
        if self.docked {
            return;
        }
        let (time, rate, floor) = (now - self.since, self.case.self_discharge().0, self.case.floor());
        let decayed = -(-rate * time.0).exp_m1();
        let drawn = if rate > 0.0 { self.drain.0 * decayed / rate } else { self.drain.0 * time.0 };
        let lost = (self.charge - floor).0.max(0.0) * decayed;
        self.charge = self.charge - Coulombs(drawn + lost);
        self.since = now;
        self.note(now);
    }

    fn note(&mut self, now: Seconds) {
        let floor = self.case.floor();
        if self.charge < floor {
            self.charges.empty.get_or_insert(now);
            self.charge = floor;
        }
        let state = self.state_of_charge();
        if state < self.charges.lowest {
            self.charges.lowest = state;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cell::chemistry::{Chemistry, Kind};
    use crate::units::{Ohms, PerSecond, YEAR};

    const RATE: f64 = 0.3 / YEAR;
    const OHMS: f64 = 0.4;
    const LOAD: f64 = 0.004;
    const CHARGER: Charger = Charger { current: Amps(0.1), termination: Amps(0.02) };
    /// Hours in use and at the charger: one that ends before its end, and one that is long enough.
    const SHORT: [f64; 2] = [23.0, 0.8];
    const LONG: [f64; 2] = [16.0, 8.0];

    /// 400 mAh, charged to 4.1 V.
    fn cell() -> Cell {
        let chemistry = Chemistry::built_in(Kind::LithiumIon).unwrap();
        Cell {
            resistance: Ohms(OHMS),
            self_discharge: PerSecond(RATE),
            float_voltage: Some(Volts(4.1)),
            ..Cell::typical(chemistry.into(), Coulombs(1440.0))
        }
    }

    /// The same device in small steps of time: the charge after each charge, and all that was put in.
    fn stepped([used, docked]: [f64; 2], days: u32) -> (Vec<f64>, f64) {
        const STEP: f64 = 1.0;
        let cell = cell();
        // What it is at 20 degrees Celsius is `RATE`.
        let rate = cell.at(Celsius(25.0)).unwrap().self_discharge().0;
        let ohms = |q: f64| cell.resistance(Ratio(q / 1440.0), Celsius(25.0)).unwrap().0;
        let ocv = |q: f64| cell.ocv(Ratio(q / 1440.0)).0;
        let (mut q, mut put, mut after) = (0.875 * 1440.0, 0.0, Vec::new());
        for _ in 0..days {
            for _ in 0..(used * 3600.0 / STEP) as u32 {
                q -= (LOAD + rate * q) * STEP;
            }
            for _ in 0..(docked * 3600.0 / STEP) as u32 {
                let into = ((4.1 - ocv(q)) / ohms(q)).min(CHARGER.current.0 - LOAD);
                if into + LOAD <= CHARGER.termination.0 {
                    break;
                }
                q += into * STEP;
                put += into * STEP;
            }
            after.push(q / 1440.0);
        }
        (after, put)
    }

    fn docked([used, docked]: [f64; 2], days: u32) -> (Vec<f64>, Charges) {
        let dock = Dock { charger: CHARGER, temperature: Celsius(25.0) };
        let always = (LoadCurrent::current(Amps(LOAD)), Volts(3.8));
        let mut state = BatteryState::full(cell(), Celsius(25.0), dock, always).unwrap();
        let (mut now, mut after) = (0.0, Vec::new());
        for _ in 0..days {
            now += used * 3600.0;
            state.plug(Seconds(now));
            now += docked * 3600.0;
            state.unplug(Seconds(now));
            after.push(state.state_of_charge().0);
        }
        (after, state.charges)
    }

    #[test]
    fn a_device_charged_to_less_than_the_most_agrees_with_small_steps_of_time() {
        for (plan, days) in [(SHORT, 6), (LONG, 6)] {
            let (expected, put) = stepped(plan, days);
            let (found, charges) = docked(plan, days);
            assert_eq!((charges.count, charges.refused, charges.full), (u64::from(days), 0, Ratio(0.875)));
            for (found, expected) in found.iter().zip(&expected) {
                assert!((found - expected).abs() < 2e-4, "{plan:?}: {found}, by steps {expected}");
            }
            assert!((charges.charged.0 / put - 1.0).abs() < 1e-3, "{} for {put}", charges.charged);
            assert!(charges.cycles() > 0.05 * f64::from(days), "{} cycles", charges.cycles());
        }
    }
}

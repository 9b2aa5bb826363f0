//! The battery's state of charge while a device is used and comes to its charger now and then.
//!
//! One definition of the state of charge everywhere: that of the open-circuit table, 1 at the chemistry's largest
//! voltage. Full is where the charger stops, below 1 for a cell charged to less, and full cycles count the charge between
//! 0 and 1. The state stays when the temperature changes. Load currents are those at the battery's half-full voltage. Not
//! for the life until the battery is empty: that is integrated over the falling voltage, in [`crate::budget::life`].

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
    /// State of charge of the full battery, where its charger stops: below 1 where it is charged to less than the
    /// chemistry's largest voltage, and by what is missing at the termination current.
    pub full: Ratio,
    /// The lowest state of charge.
    pub lowest: Ratio,
    /// Charge that the battery gave and lost, which the charger puts back.
    pub given: Coulombs,
    /// Charge between a state of charge of 0 and 1.
    pub whole: Coulombs,
    /// When it was empty, its reserve apart, for the first time; where the charger comes less often than days are
    /// simulated, after it was taken from there, by the mean of the simulated days.
    pub empty: Option<Seconds>,
    /// Charges that could not be made: outside the cell's limits, or the device takes all the charger gives.
    pub refused: u64,
}

impl Charges {
    /// Full cycles that the use comes to: all that was given, in whole batteries. It does not matter when the charges
    /// come.
    pub fn cycles(&self) -> f64 {
        self.given / self.whole
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
    /// Time in use so far.
    used: Seconds,
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

    /// A full cell used at a temperature, under a load that is always there, its current taken at a voltage. Full is
    /// where its charger stops, which lies below what the charge voltage stores by what is missing at the termination
    /// current; where the charger cannot charge it at all, what the charge voltage stores.
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
        let empty = Ratio(case.state_of_charge(case.floor()).0.clamp(0.0, 1.0));
        let charged = cell.charge_time(dock.temperature, empty, dock.charger, always);
        let full = charged.map_or_else(|_| case.state_of_charge(case.start()), |time| time.to);
        let (charge, whole) = (case.charge(full), case.charge(Ratio(1.0)));
        Ok(Self {
            dock,
            charge,
            drain: always.at(nominal),
            always,
            since: Seconds(0.0),
            docked: false,
            used: Seconds(0.0),
            charges: Charges { count: 0, full, lowest: full, given: Coulombs(0.0), whole, empty: None, refused: 0 },
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
            self.give(charge, now);
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
                self.charge = Coulombs(to.0.max(self.charge.0));
                self.charges.count += 1;
            }
            Err(_) => self.charges.refused += 1,
        }
    }

    /// The end of the simulation. `away` is how long the device is away from its charger where that is longer than
    /// what was simulated: it goes on so, by the mean of the simulated days.
    pub fn end(&mut self, now: Seconds, away: Option<Seconds>) {
        self.drain_until(now);
        let Some(away) = away.filter(|_| self.charges.given.0 > 0.0 && self.used.0 > 0.0) else { return };
        let mean = self.charges.given / self.used;
        let (full, floor) = (self.case.charge(self.charges.full), self.case.floor());
        let left = full - mean * away;
        if left < floor {
            self.charges.empty.get_or_insert((full - floor) / mean);
        }
        let lowest = self.case.state_of_charge(Coulombs(left.0.max(floor.0)));
        self.charges.lowest = Ratio(self.charges.lowest.0.min(lowest.0));
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
        self.since = now;
        self.used += time;
        self.give(Coulombs(drawn + lost), now);
    }

    fn give(&mut self, charge: Coulombs, now: Seconds) {
        let floor = self.case.floor();
        let before = self.charge;
        self.charge = self.charge - charge;
        if self.charge < floor {
            self.charges.empty.get_or_insert(now);
            self.charge = floor;
        }
        self.charges.given += before - self.charge;
        let state = self.state_of_charge();
        if state < self.charges.lowest {
            self.charges.lowest = state;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cell::chemistry::{Chemistry, ChemistryKind};
    use crate::units::{Ohms, PerSecond, YEAR};

    const RATE: f64 = 0.3 / YEAR;
    const OHMS: f64 = 0.4;
    const CHARGER: Charger = Charger { current: Amps(0.1), termination: Amps(0.02) };

    /// A daily plan: hours in use and at the charger, and the load.
    #[derive(Clone, Copy, Debug)]
    struct Plan {
        used: f64,
        docked: f64,
        load: f64,
    }

    /// One that leaves the charger before its end, one that stays to it, and one that takes less in a day than what is
    /// missing at the termination current.
    const PLANS: [Plan; 3] = [
        Plan { used: 23.0, docked: 0.8, load: 0.004 },
        Plan { used: 16.0, docked: 8.0, load: 0.004 },
        Plan { used: 16.0, docked: 8.0, load: 0.000_02 },
    ];

    /// 400 mAh, charged to 4.1 V.
    fn cell() -> Cell {
        let chemistry = Chemistry::built_in(ChemistryKind::LithiumIon).unwrap();
        Cell {
            resistance: Ohms(OHMS),
            self_discharge: PerSecond(RATE),
            float_voltage: Some(Volts(4.1)),
            ..Cell::typical(chemistry.into(), Coulombs(1440.0))
        }
    }

    const STEP: f64 = 1.0;

    /// The charge after hours at the charger, in small steps of time, and what was put in.
    fn charged(mut q: f64, hours: f64, load: f64) -> (f64, f64) {
        let cell = cell();
        let ohms = |q: f64| cell.resistance(Ratio(q / 1440.0), Celsius(25.0)).unwrap().0;
        let ocv = |q: f64| cell.ocv(Ratio(q / 1440.0)).0;
        let mut put = 0.0;
        for _ in 0..(hours * 3600.0 / STEP) as u32 {
            let into = ((4.1 - ocv(q)) / ohms(q)).min(CHARGER.current.0 - load);
            if into + load <= CHARGER.termination.0 {
                break;
            }
            q += into * STEP;
            put += into * STEP;
        }
        (q, put)
    }

    /// The same device in small steps of time: the state of charge after each charge, and all that was given. It begins
    /// with a battery that was charged from empty.
    fn stepped(plan: Plan, days: u32) -> (f64, Vec<f64>, f64) {
        // What it is at 20 degrees Celsius is `RATE`.
        let rate = cell().at(Celsius(25.0)).unwrap().self_discharge().0;
        let mut q = charged(0.0, 24.0, plan.load).0;
        let (first, mut all, mut after) = (q / 1440.0, 0.0, Vec::new());
        for _ in 0..days {
            for _ in 0..(plan.used * 3600.0 / STEP) as u32 {
                q -= (plan.load + rate * q) * STEP;
                all += (plan.load + rate * q) * STEP;
            }
            q = charged(q, plan.docked, plan.load).0;
            after.push(q / 1440.0);
        }
        (first, after, all)
    }

    fn docked(plan: Plan, days: u32) -> (Vec<f64>, Charges) {
        let dock = Dock { charger: CHARGER, temperature: Celsius(25.0) };
        let always = (LoadCurrent::current(Amps(plan.load)), Volts(3.8));
        let mut state = BatteryState::full(cell(), Celsius(25.0), dock, always).unwrap();
        let (mut now, mut after) = (0.0, Vec::new());
        for _ in 0..days {
            now += plan.used * 3600.0;
            state.plug(Seconds(now));
            now += plan.docked * 3600.0;
            state.unplug(Seconds(now));
            after.push(state.state_of_charge().0);
        }
        (after, state.charges)
    }

    #[test]
    fn a_device_charged_to_less_than_the_most_agrees_with_small_steps_of_time() {
        for plan in PLANS {
            let days = 7;
            let (first, expected, given) = stepped(plan, days);
            let (found, charges) = docked(plan, days);
            assert_eq!((charges.count, charges.refused), (u64::from(days), 0));
            assert!((charges.full.0 - first).abs() < 2e-4, "{plan:?}: {}, by steps {first}", charges.full);
            for (found, expected) in found.iter().zip(&expected) {
                assert!((found - expected).abs() < 2e-4, "{plan:?}: {found}, by steps {expected}");
            }
            assert!((charges.given.0 / given - 1.0).abs() < 1e-3, "{plan:?}: {} for {given}", charges.given);
        }
    }

    #[test]
    fn what_a_docked_device_takes_is_put_back() {
        for plan in &PLANS[1..] {
            let (after, charges) = docked(*plan, 7);
            assert!(after.iter().all(|state| (state - charges.full.0).abs() < 1e-9), "{plan:?}: {after:?}");
            // In the few hours between charges the self-discharge is that of the full battery.
            let lost = cell().at(Celsius(25.0)).unwrap().self_discharge().0 * charges.full.0 * 1440.0;
            let taken = (plan.load + lost) * plan.used * 3600.0 * 7.0;
            assert!((charges.given.0 / taken - 1.0).abs() < 0.02, "{plan:?}: {} for {taken}", charges.given);
        }
    }

    /// A week at 4 mA, then three more: by hand 0.004 A x 86,400 s x 28 of 1440 C are 6.72 full cycles, so that it is
    /// empty after a sixth of the time.
    #[test]
    fn what_lies_beyond_the_simulated_days_goes_on_as_in_them() {
        let dock = Dock { charger: CHARGER, temperature: Celsius(25.0) };
        let always = (LoadCurrent::current(Amps(0.004)), Volts(3.8));
        let cell = Cell { self_discharge: PerSecond(0.0), ..cell() };
        let mut state = BatteryState::full(cell.clone(), Celsius(25.0), dock, always).unwrap();
        state.end(Seconds(86_400.0), Some(Seconds(28.0 * 86_400.0)));
        let case = cell.at(Celsius(25.0)).unwrap();
        let usable = case.charge(state.charges.full) - case.floor();
        assert!((state.charges.cycles() - 345.6 / 1440.0).abs() < 1e-9, "{}", state.charges.cycles());
        let empty = state.charges.empty.unwrap();
        assert!((empty.0 * 0.004 / usable.0 - 1.0).abs() < 1e-9, "{empty}");
        assert!((state.charges.lowest.0 - case.state_of_charge(case.floor()).0).abs() < 1e-9);
        // Half of it is left where half of that time is asked for.
        let mut state = BatteryState::full(cell, Celsius(25.0), dock, always).unwrap();
        state.end(Seconds(86_400.0), Some(empty * 0.5));
        assert_eq!(state.charges.empty, None);
        let left = case.charge(state.charges.lowest) - case.floor();
        assert!((left.0 / usable.0 - 0.5).abs() < 1e-9, "{left}");
    }

    /// A fifth is kept back: with `f` for it the charge is `f + (q - f) e^(-kt) - I/k (1 - e^(-kt))` after a time, and empty
    /// is `f`. By hand for 30 days; and by the mean of them after that.
    #[test]
    fn a_reserve_neither_discharges_itself_nor_is_used() {
        let dock = Dock { charger: CHARGER, temperature: Celsius(25.0) };
        let (load, days) = (0.000_2, 30.0 * 86_400.0);
        let always = (LoadCurrent::current(Amps(load)), Volts(3.8));
        let cell = Cell { reserve: Ratio(0.2), ..cell() };
        let case = cell.at(Celsius(25.0)).unwrap();
        let (floor, rate) = (case.floor().0, case.self_discharge().0);
        assert!(floor > 0.0);
        let mut state = BatteryState::full(cell, Celsius(25.0), dock, always).unwrap();
        let full = case.charge(state.charges.full).0;
        state.end(Seconds(days), Some(Seconds(1e9)));
        let left = (-rate * days).exp();
        let given = (full - floor) * (1.0 - left) + load / rate * (1.0 - left);
        assert!((state.charges.given.0 / given - 1.0).abs() < 1e-9, "{} for {given}", state.charges.given);
        let empty = state.charges.empty.unwrap().0;
        assert!((empty / ((full - floor) * days / given) - 1.0).abs() < 1e-9, "{empty} s");
    }

    /// What is given at once, before any time has passed, tells no mean.
    #[test]
    fn no_mean_is_told_of_no_time() {
        let dock = Dock { charger: CHARGER, temperature: Celsius(25.0) };
        let always = (LoadCurrent::current(Amps(0.004)), Volts(3.8));
        let mut state = BatteryState::full(cell(), Celsius(25.0), dock, always).unwrap();
        state.spend(Coulombs(1.0), Seconds(0.0));
        state.end(Seconds(0.0), Some(Seconds(86_400.0)));
        assert_eq!((state.charges.empty, state.charges.given), (None, Coulombs(1.0)));
    }

    /// The device takes all that the charger gives: nothing is put in, and each time it is told.
    #[test]
    fn a_charger_weaker_than_the_device_is_told_each_time() {
        let plan = Plan { used: 0.5, docked: 1.0, load: 0.11 };
        let (after, charges) = docked(plan, 3);
        assert_eq!((charges.count, charges.refused), (0, 3));
        assert!(after[0] > after[1] && after[1] > after[2], "{after:?}");
    }
}

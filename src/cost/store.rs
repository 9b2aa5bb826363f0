//! What is left in the battery while a device is used and comes to its charger now and then.
//!
//! Currents are those at the battery's half-full voltage. Not for the life until the battery is empty: that is
//! integrated over the falling voltage, in [`crate::budget::life`].

use crate::cell::Cell;
use crate::cell::charging::{ChargeTime, Charger};
use crate::cell::peak::Pull;
use crate::cost::standing::standing;
use crate::device::Device;
use crate::parameters::Point;
use crate::units::{Amps, Celsius, Coulombs, Ratio, Seconds};

/// What the charges of a simulation came to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Charges {
    /// How often the device was at its charger.
    pub count: u64,
    /// The lowest state of charge.
    pub lowest: Ratio,
    /// Charge put into the battery.
    pub charged: Coulombs,
    /// Charge of the full battery.
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

/// The battery of a running device.
#[derive(Debug)]
pub struct Store {
    cell: Cell,
    charger: Charger,
    temperature: Celsius,
    floor: Coulombs,
    left: Coulombs,
    always: Pull,
    drain: Amps,
    since: Seconds,
    /// Since when the device is at its charger, and what the charge would be to its end.
    charging: Option<Option<ChargeTime>>,
    /// What came of it so far.
    pub charges: Charges,
}

impl Store {
    /// A full battery. `None` without a charger, or outside the cell's tables.
    pub fn new(device: &Device, point: &Point) -> Option<Self> {
        let charger = device.board.charger.as_ref()?;
        let cell = device.battery.cell(point, Seconds(0.0));
        let case = cell.at(device.usage.climate.mean()).ok()?;
        let always: Pull = standing(device, point).into_iter().map(|load| load.pull).sum();
        let whole = case.start();
        Some(Self {
            charger: Charger { current: point.of(charger.current), taper: point.of(charger.taper) },
            temperature: charger.temperature,
            floor: case.floor(),
            left: whole,
            drain: always.at(device.battery.nominal()),
            always,
            since: Seconds(0.0),
            charging: None,
            charges: Charges { count: 0, lowest: Ratio(1.0), charged: Coulombs(0.0), whole, empty: None, refused: 0 },
            cell,
        })
    }

    /// What refreshes and events take at once; at the charger they are fed from there.
    pub fn spend(&mut self, charge: Coulombs, now: Seconds) {
        self.drain_until(now);
        if self.charging.is_none() {
            self.left = self.left - charge;
            self.note(now);
        }
    }

    /// The device comes to its charger.
    pub fn plug(&mut self, now: Seconds) {
        self.drain_until(now);
        let from = Ratio((self.left / self.charges.whole).clamp(0.0, 1.0));
        self.charging = Some(self.cell.charge_time(self.temperature, from, self.charger, self.always).ok());
        self.since = now;
    }

    /// It is taken away.
    pub fn unplug(&mut self, now: Seconds) {
        let Some(charge) = self.charging.take() else { return };
        let elapsed = now - self.since;
        self.since = now;
        match charge {
            Some(charge) => {
                let put = put_in(&charge, self.charges.whole, elapsed);
                self.left += put;
                self.charges.charged += put;
                self.charges.count += 1;
            }
            None => self.charges.refused += 1,
        }
    }

    /// The end of the simulation.
    pub fn end(&mut self, now: Seconds) {
        self.drain_until(now);
    }

    fn drain_until(&mut self, now: Seconds) {
        if self.charging.is_none() {
            self.left = self.left - self.drain * (now - self.since);
            self.since = now;
            self.note(now);
        }
    }

    fn note(&mut self, now: Seconds) {
        if self.left < self.floor {
            self.charges.empty.get_or_insert(now);
            self.left = self.floor;
        }
        let state = Ratio(self.left / self.charges.whole);
        if state < self.charges.lowest {
            self.charges.lowest = state;
        }
    }
}

/// What a charge has put in after a time: evenly at constant current; after that the current falls from its beginning
/// to its end by equal ratios in equal times, which is exact where voltage and resistance are straight lines.
fn put_in(charge: &ChargeTime, whole: Coulombs, time: Seconds) -> Coulombs {
    let first = whole * (charge.turn.0 - charge.from.0).max(0.0);
    let second = charge.charge - first;
    if time >= charge.total() {
        return charge.charge;
    }
    if time <= charge.constant_current {
        return first * (time / charge.constant_current);
    }
    // Ten to one from the constant current to the taper is usual; the shape between hardly depends on it.
    const FALL: f64 = 10.0;
    let share = (time - charge.constant_current) / charge.constant_voltage;
    first + second * ((1.0 - FALL.powf(-share)) / (1.0 - 1.0 / FALL))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_charge_grows_steadily_to_its_end() {
        let charge = ChargeTime {
            constant_current: Seconds(3_600.0),
            constant_voltage: Seconds(1_800.0),
            from: Ratio(0.2),
            turn: Ratio(0.8),
            to: Ratio(1.0),
            charge: Coulombs(80.0),
        };
        let at = |minutes: f64| put_in(&charge, Coulombs(100.0), Seconds(60.0 * minutes)).0;
        assert!(at(0.0) == 0.0 && (at(30.0) - 30.0).abs() < 1e-9 && (at(60.0) - 60.0).abs() < 1e-9);
        assert!(at(70.0) > 60.0 && at(70.0) < 80.0);
        assert!(at(70.0) - at(60.0) > at(90.0) - at(80.0), "the current falls");
        assert!((at(90.0 - 1e-9) - 80.0).abs() < 1e-6);
        assert_eq!(at(500.0), 80.0);
    }
}

//! Time to charge: constant current up to the float voltage at the terminals, then constant voltage until the termination current.
//!
//! The device stays on while it charges: its load is taken from the charger's current, and a charger that cannot tell
//! the load from the charge stops only when both together fall to its termination current. Self-discharge during the hours of
//! a charge is left out. The current in the second part follows `(V_float - OCV(q)) / R(q)` exactly.
//!
//! **Caution.** A charge time is an estimate and no charge control. Never charge a cell outside its maker's temperature
//! and voltage limits; never charge a primary cell.

use super::case::{Case, Point, Stretch};
use super::chemistry::{Chemistry, PRIMARY_CAUTION};
use super::peak::{LoadCurrent, terminal};
use super::quadrature::integrate;
use super::{Cell, CellFault};
use crate::units::{Amps, Celsius, Coulombs, Ratio, Seconds, Volts};
use std::fmt;

/// A charger's settings; its voltage is the cell's float voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Charger {
    /// Constant current at the charger's output.
    pub current: Amps,
    /// The output current at which it stops.
    pub termination: Amps,
}

/// A charge from a state of charge to the termination current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChargeTime {
    /// Time at constant current.
    pub constant_current: Seconds,
    /// Time at constant voltage.
    pub constant_voltage: Seconds,
    /// State of charge at the beginning.
    pub from: Ratio,
    /// State of charge at which the voltage becomes constant.
    pub turn: Ratio,
    /// State of charge at the termination current.
    pub to: Ratio,
    /// Charge put into the cell.
    pub charge: Coulombs,
}

impl ChargeTime {
    /// Both parts together.
    pub fn total(&self) -> Seconds {
        self.constant_current + self.constant_voltage
    }
}

/// Why a cell cannot be charged so.
#[derive(Clone, Debug, PartialEq)]
pub enum ChargeFault {
    /// The cell is not rechargeable.
    Primary,
    /// The temperature lies outside the window in which the cell may be charged.
    Temperature {
        /// The temperature asked for.
        asked: Celsius,
        /// The lowest allowed.
        from: Celsius,
        /// The highest allowed.
        to: Celsius,
    },
    /// The cell itself, or its float voltage, is at fault.
    Cell(CellFault),
    /// A charger's current, its termination current, the load or the first state of charge is negative, not finite or out of order.
    Value {
        /// Which value.
        what: &'static str,
    },
    /// The device draws all the charger's current before the cell is full.
    LoadExceedsCharger {
        /// State of charge at which nothing is left for the cell.
        at: Ratio,
    },
    /// The device alone draws the termination current or more, so the charger never stops.
    TerminationUnreachable {
        /// The device's load at the float voltage.
        load: Amps,
        /// The charger's termination current.
        termination: Amps,
    },
    /// The open-circuit voltage of the full cell lies so far below the float voltage that the charger would overcharge.
    FloatAboveFull {
        /// Open-circuit voltage of the full pack.
        full: Volts,
        /// Float voltage of the pack.
        float: Volts,
    },
}

impl fmt::Display for ChargeFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Primary => write!(f, "{PRIMARY_CAUTION}"),
            Self::Temperature { asked, from, to } => {
                write!(f, "this cell may be charged from {from} to {to} only; {asked} lies outside")
            }
            Self::Cell(fault) => write!(f, "{fault}"),
            Self::Value { what } => write!(f, "{what}"),
            Self::LoadExceedsCharger { at } => {
                write!(
                    f,
                    "the device takes all of the charger's current at a state of charge of {at}; it never gets full"
                )
            }
            Self::TerminationUnreachable { load, termination } => write!(
                f,
                "the device draws {load} at the charge voltage, the charger stops at {termination}: it never stops; \
                 raise it or measure the cell's current separately"
            ),
            Self::FloatAboveFull { full, float } => write!(
                f,
                "the full pack rests at {full} and the charger goes to {float}: \
                 the cell is full before the current falls to the termination current"
            ),
        }
    }
}

impl std::error::Error for ChargeFault {}

impl From<CellFault> for ChargeFault {
    fn from(fault: CellFault) -> Self {
        Self::Cell(fault)
    }
}

/// Relative error allowed to the time on one stretch.
const TOLERANCE: f64 = 1e-9;

impl Cell {
    /// The time to charge the cell at a temperature from a state of charge, with the device's `load` at the terminals.
    ///
    /// # Errors
    /// See [`ChargeFault`].
    pub fn charge_time(
        &self,
        temperature: Celsius,
        from: Ratio,
        charger: Charger,
        load: LoadCurrent,
    ) -> Result<ChargeTime, ChargeFault> {
        self.charge(temperature, from, charger, load, |charge| charge.from(from))
    }

    /// The state of charge after a `time` at the charger; from its end on the charger feeds the device alone.
    ///
    /// # Errors
    /// See [`ChargeFault`].
    pub fn charge_for(
        &self,
        temperature: Celsius,
        from: Ratio,
        charger: Charger,
        load: LoadCurrent,
        time: Seconds,
    ) -> Result<Ratio, ChargeFault> {
        self.charge(temperature, from, charger, load, |charge| charge.after(from, time))
    }

    fn charge<T>(
        &self,
        temperature: Celsius,
        from: Ratio,
        charger: Charger,
        load: LoadCurrent,
        then: impl FnOnce(&Charge<'_>) -> Result<T, ChargeFault>,
    ) -> Result<T, ChargeFault> {
        allowed(&self.chemistry, temperature)?;
        sound(charger, load, from)?;
        let case = self.at(temperature)?;
        let float = self.float_per_cell() * f64::from(self.series);
        then(&Charge { case: &case, float, charger, load })
    }
}

fn allowed(chemistry: &Chemistry, asked: Celsius) -> Result<(), ChargeFault> {
    let Some(window) = chemistry.charge_window.filter(|_| chemistry.rechargeable) else {
        return Err(ChargeFault::Primary);
    };
    // Written so that NaN is refused too.
    if asked >= window.from && asked <= window.to {
        return Ok(());
    }
    Err(ChargeFault::Temperature { asked, from: window.from, to: window.to })
}

fn sound(charger: Charger, load: LoadCurrent, from: Ratio) -> Result<(), ChargeFault> {
    let rule = |holds: bool, what| if holds { Ok(()) } else { Err(ChargeFault::Value { what }) };
    let positive = |value: f64| value.is_finite() && value > 0.0;
    let not_negative = |value: f64| value.is_finite() && value >= 0.0;
    rule(positive(charger.current.0), "the charger's current must be above 0")?;
    rule(positive(charger.termination.0), "the termination current must be above 0")?;
    rule(charger.termination <= charger.current, "the termination current must not exceed the charger's current")?;
    rule(not_negative(load.current.0) && not_negative(load.power.0), "the load must be finite and not negative")?;
    rule((0.0..=1.0).contains(&from.0), "the first state of charge must be from 0 to 1")
}

/// A charge under way.
struct Charge<'a> {
    case: &'a Case,
    float: Volts,
    charger: Charger,
    load: LoadCurrent,
}

impl Charge<'_> {
    fn from(&self, from: Ratio) -> Result<ChargeTime, ChargeFault> {
        // What still flows into the cell when the charger's output has fallen to the termination current.
        let load = self.load.at(self.float);
        let last = self.charger.termination - load;
        if last.0 <= 0.0 {
            return Err(ChargeFault::TerminationUnreachable { load, termination: self.charger.termination });
        }
        let start = self.case.charge(from);
        let stretches = rising(self.case, start, self.case.charge(Ratio(1.0)));
        let full = self.case.ocv(Ratio(1.0));
        let terminates = |at: Point| self.float.0 - at.ocv <= last.0 * at.ohms;
        let turns =
            |at: Point| self.constant_current(at).is_some_and(|(volts, _)| volts >= self.float) || terminates(at);
        let first = |reached: &dyn Fn(Point) -> bool| first(&stretches, self.case.point(start), reached);
        let (end, turn) = (first(&terminates), first(&turns));
        let (Some(end), Some(turn)) = (end, turn) else {
            return Err(self.stuck(&stretches, full));
        };
        // Neither edge is finer than the last bit.
        let end = end.max(turn);
        let constant_current =
            self.sum(&stretches, (start.0, turn), |at| self.constant_current(at).map(|(_, amps)| amps))?;
        let constant_voltage = self.sum(&stretches, (turn, end), |at| Some(self.constant_voltage(at)))?;
        Ok(ChargeTime {
            constant_current,
            constant_voltage,
            from,
            turn: self.case.state_of_charge(Coulombs(turn)),
            to: self.case.state_of_charge(Coulombs(end)),
            charge: Coulombs(end) - start,
        })
    }

    /// Terminal voltage and current into the cell while the charger gives its constant current; `None` when the device
    /// takes more than the charger can give.
    fn constant_current(&self, at: Point) -> Option<(Volts, Amps)> {
        let (ocv, ohms) = at.source();
        let load_current = LoadCurrent { current: self.load.current - self.charger.current, power: self.load.power };
        let volts = terminal(ocv, ohms, load_current).volts()?;
        Some((volts, -load_current.at(volts)))
    }

    /// Current into the cell at the charge voltage.
    fn constant_voltage(&self, at: Point) -> Amps {
        Amps((self.float.0 - at.ocv) / at.ohms)
    }

    /// State of charge after a time.
    fn after(&self, from: Ratio, time: Seconds) -> Result<Ratio, ChargeFault> {
        let whole = self.from(from)?;
        let [start, turn, end] = [from, whole.turn, whole.to].map(|state| self.case.charge(state).0);
        let charge = if time >= whole.total() {
            end
        } else if time <= whole.constant_current {
            self.reach((start, turn), time, |at| self.constant_current(at).map(|(_, amps)| amps))?
        } else {
            self.reach((turn, end), time - whole.constant_current, |at| Some(self.constant_voltage(at)))?
        };
        Ok(self.case.state_of_charge(Coulombs(charge)))
    }

    /// The charge that is reached after a time, by Newton's method within its bounds.
    fn reach(
        &self,
        (start, end): (f64, f64),
        time: Seconds,
        amps: impl Fn(Point) -> Option<Amps>,
    ) -> Result<f64, ChargeFault> {
        let stretches = rising(self.case, Coulombs(start), Coulombs(end));
        let (mut low, mut high) = (start, end);
        let mut charge = start;
        for _ in 0..60 {
            let over = self.sum(&stretches, (start, charge), &amps)? - time;
            if over.0 > 0.0 {
                high = charge
            } else {
                low = charge
            }
            let step = amps(self.case.point(Coulombs(charge))).map_or(0.0, |into| -over.0 * into.0);
            if step.abs() <= 1e-12 * (end - start) {
                break;
            }
            let next = charge + step;
            charge = if next > low && next < high { next } else { 0.5 * (low + high) };
        }
        Ok(charge)
    }

    /// Time to go from one charge to another with a current into the cell.
    fn sum(
        &self,
        stretches: &[Stretch],
        (from, to): (f64, f64),
        amps: impl Fn(Point) -> Option<Amps>,
    ) -> Result<Seconds, ChargeFault> {
        let mut time = 0.0;
        for stretch in stretches.iter().filter(|stretch| stretch.high.charge > from && stretch.low.charge < to) {
            let (low, high) = (stretch.low.charge.max(from), stretch.high.charge.min(to));
            if low >= high {
                continue;
            }
            let mut blocked = None;
            let mut slowness = |charge: f64| {
                let into = amps(stretch.at(charge)).filter(|into| into.0 > 0.0);
                if into.is_none() {
                    blocked = Some(charge);
                }
                into.map(|into| [1.0 / into.0])
            };
            let sum = integrate(&mut slowness, low, high, TOLERANCE);
            let at = self.case.state_of_charge(Coulombs(blocked.unwrap_or(low)));
            time += sum.ok_or(ChargeFault::LoadExceedsCharger { at })?[0];
        }
        Ok(Seconds(time))
    }

    /// Why the end was not found.
    fn stuck(&self, stretches: &[Stretch], full: Volts) -> ChargeFault {
        let flows = |at: &Point| self.constant_current(*at).is_some_and(|(_, amps)| amps.0 > 0.0);
        match stretches.iter().flat_map(|stretch| [stretch.low, stretch.high]).find(|at| !flows(at)) {
            Some(at) => ChargeFault::LoadExceedsCharger { at: self.case.state_of_charge(Coulombs(at.charge)) },
            None => ChargeFault::FloatAboveFull { full, float: self.float },
        }
    }
}

/// The straight stretches from one charge up to another.
fn rising(case: &Case, low: Coulombs, high: Coulombs) -> Vec<Stretch> {
    let mut stretches: Vec<Stretch> = case.stretches(low, high).collect();
    stretches.reverse();
    stretches
}

/// The first charge on the way up from `start` at which `reached` is true.
fn first(stretches: &[Stretch], start: Point, reached: impl Fn(Point) -> bool) -> Option<f64> {
    if reached(start) {
        return Some(start.charge);
    }
    let stretch = stretches.iter().find(|stretch| reached(stretch.high))?;
    Some(stretch.edge(&reached).0)
}

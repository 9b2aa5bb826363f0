//! Life on one charge: the time until the usable charge is gone, the voltage is too low, or the cell is too old.
//!
//! With q the usable charge left, `dq/dt = -(I(q) + k q)`. Neither term depends on time, so the life is the integral of
//! `dq / (I + k q)`. It is taken over the stretches on which open-circuit voltage and resistance are straight lines, in
//! the variable that makes the integrand 1 for a constant current; for that the life is exactly
//! `ln(1 + k Q / I) / k`. Self-discharge acts on the usable charge, the reserve is held apart, as in that formula.
//!
//! Not for what the board draws. The age is that at its beginning; [`super::ageing`] puts discharges of growing age
//! together.

use super::capacitor::Peak;
use super::case::{Case, Point, Stretch};
use super::load::{Draw, Drawn, MeanLoad};
use super::peak::Terminal;
use super::quadrature::integrate;
use crate::units::{Coulombs, Joules, Ohms, Ratio, Seconds, Volts};
use std::fmt;

/// A reason to stop before the charge is gone: under `peak` the terminals must reach `minimum`.
#[derive(Clone, Debug, PartialEq)]
pub struct CutOff {
    /// The load at its worst.
    pub peak: Peak,
    /// The least terminal voltage that will do, such as the regulator's minimum input.
    pub minimum: Volts,
}

/// When a life ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EndedBy {
    /// The usable charge is gone.
    ChargeExhausted,
    /// Under the peak of this cut-off the terminals no longer reach its minimum.
    VoltageTooLow {
        /// Index into the cut-offs given.
        cut_off: usize,
    },
    /// Under the peak of this cut-off the voltage collapses.
    Collapse {
        /// Index into the cut-offs given.
        cut_off: usize,
    },
    /// The mean load itself collapses the voltage.
    LoadCollapse,
    /// The stated limit of age.
    AgeLimit,
}

impl fmt::Display for EndedBy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::ChargeExhausted => "the usable charge is gone",
            Self::VoltageTooLow { .. } => "the voltage under peak load is below the minimum",
            Self::Collapse { .. } => "brown-out under peak load",
            Self::LoadCollapse => "brown-out under the load",
            Self::AgeLimit => "the limit of age is reached",
        })
    }
}

/// A life on one charge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Life {
    /// How long.
    pub time: Seconds,
    /// Why no longer.
    pub ended_by: EndedBy,
    /// Charge that went through the terminals.
    pub charge_drawn: Coulombs,
    /// Charge lost inside the cell.
    pub self_discharged: Coulombs,
    /// Usable charge left at the end.
    pub left: Coulombs,
    /// Energy delivered at the terminals.
    pub energy: Joules,
}

impl Life {
    /// The life of a battery that is empty at its begin.
    pub const NOTHING: Self = Self {
        time: Seconds(0.0),
        ended_by: EndedBy::ChargeExhausted,
        charge_drawn: Coulombs(0.0),
        self_discharged: Coulombs(0.0),
        left: Coulombs(0.0),
        energy: Joules(0.0),
    };

    /// This life and the one that goes on from its end.
    pub fn then(self, next: Self) -> Self {
        Self {
            time: self.time + next.time,
            ended_by: next.ended_by,
            charge_drawn: self.charge_drawn + next.charge_drawn,
            self_discharged: self.self_discharged + next.self_discharged,
            left: next.left,
            energy: self.energy + next.energy,
        }
    }
}

/// A point of the discharge, for plots.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurvePoint {
    /// Time since the beginning.
    pub time: Seconds,
    /// State of charge.
    pub state_of_charge: Ratio,
    /// Open-circuit voltage.
    pub ocv: Volts,
    /// Terminal voltage under the first cut-off's peak, or without load when there is none.
    pub under_peak: Terminal,
}

/// Why no life can be given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LifeFault {
    /// A load with a negative or non-finite part.
    Load,
    /// The load closure gave no current at this terminal or open-circuit voltage, or one that is negative.
    LoadRefused {
        /// The voltage at which it was asked.
        at: Volts,
    },
    /// No terminal voltage bears the current that the load closure gives.
    Unbearable {
        /// The open-circuit voltage.
        at: Volts,
    },
    /// No load, no self-discharge and no limit of age.
    NeverEnds,
    /// A negative or non-finite limit of age.
    AgeLimit,
}

impl fmt::Display for LifeFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Load => write!(f, "a load must be finite and not negative in all its parts"),
            Self::LoadRefused { at } => write!(f, "the load has no current at {at}"),
            Self::Unbearable { at } => write!(f, "no voltage supports the load at {at} without it"),
            Self::NeverEnds => write!(f, "nothing ends this life; give a load, a self-discharge or a limit of age"),
            Self::AgeLimit => write!(f, "the limit of age must be finite and not negative"),
        }
    }
}

impl std::error::Error for LifeFault {}

/// Relative error allowed to the time on one stretch.
const TOLERANCE: f64 = 1e-8;
/// Relative error allowed to the time on the narrowest part of one.
const COARSEST: f64 = 1e-4;

/// Relative error allowed to the time on a part of a stretch: that of the stretch, seen from the part.
fn allowed(part: &Stretch, whole: &Stretch) -> f64 {
    let width = |stretch: &Stretch| stretch.high.charge - stretch.low.charge;
    (TOLERANCE * width(whole) / width(part)).clamp(TOLERANCE, COARSEST)
}

/// A discharge of a cell: what ends it beside the charge.
#[derive(Clone, Copy, Debug)]
pub struct Discharge<'a> {
    /// The cell at its temperature.
    pub case: &'a Case,
    /// Reasons to stop early; none for an ideal load.
    pub cut_offs: &'a [CutOff],
    /// Limit of age or of rated life, counted from the beginning of the discharge.
    pub age_limit: Option<Seconds>,
}

/// Sums along a discharge.
#[derive(Clone, Copy, Debug)]
struct Sums {
    time: f64,
    drawn: f64,
    lost: f64,
    energy: f64,
    /// The charge in the cell, the reserve included.
    charge: f64,
}

impl Sums {
    fn at(charge: Coulombs) -> Self {
        Self { time: 0.0, drawn: 0.0, lost: 0.0, energy: 0.0, charge: charge.0 }
    }

    fn add(&mut self, [time, drawn, lost, energy]: [f64; 4]) {
        self.time += time;
        self.drawn += drawn;
        self.lost += lost;
        self.energy += energy;
    }
}

impl Discharge<'_> {
    /// The life under a load: from the full charge until nothing is left.
    ///
    /// # Errors
    /// See [`LifeFault`].
    pub fn run(&self, load: &impl Drawn) -> Result<Life, LifeFault> {
        self.between(self.case.start(), self.case.floor(), load)
    }

    /// The part of a life from a charge down to another, or to the reserve where that is higher; what is reached counts as
    /// the charge being exhausted. From below its end it is 0.
    ///
    /// # Errors
    /// See [`LifeFault`].
    pub fn between(&self, from: Coulombs, until: Coulombs, load: &impl Drawn) -> Result<Life, LifeFault> {
        let bottom = Coulombs(until.0.max(self.case.floor().0));
        if self.age_limit.is_some_and(|limit| !limit.0.is_finite() || limit.0 < 0.0) {
            return Err(LifeFault::AgeLimit);
        }
        let (mut sums, mut ended_by) = (Sums::at(from), EndedBy::ChargeExhausted);
        let mut parts = Vec::new();
        'down: for whole in self.case.stretches(bottom, from) {
            parts.clear();
            whole.cut(load.bends(), &mut parts);
            for part in parts.iter().rev() {
                let stop = self.stop(part, &|at| load.holds(at));
                let until = stop.map_or(part.low.charge, |(charge, _)| charge);
                let tolerance = allowed(part, &whole);
                if until < part.high.charge && self.cross(part, until, &|at| load.drawn(at), (&mut sums, tolerance))? {
                    ended_by = EndedBy::AgeLimit;
                    break 'down;
                }
                if let Some((_, why)) = stop {
                    ended_by = why;
                    break 'down;
                }
            }
        }
        Ok(Life {
            time: Seconds(sums.time),
            ended_by,
            charge_drawn: Coulombs(sums.drawn),
            self_discharged: Coulombs(sums.lost),
            left: Coulombs(sums.charge) - self.case.floor(),
            energy: Joules(sums.energy),
        })
    }

    /// The life under a load, and `steps` + 1 points of the discharge, equally spaced in charge.
    ///
    /// # Errors
    /// See [`LifeFault`].
    pub fn curve(&self, load: &MeanLoad, steps: u32) -> Result<(Life, Vec<CurvePoint>), LifeFault> {
        let life = self.run(load)?;
        let (top, bottom) = (self.case.start(), self.case.floor() + life.left);
        let free = Self { age_limit: None, ..*self };
        let mut sums = Sums::at(top);
        let mut points = vec![self.point(Seconds(0.0), top)];
        for step in 1..=steps.max(1) {
            let to = top + (bottom - top) * (f64::from(step) / f64::from(steps.max(1)));
            for stretch in self.case.stretches(to, Coulombs(sums.charge)) {
                free.cross(&stretch, stretch.low.charge, &|at| load.draw(at), (&mut sums, TOLERANCE))?;
            }
            points.push(self.point(Seconds(sums.time), to));
        }
        // A life without load that an age limit ends does not move in charge.
        if let Some(last) = points.last_mut() {
            last.time = life.time;
        }
        Ok((life, points))
    }

    fn point(&self, time: Seconds, charge: Coulombs) -> CurvePoint {
        let state_of_charge = self.case.state_of_charge(charge);
        let (ocv, ohms) = (self.case.ocv(state_of_charge), self.case.resistance(state_of_charge));
        let under_peak = self.cut_offs.first().map_or(Terminal::Holds(ocv), |cut_off| cut_off.peak.terminal(ocv, ohms));
        CurvePoint { time, state_of_charge, ocv, under_peak }
    }

    /// The charge of a stretch at which the discharge must stop, and why: the first point on the way down that a cut-off
    /// refuses or that the load does not hold.
    fn stop(&self, stretch: &Stretch, holds: &impl Fn(Point) -> bool) -> Option<(f64, EndedBy)> {
        let refused = |at: Point| self.refusal(at).or((!holds(at)).then_some(EndedBy::LoadCollapse));
        if let Some(why) = refused(stretch.high) {
            return Some((stretch.high.charge, why));
        }
        let why = refused(stretch.low)?;
        let (good, bad) = stretch.edge(|at| refused(at).is_none());
        Some((good, refused(stretch.at(bad)).unwrap_or(why)))
    }

    fn refusal(&self, at: Point) -> Option<EndedBy> {
        let (ocv, ohms) = (Volts(at.ocv), Ohms(at.worst_ohms));
        self.cut_offs.iter().enumerate().find_map(|(cut_off, limit)| match limit.peak.terminal(ocv, ohms) {
            Terminal::Collapses => Some(EndedBy::Collapse { cut_off }),
            Terminal::Holds(volts) if volts < limit.minimum => Some(EndedBy::VoltageTooLow { cut_off }),
            Terminal::Holds(_) => None,
        })
    }

    /// Goes down a stretch to `bottom`; true when the limit of age comes first.
    fn cross(
        &self,
        stretch: &Stretch,
        bottom: f64,
        draw: &impl Fn(Point) -> Result<Draw, LifeFault>,
        (sums, tolerance): (&mut Sums, f64),
    ) -> Result<bool, LifeFault> {
        let limit = self.age_limit.map_or(f64::INFINITY, f64::from);
        let mut charge = stretch.high.charge;
        while charge > bottom {
            let amps = draw(stretch.at(0.5 * (charge + bottom)))?.0.0;
            let (rate, floor) = (self.case.self_discharge().0, self.case.floor().0);
            let piece = Piece { amps, rate, floor, charge, bottom, tolerance };
            let (next, done) = if amps == 0.0 {
                piece.idle(limit - sums.time, sums)?
            } else {
                piece.drawn(limit - sums.time, stretch, draw, sums)?
            };
            // A fall too small for a double to hold would never arrive.
            charge = if next < charge || done { next } else { bottom };
            sums.charge = charge;
            if done {
                sums.time = limit;
                return Ok(true);
            }
        }
        Ok(false)
    }
}

/// A piece of the discharge, calculated as a correction to one with the constant current `amps`.
struct Piece {
    /// Current in the middle of the piece.
    amps: f64,
    /// Self-discharge per second.
    rate: f64,
    /// The charge on which self-discharge does not act.
    floor: f64,
    /// Charge at the beginning.
    charge: f64,
    /// Charge below which the piece must not go.
    bottom: f64,
    /// Relative error allowed to its time.
    tolerance: f64,
}

impl Piece {
    /// Self-discharge alone, down to the bottom or for the time that is left: the charge then, and whether time ran out.
    fn idle(&self, left: f64, sums: &mut Sums) -> Result<(f64, bool), LifeFault> {
        let whole = ((self.charge - self.floor) / (self.bottom - self.floor)).ln() / self.rate;
        if self.rate == 0.0 || whole > left {
            if left.is_infinite() {
                return Err(LifeFault::NeverEnds);
            }
            let lost = -(self.charge - self.floor) * (-self.rate * left).exp_m1();
            sums.add([left, 0.0, lost, 0.0]);
            return Ok((self.charge - lost, true));
        }
        sums.add([whole, 0.0, self.charge - self.bottom, 0.0]);
        Ok((self.bottom, false))
    }

    /// Time to the bottom under the constant current.
    fn time_to_bottom(&self) -> f64 {
        let fall = self.charge - self.bottom;
        if self.rate == 0.0 {
            return fall / self.amps;
        }
        (self.rate * fall / (self.amps + self.rate * (self.bottom - self.floor))).ln_1p() / self.rate
    }

    /// Charge after a time under the constant current.
    fn charge_after(&self, time: f64) -> f64 {
        if self.rate == 0.0 {
            return self.charge - self.amps * time;
        }
        self.charge + (self.amps + self.rate * (self.charge - self.floor)) * (-self.rate * time).exp_m1() / self.rate
    }

    /// Load and self-discharge; the variable is the time that the constant current would have taken.
    fn drawn(
        &self,
        left: f64,
        stretch: &Stretch,
        draw: &impl Fn(Point) -> Result<Draw, LifeFault>,
        sums: &mut Sums,
    ) -> Result<(f64, bool), LifeFault> {
        let mut fault = None;
        let mut integrand = |time: f64| {
            let at = stretch.at(self.charge_after(time));
            let (amps, watts) = draw(at).map_err(|found| fault = Some(found)).ok()?;
            let lost = self.rate * (at.charge - self.floor);
            let stretched = (self.amps + lost) / (amps.0 + lost);
            Some([stretched, stretched * amps.0, stretched * lost, stretched * watts.0])
        };
        let whole = self.time_to_bottom();
        // Longer pieces would put a steep exponential under the integral.
        let to_bottom = self.rate * whole <= 1.0;
        let mut end = if to_bottom { whole } else { 1.0 / self.rate };
        let mut parts = integrate(&mut integrand, 0.0, end, self.tolerance);
        let out_of_time = parts.is_some_and(|parts| parts[0] > left);
        if out_of_time {
            end = time_reaching(&mut integrand, left, end).unwrap_or(0.0);
            parts = integrate(&mut integrand, 0.0, end, self.tolerance);
        }
        let Some(parts) = parts else {
            return Err(fault.unwrap_or(LifeFault::Load));
        };
        if !parts[0].is_finite() {
            return Err(LifeFault::NeverEnds);
        }
        sums.add(parts);
        let charge = if to_bottom && !out_of_time { self.bottom } else { self.charge_after(end) };
        Ok((charge, out_of_time))
    }
}

/// The upper end at which the integral of the first value reaches `target`, by Newton's method from below `most`.
fn time_reaching<const N: usize>(f: &mut impl FnMut(f64) -> Option<[f64; N]>, target: f64, most: f64) -> Option<f64> {
    let mut end = target.min(most);
    for _ in 0..30 {
        let miss = integrate(f, 0.0, end, TOLERANCE)?[0] - target;
        if miss.abs() <= 1e-12 * target {
            break;
        }
        end = (end - miss / f(end)?[0]).clamp(0.0, most);
    }
    Some(end)
}

//! A cell at one temperature: its tables looked up once, so that thousands of lives can be calculated from it.
//!
//! Not for the load: see [`super::life`] and [`super::peak`].

use super::curve::{Table, mix, place};
use super::resistance::growth;
use super::wear::CycleLife;
use super::{Cell, CellFault};
use crate::units::{Amps, Celsius, Coulombs, Ohms, PerSecond, Ratio, Seconds, Volts};

/// The factors that turn the rated charge into the usable one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChargeFactors {
    /// Rated charge of one cell; cells in series carry the same charge.
    pub rated: Coulombs,
    /// `k_temp`: what the temperature leaves.
    pub temperature: Ratio,
    /// `k_float`: what a float voltage below the maximum stores.
    pub float: Ratio,
    /// `k_age = exp(-a t)`, with the rate `a` of fading at this float voltage, temperature and use, and the age `t`.
    pub age: Ratio,
    /// The share kept back.
    pub reserve: Ratio,
}

impl ChargeFactors {
    pub(super) fn of(cell: &Cell, temperature: Celsius) -> Result<Self, CellFault> {
        cell.check()?;
        let table = &cell.chemistry.capacity;
        let outside = || outside("the capacity over temperature", temperature, table.domain());
        let k_temp = table.at(temperature, cell.rate).ok_or_else(outside)?;
        let (stored, _) = float_factors(cell)?;
        let age = Ratio((-fades(cell)?.0 * cell.age.0).exp());
        let factors = Self { rated: cell.capacity, temperature: k_temp, float: stored, age, reserve: cell.reserve };
        if factors.reserve.0 >= 1.0 && factors.stored().0.is_normal() {
            return Err(CellFault::NothingUsable { stored: factors.stored() });
        }
        if !factors.usable().0.is_normal() {
            return Err(CellFault::Value { what: "the usable charge in coulombs", value: factors.usable().0 });
        }
        Ok(factors)
    }

    /// The charge that the cell holds with nothing kept back: where a discharge begins.
    pub fn stored(&self) -> Coulombs {
        self.whole() * self.float.0
    }

    /// The usable charge.
    pub fn usable(&self) -> Coulombs {
        self.stored() * (1.0 - self.reserve.0)
    }

    /// The charge between a state of charge of 0 and 1.
    pub fn whole(&self) -> Coulombs {
        self.rated * self.temperature.0 * self.age.0
    }
}

/// Stored share and ageing factor at the float voltage.
fn float_factors(cell: &Cell) -> Result<(Ratio, Ratio), CellFault> {
    let (Some(asked), chemistry) = (cell.float_voltage, &cell.chemistry) else {
        return Ok((Ratio(1.0), Ratio(1.0)));
    };
    if !chemistry.rechargeable {
        return Err(CellFault::FloatOfPrimary);
    }
    let Some(float) = &chemistry.float else {
        let full = asked == chemistry.maximum;
        return if full { Ok((Ratio(1.0), Ratio(1.0))) } else { Err(CellFault::FloatUnknown { asked }) };
    };
    let fault = || {
        let (from, to) = float.stored.domain();
        CellFault::Float { asked, from, to: if to < chemistry.maximum { to } else { chemistry.maximum } }
    };
    if asked > chemistry.maximum {
        return Err(fault());
    }
    Ok((float.stored.at(asked).ok_or_else(fault)?, float.ageing.at(asked).ok_or_else(fault)?))
}

impl Cell {
    /// The share of its ageing at the chemistry's largest voltage and 20 degrees Celsius that its float voltage and
    /// the temperature at which it is kept leave.
    ///
    /// # Errors
    /// A float voltage or a temperature outside the chemistry's table.
    pub fn ageing_share(&self) -> Result<Ratio, CellFault> {
        ageing_factor(self)
    }

    /// The rate at which its capacity fades, by age and by cycles.
    ///
    /// # Errors
    /// As [`Cell::ageing_share`].
    pub fn fades(&self) -> Result<PerSecond, CellFault> {
        fades(self)
    }

    /// The full cycles that its float voltage leaves it, and the share of the capacity after them. `None` where no cycle
    /// life is stated.
    ///
    /// # Errors
    /// As [`Cell::ageing_share`].
    pub fn cycle_life(&self) -> Result<Option<CycleLife>, CellFault> {
        let float = float_factors(self)?.1;
        Ok(self.chemistry.cycles.map(|life| CycleLife { cycles: life.cycles / float.0, ..life }))
    }
}

/// The factor on its ageing: that of its float voltage and that of the temperature at which it is kept.
fn ageing_factor(cell: &Cell) -> Result<Ratio, CellFault> {
    let table = &cell.chemistry.ageing_over_temperature;
    let outside = || outside("the ageing over temperature", cell.kept_at, table.domain());
    let warm = over_swings(cell, table, cell.kept_at).ok_or_else(outside)?;
    Ok(Ratio(float_factors(cell)?.1.0 * warm.0))
}

/// A factor over temperature as its mean over the cell's swings around a temperature; `None` where the table does not reach
/// that.
fn over_swings(cell: &Cell, table: &Table<Celsius, Ratio>, mean: Celsius) -> Option<Ratio> {
    let still = table.at(mean)?;
    if cell.swings.is_empty() {
        return Some(still);
    }
    let sum: f64 = cell.swings.iter().map(|swing| table.at_clamped(mean + Celsius(*swing)).0).sum();
    Some(Ratio(sum / cell.swings.len() as f64))
}

/// Rate at which its capacity fades, by age and by cycles. A lower float voltage spares both: BU-808 says so of cycles.
fn fades(cell: &Cell) -> Result<PerSecond, CellFault> {
    let by_cycles = cell.chemistry.cycles.map_or(PerSecond(0.0), |life| life.fades(cell.cycles));
    let float = float_factors(cell)?.1;
    Ok(PerSecond(cell.chemistry.ageing.0 * ageing_factor(cell)?.0 + by_cycles.0 * float.0))
}

pub(super) fn outside(table: &'static str, asked: Celsius, (from, to): (Celsius, Celsius)) -> CellFault {
    CellFault::Temperature { table, asked, from, to }
}

/// A [`Cell`] at one temperature.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    temperature: Celsius,
    factors: ChargeFactors,
    self_discharge: PerSecond,
    /// Rate at which capacity fades, and rate at which resistance grows, at the float voltage.
    fades: PerSecond,
    grows: PerSecond,
    /// Rising states of charge at which the open-circuit voltage or the resistance changes its slope.
    socs: Vec<f64>,
    /// Open-circuit volts of the pack at each.
    ocvs: Vec<f64>,
    /// Ohms of the pack at each.
    ohms: Vec<f64>,
    /// Resistance with which cut-offs are judged, in ohms.
    worst_ohms: Vec<f64>,
}

impl Case {
    pub(super) fn new(cell: &Cell, temperature: Celsius) -> Result<Self, CellFault> {
        let factors = ChargeFactors::of(cell, temperature)?;
        let chemistry = &cell.chemistry;
        let relative = chemistry.resistance.cut(temperature).ok_or_else(|| {
            outside("the internal resistance over temperature", temperature, chemistry.resistance.domain())
        })?;
        let share = cell.ageing_share()?;
        let warm = &chemistry.self_discharge_over_temperature;
        let leaks = over_swings(cell, warm, temperature)
            .ok_or_else(|| outside("the self-discharge over temperature", temperature, warm.domain()))?;
        let ohms_at_one = cell.resistance.0 * cell.resistance_factor.0 * growth(cell)?.0 * f64::from(cell.series);
        let mut socs: Vec<f64> =
            chemistry.ocv.rows().map(|row| row.0.0).chain(relative.rows().map(|row| row.0.0)).collect();
        socs.retain(|soc| (0.0..=1.0).contains(soc));
        socs.extend([0.0, 1.0]);
        socs.sort_by(f64::total_cmp);
        socs.dedup();
        let film = chemistry.film.as_ref().map_or(0.0, |film| film.after(cell.rest).0);
        let film = film * relative.at_clamped(Ratio(0.5)).0 * ohms_at_one;
        let ohms: Vec<f64> = socs.iter().map(|soc| relative.at_clamped(Ratio(*soc)).0 * ohms_at_one).collect();
        Ok(Self {
            temperature,
            factors,
            self_discharge: PerSecond(cell.self_discharge.0 * leaks.0),
            fades: fades(cell)?,
            grows: PerSecond(chemistry.resistance_growth.0 * share.0),
            ocvs: socs.iter().map(|soc| cell.ocv(Ratio(*soc)).0).collect(),
            worst_ohms: ohms.iter().map(|ohms| ohms + film).collect(),
            ohms,
            socs,
        })
    }

    /// The same, but cut-offs of a discharge are judged with the resistance of another case, that of the coldest hour.
    pub fn judged_as(mut self, worst: &Self) -> Self {
        self.worst_ohms = self.socs.iter().map(|soc| worst.worst_resistance(Ratio(*soc)).0).collect();
        self
    }

    /// The same after more time: it stores less, and its resistance has grown.
    pub fn older(&self, by: Seconds) -> Self {
        let mut older = self.clone();
        older.factors.age = Ratio(self.factors.age.0 * (-self.fades.0 * by.0).exp());
        let growth = (self.grows.0 * by.0).exp();
        older.ohms.iter_mut().chain(&mut older.worst_ohms).for_each(|ohms| *ohms *= growth);
        older
    }

    /// Rates at which capacity fades and resistance grows.
    pub(super) fn wears(&self) -> bool {
        self.fades.0 > 0.0 || self.grows.0 > 0.0
    }

    /// The temperature of the case.
    pub fn temperature(&self) -> Celsius {
        self.temperature
    }

    /// The factors of the usable charge.
    pub fn factors(&self) -> ChargeFactors {
        self.factors
    }

    /// Self-discharge as a share of the usable charge that is left.
    pub fn self_discharge(&self) -> PerSecond {
        self.self_discharge
    }

    /// The charge that a full cell holds, the reserve included.
    pub fn start(&self) -> Coulombs {
        self.factors.stored()
    }

    /// The charge kept back: the discharge ends here at the latest.
    pub fn floor(&self) -> Coulombs {
        self.factors.stored() * self.factors.reserve.0
    }

    /// The state of charge that belongs to a charge.
    pub fn state_of_charge(&self, charge: Coulombs) -> Ratio {
        Ratio(charge / self.factors.whole())
    }

    /// The charge that belongs to a state of charge.
    pub fn charge(&self, state_of_charge: Ratio) -> Coulombs {
        self.factors.whole() * state_of_charge.0
    }

    /// Open-circuit voltage of the pack (state of charge clamped to 0..1).
    pub fn ocv(&self, state_of_charge: Ratio) -> Volts {
        let (i, share) = place(&self.socs, state_of_charge.0);
        Volts(mix(self.ocvs[i], *self.ocvs.get(i + 1).unwrap_or(&self.ocvs[i]), share))
    }

    /// Internal resistance of the pack (state of charge clamped to 0..1).
    pub fn resistance(&self, state_of_charge: Ratio) -> Ohms {
        let (i, share) = place(&self.socs, state_of_charge.0);
        Ohms(mix(self.ohms[i], *self.ohms.get(i + 1).unwrap_or(&self.ohms[i]), share))
    }

    /// The resistance with which hard moments are judged: with the film of the cell's rest, that of the coldest hour.
    pub fn worst_resistance(&self, state_of_charge: Ratio) -> Ohms {
        let (i, share) = place(&self.socs, state_of_charge.0);
        Ohms(mix(self.worst_ohms[i], *self.worst_ohms.get(i + 1).unwrap_or(&self.worst_ohms[i]), share))
    }

    pub(super) fn point(&self, charge: Coulombs) -> Point {
        let soc = self.state_of_charge(charge);
        let (i, share) = place(&self.socs, soc.0);
        let between = |all: &[f64]| mix(all[i], *all.get(i + 1).unwrap_or(&all[i]), share);
        let (ocv, ohms, worst_ohms) = (between(&self.ocvs), between(&self.ohms), between(&self.worst_ohms));
        Point { charge: charge.0, ocv, ohms, worst_ohms }
    }

    /// The point of a knot of the tables.
    fn knot(&self, i: usize) -> Point {
        let charge = self.charge(Ratio(self.socs[i])).0;
        Point { charge, ocv: self.ocvs[i], ohms: self.ohms[i], worst_ohms: self.worst_ohms[i] }
    }

    /// The stretches between `low` and `high` on which voltage and resistance are straight lines, from full to empty.
    pub(super) fn stretches(&self, low: Coulombs, high: Coulombs) -> impl Iterator<Item = Stretch> {
        let first = self.socs.partition_point(|soc| self.charge(Ratio(*soc)) <= low);
        let last = self.socs.partition_point(|soc| self.charge(Ratio(*soc)) < high);
        let mut above = self.point(high);
        // Knots between the two, and then the lower end.
        let ends = (first..last.max(first)).rev().map(Some).chain([None]);
        let stretch = move |end: Option<usize>| {
            let below = end.map_or_else(|| self.point(low), |knot| self.knot(knot));
            Stretch { low: below, high: std::mem::replace(&mut above, below) }
        };
        ends.map(stretch).filter(|stretch| stretch.low.charge < stretch.high.charge)
    }
}

/// A charge in coulombs, with open-circuit volts and ohms there.
#[derive(Clone, Copy, Debug)]
pub struct Point {
    /// Charge in the cell, in coulombs.
    pub charge: f64,
    /// Open-circuit voltage, in volts.
    pub ocv: f64,
    /// Resistance, in ohms.
    pub ohms: f64,
    /// Resistance with which cut-offs are judged, in ohms.
    pub worst_ohms: f64,
}

impl Point {
    /// It as a source: voltage without load, and resistance.
    pub fn source(self) -> (Volts, Ohms) {
        (Volts(self.ocv), Ohms(self.ohms))
    }
}

/// Two charges between which voltage and resistance are straight lines.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stretch {
    pub low: Point,
    pub high: Point,
}

impl Stretch {
    /// Cut where the terminals reach these voltages under their currents: `OCV - R I = V`, of which both sides are
    /// straight lines over the charge.
    pub fn cut(&self, bends: &[(Volts, Amps)], parts: &mut Vec<Stretch>) {
        let above = |at: &Point, (volts, amps): (Volts, Amps)| at.ocv - at.ohms * amps.0 - volts.0;
        let crossing = |bend: &(Volts, Amps)| {
            let (low, high) = (above(&self.low, *bend), above(&self.high, *bend));
            (low * high < 0.0).then(|| mix(self.low.charge, self.high.charge, low / (low - high)))
        };
        let mut ends: Vec<f64> = bends.iter().filter_map(crossing).collect();
        ends.retain(|charge| *charge > self.low.charge && *charge < self.high.charge);
        ends.sort_by(f64::total_cmp);
        ends.dedup();
        let mut low = self.low;
        for charge in ends {
            let high = self.at(charge);
            parts.push(Self { low, high });
            low = high;
        }
        parts.push(Self { low, high: self.high });
    }

    pub fn at(&self, charge: f64) -> Point {
        let share = ((charge - self.low.charge) / (self.high.charge - self.low.charge)).clamp(0.0, 1.0);
        let between = |of: fn(&Point) -> f64| mix(of(&self.low), of(&self.high), share);
        Point {
            charge,
            ocv: between(|at| at.ocv),
            ohms: between(|at| at.ohms),
            worst_ohms: between(|at| at.worst_ohms),
        }
    }

    /// Where `holds`, true at the high end and false at the low one, changes: the last charges on either side.
    pub fn edge(&self, holds: impl Fn(Point) -> bool) -> (f64, f64) {
        let (mut good, mut bad) = (self.high.charge, self.low.charge);
        // 60 halvings of a stretch reach the last bits of a double.
        for _ in 0..60 {
            let middle = 0.5 * (good + bad);
            if holds(self.at(middle)) { good = middle } else { bad = middle }
        }
        (good, bad)
    }
}

//! From the battery's text to its model: the chemistry's tables, or the project's own in their place.

use super::hardware::Bench;
use crate::cell::capacity::Capacity;
use crate::cell::chemistry::{Chemistry, OHM_AMPERE_HOUR};
use crate::cell::curve::Table;
use crate::cell::surface::Surface;
use crate::cell::wear::{CycleLife, Film};
use crate::hardware::battery::{Battery, Beside};
use crate::project::battery::{AtRateSpec, AtTemperatureSpec, BatterySpec, CapacitorSpec};
use crate::project::hardware::ChargerSpec;
use crate::source::amount::At;
use crate::source::fault::Fault;
use crate::units::{Celsius, Quantity, Ratio, Volts};
use std::sync::Arc;

impl Bench<'_> {
    /// The battery.
    pub fn battery(&mut self, spec: &BatterySpec, charger: Option<&At<ChargerSpec>>) -> Option<Battery> {
        let chemistry = Chemistry::built_in(spec.chemistry).map_err(|why| {
            self.fault(Fault::plain(format!("the built-in tables of this chemistry are unsound: {why}")));
        });
        let mut chemistry = chemistry.ok()?;
        let primary = !chemistry.rechargeable;
        if let (true, Some(charger)) = (primary, charger) {
            let fault =
                Fault::at(charger.span.clone(), "the board has a charger, but the battery must never be charged");
            self.fault(fault.help(
                "charging a primary cell can make it leak, burn or burst; remove [board.charger] or use a rechargeable battery",
            ));
        }
        if let (true, Some(float)) = (primary, &spec.charge_voltage) {
            self.fault(Fault::at(float.span.clone(), "a primary battery has no charge voltage: it is never charged"));
        }
        if !(1..=6).contains(&spec.cells.value) {
            self.fault(Fault::at(spec.cells.span.clone(), "expected 1 to 6 cells in series"));
        }
        self.tables(spec, &mut chemistry);
        let cells = f64::from(spec.cells.value.clamp(1, 6));
        let capacitor = spec.capacitor.as_ref().map(|beside| self.capacitor(beside, chemistry.maximum * cells));
        Some(Battery {
            note: spec.note.clone(),
            chemistry: Arc::new(chemistry),
            series: spec.cells.value.clamp(1, 6),
            capacity: self.enter("battery.capacity", &spec.capacity),
            float: spec.charge_voltage.as_ref().map(|float| float.value.0),
            resistance: self.enter("battery.resistance", &spec.resistance),
            self_discharge: self.enter("battery.self-discharge", &spec.self_discharge),
            ageing: self.enter("battery.ageing", &spec.ageing),
            reserve: self.enter("battery.reserve", &spec.reserve),
            shelf: spec.shelf_life.0,
            stored: spec.stored_for.0,
            protection: spec.protection_current.as_ref().map(|own| self.enter("battery.protection-current", own)),
            max_current: spec.max_current.as_ref().map(|most| most.value.0),
            capacitor,
        })
    }

    /// The capacitor beside a battery that has this voltage when it is full.
    fn capacitor(&mut self, at: &At<CapacitorSpec>, full: Volts) -> Beside {
        let spec = &at.value;
        let rated = spec.rated_voltage.as_ref();
        if let Some(rated) = rated.filter(|rated| rated.value.0 < full) {
            let message = format!("the capacitor is rated for {} and the full battery has {full}", rated.value.0);
            self.fault(Fault::at(rated.span.clone(), message).help(
                "use one of a higher rating, or several in series with balancing, whose capacitance, resistance and \
                 rating are those of the row",
            ));
        }
        Beside {
            capacitance: self.enter("battery.capacitor.capacitance", &spec.capacitance),
            resistance: self.enter("battery.capacitor.resistance", &spec.resistance),
            leakage: self.enter("battery.capacitor.leakage", &spec.leakage),
            rated: rated.map_or(Volts(f64::INFINITY), |rated| rated.value.0),
            span: at.span.clone(),
        }
    }

    /// The project's own tables in the place of the chemistry's.
    fn tables(&mut self, spec: &BatterySpec, chemistry: &mut Chemistry) {
        let voltage = spec.voltage.as_ref().map(|at| (at, at.value.iter().map(|row| (row.at.0, row.is.0)).collect()));
        let warm = over_temperature(spec.resistance_over_temperature.as_ref());
        let full = spec.resistance_over_charge.as_ref();
        let full = full.map(|at| (at, at.value.iter().map(|row| (row.at.0, row.is.0)).collect()));
        if let Some(table) = self.table(voltage, |volts: Volts| volts.0 > 0.0) {
            let rows: Vec<(Ratio, Volts)> = table.rows().collect();
            let falls = rows.windows(2).any(|pair| pair[1].1 < pair[0].1);
            let whole = rows.first().is_some_and(|row| row.0.0 == 0.0) && rows.last().is_some_and(|row| row.0.0 == 1.0);
            if falls || !whole {
                let message = "the voltage must be stated from 0 % to 100 %, and never falls as the charge rises";
                let span = spec.voltage.as_ref().map_or(0..0, |table| table.span.clone());
                self.fault(Fault::at(span, message).help(
                    "write voltage = [ { at = \"0 %\", is = \"2.0 V\" }, ..., { at = \"100 %\", is = \"3.2 V\" } ]",
                ));
            } else {
                own_voltage(chemistry, table);
            }
        }
        self.capacity(spec, chemistry);
        self.wear(spec, chemistry);
        let warm = self.table(warm, |factor: Ratio| factor.0 > 0.0);
        let over_charge = self.table(full, |factor: Ratio| factor.0 > 0.0);
        if warm.is_some() || over_charge.is_some() {
            own_resistance(chemistry, warm, over_charge);
        }
        if let Some(cut_off) = &spec.cut_off {
            let volts = cut_off.value.0 / f64::from(spec.cells.value.clamp(1, 6));
            if volts >= chemistry.maximum {
                let message = format!(
                    "the protection circuit switches off at {}, which the full battery does not reach",
                    cut_off.value.0
                );
                self.fault(
                    Fault::at(cut_off.span.clone(), message)
                        .help("write the voltage of the whole battery at which it is off"),
                );
            } else if volts > chemistry.minimum {
                chemistry.minimum = volts;
            }
        }
    }

    /// The share of the capacity over temperature, or over temperature and rate.
    fn capacity(&mut self, spec: &BatterySpec, chemistry: &mut Chemistry) {
        let one = over_temperature(spec.capacity_over_temperature.as_ref());
        if let Some(Ok(capacity)) =
            self.table(one, |share: Ratio| share.0 > 0.0).map(|table| Capacity::at_any_rate(&table))
        {
            chemistry.capacity = capacity;
        }
        let Some(at) = &spec.capacity_over_rate else { return };
        if let Some(other) = &spec.capacity_over_temperature {
            let fault = Fault::at(other.span.clone(), "the capacity over temperature is stated twice");
            self.fault(
                fault.help("keep capacity-over-rate, which has a table over temperature for each rate, or this"),
            );
        }
        let rated = spec.capacity.spread[1].0;
        let table = |row: &AtRateSpec| {
            let rows = row.is.iter().map(|row| (row.at.0, row.is.0));
            Some((row.at.0.0 * OHM_AMPERE_HOUR / rated, Table::new(rows).ok()?))
        };
        let tables: Option<Vec<_>> = at.value.iter().map(table).collect();
        let made = tables.and_then(|tables| Capacity::over_rate(&tables).ok());
        match made.filter(|capacity| capacity.values().all(|share| share.0 > 0.0)) {
            Some(capacity) => chemistry.capacity = capacity,
            None => {
                let message = "each rate needs shares above 0 at the same rising temperatures, and the currents rise";
                self.fault(Fault::at(at.span.clone(), message).help(
                    "write [ { at = \"1 mA\", is = [ { at = \"0 °C\", is = \"97 %\" }, ... ] }, ... ], slowest first",
                ));
            }
        }
    }

    /// What temperature, cycles and rest do.
    fn wear(&mut self, spec: &BatterySpec, chemistry: &mut Chemistry) {
        let positive = |factor: Ratio| factor.0 > 0.0;
        let leaks = over_temperature(spec.self_discharge_over_temperature.as_ref());
        if let Some(table) = self.table(leaks, positive) {
            chemistry.self_discharge_over_temperature = table;
        }
        if let Some(table) = self.table(over_temperature(spec.ageing_over_temperature.as_ref()), positive) {
            chemistry.ageing_over_temperature = table;
        }
        if let Some(at) = &spec.cycle_life {
            let left = at.value.left.0;
            if !chemistry.rechargeable {
                let fault = Fault::at(at.span.clone(), "a primary battery has no cycle life: it is never charged");
                self.fault(fault.help("remove this key, or use a rechargeable battery"));
            } else if at.value.cycles == 0 || left.0 <= 0.0 || left.0 >= 1.0 {
                let message = "a cycle life is a number of full cycles and the share below 100 % that they leave";
                self.fault(
                    Fault::at(at.span.clone(), message).help("write cycle-life = { cycles = 500, left = \"80 %\" }"),
                );
            } else {
                chemistry.cycles = Some(CycleLife { cycles: f64::from(at.value.cycles), left });
            }
        }
        let film = spec.film_over_rest.as_ref();
        let film = film.map(|at| (at, at.value.iter().map(|row| (row.at.0, row.is.0)).collect()));
        if let Some(over_rest) = self.table(film, |factor: Ratio| factor.0 >= 0.0) {
            chemistry.film = Some(Film { over_rest });
        }
    }

    /// A table of the project's own, at its place.
    fn table<X: Quantity, Y: Quantity, T>(
        &mut self,
        rows: Stated<'_, T, X, Y>,
        sound: impl Fn(Y) -> bool,
    ) -> Option<Table<X, Y>> {
        let (at, rows) = rows?;
        let positive = rows.iter().all(|(_, value)| sound(*value));
        match Table::new(rows) {
            Ok(table) if positive => Some(table),
            _ => {
                let fault = Fault::at(at.span.clone(), "this table needs rows that rise in `at`, with values above 0");
                self.fault(fault.help("write [ { at = \"...\", is = \"...\" }, ... ], smallest `at` first"));
                None
            }
        }
    }
}

/// The rows over temperature, at their place.
fn over_temperature(at: Option<&At<Vec<AtTemperatureSpec>>>) -> Stated<'_, Vec<AtTemperatureSpec>, Celsius, Ratio> {
    at.map(|at| (at, at.value.iter().map(|row| (row.at.0, row.is.0)).collect()))
}

/// A table at its place, where the project has one.
type Stated<'a, T, X, Y> = Option<(&'a At<T>, Vec<(X, Y)>)>;

/// Another open-circuit voltage: what a float voltage stores follows from it.
fn own_voltage(chemistry: &mut Chemistry, table: Table<Ratio, Volts>) {
    chemistry.maximum = table.at_clamped(Ratio(1.0));
    let least = table.at_clamped(Ratio(0.0));
    if least > chemistry.minimum {
        chemistry.minimum = least;
    }
    if let Some(float) = &mut chemistry.float {
        let stored = float.stored.rows().filter_map(|(volts, _)| Some((volts, table.inverse(volts)?)));
        match Table::new(stored) {
            Ok(stored) => float.stored = stored,
            Err(_) => chemistry.float = None,
        }
    }
    chemistry.ocv = table;
}

/// Another internal resistance over temperature, over charge, or over both; the factors are relative to 25 °C, half full.
fn own_resistance(
    chemistry: &mut Chemistry,
    over_temperature: Option<Table<Celsius, Ratio>>,
    over_charge: Option<Table<Ratio, Ratio>>,
) {
    let (half, room) = (Ratio(0.5), Celsius(25.0));
    let known = &chemistry.resistance;
    let warm: Vec<(Celsius, Ratio)> = match &over_temperature {
        Some(table) => table.rows().collect(),
        None => known.first_axis().into_iter().filter_map(|at| Some((at, known.at_y_clamped(at, half)?))).collect(),
    };
    let full: Vec<(Ratio, Ratio)> = match &over_charge {
        Some(table) => table.rows().collect(),
        None => known.second_axis().into_iter().filter_map(|at| Some((at, known.at_y_clamped(room, at)?))).collect(),
    };
    let row = |warm: Ratio| full.iter().map(|(_, factor)| Ratio(warm.0 * factor.0)).collect::<Vec<_>>();
    let xs: Vec<Celsius> = warm.iter().map(|(at, _)| *at).collect();
    let ys: Vec<Ratio> = full.iter().map(|(at, _)| *at).collect();
    if let Ok(surface) = Surface::new(&xs, &ys, &warm.iter().map(|(_, factor)| row(*factor)).collect::<Vec<_>>()) {
        chemistry.resistance = surface;
    }
}

//! How the battery's figures come about.

use super::account::Account;
use super::{Explanation, Subject};
use crate::budget::cautions::beside_supply;
use crate::budget::figure::Figure;
use crate::budget::life::{self as lives, Habits};
use crate::budget::regimes;
use crate::budget::summary::Budget;
use crate::budget::supply_corners::{self, SupplyCorners};
use crate::cell::Cell;
use crate::cell::capacitor::Buffered;
use crate::cell::peak::{Corner, Wear};
use crate::cell::resistance::ResistanceFactors;
use crate::cost::moment::Moment;
use crate::cost::phases::{phases, total};
use crate::cost::supply::Supply;
use crate::device::Device;
use crate::hardware::tables::tables_of;
use crate::parameters::ParameterSample;
use crate::refresh::update::{Mode, typical_work};
use crate::units::column::column;
use crate::units::{Amps, Celsius, Coulombs, DAY, Joules, Ratio, Seconds, Volts, YEAR, figures, grouped, plain_time};

fn charge(charge: Coulombs) -> String {
    format!("{} mAh", figures(charge.0 / 3.6))
}

/// The usable charge, factor by factor.
pub fn usable_charge(subject: &Subject<'_>) -> Option<Explanation> {
    let (device, parameters) = (subject.device, &subject.parameters);
    let temperature = device.usage.climate.mean();
    let counts = &subject.budget.counts;
    let mean = lives::mean_load(device, parameters, counts, 1.0, device.battery.nominal());
    let cell = lives::cell_in_use(device, parameters, counts, mean);
    let factors = cell.factors(temperature).ok()?;
    let battery = &device.battery;
    let formula = "usable = C_rated x k_temperature x k_charge x k_age x (1 - reserve)";
    let mut account = Account::new(subject, format!("Usable charge of a new battery at {temperature}"), formula);
    account.input("C_rated", battery.capacity);
    account.row(
        "k_temperature",
        factors.temperature,
        format!(
            "capacity at {temperature} and C/{}, the mean current; --explain battery",
            grouped(&format!("{:.0}", 1.0 / cell.rate.max(1e-9)))
        ),
    );
    account.row("k_charge", factors.float, "share stored at the charge voltage, the chemistry's table");
    account.row("k_age", factors.age, "a new battery");
    account.input("reserve", battery.reserve);
    let stated = parameters.of(battery.reserve);
    account.row(
        "reserved for the last screen",
        Ratio((factors.reserve.0 - stated.0).max(0.0)),
        "one full refresh at the coldest temperature and the minimum voltage, over the charge stored there",
    );
    let k = [factors.temperature, factors.float, factors.age].iter().map(|factor| factor.0).product::<f64>();
    let usable = factors.rated * (k * (1.0 - factors.reserve.0));
    account.result(Figure::Usable.row().pointer, usable, "usable", charge(usable));
    Some(account.done())
}

/// The tables of the battery's chemistry, or the project's own in their place.
pub fn tables(subject: &Subject<'_>) -> Option<Explanation> {
    let battery = &subject.device.battery;
    let formula = "Between two rows the straight line, between two rates that over their logarithm; outside: refused";
    let title = format!("Tables of the battery: {}", battery.chemistry.name);
    let mut account = Account::new(subject, title, formula);
    let parameters = &subject.parameters;
    for table in tables_of(&battery.chemistry, parameters.of(battery.capacity)) {
        for (index, (at, is)) in table.rows.iter().enumerate() {
            let what = if index == 0 { table.what() } else { String::new() };
            account.row(what, is, format!("at {at}"));
        }
    }
    for source in &battery.chemistry.sources {
        let kind = if source.assumption { "assumption: " } else { "" };
        account.note(format!("{}: {kind}{}", source.of, source.text));
    }
    account.note(
        "Built-in values, as far as the project states none; `inkjoule profiles NAME` prints the keys that replace them.",
    );
    Some(account.done())
}

/// The life of the typical device.
pub fn life(subject: &Subject<'_>) -> Option<Explanation> {
    let (device, parameters, budget) = (subject.device, &subject.parameters, subject.budget);
    let counts = &budget.counts;
    let typical = lives::life(device, parameters, counts, Habits::USUAL).ok()?;
    let (load_current, volts) =
        (lives::mean_load(device, parameters, counts, 1.0, device.battery.nominal()), device.battery.nominal());
    let usable = lives::usable(device, parameters, counts).ok()?;
    let formula = "dq/dt = -(I(V(q)) + k q), capacity fade a included, until the usable charge is gone, or the \
                   voltage under peak load is below what the rails need, or the battery or the panel is too old";
    let mut account = Account::new(subject, "Life of the typical device", formula);
    account.row("usable charge Q", charge(usable), "--explain usable-charge");
    let cell = lives::cell_in_use(device, parameters, counts, load_current);
    let case = cell.at(device.usage.climate.mean()).ok()?;
    account.input("self-discharge at 20 °C", device.battery.self_discharge);
    let self_discharge = case.self_discharge();
    let over = format!("of it over the usage's temperatures around {}, the mean of the rates", case.temperature());
    account.row("self-discharge k", self_discharge, over);
    account.input("capacity fade at the maximum voltage and 20 °C", device.battery.ageing);
    let (share, fading) = (cell.ageing_share().ok()?, cell.fades().ok()?);
    let from = match cell.cycles.0 > 0.0 {
        true => format!("of it {share}, which charge voltage and temperatures leave, and full cycles"),
        false => format!("of it {share}, which charge voltage and temperatures leave"),
    };
    account.row("capacity fade a", fading, from);
    account.row("mean current, linear rails", load_current.current, "always-on loads, events and refreshes of a day");
    account.row("mean power, switching rails", load_current.power, "the same; --explain day, --explain always-on");
    let current = load_current.at(volts);
    account.row("mean current I", current, format!("both, at {volts} (half full)"));
    let (peak, needed) = lives::peak(device, parameters);
    account.row(
        "peak load",
        peak.load_current.at(needed),
        format!("a full refresh at {}; --explain supply", lives::coldest(device)),
    );
    account.row("minimum voltage", needed, "the rails and the cell's minimum");
    let (limit, bound) = lives::bound(device, counts, 1.0);
    account.row("longest life", plain_time(limit), bound.words());
    let rate = self_discharge.0 + fading.0;
    let closed = if rate > 0.0 { (1.0 + rate * usable.0 / current.0).ln() / rate } else { (usable / current).0 };
    account.row(
        "for comparison",
        plain_time(Seconds(closed)),
        "ln(1 + (a + k) Q / I) / (a + k), the voltage staying half full",
    );
    account.row("typical life", plain_time(typical.time), format!("limited by {}", typical.ending.words()));
    let rows = regimes::rows(device, counts);
    if let Ok(lengths) = lives::stretches(device, parameters, counts) {
        for ((from, until, refreshes, current), length) in rows.iter().zip(lengths) {
            account.row(
                format!("of it from {} to {} % charge", figures(from.0 * 100.0), figures(until.0 * 100.0)),
                plain_time(length),
                format!("{current}, {} refreshes a day", figures(*refreshes)),
            );
        }
    }
    for (_, until, ..) in rows.iter().filter(|(_, until, ..)| until.0 > 0.0) {
        let percent = until.0 * 100.0;
        let who = regimes::who(device, percent).join(", ");
        account.note(format!("Below {} % of charge these are different: {who}.", figures(percent)));
    }
    if !rows.is_empty() {
        account.note("The mean current above is that of the fullest battery.");
    }
    if let Some(line) = why_not_typical(subject) {
        account.note(line);
    }
    account.note("P10, P50 and P90 are those of many devices: --explain fleet.");
    Some(account.done())
}

/// The life of the device with typical inputs beside the median, which tolerances that reach further to one side part.
#[derive(Clone, Debug)]
pub struct OneSided {
    /// The life with every input at its typical value.
    pub typical: Seconds,
    /// The median of many devices.
    pub median: Seconds,
    /// The inputs that move the median most: their paths, and the relative effect of each.
    pub largest: Vec<(String, f64)>,
}

impl OneSided {
    /// The cause in words.
    pub fn reason(&self) -> String {
        let all = self.largest.iter().map(|(path, effect)| format!("{path} {:+.1} %", effect * 100.0));
        match self.largest.is_empty() {
            true => "usage and temperature spread to one side".to_owned(),
            false => format!("tolerances reach further to one side ({})", all.collect::<Vec<_>>().join(", ")),
        }
    }
}

/// The typical device's life beside the median. `None` where there is no life.
pub fn one_sided(device: &Device, budget: &Budget) -> Option<OneSided> {
    let median = budget.life.as_ref().ok()?.p50.time;
    let typical = lives::life(device, &device.inputs.typical(), &budget.counts, Habits::USUAL).ok()?.time;
    let effect = |row: &crate::parameters::InputRow| {
        let mean = (row.min + row.typ + row.max) / 3.0;
        let entry = budget.sensitivity(device).iter().find(|entry| entry.input == row.path)?;
        let effect = entry.elasticity * (mean / row.typ).ln();
        (effect.is_finite() && effect != 0.0).then(|| (row.path.clone(), effect))
    };
    let mut effects: Vec<(String, f64)> = device.inputs.rows().iter().filter_map(effect).collect();
    effects.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    effects.truncate(3);
    Some(OneSided { typical, median, largest: effects })
}

/// Why the median is not the life of the typical device.
fn why_not_typical(subject: &Subject<'_>) -> Option<String> {
    let found = one_sided(subject.device, subject.budget)?;
    let (median, typical, reason) = (found.median, found.typical, found.reason());
    let change = 100.0 * (median / typical - 1.0);
    let lives = column(&[median, typical]);
    Some(format!("The median of {} is {change:+.1} % from the typical device's {}: {reason}.", lives[0], lives[1]))
}

/// The spread of lives.
pub fn fleet(subject: &Subject<'_>) -> Option<Explanation> {
    let (device, fleet) = (subject.device, subject.budget.life.as_ref().ok()?);
    let devices: u32 = fleet.endings.values().sum();
    let formula = "Monte Carlo: each device takes each input from a triangular distribution over min, typ and max, the usage from a lognormal \
                   distribution with mean 1, and its battery's temperature from a normal distribution; its life follows as in --explain life";
    let mut account = Account::new(subject, format!("Life distribution of {devices} devices"), formula);
    let spread = device.inputs.rows().iter().filter(|row| row.max > row.min).count();
    account.row("inputs with a spread", spread, format!("of {} inputs", device.inputs.rows().len()));
    account.row("usage", device.usage.spread, "usage.spread, one standard deviation");
    account.row(
        "temperature",
        format!("{} K", figures(device.usage.climate_spread.0)),
        "usage.temperature.spread, one standard deviation",
    );
    account.row("seed", device.usage.seed, "usage.seed; the number of a device alone decides its random values");
    account.figure_from(Figure::Devices, "devices", "");
    account.figure_from(Figure::VoltageEnded, "of them limited by voltage", "--explain supply");
    for (ending, count) in &fleet.endings {
        account.row("limited by", *count, ending.words());
    }
    if let Some(line) = why_not_typical(subject) {
        account.note(line);
    }
    let ends = [
        (Figure::LifeP10.row().pointer, "P10", fleet.p10),
        (Figure::Life.row().pointer, "P50", fleet.p50),
        (Figure::LifeP90.row().pointer, "P90", fleet.p90),
    ];
    for (pointer, name, life) in ends {
        account.result(pointer, life.time / DAY, name, plain_time(life.time));
    }
    Some(account.done())
}

/// The voltage under the peak load at the worst corner.
pub fn supply(subject: &Subject<'_>) -> Option<Explanation> {
    let supply_corners = subject.budget.supply_corners.as_ref().ok()?;
    let row = supply_corners.rows.iter().find(|row| row.mode == supply_corners.mode)?;
    let worst = &supply_corners.worst;
    let peak = row.peak(worst);
    let load_current = peak.load_current;
    let formula = "V = (E + sqrt(E^2 - 4 R P)) / 2 with E = V_open - R I; no real root is a brown-out";
    let title = format!("Voltage under peak load of a {} refresh: {}", row.mode.name(), supply_corners::words(worst));
    let weakest = Subject { parameters: supply_corners.device.clone(), ..*subject };
    let mut account = Account::new(&weakest, title, formula);
    for (index, row) in subject.device.inputs.rows().iter().enumerate() {
        let value = supply_corners.device.value(index);
        if value != row.typ {
            let end = if value > row.typ { "max" } else { "min" };
            account.row(&row.path, row.show(value), format!("{end} of its tolerance, typical {}", row.shown));
        }
    }
    account.row("temperature", worst.temperature, "the coldest of the usage's climate, or the hottest");
    account.row("age when aged", plain_time(supply_corners.aged), "half of the battery's age limit");
    account.row("state of charge", worst.state_of_charge, "full, or down to the reserve");
    account.row("V_open", worst.ocv, "the chemistry's table");
    resistance(&mut account, subject.device, supply_corners, worst);
    account.row("I", load_current.current, "linear rails, the rails' own currents, always-on loads, loads on");
    account.row("P", load_current.power, "switching rails at the minimum voltage");
    account.figure_from(Figure::NeededVoltage, "needed", "rails and the cell's minimum");
    let device = subject.device;
    if let Some(moment) = lives::moment(device, &supply_corners.device, row.mode, worst.temperature) {
        account.row("the moment", "", moment.words(device));
        parts(&mut account, device, &supply_corners.device, &moment, supply_corners.needed);
    }
    let source = worst.ocv - worst.resistance * load_current.current;
    let under_root = source.0 * source.0 - 4.0 * worst.resistance.0 * load_current.power.0;
    match under_root >= 0.0 && source.0 > 0.0 {
        true => {
            let volts = Volts(0.5 * (source.0 + under_root.sqrt()));
            match &peak.buffered {
                None => account.result(Figure::SupplyVoltage.row().pointer, volts, "V", volts),
                Some(_) => account.row("V without the capacitor", volts, "where this load lasts"),
            }
        }
        false if peak.buffered.is_some() => {
            account.row("V without the capacitor", "brown-out", "where this load lasts: E^2 is below 4 R P");
        }
        false => account.row("V", "brown-out", "E^2 is below 4 R P"),
    }
    if let Some(buffered) = &peak.buffered {
        beside(&mut account, buffered, worst);
    }
    account.row(
        "largest current of the panel",
        supply_corners.largest_current,
        "what the cold, empty, aged battery can still give on its rail",
    );
    account.row("current of a full refresh", supply_corners.full_current, "the panel at its peak, above sleep");
    let (short, all) = subject.budget.ended_by_voltage();
    account.row("Monte Carlo", short, format!("of {all} random devices are limited by voltage; --explain fleet"));
    for caution in beside_supply(device, subject.budget) {
        account.note(caution);
    }
    account.note("Each input stands at the end of its tolerance that leaves the smallest margin; one that does not matter stays typical.");
    Some(account.done())
}

/// The factors of the resistance at a corner.
fn resistance(account: &mut Account<'_>, device: &Device, supply_corners: &SupplyCorners, at: &Corner) {
    let aged = if at.wear == Wear::Aged { supply_corners.aged } else { Seconds(0.0) };
    let cell = Cell { age: aged, rest: device.battery.stored, ..lives::new_cell(device, &supply_corners.device) };
    if let Ok(factors) = ResistanceFactors::of(&cell, at.state_of_charge, at.temperature) {
        let factor = |ratio: Ratio| format!("x {}", figures(ratio.0));
        account.row("resistance when new", factors.new, "battery.resistance");
        account.row("cold and charge", factor(factors.table), "the chemistry's table at this temperature and charge");
        if factors.film.0 > 0.0 {
            let rest = plain_time(device.battery.stored);
            account.row(
                "film",
                format!("+ {}", figures(factors.film.0)),
                format!("after {rest} of rest, battery.stored-for"),
            );
        }
        account.row("age", factor(factors.age), format!("grown over {}", plain_time(aged)));
        if factors.series > 1 {
            account.row("cells in series", format!("x {}", factors.series), "battery.cells");
        }
    }
    account.row("R", at.resistance, "the product");
}

/// What makes the peak up: each part on its rail, and what the battery gives for it at the lowest voltage needed; nothing
/// where another source feeds the rail.
fn parts(account: &mut Account<'_>, device: &Device, parameters: &ParameterSample, moment: &Moment, volts: Volts) {
    let supply = Supply::new(device, parameters, volts);
    for (part, rail, drawn) in &moment.parts {
        let at = supply.voltage(*rail).unwrap_or(volts);
        let given = supply.beyond(supply.needs(*rail), &[(*rail, *drawn)]).at(volts);
        let [used, taken] = [drawn.at(at).0 * at.0, given.0 * volts.0];
        let efficiency = if taken > 0.0 { format!(", efficiency {}", Ratio(used / taken)) } else { String::new() };
        let rail = &device.board.rails[rail.0].name;
        let from = format!("on {rail} at {at}; {given} from the battery at {volts}{efficiency}");
        account.row(part.words(device), drawn.at(at), from);
    }
}

/// What a capacitor beside the battery does at a corner.
fn beside(account: &mut Account<'_>, buffered: &Buffered, at: &Corner) {
    let (capacitor, dip) = (buffered.capacitor, buffered.dip(at.ocv, at.resistance));
    account.row("C", capacitor.capacitance, "battery.capacitor");
    account.row("r", capacitor.resistance, "its series resistance; (V_open - V) / R + (u - V) / r = I + P / V");
    let constant = capacitor.time_constant(at.resistance);
    account.row("(R + r) C", constant, "time constant of C du/dt = (V - u) / r; full again after five of them");
    for train in &buffered.trains {
        let words = match constant * 5.0 > train.period {
            true => "the capacitor is not full again before the next: counted as it is then",
            false => "the capacitor is full again before the next",
        };
        account.row("pulses every", train.period, words);
    }
    let when = format!("{} after the first of what is drawn, phase by phase", dip.at);
    match dip.terminal.volts() {
        Some(volts) => account.result(Figure::SupplyVoltage.row().pointer, volts, "V, deepest dip", volts),
        None => account.row("V", "brown-out", "no voltage supports the load beside the capacitor"),
    }
    account.row("the dip lies", when, "");
    if at.resistance.0 + capacitor.resistance.0 > 0.0 {
        let inrush = at.ocv / (at.resistance + capacitor.resistance);
        account.row("inrush", inrush, "V_open / (R + r), when the battery is inserted beside the empty capacitor");
    }
}

/// The time of a charge.
pub fn charging(subject: &Subject<'_>) -> Option<Explanation> {
    let (device, parameters) = (subject.device, &subject.parameters);
    let charger = device.board.charger.as_ref()?;
    let cell = lives::new_cell(device, parameters);
    let load = lives::mean_load(device, parameters, &subject.budget.counts, 1.0, device.battery.nominal());
    let time = lives::recharge(device, parameters, &subject.budget.counts)?.ok()?;
    let formula = "t = integral of dq / (I - I_load) up to the charge voltage at the terminals, then of dq R(q) / (V_charge - \
                   V_open(q)) down to the termination";
    let mut account = Account::new(subject, "Time of a charge from the reserve, the device running", formula);
    account.input("I", charger.current);
    account.input("termination", charger.termination);
    account.row("temperature", charger.temperature, "board.charger.temperature");
    account.row("charge voltage of a cell", cell.float_per_cell(), "battery.charge-voltage or the chemistry's maximum");
    account.row("I_load", load.at(device.battery.nominal()), "--explain life");
    account.row(
        "constant current",
        time.constant_current,
        format!("state of charge from {}, the reserve, to {}", time.from, time.turn),
    );
    account.row("constant voltage", time.constant_voltage, format!("to {}", time.to));
    account.row("charge put in", charge(time.charge), "");
    let whole = time.constant_current + time.constant_voltage;
    account.result(Figure::ChargeTime.row().pointer, whole, "time", plain_time(whole));
    account.note("Never charge a cell outside its maker's limits of temperature and voltage.");
    Some(account.done())
}

/// What the last screen needs.
pub fn last_screen(subject: &Subject<'_>) -> Option<Explanation> {
    let (device, parameters) = (subject.device, &subject.parameters);
    let temperature: Celsius = lives::coldest(device);
    let work = typical_work(device, Mode::Full, temperature)?;
    let phases = phases(device, parameters, &work, device.battery.nominal());
    let volts = device.battery.nominal();
    let formula = "The sum of the phases of one full refresh; its charge is added to the reserve";
    let mut account = Account::new(subject, format!("The last screen at {temperature}"), formula);
    let mut sum = Joules(0.0);
    for phase in &phases {
        let energy = phase.draw.energy_at(volts);
        sum += energy;
        account.row(phase.name, energy, phase.how);
    }
    account.result(Figure::LastScreen.row().pointer, sum, "energy", sum);
    let kept = total(&phases).charge_at(lives::least_input(device, parameters));
    account.row("reserved charge", charge(kept), "at the minimum voltage of the rails");
    let a_year = Amps(kept.0 / YEAR);
    account.note(format!("It equals a load of {a_year} for a year."));
    Some(account.done())
}

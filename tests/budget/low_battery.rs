//! What a device does below a state of charge: each stretch is simulated by itself, and the life goes through all of them.

use crate::plain::{close, device};
use inkjoule::budget::life::{self, Habits, life, mean_load};
use inkjoule::budget::{regimes, usage};
use inkjoule::device::Device;
use inkjoule::simulate::counts::regimes as stretches;
use inkjoule::simulate::simulate;

const USAGE: &str = "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = 2\n\
                     temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";
const FIELD: &str = "[fields.n]\nrange = [0, 9]\non = \"report\"\nsignal = { count = { step = 1 } }\n\
                     [fields.m]\nrange = [0, 9]\non = \"seldom\"\nsignal = { count = { step = 1 } }\n\
                     [fields.charge]\nrange = [0, 100]\nsample = 80\nholds = \"charge\"\n";

/// Reports every ten minutes, and every two hours below 25 %.
fn saving(from: &str, below: &str) -> Device {
    let events = format!("[events.report]\nevery = \"10 min\"\n{from}[events.seldom]\nevery = \"2 h\"\n{below}");
    let a = "content = [ { text = \"{n} {m}\" } ]\n[on]\nreport = { change = { field = \"n\", by = 0 } }\n";
    device(&format!("{FIELD}{events}{USAGE}"), &[("a", a)])
}

const FROM: &str = "while = { field = \"charge\", from = 25 }\n";
const BELOW: &str = "while = { field = \"charge\", below = 25 }\n";

#[test]
fn the_life_goes_through_both_regimes() {
    let device = saving(FROM, BELOW);
    let parameters = device.inputs.typical();
    let counts = simulate(&device, &parameters);
    let all: Vec<_> = stretches(&counts).collect();
    assert_eq!(all.len(), 2);
    assert_eq!((all[0].0.0, all[1].0.0), (0.25, 0.0));
    // 144 a day, then 12 a day.
    let (report, seldom) = (0, 1);
    assert_eq!((all[0].1.events[report], all[0].1.events[seldom]), (288, 0));
    assert_eq!((all[1].1.events[report], all[1].1.events[seldom]), (0, 24));
    // No reserve, no self-discharge, no ageing, no resistance: three quarters of the charge at the one current, one at the
    // other. The linear regulator passes the current on, so it does not depend on the voltage.
    let found = life(&device, &parameters, &counts, Habits::USUAL).expect("a life").time.0;
    let nominal = device.battery.nominal();
    let current =
        |index: usize| mean_load(&device, &parameters, all[index].1, 1.0, device.battery.nominal()).at(nominal).0;
    let charge = 0.1 * 3600.0;
    // The rail drops out at 3.1 V, with 1.11 % left.
    let by_hand = 0.75 * charge / current(0) + (0.25 - 0.0111) * charge / current(1);
    assert!(current(0) > 2.0 * current(1), "{} {}", current(0), current(1));
    close(found, by_hand, 2e-3);
    // Each side for itself, and what switches.
    let lengths = life::stretches(&device, &parameters, &counts).expect("a life");
    assert_eq!(lengths.len(), 2);
    close(lengths[0].0, 0.75 * charge / current(0), 2e-3);
    close(lengths[1].0, (0.25 - 0.0111) * charge / current(1), 2e-3);
    close(lengths[0].0 + lengths[1].0, found, 1e-9);
    assert_eq!(regimes::who(&device, 25.0), ["event `report`", "event `seldom`"]);
    assert!(regimes::who(&device, 15.0).is_empty());
    // It is told.
    let said = regimes::text(&device, &counts);
    assert!(said.contains("100 to 25 %") && said.contains("25 to 0 %"), "{said}");
    let rows = regimes::json(&device, &counts);
    close(rows[1]["mean_current_a"].as_f64().expect("a number"), current(1), 1e-12);
    assert!(usage::json(&device, &counts).contains_key("regimes"));
}

#[test]
fn without_a_switch_the_life_is_that_of_one_regime() {
    let switched = saving(FROM, BELOW);
    let plain = saving("", "while = { field = \"n\", below = -1 }\n");
    let parameters = plain.inputs.typical();
    let counts = simulate(&plain, &parameters);
    assert!(counts.below.is_empty() && regimes::text(&plain, &counts).is_empty());
    assert!(!usage::json(&plain, &counts).contains_key("regimes"));
    let same = life(&plain, &parameters, &counts, Habits::USUAL).expect("a life").time.0;
    let longer =
        life(&switched, &switched.inputs.typical(), &simulate(&switched, &switched.inputs.typical()), Habits::USUAL);
    let longer = longer.expect("a life").time.0;
    assert!(longer > 1.2 * same, "{longer} {same}");
}

#[test]
fn what_happens_on_the_way_down_has_happened_below() {
    // Below 10 % a last screen without keys and timers; the reports go on but change nothing there.
    let a = "content = [ { text = \"{n}\" } ]\n[on]\nflat = { go = \"last\" }\n";
    let last = "role = \"battery-empty\"\ncontent = [ { text = \"empty\" } ]\n";
    let events = "[events.report]\nevery = \"10 min\"\n[events.seldom]\nper-day = 0\n[events.flat]\nwhen = { field = \"charge\", below = 10 }\n";
    let device = device(&format!("{FIELD}{events}{USAGE}"), &[("a", a), ("last", last)]);
    let counts = simulate(&device, &device.inputs.typical());
    let all: Vec<_> = stretches(&counts).collect();
    assert_eq!(all.len(), 2);
    let shown = |index: usize| all[index].1.shown.iter().map(|time| time.0 > 0.0).collect::<Vec<_>>();
    assert_eq!(shown(0), [true, false]);
    assert_eq!(shown(1), [false, true]);
    assert!(all[0].1.partial > 250 && all[1].1.partial + all[1].1.full <= 3, "{} {}", all[1].1.partial, all[1].1.full);
}

/// Solution of dq/dt = -I - k q, once for each current: `ln((I + k q0) / (I + k q1)) / k`.
#[test]
fn self_discharge_goes_on_through_the_switch() {
    use inkjoule::budget::regimes::{Regime, through};
    use inkjoule::cell::Cell;
    use inkjoule::cell::chemistry::{Chemistry, ChemistryKind};
    use inkjoule::cell::life::{Discharge, EndedBy};
    use inkjoule::cell::peak::LoadCurrent;
    use inkjoule::cell::pulsed::{Demand, Pulsed, Spread};
    use inkjoule::units::{Amps, Celsius, Coulombs, PerSecond, Ratio, Seconds, YEAR};
    let mut chemistry = Chemistry::built_in(ChemistryKind::LithiumIon).expect("built in");
    (chemistry.ageing, chemistry.resistance_growth) = (PerSecond(0.0), PerSecond(0.0));
    let mut cell = Cell::typical(chemistry.into(), Coulombs(360.0));
    cell.self_discharge = PerSecond(0.5 / YEAR);
    let case = cell.at(Celsius(25.0)).expect("a case");
    let currents = [20e-6, 5e-6];
    let regimes: Vec<Regime> = [0.4, 0.0]
        .into_iter()
        .zip(currents)
        .map(|(until, amps)| {
            let course =
                Pulsed::new(Demand::LoadCurrent(LoadCurrent::current(Amps(amps))), Vec::new(), Spread::default())
                    .expect("a load");
            Regime { until: Ratio(until), course }
        })
        .collect();
    let whole = Discharge { case: &case, cut_offs: &[], age_limit: None };
    let found = through(&whole, case.start(), &regimes, regimes.len()).expect("a life");
    let k = case.self_discharge().0;
    let above = |charge: Coulombs| (charge - case.floor()).0;
    let part = |amps: f64, from: f64, to: f64| ((amps + k * from) / (amps + k * to)).ln() / k;
    let switch = above(case.charge(Ratio(0.4)));
    let first = part(currents[0], above(case.start()), switch);
    close(found.time.0, first + part(currents[1], switch, 0.0), 1e-6);
    assert_eq!(found.ended_by, EndedBy::ChargeExhausted);
    // A limit of age is one for all regimes together, and a battery below the switch begins there.
    let limit = Seconds(first * 1.2);
    let short =
        through(&Discharge { age_limit: Some(limit), ..whole }, case.start(), &regimes, regimes.len()).expect("a life");
    close(short.time.0, limit.0, 1e-9);
    assert_eq!(short.ended_by, EndedBy::AgeLimit);
    let late = through(&whole, case.charge(Ratio(0.3)), &regimes, regimes.len()).expect("a life");
    close(late.time.0, part(currents[1], above(case.charge(Ratio(0.3))), 0.0), 1e-6);
}

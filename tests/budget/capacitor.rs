//! A capacitor beside the battery of a whole project: what it carries, what it costs, and what is refused.

use crate::plain::{BASE, close, load};
use inkjoule::budget::life::{Ending, Habits, life, moment};
use inkjoule::budget::supply_corners;
use inkjoule::cell::capacitor::{Buffered, Capacitor, Leg};
use inkjoule::cost::moment::Part;
use inkjoule::cost::phases::Drawer;
use inkjoule::device::Device;
use inkjoule::device::party::Party;
use inkjoule::refresh::update::Mode;
use inkjoule::simulate::simulate;
use inkjoule::units::{Celsius, DAY, Ohms, Volts};

const SCREENS: &[(&str, &str)] = &[("a", "content = [ { text = \"A\" } ]")];
const USE: &str = "[policy]\nfull-every = \"300 d\"\n[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = 360\n\
                   temperature = { low = \"25 °C\", high = \"25 °C\", warmest = \"12:00\" }\n";
const LITHIUM: &str = "chemistry = \"lithium-ion\"\ncapacity = \"100 mAh\"\nresistance = \"0 Ohm\"\n";
const RADIO: &str = "[board.loads.radio]\ncurrent = \"40 mA\"\non = \"4 ms\"\nperiod = \"30 s\"\n";
const BESIDE: &str = "[battery.capacitor]\ncapacitance = \"2 mF\"\nresistance = \"0.1 Ohm\"\nleakage = \"1 uA\"\n";

/// The plain device behind an LDO of 2.2 V on a coin cell of 30 Ohm.
fn device(loads: &str, capacitor: &str) -> Result<Device, String> {
    let coin = "chemistry = \"lithium-manganese-dioxide\"\ncapacity = \"100 mAh\"\nresistance = \"30 Ohm\"\n\
                resistance-over-charge = [ { at = \"0 %\", is = \"100 %\" }, { at = \"100 %\", is = \"100 %\" } ]\n";
    let root = BASE.replace(LITHIUM, coin).replace("output = \"3 V\"", "output = \"2.2 V\"");
    load(format!("{root}{capacitor}{loads}{USE}"), SCREENS)
}

fn sound(loads: &str, capacitor: &str) -> Device {
    device(loads, capacitor).unwrap_or_else(|text| panic!("{text}"))
}

fn days(device: &Device) -> (f64, Ending) {
    let parameters = device.inputs.typical();
    let life = life(device, &parameters, &simulate(device, &parameters), Habits::USUAL).expect("a life");
    (life.time / DAY, life.ending)
}

/// 40 mA through 30 Ohm are 1.2 V: the coin cell alone is given up at once; 2 mF give 0.16 C for 80 mV.
#[test]
fn a_capacitor_carries_a_radio_that_the_cell_does_not() {
    let (alone, ending) = days(&sound(RADIO, ""));
    assert!(alone == 0.0 && ending == Ending::Voltage, "{alone} {ending:?}");
    let (with, _) = days(&sound(RADIO, BESIDE));
    let idle = sound("", BESIDE);
    assert!(with > 100.0, "{with}");
    // 40 mA for 4 ms in 30 s are 5.3 uA beside 3 uA asleep and 1 uA of leakage: the life without the radio is that much longer.
    let (without, _) = days(&idle);
    assert!(without > 2.0 * with, "{without} {with}");
}

/// The deepest dip of the project is that of its phases and the pulse put one after the other by hand.
#[test]
fn the_deepest_dip_is_the_lowest_over_every_place_of_the_pulse() {
    let device = sound(RADIO, BESIDE);
    let parameters = device.inputs.typical();
    let moment = moment(&device, &parameters, Mode::Full, Celsius(25.0)).expect("an update");
    let buffered = moment.peak.buffered.as_ref().expect("a capacitor");
    let (ocv, ohms) = (Volts(2.9), Ohms(30.0));
    let found = buffered.dip(ocv, ohms).terminal.volts().expect("it holds").0;
    // The phases beside the pulse are those of the legs without it: put the pulse at 200 places.
    let bare = sound("", BESIDE);
    let bare =
        inkjoule::budget::life::moment(&bare, &bare.inputs.typical(), Mode::Full, Celsius(25.0)).expect("an update");
    let bare = bare.peak.buffered.as_ref().expect("a capacitor").as_ref().clone();
    let whole: f64 = bare.legs.iter().map(|leg| leg.time.0).sum();
    let lowest = (0..200).map(|place| dip_with_pulse(&bare, whole * f64::from(place) / 200.0, (ocv, ohms)));
    let lowest = lowest.fold(f64::INFINITY, f64::min);
    assert!(found <= lowest + 1e-9 && found > lowest - 2e-3, "{found} V, {lowest} V among 200 places");
    assert!(moment.phase.is_some() && !moment.with.is_empty(), "{}", moment.words(&device));
    // Its parts: the panel in its drive and the radio, beside 3 uA asleep, 1 uA of leakage and the radio's mean.
    let parts: Vec<_> = moment.parts.iter().map(|(part, ..)| *part).collect();
    assert_eq!(parts, [Part::Update(Drawer::Panel), Part::Party(Party::Load(0))], "{}", moment.words(&device));
    let sum: f64 = moment.parts.iter().map(|(_, _, drawn)| drawn.current.0).sum();
    close(moment.peak.load_current.current.0, sum + 4e-6 + 40e-3 * 4e-3 / 30.0, 1e-9);
}

/// The lowest voltage with 40 mA for 4 ms from a time on.
fn dip_with_pulse(bare: &Buffered, at: f64, (ocv, ohms): (Volts, Ohms)) -> f64 {
    let (mut legs, mut begin) = (Vec::new(), 0.0);
    for leg in &bare.legs {
        let mut edges = vec![begin, begin + leg.time.0];
        edges.extend([at, at + 4e-3].into_iter().filter(|edge| *edge > begin && *edge < begin + leg.time.0));
        edges.sort_by(f64::total_cmp);
        for pair in edges.windows(2) {
            let middle = 0.5 * (pair[0] + pair[1]);
            let mut leg = Leg { time: inkjoule::units::Seconds(pair[1] - pair[0]), ..*leg };
            if (at..at + 4e-3).contains(&middle) {
                leg.load_current.current.0 += 40e-3;
            }
            legs.push(leg);
        }
        begin += leg.time.0;
    }
    Buffered { legs, ..bare.clone() }.dip(ocv, ohms).terminal.volts().expect("it holds").0
}

/// Two events of different length beside no update are lowest when they end together: 20 mA for 400 ms and 40 mA for 4 ms.
/// By hand with `k = R / (R + r)` and `T = (R + r) C` a current `i` drops the terminals by `R i (1 - k e^(-t/T))` after `t`,
/// and drops add up; and by the circuit's differential equation, integrated by Runge and Kutta's method in steps of 20 us
/// with the short one at eleven places.
#[test]
fn loads_of_different_length_are_lowest_when_they_end_together() {
    let event = |name: &str, current: &str, time: &str| {
        format!(
            "[events.{name}]\nevery = \"1 h\"\nprofile = [ {{ current = \"{current}\", time = \"{time}\" }} ]\n\
             never-with = [\"update\"]\n"
        )
    };
    let device = sound(&(event("send", "20 mA", "400 ms") + &event("flash", "40 mA", "4 ms")), BESIDE);
    let at = |temperature| moment(&device, &device.inputs.typical(), Mode::Full, temperature).expect("an update");
    let (ocv, ohms) = (2.9, 30.0);
    let found = at(Celsius(25.0)).peak.terminal(Volts(ocv), Ohms(ohms)).volts().expect("it holds").0;
    let (esr, farads) = (0.1, 2e-3);
    let (k, constant) = (ohms / (ohms + esr), (ohms + esr) * farads);
    let drop = |current: f64, time: f64| ohms * current * (1.0 - k * (-time / constant).exp());
    // Beside them 3 uA asleep and 1 uA of leakage.
    close(found, ocv - ohms * 4e-6 - drop(20e-3, 0.4) - drop(40e-3, 4e-3), 1e-9);
    let lowest = (0..=10).map(|place| {
        let begin = 0.396 * f64::from(place) / 10.0;
        let current = |t: f64| 4e-6 + 20e-3 + if (begin..begin + 4e-3).contains(&t) { 40e-3 } else { 0.0 };
        let volts = |u: f64, t: f64| (ocv / ohms + u / esr - current(t)) / (1.0 / ohms + 1.0 / esr);
        let slope = |u: f64, t: f64| (volts(u, t) - u) / (esr * farads);
        let (mut u, step, mut low) = (ocv - ohms * 4e-6, 20e-6, f64::INFINITY);
        for index in 0..20_000 {
            // Inside the step, so that its ends are not on both sides of an edge.
            let t = (f64::from(index) + 0.5) * step;
            let a = slope(u, t);
            let b = slope(u + 0.5 * step * a, t);
            let c = slope(u + 0.5 * step * b, t);
            let d = slope(u + step * c, t);
            u += step / 6.0 * (a + 2.0 * b + 2.0 * c + d);
            low = low.min(volts(u, t));
        }
        low
    });
    close(found, lowest.fold(f64::INFINITY, f64::min), 1e-5);
}

/// Of a profile that step ends with the others after which the battery alone is lowest, wherever it stands among them: the
/// steps before it have been drawn by then, those behind it not yet. By hand as above: a current that flows from `a` to `b`
/// before the moment drops `R i k (e^(-b/T) - e^(-a/T))`, and `R i (1 - k e^(-a/T))` where it flows until then.
#[test]
fn of_a_profile_its_deepest_step_ends_with_the_others() {
    let (before, deep, behind) = ([5e-3, 0.1], [40e-3, 4e-3], [2e-3, 0.2]);
    for steps in
        [vec![before, deep, behind], vec![deep, behind], vec![behind, before, deep, behind], vec![behind, deep]]
    {
        let written = |[current, time]: &[f64; 2]| {
            format!("{{ current = \"{} mA\", time = \"{} ms\" }}", current * 1e3, time * 1e3)
        };
        let profile = steps.iter().map(written).collect::<Vec<_>>().join(", ");
        let events = format!(
            "[events.send]\nevery = \"1 h\"\nprofile = [ {{ current = \"20 mA\", time = \"400 ms\" }} ]\n\
             never-with = [\"update\"]\n\
             [events.beep]\nevery = \"1 h\"\nprofile = [ {profile} ]\nnever-with = [\"update\"]\n"
        );
        let device = sound(&events, BESIDE);
        let moment = moment(&device, &device.inputs.typical(), Mode::Full, Celsius(25.0)).expect("an update");
        let (ocv, ohms) = (2.9, 30.0);
        let found = moment.peak.terminal(Volts(ocv), Ohms(ohms)).volts().expect("it holds").0;
        let (k, constant) = (ohms / (ohms + 0.1), (ohms + 0.1) * 2e-3);
        let left = |ago: f64| k * (-ago / constant).exp();
        let drop =
            |current: f64, [from, to]: [f64; 2]| ohms * current * (if to == 0.0 { 1.0 } else { left(to) } - left(from));
        let deepest = steps.iter().position(|step| *step == deep).expect("it is there");
        let mut ago = 0.0;
        let mut drops = drop(20e-3, [0.4, 0.0]);
        for [current, time] in steps[..=deepest].iter().rev() {
            drops += drop(*current, [ago + time, ago]);
            ago += time;
        }
        close(found, ocv - ohms * 4e-6 - drops, 1e-9);
        assert_eq!(moment.with.len(), 2, "{}", moment.words(&device));
    }
}

/// The moment is told by the phase of the update and the time since its beginning, though a load began earlier: one of twenty
/// seconds ends with the phase that draws most, 20 mA more than what it draws.
#[test]
fn the_time_of_the_deepest_dip_counts_from_the_update() {
    let long = "[events.send]\nevery = \"1 h\"\nprofile = [ { current = \"20 mA\", time = \"20 s\" } ]\n";
    let device = sound(long, BESIDE);
    let parameters = device.inputs.typical();
    let found = moment(&device, &parameters, Mode::Full, Celsius(25.0)).expect("an update");
    let (name, time) = found.phase.expect("within the update");
    let work = inkjoule::refresh::update::typical_work(&device, Mode::Full, Celsius(25.0)).expect("an update");
    let phases = inkjoule::cost::phases::phases(&device, &parameters, &work, device.battery.nominal());
    let mut end = 0.0;
    let ends: Vec<_> = phases
        .iter()
        .map(|phase| {
            (phase.name, {
                end += phase.time.0;
                end
            })
        })
        .collect();
    let found_end = ends.iter().find(|(known, at)| *known == name && (at - time.0).abs() < 1e-6);
    assert!(found_end.is_some(), "{name} {time}, of {ends:?}");
}

/// The microcontroller that an event wakes runs until the end: 2 mA beyond its sleep for 1 ms of waking and 20 ms of work,
/// beside 40 mA for 60 ms. By hand as above.
#[test]
fn the_woken_microcontroller_runs_until_the_others_end() {
    let event = "[events.send]\nevery = \"1 h\"\nprofile = [ { current = \"40 mA\", time = \"60 ms\" } ]\n\
                 mcu-awake = \"20 ms\"\nnever-with = [\"update\"]\n";
    let device = sound(event, BESIDE);
    let moment = moment(&device, &device.inputs.typical(), Mode::Full, Celsius(25.0)).expect("an update");
    let (ocv, ohms) = (2.9, 30.0);
    let found = moment.peak.terminal(Volts(ocv), Ohms(ohms)).volts().expect("it holds").0;
    let (k, constant) = (ohms / (ohms + 0.1), (ohms + 0.1) * 2e-3);
    let drop = |current: f64, time: f64| ohms * current * (1.0 - k * (-time / constant).exp());
    close(found, ocv - ohms * 4e-6 - drop(40e-3, 60e-3) - drop(2e-3, 21e-3), 1e-9);
    assert!(moment.beside.woken, "{}", moment.words(&device));
}

/// A rail that the screen keeps on was charged long before an event draws on it: by hand as above, 40 mA for 50 ms with the
/// microcontroller, 2 mA beyond its sleep, that a key woke for 1 ms.
#[test]
fn a_rail_that_is_kept_on_is_not_charged_for_an_event() {
    let rail = "[board.rails.probe]\nregulator = \"ldo\"\noutput = \"2.2 V\"\ndropout = \"100 mV\"\n\
                while = { screen = \"b\" }\nstart-up = \"2 ms\"\ncapacitor = \"10 uF\"\n\
                [events.send]\nrail = \"probe\"\nevery = \"1 h\"\nprofile = [ { current = \"40 mA\", time = \"50 ms\" } ]\n\
                never-with = [\"update\"]\n";
    let screens = [
        ("a", "keys.1.go = \"b\"\ncontent = [ { text = \"A\" } ]"),
        ("b", "keys.1.go = \"a\"\ncontent = [ { text = \"B\" } ]"),
    ];
    let root = BASE.replace("[board.mcu]\n", "[board.mcu]\nrail = \"main\"\n");
    let root =
        root.replace("[panel]\n", "[panel]\nrail = \"main\"\n").replace("output = \"3 V\"", "output = \"2.2 V\"");
    let coin = "chemistry = \"lithium-manganese-dioxide\"\ncapacity = \"100 mAh\"\nresistance = \"30 Ohm\"\n";
    let device = load(format!("{}{BESIDE}{rail}{USE}", root.replace(LITHIUM, coin)), &screens);
    let device = device.unwrap_or_else(|text| panic!("{text}"));
    let moment = moment(&device, &device.inputs.typical(), Mode::Full, Celsius(25.0)).expect("an update");
    let (ocv, ohms) = (2.9, 30.0);
    let found = moment.peak.terminal(Volts(ocv), Ohms(ohms)).volts().expect("it holds").0;
    let (k, constant) = (ohms / (ohms + 0.1), (ohms + 0.1) * 2e-3);
    let left = |ago: f64| k * (-ago / constant).exp();
    let drop = 40e-3 * (1.0 - left(50e-3)) + 2e-3 * (1.0 - left(1e-3));
    close(found, ocv - ohms * (4e-6 + drop), 1e-9);
}

/// Leakage is a load like any other: that of a capacitor too small to carry anything.
#[test]
fn leakage_costs_what_the_same_load_costs() {
    let lamp = "[board.loads.lamp]\ncurrent = \"1 uA\"\n";
    let (with, _) = days(&sound("", &BESIDE.replace("2 mF", "1 nF")));
    let (lamp, _) = days(&sound(lamp, ""));
    close(with, lamp, 2e-4);
}

/// The corners of the budget use the circuit too: deeper the smaller the capacitor, and never below the cell alone.
#[test]
fn corners_lie_between_those_of_the_cell_alone_and_no_load() {
    let worst = |capacitor: &str| {
        let device = sound("", capacitor);
        let all = supply_corners::of(&device, &device.inputs.typical()).expect("corners");
        all.worst.terminal.volts().expect("it holds").0
    };
    let alone = worst("");
    let of = |farads: &str| worst(&BESIDE.replace("2 mF", farads));
    let (small, large) = (of("1 nF"), of("50 mF"));
    // Its leakage of 1 uA flows through the cold, aged cell's resistance, above 100 Ohm.
    assert!((small - alone).abs() < 2e-4, "{small} {alone}");
    assert!(large > alone + 0.02, "{large} {alone}");
}

#[test]
fn a_rating_below_the_full_battery_is_refused() {
    let low = format!("{BESIDE}rated-voltage = \"2.7 V\"\n");
    let said = device("", &low).expect_err("refused");
    assert!(said.contains("the capacitor is rated for 2.7 V and the full battery has 3.2 V"), "{said}");
    assert!(said.contains("in series with balancing"), "{said}");
    assert!(device("", &format!("{BESIDE}rated-voltage = \"6.3 V\"\n")).is_ok());
}

/// By hand: 4 ms of 3 s leave half of 4/3,000, and 0.01 of 30 Ohm.
#[test]
fn of_a_pulse_far_shorter_than_the_time_constant_next_to_nothing_is_left() {
    let left = Capacitor { capacitance: inkjoule::units::Farads(0.1), resistance: Ohms(0.01) };
    assert!(left.left_of_a_pulse(Ohms(30.0), inkjoule::units::Seconds(4e-3)) < 2e-3);
    assert_eq!(left.left_of_a_pulse(Ohms(0.0), inkjoule::units::Seconds(4e-3)), 1.0);
}

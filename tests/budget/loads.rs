//! Loads and events with a shape: profiles, the price of waking the microcontroller, conditions, and the hardest moment.

use crate::plain::{device, try_device};
use inkjoule::budget::life::{coldest, least_input, moment};
use inkjoule::cell::peak::LoadCurrent;
use inkjoule::cost::always_on::{Rates, always_on, events, pulses_are_steady};
use inkjoule::cost::consumer::Consumer;
use inkjoule::cost::phases::phases;
use inkjoule::cost::supply::Supply;
use inkjoule::device::Device;
use inkjoule::device::drawing::Scenes;
use inkjoule::device::party::Party;
use inkjoule::refresh::update::{Change, Mode, work};
use inkjoule::simulate::simulate;
use inkjoule::units::{Ratio, Volts};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const SCREENS: &[(&str, &str)] = &[("a", "content = [ { text = \"A\" } ]")];
const USE: &str = "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = 4\n\
                   temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";

fn mean_of(device: &Device, what: Consumer, rates: &Rates) -> f64 {
    let parameters = device.inputs.typical();
    let mut all = always_on(device, &parameters, device.battery.nominal());
    all.extend(events(device, &parameters, rates, device.battery.nominal()));
    all.iter().filter(|load| load.what == what).map(|load| load.load_current.current.0).sum()
}

/// By hand, behind a linear rail: 110 mA for 4 ms and 25 mA for 80 ms are 2.44 mC.
#[test]
fn a_profile_takes_the_sum_of_its_steps() {
    let steps = "profile = [ { current = \"110 mA\", time = \"4 ms\" }, { current = \"25 mA\", time = \"80 ms\" } ]\n";
    let device = device(
        &format!(
            "[board.loads.radio]\nperiod = \"60 s\"\n{steps}[events.report]\nevery = \"1 h\"\n{steps}\
             [board.loads.lamp]\npower = \"30 mW\"\non = \"1 s\"\nperiod = \"10 s\"\n{USE}"
        ),
        SCREENS,
    );
    let rates = Rates { events: vec![24.0], ..Rates::default() };
    let close = |found: f64, expected: f64| assert!((found / expected - 1.0).abs() < 1e-12, "{found} for {expected}");
    // The board's loads stand in the order of their names: lamp, radio. 30 mW at 3 V are 10 mA for a tenth of the time.
    close(mean_of(&device, Consumer::Load(0), &rates), 1e-3);
    close(mean_of(&device, Consumer::Load(1), &rates), 2.44e-3 / 60.0);
    close(mean_of(&device, Consumer::Event(inkjoule::behaviour::EventId(0)), &rates), 2.44e-3 / 3600.0);
}

/// The same as pulses, which meet a lower voltage than their mean: each step with its share of the period, then 1 ms of
/// waking and 9 ms of work at 2 mA beyond sleep. Together they are the mean; the hardest is the first.
#[test]
fn a_profile_is_as_many_pulses_as_it_has_steps() {
    let steps = "profile = [ { current = \"110 mA\", time = \"4 ms\" }, { current = \"25 mA\", time = \"80 ms\" } ]\n";
    let device =
        device(&format!("[board.loads.radio]\nperiod = \"60 s\"\n{steps}mcu-awake = \"9 ms\"\n{USE}"), SCREENS);
    let all = always_on(&device, &device.inputs.typical(), device.battery.nominal());
    // A rail without a current of its own, a memory that is not there and a battery without protection are no consumers.
    let consumers: Vec<Consumer> = all.iter().map(|one| one.what).collect();
    assert_eq!(consumers, [Consumer::McuSleep, Consumer::PanelSleep, Consumer::Load(0)]);
    let radio = &all[2];
    let close = |found: f64, expected: f64| assert!((found / expected - 1.0).abs() < 1e-12, "{found} for {expected}");
    assert_eq!(radio.pulses.len(), 3);
    for (pulse, (amps, seconds)) in radio.pulses.iter().zip([(110e-3, 4e-3), (25e-3, 80e-3), (2e-3, 10e-3)]) {
        close(pulse.load_current.current.0, amps);
        close(pulse.time.0, seconds);
        close(pulse.share.0, seconds / 60.0);
    }
    close(radio.pulses.iter().map(|pulse| pulse.mean().current.0).sum(), radio.load_current.current.0);
    close(radio.on.current.0, 110e-3);
    assert!(all[..2].iter().all(|steady| steady.pulses.is_empty() && steady.on == steady.load_current));
}

/// Whatever comes now and then is stated twice, as a mean and as pulses: both are the same charge and the same energy, of
/// events, presses, renewals, and loads while a condition holds, behind a linear and behind a switching rail. How long a
/// pulse lasts and how often it comes stands beside it, by hand.
#[test]
fn pulses_add_up_to_their_mean() {
    let steps = "profile = [ { current = \"40 mA\", time = \"4 ms\" }, { current = \"5 mA\", time = \"80 ms\" } ]\n";
    let buck = "regulator = \"buck\"\noutput = \"2.2 V\"\nefficiency = \"85 %\"\n";
    let ldo = "regulator = \"ldo\"\noutput = \"3 V\"\ndropout = \"100 mV\"\n";
    // What charging 10 uF takes each time: to 2.2 V behind 85 %, and to 3 V through the linear regulator.
    let charged = [(buck, 0.0, 10e-6 * 2.2 * 2.2 / 0.85), (ldo, 10e-6 * 3.0, 0.0)];
    for (rail, coulombs, joules) in charged {
        let base = crate::plain::BASE
            .replace(
                "wake = \"1 ms\"\n",
                "wake = \"1 ms\"\nkey-time = \"9 ms\"\nsample-time = \"3 ms\"\nrail = \"main\"\n",
            )
            .replace("sleep = \"1 uA\"\n", "sleep = \"1 uA\"\nrail = \"main\"\n");
        let more = format!(
            "[board.rails.radio]\n{rail}enabled = \"while-used\"\nstart-up = \"2 ms\"\ncapacitor = \"10 uF\"\n\
             [board.loads.radio]\nrail = \"radio\"\nperiod = \"60 s\"\n{steps}mcu-awake = \"9 ms\"\n\
             [board.loads.light]\nrail = \"radio\"\ncurrent = \"8 mA\"\nwhile = {{ screen = \"a\" }}\n\
             [board.loads.led]\nrail = \"main\"\ncurrent = \"1 mA\"\non = \"10 ms\"\nperiod = \"1 s\"\nwhile = {{ screen = \"a\" }}\n\
             [fields.f]\nrange = [0, 9]\nevery = \"10 s\"\n\
             [events.report]\nevery = \"1 h\"\nrail = \"radio\"\n{steps}mcu-awake = \"4 ms\"\n{USE}"
        );
        let device = crate::plain::load(format!("{base}{more}"), SCREENS).unwrap_or_else(|text| panic!("{text}"));
        let (parameters, volts) = (device.inputs.typical(), device.battery.nominal());
        let loads = device.board.loads.len();
        let (held, begun) = (vec![Ratio(0.25); loads], vec![12.0; loads]);
        let rates = Rates { events: vec![24.0], keys: 300.0, samples: 8_640.0, held, begun };
        let mut all = always_on(&device, &parameters, volts);
        all.extend(events(&device, &parameters, &rates, volts));
        let report = Consumer::Event(inkjoule::behaviour::EventId(0));
        let load = |name: &str| {
            let place = device.board.loads.iter().position(|load| load.name == name);
            Consumer::Load(place.unwrap_or_else(|| panic!("{name}")))
        };
        let pulsed: Vec<_> = all.iter().filter(|one| !one.pulses.is_empty()).collect();
        assert_eq!(pulsed.len(), 6, "{:?}", pulsed.iter().map(|one| one.what).collect::<Vec<_>>());
        for one in pulsed {
            let sum: LoadCurrent = one.pulses.iter().map(|pulse| pulse.mean()).sum();
            let mut mean = one.load_current;
            // A capacitor is charged at no stated current: each minute for the radio, each hour for the report.
            let every = if one.what == load("radio") { 60.0 } else { 3600.0 };
            if one.what == load("radio") || one.what == report {
                mean.current.0 -= coulombs / every;
                mean.power.0 -= joules / every;
            }
            let close = |found: f64, right: f64| (found - right).abs() <= 1e-9 * mean.at(volts).0;
            assert!(close(sum.current.0, mean.current.0), "{:?}: {sum:?} for {mean:?}", one.what);
            assert!(close((sum.power / volts).0, (mean.power / volts).0), "{:?}: {sum:?} for {mean:?}", one.what);
            for pulse in &one.pulses {
                assert!(pulse.share.0 > 0.0 && pulse.share.0 < 1.0 && pulse.time.0 > 0.0, "{:?} {pulse:?}", one.what);
            }
        }
        let of = |what: Consumer| {
            let found = all.iter().find(|one| one.what == what).unwrap_or_else(|| panic!("{what:?}"));
            found.pulses.iter().map(|pulse| (pulse.time.0, pulse.share.0 / pulse.time.0)).collect::<Vec<_>>()
        };
        let has = |what: Consumer, time: f64, a_second: f64| {
            let close = |found: f64, right: f64| (found / right - 1.0).abs() < 1e-9;
            let found = of(what);
            assert!(found.iter().any(|one| close(one.0, time) && close(one.1, a_second)), "{what:?} {time}: {found:?}");
        };
        has(Consumer::KeyWork, 10e-3, 300.0 / 86_400.0);
        has(Consumer::SampleWork, 4e-3, 0.1);
        has(report, 4e-3, 24.0 / 86_400.0);
        has(report, 80e-3, 24.0 / 86_400.0);
        // Waking, waiting for the rail, work: 1, 2 and 4 ms; of the radio itself 1, 2 and 9 ms.
        has(report, 7e-3, 24.0 / 86_400.0);
        has(load("radio"), 4e-3, 1.0 / 60.0);
        has(load("radio"), 12e-3, 1.0 / 60.0);
        has(load("led"), 10e-3, 0.25);
    }
}

/// 86,400 blinks a day are not free: by hand 1 ms of waking and 0.1 ms of work at 2 mA beyond sleep in each second.
#[test]
fn waking_the_microcontroller_has_its_price() {
    let led = "[board.loads.led]\ncurrent = \"1 mA\"\non = \"10 ms\"\nperiod = \"1 s\"\n";
    let plain = device(&format!("{led}{USE}"), SCREENS);
    let woken = device(&format!("{led}mcu-awake = \"0.1 ms\"\n{USE}"), SCREENS);
    let none = Rates::default();
    let close = |found: f64, expected: f64| assert!((found / expected - 1.0).abs() < 1e-9, "{found} for {expected}");
    close(mean_of(&plain, Consumer::Load(0), &none), 10e-6);
    close(mean_of(&woken, Consumer::Load(0), &none), 10e-6 + 1.1e-3 * 2e-3);
    let base = crate::plain::BASE
        .replace("wake = \"1 ms\"\n", "wake = \"1 ms\"\nkey-time = \"9 ms\"\nsample-time = \"1 ms\"\n");
    let field = "[fields.f]\nrange = [0, 9]\nevery = \"10 s\"\n[events.tick]\nevery = \"1 h\"\nmcu-awake = \"4 ms\"\n";
    let device = crate::plain::load(format!("{base}{field}{USE}"), SCREENS).unwrap_or_else(|text| panic!("{text}"));
    let rates = simulate(&device, &device.inputs.typical()).rates();
    assert!((rates.samples - 8_640.0).abs() < 2.0, "{} renewals a day", rates.samples);
    close(mean_of(&device, Consumer::SampleWork, &rates), 2e-3 * 2e-3 * rates.samples / 86_400.0);
    let pressed = Rates { keys: 300.0, ..rates.clone() };
    close(mean_of(&device, Consumer::KeyWork, &pressed), 10e-3 * 2e-3 * 300.0 / 86_400.0);
    let tick = Consumer::Event(inkjoule::behaviour::EventId(0));
    close(mean_of(&device, tick, &rates), 5e-3 * 2e-3 * rates.events[0] / 86_400.0);
}

/// A light on one screen of two: six hours of every day.
#[test]
fn a_load_bound_to_a_screen_draws_only_there() {
    let light = "[board.loads.light]\ncurrent = \"8 mA\"\nwhile = { screen = \"b\" }\n";
    let screen = |wait: &str, to: &str| {
        format!("after = [ {{ wait = \"{wait}\", go = \"{to}\" }} ]\ncontent = [ {{ text = \"A\" }} ]\n")
    };
    let (a, b) = (screen("18 h", "b"), screen("6 h", "a"));
    let screens = [("a", a.as_str()), ("b", b.as_str())];
    let device = device(&format!("{light}{USE}"), &screens);
    let rates = simulate(&device, &device.inputs.typical()).rates();
    assert!((rates.held[0].0 - 0.25).abs() < 1e-6, "{}", rates.held[0]);
    assert!((mean_of(&device, Consumer::Load(0), &rates) - 2e-3).abs() < 1e-8);
    assert!(
        always_on(&device, &device.inputs.typical(), device.battery.nominal())
            .iter()
            .all(|load| load.what != Consumer::Load(0))
    );
}

/// A light for 10 s after any key, a chart that is sampled for 5 s after its screen was entered. By hand: presses at 08:00:00
/// and 08:00:04 light it for 14 s a day; the samples at 08:00:04, in which second the key comes first, to 08:00:08 are five.
#[test]
fn what_holds_for_a_time_after_something_costs_for_that_time() {
    let more = "[board.loads.light]\ncurrent = \"8 mA\"\nwhile = { for = \"10 s\", after = { key = \"any\" } }\n\
                [fields.n]\nrange = [0, 9]\n[fields.f]\nrange = [0, 9]\nevery = \"1 s\"\n\
                while = { for = \"5 s\", after = { screen = \"b\" } }\n\
                [events.report]\nevery = \"1 s\"\ncharge = \"6 mC\"\nwhile = { for = \"3 s\", after = { screen = \"a\" } }\n";
    let journey = "[usage.journeys.look]\nat = [\"08:00\"]\nsteps = [ { press = 1, look = \"4 s\" }, { press = 2, look = \"9 s\" } ]\n";
    let a = "content = [ { text = \"{n}\" } ]\n[keys]\n1 = { change = { field = \"n\", by = 1, wrap = true } }\n2 = { go = \"b\" }\n";
    let b = "content = [ { text = \"B\" } ]\nafter = [ { wait = \"60 s\", go = \"a\" } ]\n";
    let device = device(&format!("{more}{USE}{journey}"), &[("a", a), ("b", b)]);
    let counts = simulate(&device, &device.inputs.typical());
    assert_eq!((counts.presses, counts.derailed()), (8, 0));
    assert_eq!(counts.samples, 4 * 5);
    // The timer enters `a` at 08:01:04 and comes after the report of that second: two follow; and two after the power-up.
    assert_eq!(counts.events, [4 * 2 + 2]);
    let rates = counts.rates();
    assert!((rates.held[0].0 * 86_400.0 - 14.0).abs() < 1e-9, "{}", rates.held[0]);
    let close = |found: f64, expected: f64| assert!((found / expected - 1.0).abs() < 1e-9, "{found} for {expected}");
    close(mean_of(&device, Consumer::Load(0), &rates), 8e-3 * 14.0 / 86_400.0);
    close(mean_of(&device, Consumer::Event(inkjoule::behaviour::EventId(0)), &rates), 6e-3 * 2.5 / 86_400.0);
}

/// The hardest moment against brute force: every subset of loads and events that no exclusion forbids, with every phase of
/// the update or none. Behind the linear rail currents add up.
#[test]
fn the_hardest_moment_is_that_of_brute_force() {
    for seed in 0..12u64 {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let names = ["l0", "l1", "l2", "e0", "e1", "update"];
        let currents: Vec<u32> = (0..5).map(|_| random.random_range(1..40)).collect();
        let mut apart: Vec<(usize, usize)> = Vec::new();
        for a in 0..5 {
            for b in a + 1..6 {
                if random.random_bool(0.25) {
                    apart.push((a, b));
                }
            }
        }
        let mut text = String::new();
        for a in 0..5 {
            let not: Vec<String> =
                apart.iter().filter(|(x, _)| *x == a).map(|(_, b)| format!("{:?}", names[*b])).collect();
            let current = currents[a];
            let (table, when) =
                if a < 3 { ("board.loads", "period = \"60 s\"") } else { ("events", "every = \"1 h\"") };
            let steps = format!(
                "[ {{ current = \"0.5 mA\", time = \"1 ms\" }}, {{ current = \"{current} mA\", time = \"1 ms\" }} ]"
            );
            text += &format!("[{table}.{}]\n{when}\nprofile = {steps}\nnever-with = [{}]\n", names[a], not.join(", "));
        }
        let device = device(&format!("{text}{USE}"), SCREENS);
        let parameters = device.inputs.typical();
        let work = work(&device, device.policy.buffer, &Change::NONE, &Scenes::default(), Mode::Full, coldest(&device))
            .expect("within the tables");
        let update = phases(&device, &parameters, &work, device.battery.nominal())
            .iter()
            .filter(|phase| phase.time.0 > 0.0)
            .map(|phase| phase.loads.iter().flatten().map(|load| load.drawn.current.0).sum::<f64>())
            .fold(0.0, f64::max);
        let mut expected: f64 = 0.0;
        for set in 0..1u32 << 6 {
            let has = |party: usize| set >> party & 1 == 1;
            if apart.iter().all(|(a, b)| !(has(*a) && has(*b))) {
                let loads: f64 =
                    (0..5).filter(|party| has(*party)).map(|party| f64::from(currents[party]) * 1e-3).sum();
                expected = expected.max(loads + if has(5) { update } else { 0.0 });
            }
        }
        let asleep: f64 = always_on(&device, &parameters, device.battery.nominal())
            .iter()
            .filter(|load| !matches!(load.what, Consumer::Load(_)))
            .map(|load| load.load_current.current.0)
            .sum();
        let found = moment(&device, &parameters, Mode::Full, coldest(&device))
            .map(|moment| moment.peak.load_current)
            .expect("within the tables")
            .at(least_input(&device, &parameters));
        assert!((found.0 - expected - asleep).abs() < 1e-12, "{seed}: {found}, expected {expected}");
    }
}

#[test]
fn the_hardest_moment_names_its_parts_and_its_time() {
    let radio = "[events.report]\nevery = \"1 h\"\nprofile = [ { current = \"110 mA\", time = \"4 ms\" } ]\n";
    let full = |more: &str| {
        let device = device(&format!("{radio}{more}{USE}"), SCREENS);
        let moment = moment(&device, &device.inputs.typical(), Mode::Full, coldest(&device)).expect("a moment");
        (moment.clone(), moment.words(&device))
    };
    let (moment, words) = full("");
    assert_eq!(moment.with, [Party::Event(0)]);
    assert!(moment.peak.load_current.current.0 > 0.114, "{}", moment.peak.load_current.current);
    assert!(words.contains("with the event `report`") && words.contains(" on"), "{words}");
    let (moment, words) = full("never-with = [\"update\"]\n");
    assert!(
        moment.phase.is_none() && (moment.peak.load_current.current.0 - 0.110003).abs() < 1e-9,
        "{}",
        moment.peak.load_current.current.0
    );
    assert_eq!(words, "beside any update, with the event `report`");
}

/// The microcontroller sleeps while the panel drives, unless a key, a sample or a radio wakes it: 2 mA above its sleep. By
/// hand: the drive's 6 mA above sleep beside 3 uA asleep.
#[test]
fn the_hardest_moment_has_the_microcontroller_that_something_wakes() {
    let at = |more: &str, screens: &[(&str, &str)]| {
        let device = device(&format!("{more}{USE}"), screens);
        let moment = moment(&device, &device.inputs.typical(), Mode::Full, inkjoule::units::Celsius(-20.0));
        let moment = moment.expect("within the table");
        // What makes it up is told part by part; beside them 3 uA asleep.
        let parts: f64 = moment.parts.iter().map(|(_, _, drawn)| drawn.current.0).sum();
        assert!((moment.peak.load_current.current.0 - parts - 3e-6).abs() < 1e-12, "{:?}", moment.parts);
        (moment.peak.load_current.current.0, moment.words(&device))
    };
    let close = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-12, "{found} A for {expected} A");
    let (asleep, words) = at("", &[("a", "content = [ { text = \"A\" } ]")]);
    close(asleep, 6e-3 + 3e-6);
    assert!(!words.contains("woken"), "{words}");
    let keys = [("a", "keys.1.go = \"b\"\ncontent = [ { text = \"A\" } ]"), ("b", "keys.1.go = \"a\"\ncontent = []")];
    let (woken, words) = at("", &keys);
    close(woken, 6e-3 + 2e-3 + 3e-6);
    assert!(words.contains("with the woken microcontroller"), "{words}");
    let plain = [("a", "content = [ { text = \"A\" } ]")];
    let sampled =
        "[fields.t]\nrange = [0, 9]\nsample = 1\nevery = \"1 min\"\nsignal = { random-walk = { step = 1 } }\n";
    close(at(sampled, &[("a", "content = [ { text = \"{t}\" } ]")]).0, woken);
    let radio = "[board.loads.radio]\ncurrent = \"40 mA\"\non = \"4 ms\"\nperiod = \"60 s\"\n";
    close(at(radio, &plain).0, asleep + 40e-3);
    close(at(&format!("{radio}mcu-awake = \"1 ms\"\n"), &plain).0, woken + 40e-3);
}

/// 100 uF at 2.5 V hold 250 uC: charged in 2 ms they take 125 mA before the sensor's 30 mA; where the rail gives no more
/// than 50 mA those, for 5 ms. A capacitor that is charged in 50 ms takes 5 mA, less than the sensor.
#[test]
fn the_hardest_moment_has_the_inrush_of_rails_that_are_switched_on() {
    let at = |start: &str, limit: &str| {
        let rail = format!(
            "[board.rails.probe]\nregulator = \"ldo\"\noutput = \"2.5 V\"\ndropout = \"100 mV\"\n{limit}\
             while = {{ screen = \"b\" }}\nstart-up = \"{start}\"\ncapacitor = \"100 uF\"\n\
             [board.loads.sensor]\nrail = \"probe\"\ncurrent = \"30 mA\"\n"
        );
        let root =
            crate::plain::BASE.replace("[board.mcu]\n", "[board.mcu]\nrail = \"main\"\nduring-refresh = \"poll\"\n");
        let root = root.replace("[panel]\n", "[panel]\nrail = \"main\"\n");
        let screens = [
            ("a", "keys.1.go = \"b\"\ncontent = [ { text = \"A\" } ]"),
            ("b", "keys.1.go = \"a\"\ncontent = [ { text = \"B\" } ]"),
        ];
        let device = crate::plain::load(format!("{root}{rail}{USE}"), &screens).unwrap_or_else(|text| panic!("{text}"));
        let moment = moment(&device, &device.inputs.typical(), Mode::Full, inkjoule::units::Celsius(-20.0));
        let moment = moment.expect("within the table");
        (moment.peak.load_current.current.0, moment.words(&device))
    };
    // The drive with the microcontroller waiting awake, and 3 uA asleep.
    let update = 6e-3 + 2e-3 + 3e-6;
    for (start, limit, expected, inrush) in
        [("2 ms", "", 125e-3, true), ("2 ms", "current-limit = \"50 mA\"\n", 50e-3, true), ("50 ms", "", 30e-3, false)]
    {
        let (found, words) = at(start, limit);
        assert!((found - update - expected).abs() < 1e-12, "{start} {limit}: {found} A, {words}");
        assert_eq!(words.contains("the inrush of the rail `probe`"), inrush, "{words}");
        assert_eq!(words.contains("the load `sensor`"), !inrush, "{words}");
    }
}

#[test]
fn loads_that_cannot_be_are_refused_at_their_place() {
    let refused = |load: &str| try_device(&format!("[board.loads.x]\n{load}\n{USE}"), SCREENS).expect_err("refused");
    let steps = "profile = [ { current = \"1 mA\", time = \"2 s\" } ]";
    for (load, expected) in [
        (steps.to_owned(), "the profile of `x` has no end"),
        (format!("{steps}\nperiod = \"1 s\""), "the profile of `x` takes 2 s and its period is 1 s"),
        (format!("{steps}\nperiod = \"9 s\"\ncurrent = \"1 mA\""), "has a profile and a `current`"),
        ("current = \"1 mA\"\npower = \"1 mW\"".to_owned(), "either a `current` or a `power`"),
        (String::new(), "either a `current` or a `power`"),
        ("profile = []\nperiod = \"1 s\"".to_owned(), "a profile has 1 to 64 steps"),
        (format!("{steps}\nperiod = \"9 s\"\nnever-with = [\"updat\"]"), "there is no load or event `updat`"),
        ("current = \"1 mA\"\nnever-with = [\"update\"]".to_owned(), "is not something that comes and goes"),
    ] {
        let said = refused(&load);
        assert!(said.contains(expected) && said.contains("help:"), "{load}: {said}");
    }
}

/// A rail that is on while a screen is shown: its own current and its loads flow for that share of the time, what it
/// takes off always; two loads on it do not pay the rail twice.
#[test]
fn a_rail_follows_a_condition() {
    let more = |rail: &str, loads: &str| {
        let usage = "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = 20\n\
                     temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n\
                     [usage.journeys.look]\nper-day = 40\nsteps = [ { press = 1, look = \"50 s\" }, { press = 1, look = \"5 s\" } ]\n";
        let main = "[board.mcu]\n";
        let root = crate::plain::BASE.replace(main, "[board.mcu]\nrail = \"main\"\n");
        let root = root.replace("[panel]\n", "[panel]\nrail = \"main\"\n");
        let screens = [
            ("a", "keys.1.go = \"b\"\ncontent = [ { text = \"A\" } ]"),
            ("b", "keys.1.go = \"a\"\ncontent = [ { text = \"B\" } ]"),
        ];
        crate::plain::load(format!("{root}{rail}{loads}{usage}"), &screens)
    };
    let rail = "[board.rails.probe]\nregulator = \"ldo\"\noutput = \"2.5 V\"\ndropout = \"100 mV\"\n\
                quiescent = \"50 uA\"\nquiescent-off = \"1 uA\"\n";
    let switched = format!("{rail}while = {{ screen = \"b\" }}\n");
    let load = |name: &str, current: &str| format!("[board.loads.{name}]\nrail = \"probe\"\ncurrent = \"{current}\"\n");
    let mean = |rail: &str, loads: &str| {
        let device = more(rail, loads).unwrap_or_else(|text| panic!("{text}"));
        let parameters = device.inputs.typical();
        let counts = inkjoule::simulate::simulate(&device, &parameters);
        let held = counts.rates().held.first().map_or(0.0, |share| share.0);
        let volts = device.battery.nominal();
        (inkjoule::budget::life::mean_load(&device, &parameters, &counts, 1.0, volts).at(volts).0, held)
    };
    let (without, _) = mean("", "");
    let (bare, share) = mean(&switched, "");
    assert!(share > 0.005 && share < 0.1, "on screen b for {share} of the time");
    let expected = 1e-6 + share * 49e-6;
    assert!((bare - without - expected).abs() < 1e-12, "{} A, by hand {expected} A", bare - without);
    let (loaded, _) = mean(&switched, &(load("sensor", "2 mA") + &load("lamp", "3 mA")));
    let expected = expected + share * 5e-3;
    assert!((loaded - without - expected).abs() < 1e-10, "{} A, by hand {expected} A", loaded - without);
    let twice = more(&format!("{switched}enabled = \"while-used\"\n"), "").expect_err("refused");
    assert!(twice.contains("enabled in two ways") && twice.contains("help:"), "{twice}");
}

/// 100 uF at 2.5 V take 250 uC whenever the screen with the probe comes, and nothing where it stays: by hand, and the same
/// with its time of charging.
#[test]
fn each_switching_on_of_a_rail_with_a_condition_charges_its_capacitor() {
    let mean = |start: &str| {
        let rail = format!(
            "[board.rails.probe]\nregulator = \"ldo\"\noutput = \"2.5 V\"\ndropout = \"100 mV\"\nquiescent = \"50 uA\"\n\
             quiescent-off = \"1 uA\"\nwhile = {{ screen = \"b\" }}\n{start}\
             [board.loads.sensor]\nrail = \"probe\"\ncurrent = \"2 mA\"\n\
             [board.loads.lamp]\nrail = \"probe\"\ncurrent = \"3 mA\"\n\
             [usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = 20\n\
             temperature = {{ low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }}\n\
             [usage.journeys.look]\nper-day = 40\nsteps = [ {{ press = 1, look = \"50 s\" }}, {{ press = 1, look = \"5 s\" }} ]\n"
        );
        let root = crate::plain::BASE.replace("[board.mcu]\n", "[board.mcu]\nrail = \"main\"\n");
        let root = root.replace("[panel]\n", "[panel]\nrail = \"main\"\n");
        let screens = [
            ("a", "keys.1.go = \"b\"\ncontent = [ { text = \"A\" } ]"),
            ("b", "keys.1.go = \"a\"\ncontent = [ { text = \"B\" } ]"),
        ];
        let device = crate::plain::load(format!("{root}{rail}"), &screens).unwrap_or_else(|text| panic!("{text}"));
        let (parameters, volts) = (device.inputs.typical(), device.battery.nominal());
        let counts = simulate(&device, &parameters);
        let load = inkjoule::budget::life::mean_load(&device, &parameters, &counts, 1.0, volts);
        (load.at(volts).0, counts.entries[1] as f64 / counts.days)
    };
    let (without, entered) = mean("");
    assert!(entered > 30.0, "{entered}");
    let (with, again) = mean("start-up = \"2 ms\"\ncapacitor = \"100 uF\"\n");
    assert!((entered - again).abs() < 1e-12);
    let expected = 250e-6 * entered / 86_400.0;
    assert!((with - without - expected).abs() < 1e-6 * expected, "{} A, by hand {expected} A", with - without);
}

/// A microcontroller that runs for a radio's pulse waits awake until the radio's rail is up: 2 mA above its sleep for 2 ms
/// in every 10 s, and the rail's own 50 uA, 49 uA more than off.
#[test]
fn the_microcontroller_waits_awake_for_the_rail_of_a_load_and_of_an_event() {
    let mean = |start: &str, what: &str| {
        let more = format!(
            "[board.rails.probe]\nregulator = \"ldo\"\noutput = \"2.5 V\"\ndropout = \"100 mV\"\nquiescent = \"50 uA\"\n\
             quiescent-off = \"1 uA\"\nenabled = \"while-used\"\n{start}{what}{USE}"
        );
        let root = crate::plain::BASE.replace("[board.mcu]\n", "[board.mcu]\nrail = \"main\"\n");
        let root = root.replace("[panel]\n", "[panel]\nrail = \"main\"\n");
        let screens = [("a", "content = [ { text = \"A\" } ]")];
        let device = crate::plain::load(format!("{root}{more}"), &screens).unwrap_or_else(|text| panic!("{text}"));
        let (parameters, volts) = (device.inputs.typical(), device.battery.nominal());
        let rates = Rates { events: vec![8640.0; device.events.len()], ..Rates::default() };
        let all = always_on(&device, &parameters, volts).into_iter().chain(events(&device, &parameters, &rates, volts));
        all.map(|load| load.load_current.at(volts).0).sum::<f64>()
    };
    let load = "[board.loads.radio]\nrail = \"probe\"\ncurrent = \"40 mA\"\non = \"4 ms\"\nperiod = \"10 s\"\nmcu-awake = \"1 ms\"\n";
    let event = "[events.radio]\nrail = \"probe\"\nevery = \"10 s\"\nmcu-awake = \"1 ms\"\nprofile = [ { current = \"40 mA\", time = \"4 ms\" } ]\n";
    for what in [load, event] {
        let waits = mean("start-up = \"2 ms\"\n", what) - mean("", what);
        let expected = (2e-3 + 49e-6) * 2e-3 / 10.0;
        assert!((waits - expected).abs() < 1e-12, "{what}: {waits} A, by hand {expected} A");
    }
}

/// Where all pulses are called steady, only what flows at rest moves with the battery voltage; a life takes the pulses at one
/// voltage then, and this from the tree.
#[test]
fn beside_steady_pulses_only_the_rest_moves_with_the_voltage() {
    let column = "board.rails.display.efficiency=[ { input = \"3.0 V\", at = \"0.1 uA\", is = \"45 %\" }, \
                  { input = \"3.0 V\", at = \"10 mA\", is = \"90 %\" }, { input = \"4.2 V\", at = \"0.1 uA\", is = \"60 %\" }, \
                  { input = \"4.2 V\", at = \"10 mA\", is = \"95 %\" } ]";
    for (light, expected) in [("core", true), ("display", false)] {
        let changes = [column.to_owned(), format!("board.loads.status-light.rail={light}")];
        let loaded = inkjoule::project::load(std::path::Path::new("screens-demo"), &changes);
        let device = loaded.unwrap_or_else(|failed| panic!("{:?}", failed.faults)).device;
        let (loads, parameters) = (device.board.loads.len(), device.inputs.typical());
        let rates = Rates {
            events: vec![50.0; device.events.len()],
            keys: 20.0,
            samples: 30.0,
            held: vec![Ratio(0.5); loads],
            begun: vec![3.0; loads],
        };
        let at = |volts: f64| {
            let volts = Volts(volts);
            let all = always_on(&device, &parameters, volts).into_iter();
            let all: Vec<_> = all.chain(events(&device, &parameters, &rates, volts)).collect();
            let mean: LoadCurrent = all.iter().map(|load| load.load_current).sum();
            let pulses: Vec<_> = all.into_iter().flat_map(|load| load.pulses).collect();
            (mean, pulses, Supply::new(&device, &parameters, volts))
        };
        let (low, high) = (at(3.1), at(4.1));
        assert_eq!(pulses_are_steady(&device, &low.2), expected, "{light}");
        assert_eq!(low.1 == high.1, expected, "{light}: the pulses");
        let rest = |of: &(LoadCurrent, Vec<_>, Supply<'_>)| of.2.rest().battery;
        let (moved, expected) = (low.0.power - high.0.power, rest(&low).power - rest(&high).power);
        assert!(expected.0 > 1e-7, "what rests takes less at the better efficiency: {expected}");
        assert_eq!((moved.0 / expected.0 - 1.0).abs() < 1e-9, light == "core", "{light}: {moved} for {expected}");
    }
}

//! Scripts of exact inputs, logs of keys, and journeys that choose and come in sessions.

use crate::plain::{close, device, try_device};
use inkjoule::device::Device;
use inkjoule::filmstrip::script_shots;
use inkjoule::machine::{UpdateCause, micros};
use inkjoule::screen::ScreenId;
use inkjoule::simulate::play::play;
use inkjoule::simulate::simulate;
use inkjoule::units::Seconds;
use inkjoule::usage::script::{log, script};

const FIELDS: &str = "[fields.n]\nrange = [0, 9]\n[fields.usb]\nrange = [0, 1]\nholds = \"usb\"\n\
                      [fields.charge]\nrange = [0, 100]\nsample = 80\nholds = \"charge\"\n[events.leak]\nper-day = 0\n\
                      [events.low]\nwhen = { field = \"charge\", below = 15 }\n";
const USAGE: &str = "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = 200\n\
                     temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";

fn flow(more: &str) -> Device {
    let a = "content = [ { text = \"{n} {usb}\" } ]\n[keys]\n1 = { change = { field = \"n\", by = 1 }, hold = { after = \"1 s\", go = \"b\" } }\n\
             2 = { go = \"b\" }\n[on]\nleak = { go = \"c\" }\nlow = { open = \"warn\" }\n";
    let b = "content = [ { text = \"b\" } ]\n[keys]\n1 = { go = \"a\" }\n2 = { go = \"c\" }\n";
    let c = "content = [ { text = \"c {charge}\" } ]\n[keys]\n1 = { go = \"a\" }\n";
    let warn = "box = { size = [60, 30] }\ncontent = [ { text = \"low\" } ]\n[keys]\n1 = { close = true }\n";
    device(&format!("{FIELDS}{USAGE}{more}"), &[("a", a), ("b", b), ("c", c), ("warn", warn)])
}

fn id(device: &Device, name: &str) -> ScreenId {
    device.screen(name).expect("a screen")
}

#[test]
fn a_script_is_played_to_the_letter() {
    let device = flow("");
    let text = "from a\nat 07:30   # in the morning\npress 1\nwait 5 s\nexpect a\nhold 1 1.5 s\nexpect b\nwait 5 s\n\
                press 1\nwait 5 s\nevent leak\nexpect c\nwait 5 s\npress 1\nwait 5 s\ncharge 10 %\nexpect warn\nwait 5 s\n";
    let played = play(&device, 0, &script(&device, "x.script", text).expect("a script"));
    assert_eq!(played.missed, []);
    // The presses change the picture once each; the event and the value are the device's own.
    let causes: Vec<UpdateCause> = played.sent.iter().map(|sent| sent.cause).collect();
    let event =
        |name: &str| device.events.iter().position(|event| event.name == name).map(inkjoule::behaviour::EventId);
    let [leak, _low] = ["leak", "low"].map(|name| UpdateCause::Event(event(name).expect("an event")));
    let charge = UpdateCause::Field(device.field("charge").expect("a field"));
    assert_eq!(
        causes,
        [UpdateCause::Key(0), UpdateCause::Key(0), UpdateCause::Key(0), leak, UpdateCause::Key(0), charge]
    );
    let begin = micros(Seconds(7.5 * 3600.0));
    // A short press with a hold is carried out when the key is let go, 0.1 s later.
    assert_eq!(played.sent[0].at, begin + 100_000);
    // The second key goes down 5 s later and its hold happens after a second.
    assert_eq!(played.sent[1].at, begin + 100_000 + 5_000_000 + 1_000_000);
    assert!(played.sent.iter().all(|sent| sent.changed > 0 && sent.energy.0 > 0.0));
}

#[test]
fn an_expectation_that_fails_is_told_with_its_line() {
    let device = flow("");
    let read = script(&device, "x.script", "press 2\nwait 3 s\n\nexpect c\n").expect("a script");
    let played = play(&device, 0, &read);
    assert_eq!(played.missed.len(), 1);
    assert_eq!(played.missed[0].words(&device, "x.script"), "x.script:4: expected `c`, found `b`");
    // The film sees the same.
    let (shots, missed) = script_shots(&device, 0, &read);
    assert_eq!(missed, played.missed);
    let time: f64 = shots.iter().map(|shot| shot.time.0).sum();
    assert!(time >= 3.1, "{time}");
}

#[test]
fn a_line_that_means_nothing_is_refused_with_its_number() {
    let device = flow("");
    let fault = |text: &str| script(&device, "x.script", text).expect_err("a fault").message;
    assert_eq!(fault("press 1\npres 2\n"), "x.script:2: `pres` means nothing in a script");
    assert_eq!(fault("press 3\n"), "x.script:1: expected a key from 1 to 2");
    assert_eq!(fault("press 0\n"), "x.script:1: expected a key from 1 to 2");
    assert_eq!(fault("press 1 2 s\n"), "x.script:1: a word too many after the key: `2`");
    assert!(fault("wait 2\n").starts_with("x.script:1: "));
    assert_eq!(fault("wait 9 d\n"), "x.script:1: a time is from 0 s to a week");
    assert_eq!(fault("expect nowhere\n"), "x.script:1: there is no screen `nowhere`");
    assert_eq!(fault("event fire\n"), "x.script:1: there is no event `fire`");
    assert_eq!(fault("set n 12\n"), "x.script:1: expected a number from 0 to 9");
    assert_eq!(fault("link lost\n"), "x.script:1: no field holds the state `link`");
    assert_eq!(fault("press 1\nfrom b\n"), "x.script:2: `from` stands before the first input");
}

#[test]
fn a_log_of_keys_is_replayed_at_its_times() {
    let device = flow("");
    // As a logic analyser exports it: columns in any order, times from any begin. Down for 1.2 s: the hold.
    let text = "key,state,time\n2,down,100.000\n2,up,100.080\n1,down,103.0\n1,up,103.1\n1,down,110\n1,up,111.2\n";
    let read = log(&device, "keys.csv", text).expect("a log");
    let played = play(&device, 0, &read);
    let begin = micros(device.usage.sample_at) + 500_000;
    let at: Vec<f64> = played.sent.iter().map(|sent| (sent.at - begin) as f64 * 1e-6).collect();
    // Key 2 to b at once, key 1 back at 3 s, the hold of key 1 at 10 s + 1 s to b.
    assert_eq!(at, [0.0, 3.0, 11.0]);
    assert_eq!(played.fronts.last(), Some(&id(&device, "b")));
    let fault = |text: &str| log(&device, "keys.csv", text).expect_err("a fault").message;
    assert_eq!(fault("1.0,1,down\n0.5,1,up\n"), "keys.csv:2: this is earlier than the line before");
    assert_eq!(fault("1.0,1,pushed\n"), "keys.csv:1: expected `down` or `up`");
    assert_eq!(fault("1.0,7,down\n"), "keys.csv:1: expected a key from 1 to 2");
    assert_eq!(fault("soon,1,down\n"), "keys.csv:1: expected a time in seconds");
}

#[test]
fn choices_are_taken_as_often_as_their_chances_say() {
    // Ten times a day for 200 days; b in 70 % of them, c through b in 20 %, nothing in the rest.
    let journey = "[usage.journeys.round]\nper-day = 10\nsteps = [\n\
        { look = \"2 s\" },\n\
        { either = [\n\
          { chance = \"70 %\", steps = [ { press = 2, look = \"5 s\" }, { press = 1, look = \"5 s\" } ] },\n\
          { chance = \"20 %\", steps = [ { press = 2, look = \"5 s\" }, { press = 2, look = \"5 s\" }, { press = 1, look = \"5 s\" } ] },\n\
        ] },\n\
        { look = \"1 s\" },\n]\n";
    let device = flow(journey);
    let counts = simulate(&device, &device.inputs.typical());
    let made = counts.journeys[0].made as f64;
    assert_eq!(counts.journeys[0].derailed(), 0);
    close(made, 2000.0, 0.08);
    let entries = |name| counts.entries[id(&device, name).0] as f64;
    // Binomial: four standard deviations of the share at 2000 draws are 4 sqrt(0.2 0.8 / 2000) = 0.036.
    assert!((entries("c") / made - 0.2).abs() < 0.036, "{}", entries("c") / made);
    assert!((entries("b") / made - 0.9).abs() < 0.027, "{}", entries("b") / made);
    // The ways through it are the three, by the positions of their steps.
    assert_eq!(device.usage.journeys[0].ways(64), [vec![0, 1, 2, 3, 7], vec![0, 1, 4, 5, 6, 7], vec![0, 1, 7]]);
}

#[test]
fn choices_within_choices_come_back_to_where_they_belong() {
    let journey = "[usage.journeys.round]\nper-day = 1\nsteps = [\n\
        { either = [ { chance = \"50 %\", steps = [\n\
            { either = [ { chance = \"100 %\", steps = [ { press = 1, look = \"1 s\" } ] } ] } ] },\n\
          { chance = \"50 %\", steps = [ { press = 2, look = \"1 s\" }, { press = 1, look = \"1 s\" } ] } ] } ]\n";
    let device = flow(journey);
    assert_eq!(device.usage.journeys[0].ways(64), [vec![0, 1, 2], vec![0, 3, 4]]);
}

#[test]
fn a_session_makes_its_journey_one_time_after_the_other() {
    let journey = "[usage.journeys.round]\nat = [\"08:00\"]\nsession = { times = 8, every = \"10 min\" }\n\
                   steps = [ { press = 2, look = \"5 s\" }, { press = 1, look = \"5 s\" } ]\n";
    let device = flow(journey);
    let counts = simulate(&device, &device.inputs.typical());
    assert_eq!((counts.journeys[0].made, counts.journeys[0].derailed()), (200 * 8, 0));
}

#[test]
fn choices_and_sessions_that_cannot_be_are_refused() {
    let said = |steps: &str| {
        let more = format!("{FIELDS}{USAGE}[usage.journeys.round]\nper-day = 1\n{steps}\n");
        let a = "content = [ { text = \"{n}\" } ]\n[keys]\n1 = { change = { field = \"n\", by = 1 } }\n";
        match try_device(&more, &[("a", a)]) {
            Ok(_) => "accepted".to_owned(),
            Err(said) => said,
        }
    };
    let way = |chance: &str| format!("{{ chance = \"{chance}\", steps = [ {{ press = 1, look = \"1 s\" }} ] }}");
    let both = |first: &str, second: &str| format!("steps = [ {{ either = [ {}, {} ] }} ]", way(first), way(second));
    assert!(said(&both("70 %", "40 %")).contains("add up to more than 100 %"));
    assert_eq!(said(&both("70 %", "30 %")), "accepted");
    assert!(said("steps = [ { press = 1 } ]").contains("this step lacks `look`"));
    assert!(
        said("session = { times = 0, every = \"1 min\" }\nsteps = [ { look = \"1 s\" } ]").contains("1 to 1000 times")
    );
    let mixed = format!("steps = [ {{ press = 1, look = \"1 s\", either = [ {} ] }} ]", way("50 %"));
    assert!(said(&mixed).contains("either a press and a look, or a choice"));
}

#[test]
fn a_field_that_holds_a_state_is_set_by_the_device_alone() {
    let said = |field: &str| {
        let a = "content = [ { text = \"{s}\" } ]\n";
        match try_device(&format!("[fields.s]\n{field}\n{USAGE}"), &[("a", a)]) {
            Ok(_) => "accepted".to_owned(),
            Err(said) => said,
        }
    };
    assert_eq!(said("choices = [\"no\", \"yes\"]\nholds = \"usb\""), "accepted");
    assert!(said("range = [0, 5]\nholds = \"link\"").contains("the state `link` goes from 0 to 1"));
    assert!(said("range = [0, 100]\nholds = \"charge\"\nevery = \"1 h\"").contains("set by the device alone"));
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(200))]
    /// Whatever stands in a script or log, it is played or refused with its line.
    #[test]
    fn any_text_is_played_or_refused(
        text in "((press|hold|down|up|wait|at|from|set|charge|usb|link|event|expect|[a-z]{3}) ?[a-z0-9.:%, -]{0,9}\n){0,6}",
        cells in "([0-9e.,;-]{0,6},[0-9]{0,3},(down|up|[a-z]{0,4})\n){0,6}",
    ) {
        use std::sync::OnceLock;
        static DEVICE: OnceLock<Device> = OnceLock::new();
        let device = DEVICE.get_or_init(|| flow(""));
        for read in [script(device, "x", &text), log(device, "x", &cells)] {
            match read {
                Ok(read) => assert!(read.inputs.windows(2).all(|pair| pair[0].at <= pair[1].at)),
                Err(fault) => assert!(fault.message.starts_with("x:"), "{}", fault.message),
            }
        }
    }
}

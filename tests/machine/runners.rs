//! One machine, whoever drives it: random projects and scripts give the same updates at the same times, with the same
//! pictures, causes and waveforms in simulation, preview and filmstrip.

use crate::plain::BASE;
use inkjoule::behaviour::Action;
use inkjoule::device::Device;
use inkjoule::filmstrip::{self, Shot, Showing};
use inkjoule::frame::Frame;
use inkjoule::machine::{Cause, Key, Machine, Micros, State, micros};
use inkjoule::preview::command::Turn;
use inkjoule::preview::session::{Begin, Session};
use inkjoule::project::{Loaded, load_files};
use inkjoule::refresh::update::Mode;
use inkjoule::simulate::play::play;
use inkjoule::simulate::simulate_watched;
use inkjoule::source::fault::render;
use inkjoule::source::files::Files;
use inkjoule::units::Seconds;
use inkjoule::usage::person::Person;
use inkjoule::usage::script::script;
use proptest::prelude::*;
use proptest::test_runner::{RngAlgorithm, TestRng, TestRunner};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// The script begins then. Nothing changes before: the event keeps later hours, the clock is sampled once `n` is above 0.
const BEGIN: Seconds = Seconds(600.0);

/// A random project: screens, boxes over boxes, keys, timers, clocks, events, rules that hold anywhere; and a script.
#[derive(Clone, Debug)]
struct Plan {
    screens: usize,
    /// For each screen and key: what it does.
    keys: Vec<[u8; 3]>,
    /// For each screen: seconds of a timer and where it leads.
    timers: Vec<Option<(u32, usize)>>,
    /// Where the event leads from each screen.
    event: Vec<Option<usize>>,
    /// Screens that are exceptions to the rules that hold anywhere.
    except: Vec<bool>,
    queue: bool,
    steps: Vec<Step>,
}

/// A step of a script: times in tenths of a second.
#[derive(Clone, Debug)]
enum Step {
    /// A key is pressed, or held so long; then one looks.
    Press(usize, u32, u32),
    /// One of two keys, chosen by a chance in percent; then one looks. In a script the first.
    Either(u8, [usize; 2], u32),
    /// A state of the device turns; then one looks. In a script alone.
    Turn(Turn, u32),
}

const KEYS: usize = 4;

fn steps() -> impl Strategy<Value = Step> {
    let look = || 0u32..120;
    prop_oneof![
        6 => (0..KEYS, prop_oneof![Just(0u32), 0u32..15], look()).prop_map(|(key, hold, look)| Step::Press(key, hold, look)),
        1 => (5u8..95, [0..KEYS, 0..KEYS], look()).prop_map(|(chance, keys, look)| Step::Either(chance, keys, look)),
        2 => (0usize..5, look()).prop_map(|(turn, look)| {
            Step::Turn([Turn::Usb, Turn::Charging, Turn::Link, Turn::Fuller, Turn::Emptier][turn], look)
        }),
    ]
}

fn plans() -> impl Strategy<Value = Plan> {
    (2usize..5).prop_flat_map(|screens| {
        let key = any::<[u8; 3]>();
        let timer = prop::option::of((2u32..20, 0..screens));
        let event = prop::option::of(0..screens);
        (
            Just(screens),
            prop::collection::vec(key, screens),
            prop::collection::vec(timer, screens),
            prop::collection::vec(event, screens),
            prop::collection::vec(prop::bool::weighted(0.3), screens),
            any::<bool>(),
            prop::collection::vec(steps(), 1..25),
        )
            .prop_map(|(screens, keys, timers, event, except, queue, steps)| Plan {
                screens,
                keys,
                timers,
                event,
                except,
                queue,
                steps,
            })
    })
}

/// What a key does on a screen, from a random number.
fn action(number: u8, screen: usize, screens: usize) -> String {
    let to = usize::from(number / 11) % screens;
    match number % 11 {
        0 | 1 => format!("go = \"s{to}\""),
        2 => "change = { field = \"n\", by = 1, wrap = true }".into(),
        3 => format!("change = {{ field = \"n\", by = 3 }}, hold = {{ after = \"800 ms\", go = \"s{to}\" }}"),
        4 => "change = { field = \"n\", by = 1 }, repeat = { after = \"400 ms\", every = \"100 ms\", faster = { from = 4, times = 10 } }".into(),
        5 => "open = \"b0\"".into(),
        6 => format!("first = [ {{ when = {{ field = \"n\", below = 5 }}, do = [ {{ change = {{ field = \"n\", to = 7 }} }}, {{ go = \"s{to}\" }} ] }}, {{ do = [ {{ change = {{ field = \"n\", by = 1, wrap = true }} }} ] }} ]"),
        7 => "release = { change = { field = \"n\", to = 0 } }".into(),
        8 => "cancel = true".into(),
        // Nothing need lead to the home screen.
        _ if screen == 0 => format!("go = \"s{to}\""),
        9 => "back = true".into(),
        _ => "do = [ { cancel = true }, { back = true } ]".into(),
    }
}

fn device_file(plan: &Plan) -> String {
    let mut device = BASE.replace(
        "keys = [ {",
        "keys = [ { centre = \"11 mm\", width = \"2 mm\" }, { centre = \"14 mm\", width = \"2 mm\" }, {",
    );
    let _ = write!(
        device,
        "[fields.n]\nrange = [0, 99]\n[fields.shaken]\nrange = [0, 9]\n[fields.calls]\nrange = [0, 9]\n[fields.pick]\nrange = [0, {}]\n\
         [fields.usb]\nrange = [0, 1]\nholds = \"usb\"\n[fields.charging]\nrange = [0, 1]\nholds = \"charging\"\n\
         [fields.link]\nrange = [0, 1]\nsample = 1\nholds = \"link\"\n[fields.charge]\nrange = [0, 100]\nsample = 20\nholds = \"charge\"\n\
         [fields.clock]\nclock = \"%H:%M:%S\"\nevery = \"7 s\"\nwhile = {{ field = \"n\", from = 1 }}\n[fields.slow]\nclock = \"%M:%S\"\non = \"tick\"\n\
         [events.tick]\nevery = \"25 s\"\nbetween = [\"00:11\", \"23:00\"]\n[events.seven]\nwhen = {{ field = \"n\", is = 7 }}\n\
         [events.shake]\nevery = \"13 s\"\nbetween = [\"00:11\", \"23:00\"]\n[events.report]\nevery = \"17 s\"\nlink = true\nbetween = [\"00:11\", \"23:00\"]\n\
         [events.plugged]\nwhen = {{ field = \"usb\", is = 1 }}\n[events.lost]\nwhen = {{ field = \"link\", is = 0 }}\n[events.low]\nwhen = {{ field = \"charge\", below = 15 }}\n\
         [anywhere.keys]\n4 = {{ change = {{ field = \"calls\", by = 1, wrap = true }} }}\n\
         [anywhere.on]\nshake = {{ change = {{ field = \"shaken\", by = 1, wrap = true }} }}\nplugged = {{ open = \"b0\" }}\nlow = {{ open = \"b1\" }}\nlost = {{ go = \"s1\" }}\n\
         [policy]\nmax-partials = 100000\nfull-every = \"300 d\"\nbusy-presses = \"{}\"\n\
         [usage]\nhome = \"s0\"\nstart = \"2031-01-01\"\ndays = 1\nsample-at = \"00:10\"\n\
         temperature = {{ low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }}\n[usage.journeys.script]\nat = [\"00:10\"]\nsteps = [\n",
        plan.screens - 1,
        if plan.queue { "queue" } else { "drop" }
    );
    for step in &plan.steps {
        let line = |key: usize, hold: u32, look: u32| {
            let hold = if hold > 0 { format!("hold = \"{} ms\", ", hold * 100) } else { String::new() };
            format!("{{ press = {}, {hold}look = \"{} ms\" }}", key + 1, look * 100)
        };
        let _ = match step {
            Step::Press(key, hold, look) => writeln!(device, "{},", line(*key, *hold, *look)),
            Step::Either(chance, [one, two], look) => writeln!(
                device,
                "{{ either = [ {{ chance = \"{chance} %\", steps = [ {} ] }}, {{ chance = \"{} %\", steps = [ {} ] }} ] }},",
                line(*one, 0, *look),
                100 - chance,
                line(*two, 0, *look)
            ),
            Step::Turn(..) => Ok(()),
        };
    }
    device.push_str("{ look = \"1 s\" } ]\n");
    device
}

/// The charge is not seen where the device is simulated, which drains its battery.
fn project(plan: &Plan, charge: &str) -> Loaded {
    let mut files = vec![("device.toml".to_owned(), device_file(plan))];
    for screen in 0..plan.screens {
        let mut text = format!(
            "edit = [\"n\"]\ncontent = [ {{ text = \"{}\", left = 16, top = 16 }}, {{ value = \"n\" }}, {{ text = \"{{shaken}} {{calls}} {{usb}} {{link}}{charge}\", top = 16 }}, {{ text = \"{{clock}} {{slow}}\", bottom = 16 }} ]\n[keys]\n",
            "#".repeat(screen + 1)
        );
        for key in 0..3 {
            let rule = match (screen, key) {
                // The home screen leads to every other, so that each may lead back.
                (0, 2) => {
                    let all: Vec<String> = (0..plan.screens).rev().map(|to| format!("\"s{to}\"")).collect();
                    format!(
                        "do = [ {{ change = {{ field = \"pick\", by = 1, wrap = true }} }}, {{ go = {{ by = \"pick\", to = [{}] }} }} ]",
                        all.join(", ")
                    )
                }
                _ => action(plan.keys[screen][key], screen, plan.screens),
            };
            let _ = writeln!(text, "{} = {{ {rule} }}", key + 1);
        }
        // The home screen is not left by itself, so that every run begins alike.
        if let Some((wait, to)) = plan.timers[screen].filter(|_| screen > 0) {
            let since = if wait % 2 == 0 { "press" } else { "entry" };
            let _ = writeln!(text, "[[after]]\nwait = \"{wait} s\"\nsince = \"{since}\"\ngo = \"s{to}\"");
        }
        text.push_str("[on]\n");
        if plan.except[screen] {
            text.push_str("shake = {}\nplugged = {}\nreport = { change = { field = \"n\", by = 1 } }\n");
        }
        if let Some(to) = plan.event[screen] {
            let _ = writeln!(text, "tick = {{ go = \"s{to}\" }}\nseven = {{ open = \"b0\" }}");
        }
        files.push((format!("screens/s{screen}.toml"), text));
    }
    for number in 0..BOXES {
        let below = ["frozen", "live"][number % 2];
        let deeper = match number + 1 < BOXES {
            true => format!("open = \"b{}\"", number + 1),
            false => "do = [ { change = { field = \"n\", by = 1 } }, { close = true } ]".into(),
        };
        let text = format!(
            "edit = [\"n\"]\nbox = {{ size = [{}, 32], below = \"{below}\" }}\ncontent = [ {{ text = \"{number} {{n}}\" }} ]\n[keys]\n1 = {{ close = true }}\n\
             2 = {{ change = {{ field = \"n\", by = 1 }} }}\n3 = {{ {deeper} }}\n[[after]]\nwait = \"5 s\"\nclose = true\n",
            64 - 8 * number
        );
        files.push((format!("screens/b{number}.toml"), text));
    }
    load_files(Files::from_memory(files)).unwrap_or_else(|failed| {
        let said = render(&failed.faults, &failed.sources, false);
        panic!("{said}\n{plan:?}")
    })
}

/// As many as may lie over one another.
const BOXES: usize = 4;

/// One update as a runner saw it.
#[derive(Clone, Debug, PartialEq)]
struct Seen {
    time: Micros,
    cause: Cause,
    mode: Mode,
    frame: Frame,
}

fn in_simulation(device: &Device, until: Micros) -> Vec<Seen> {
    let mut seen = Vec::new();
    let parameters = device.inputs.typical();
    simulate_watched(device, &parameters, |machine, update| {
        let time = machine.now();
        if time >= micros(BEGIN) && time < until {
            seen.push(Seen { time, cause: update.cause, mode: update.mode, frame: machine.canvas.shown.clone() });
        }
    });
    seen
}

/// What a person or the world does in the preview.
#[derive(Clone, Copy, Debug)]
enum Deed {
    Key(Key),
    Turn(Turn),
}

/// The journey by hand: key by key at its times. Where a person chooses, as the person of every runner does.
fn by_journey(plan: &Plan, device: &Device) -> Vec<(Micros, Deed)> {
    let mut chosen = chosen(device).into_iter();
    let mut inputs = Vec::new();
    let mut at = micros(BEGIN);
    for step in &plan.steps {
        let (key, hold, look) = match step {
            Step::Turn(..) => continue,
            Step::Press(key, hold, look) => (chosen.next().map(|_| *key), *hold, *look),
            Step::Either(_, _, look) => (chosen.next(), 0, *look),
        };
        let key = key.expect("the person walks every step");
        let up = at + u64::from(hold) * 100_000;
        inputs.extend([(at, Deed::Key(Key::Down(key))), (up, Deed::Key(Key::Up(key)))]);
        at = up.max(at + u64::from(look) * 100_000);
    }
    inputs
}

/// The keys that the person presses, in order, wherever that leads.
fn chosen(device: &Device) -> Vec<usize> {
    let mut person = Person::new(device);
    let mut machine = Machine::new(device, device.usage.home, 0);
    person.begin(0, 0);
    let mut keys = Vec::new();
    while let Some(next) = person.next() {
        machine.pass(next);
        while let Some(key) = person.act(device, &machine) {
            if let Key::Down(number) = key {
                keys.push(number);
            }
        }
    }
    keys
}

/// The same steps with the turns of the device's states as the text of a script, and by hand. The first turn comes at an
/// odd time, so that it meets nothing else.
fn by_script(plan: &Plan) -> (String, Vec<(Micros, Deed)>) {
    // Never at a whole second, at which the device's own events come: which of two in one moment is first, nobody states.
    let mut text = String::from("from s0\nat 00:10\nwait 1.7 ms\n");
    let mut inputs = Vec::new();
    let mut at = micros(BEGIN) + 1_700;
    let (mut usb, mut charging, mut link, mut charge) = (false, false, true, 20);
    let on = |is: bool| if is { "on" } else { "off" };
    for step in &plan.steps {
        let (key, hold, look) = match step {
            Step::Turn(turn, look) => {
                at += 37_500;
                text.push_str("wait 37.5 ms\n");
                inputs.push((at, Deed::Turn(*turn)));
                let _ = match turn {
                    Turn::Usb => {
                        (usb, charging) = (!usb, !usb);
                        writeln!(text, "usb {}\ncharging {}", on(usb), on(charging))
                    }
                    Turn::Charging => {
                        charging = !charging;
                        writeln!(text, "charging {}", on(charging))
                    }
                    Turn::Link => {
                        link = !link;
                        writeln!(text, "link {}", if link { "back" } else { "lost" })
                    }
                    Turn::Fuller | Turn::Emptier => {
                        charge = (charge + if *turn == Turn::Fuller { 5 } else { -5 }).clamp(0, 100);
                        writeln!(text, "charge {charge} %")
                    }
                };
                // What comes next comes later.
                at += u64::from(look + 1) * 100_000;
                let _ = writeln!(text, "wait {} ms", (look + 1) * 100);
                continue;
            }
            Step::Press(key, hold, look) => (key, *hold, *look),
            Step::Either(_, [first, _], look) => (first, 0, *look),
        };
        let up = at + u64::from(hold) * 100_000;
        inputs.extend([(at, Deed::Key(Key::Down(*key))), (up, Deed::Key(Key::Up(*key)))]);
        let rest = look.saturating_sub(hold);
        let _ = writeln!(text, "down {0}\nwait {1} ms\nup {0}\nwait {2} ms", key + 1, hold * 100, rest * 100);
        at = up + u64::from(rest) * 100_000;
    }
    // The rest of a second, so that the last answer is seen.
    text.push_str("wait 12 s\n");
    (text, inputs)
}

/// How often each thing of the flow occurred, so that the check does not lose one unseen.
#[derive(Default)]
struct Occurred(BTreeMap<&'static str, usize>);

impl Occurred {
    fn note(&mut self, what: &'static str, happened: bool) {
        *self.0.entry(what).or_default() += usize::from(happened);
    }

    /// What a deed did, from what it found and left.
    fn between(&mut self, device: &Device, before: &State, after: &State, deed: Option<Deed>) {
        let value = |state: &State, name: &str| state.values.of(device.field(name).expect("a field"));
        let moved = |name: &str| value(before, name) != value(after, name);
        let fallen = after.back().len() + 1 == before.back().len() && before.back().last() == Some(&after.screen);
        if let Some(Deed::Key(Key::Down(key))) = deed {
            let press = &device.wirings[before.front().0].keys[key].press;
            let actions = press.actions(&before.values).unwrap_or_default();
            let does = |wanted: &Action| actions.contains(wanted);
            self.note("back", does(&Action::Back) && fallen);
            self.note("cancel that restores", does(&Action::Cancel) && moved("n"));
            self.note("a press whose rule holds anywhere", key == 3 && moved("calls"));
        }
        self.note("an event whose rule holds anywhere", moved("shaken"));
        self.note("a box", after.boxes.len() == 1 && before.boxes.is_empty());
        for (name, what) in [("usb", "USB"), ("charging", "charging"), ("link", "the link"), ("charge", "the charge")] {
            self.note(what, moved(name));
        }
        let opens = |name: &str, state: &State| state.front() == device.screen(name).expect("a box");
        self.note("the box of USB", moved("usb") && opens("b0", after) && !opens("b0", before));
        self.note("the box of a low charge", moved("charge") && opens("b1", after) && !opens("b1", before));
        self.note("the screen of a lost link", value(before, "link") > value(after, "link") && after.boxes.is_empty());
    }
}

/// The deeds at their times in the preview.
fn in_preview(loaded: Loaded, inputs: &[(Micros, Deed)], until: Micros, occurred: &mut Occurred) -> Vec<Seen> {
    let mut session = Session::new(loaded, Begin::Shown);
    let mut seen = Vec::new();
    let mut last = None;
    let mut inputs = inputs.iter().copied().peekable();
    loop {
        if let Some(update) = session.last_update().filter(|update| Some(update.time) != last) {
            let (time, cause, mode) = (micros(update.time), update.cause, update.mode);
            last = Some(update.time);
            seen.push(Seen { time, cause, mode, frame: session.display().clone() });
        }
        let wake = session.wake().unwrap_or(until).min(until);
        let before = session.state().clone();
        let next = inputs.peek().copied().filter(|(time, _)| *time <= wake && *time < until);
        match next {
            Some((time, Deed::Turn(turn))) => {
                inputs.next();
                session.run_to(time, &[]);
                assert!(session.turn(turn));
            }
            Some((time, Deed::Key(_))) => {
                // All keys of one moment go in together, as a person's do.
                let same = |next: &(Micros, Deed)| next.0 == time && matches!(next.1, Deed::Key(_));
                let keys: Vec<Key> = std::iter::from_fn(|| match inputs.next_if(same)? {
                    (_, Deed::Key(key)) => Some(key),
                    _ => None,
                })
                .collect();
                session.run_to(time, &keys);
            }
            None if wake >= until => return seen,
            None => session.run_to(wake, &[]),
        }
        let device = session.device();
        occurred.between(device, &before, session.state(), next.map(|(_, deed)| deed));
    }
}

/// The pictures that stand after each drive, with their times.
fn in_film(device: &Device) -> (Vec<(Micros, Mode, Frame)>, Micros) {
    of_film(&filmstrip::shots(device, 0, 0, Some(BEGIN)), BEGIN)
}

/// The pictures that stand after each drive of these shots, with their times, and when the last shot ends.
pub(crate) fn of_film(shots: &[Shot], begin: Seconds) -> (Vec<(Micros, Mode, Frame)>, Micros) {
    let mut now = micros(begin);
    let mut seen = Vec::new();
    let mut driven: Option<(Micros, Mode)> = None;
    for (place, shot) in shots.iter().enumerate() {
        if shot.step == Showing::Drive && driven.is_none() {
            let mode = if shot.settling.is_some() { Mode::Partial } else { Mode::Full };
            driven = Some((now, mode));
        }
        let next = shots.get(place + 1);
        now += micros(shot.time);
        let ends = shot.step == Showing::Drive && next.is_none_or(|next: &Shot| next.step != Showing::Drive);
        if let (true, Some((at, mode)), Some(next)) = (ends, driven, next) {
            seen.push((at, mode, next.frame.clone()));
            driven = None;
        }
    }
    (seen, now)
}

/// The film shows what was sent: the waveform and the frame, once the drive is over.
fn compare_film(film: &[(Micros, Mode, Frame)], sent: &[Seen]) -> Result<(), TestCaseError> {
    for (at, mode, frame) in film {
        let sent = sent.iter().rfind(|update| update.time <= *at);
        prop_assert!(sent.is_some_and(|sent| sent.frame == *frame && sent.mode == *mode), "film at {at}: {sent:?}");
    }
    // It ends with the person's last look, while the device goes on.
    let last = film.last().map_or(0, |(at, ..)| *at);
    let until = sent.iter().filter(|update| update.time <= last).count();
    prop_assert_eq!(film.len(), until, "of {}", sent.len());
    Ok(())
}

fn the_journey_is_one(plan: &Plan, occurred: &mut Occurred) -> Result<(), TestCaseError> {
    let loaded = project(plan, "");
    let (film, end) = in_film(&loaded.device);
    let simulated = in_simulation(&loaded.device, end);
    compare_film(&film, &simulated)?;
    let inputs = by_journey(plan, &loaded.device);
    let choices = plan.steps.iter().filter_map(|step| match step {
        Step::Either(_, [one, two], _) if one != two => Some(*one),
        _ => None,
    });
    let chosen = chosen(&loaded.device);
    let walked = plan.steps.iter().filter(|step| !matches!(step, Step::Turn(..))).zip(&chosen);
    let taken = walked.filter_map(|(step, key)| match step {
        Step::Either(_, [one, two], _) if one != two => Some(*key),
        _ => None,
    });
    for (first, taken) in choices.zip(taken) {
        occurred.note("the first way of a choice", first == taken);
        occurred.note("the other way of a choice", first != taken);
    }
    let previewed = in_preview(loaded, &inputs, end, occurred);
    let times = |all: &[Seen]| all.iter().map(|one| (one.time, one.cause, one.mode)).collect::<Vec<_>>();
    prop_assert_eq!(times(&previewed), times(&simulated));
    prop_assert!(previewed == simulated, "images differ");
    Ok(())
}

fn the_script_is_one(plan: &Plan, occurred: &mut Occurred) -> Result<(), TestCaseError> {
    let loaded = project(plan, " {charge}");
    let (text, inputs) = by_script(plan);
    let read = script(&loaded.device, "x.script", &text).expect("a script");
    let played = play(&loaded.device, 0, &read);
    let (shots, missed) = filmstrip::script_shots(&loaded.device, 0, &read);
    prop_assert_eq!(missed, vec![]);
    let (film, end) = of_film(&shots, BEGIN);
    let until = micros(BEGIN) + read.inputs.last().map_or(0, |last| last.at);
    prop_assert!(end >= until, "the film ends at {end}");
    // Up to the script's end, itself not.
    let previewed = in_preview(loaded, &inputs, until, occurred);
    let sent: Vec<_> = played.sent.iter().map(|sent| (sent.at, sent.cause, sent.mode)).collect();
    let sent: Vec<_> = sent.into_iter().filter(|(at, ..)| *at < until).collect();
    let times: Vec<_> = previewed.iter().map(|one| (one.time, one.cause, one.mode)).collect();
    prop_assert_eq!(times, sent);
    let film: Vec<_> = film.into_iter().filter(|(at, ..)| *at < until).collect();
    compare_film(&film, &previewed)
}

/// Runs a check on so many random plans, and gives what occurred.
fn on_plans(cases: u32, check: impl Fn(&Plan, &mut Occurred) -> Result<(), TestCaseError>) -> Occurred {
    let occurred = RefCell::new(Occurred::default());
    let config = ProptestConfig { cases, failure_persistence: None, ..ProptestConfig::default() };
    let mut runner = TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    if let Err(failed) = runner.run(&plans(), |plan| check(&plan, &mut occurred.borrow_mut())) {
        panic!("{failed}");
    }
    occurred.into_inner()
}

fn all_occurred(occurred: &Occurred, wanted: &[&str]) {
    let missing: Vec<&&str> =
        wanted.iter().filter(|what| occurred.0.get(**what).is_none_or(|count| *count < 3)).collect();
    assert!(missing.is_empty(), "hardly ever: {missing:?} of {:?}", occurred.0);
}

/// Boxes to the full depth are opened by a script of the product, and by the random scripts that C and Rust share.
const BY_KEYS: [&str; 5] = [
    "back",
    "cancel that restores",
    "a press whose rule holds anywhere",
    "an event whose rule holds anywhere",
    "a box",
];

#[test]
fn random_journeys_give_the_same_updates_in_simulation_preview_and_film() {
    let occurred = on_plans(120, the_journey_is_one);
    all_occurred(&occurred, &BY_KEYS);
    all_occurred(&occurred, &["the first way of a choice", "the other way of a choice"]);
}

#[test]
fn random_scripts_give_the_same_updates_in_play_preview_and_film() {
    let occurred = on_plans(120, the_script_is_one);
    all_occurred(&occurred, &BY_KEYS);
    let states = ["USB", "charging", "the link", "the charge"];
    all_occurred(&occurred, &states);
    all_occurred(&occurred, &["the box of USB", "the box of a low charge", "the screen of a lost link"]);
}

/// A screen with a timer of 10 s stands for 10 s in the film, as in the budget.
#[test]
fn a_timer_ends_in_the_film_as_in_the_budget() {
    let plan = Plan {
        screens: 2,
        keys: vec![[11, 11, 0], [2, 2, 2]],
        timers: vec![None, Some((10, 0))],
        event: vec![None, None],
        except: vec![true, true],
        queue: true,
        steps: vec![Step::Press(0, 0, 576)],
    };
    let loaded = project(&plan, "");
    let shots = filmstrip::shots(&loaded.device, 0, 0, None);
    let caption: Vec<&str> = shots.iter().map(|shot| shot.caption.as_str()).collect();
    assert!(caption.iter().any(|words| words.starts_with("after 10 s")), "{caption:?}");
}

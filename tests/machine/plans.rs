//! Random projects with random scripts for the runners: screens, boxes over boxes, keys, timers, clocks, events, rules that
//! hold anywhere, states of the device, times after something.

use crate::plain::BASE;
use inkjoule::preview::command::Turn;
use inkjoule::project::{Loaded, load_files};
use inkjoule::source::fault::render;
use inkjoule::source::files::Files;
use inkjoule::units::Seconds;
use proptest::prelude::*;
use std::fmt::Write as _;

/// The script begins then. Nothing changes before: the event keeps later hours, the clock is sampled once `n` is above 0.
pub(crate) const BEGIN: Seconds = Seconds(600.0);

/// A random project: screens, boxes over boxes, keys, timers, clocks, events, rules that hold anywhere; and a script.
#[derive(Clone, Debug)]
pub(crate) struct Plan {
    pub(crate) screens: usize,
    /// For each screen and key: what it does.
    pub(crate) keys: Vec<[u8; 3]>,
    /// For each screen: seconds of a timer and where it leads.
    pub(crate) timers: Vec<Option<(u32, usize)>>,
    /// Where the event leads from each screen.
    pub(crate) event: Vec<Option<usize>>,
    /// Screens that are exceptions to the rules that hold anywhere.
    pub(crate) except: Vec<bool>,
    pub(crate) queue: bool,
    pub(crate) steps: Vec<Step>,
}

/// A step of a script: times in tenths of a second.
#[derive(Clone, Debug)]
pub(crate) enum Step {
    /// A key is pressed, or held so long; then one looks.
    Press(usize, u32, u32),
    /// One of two keys, chosen by a chance in percent; then one looks. In a script the first.
    Either(u8, [usize; 2], u32),
    /// A state of the device turns; then one looks. In a script alone.
    Turn(Turn, u32),
}

pub(crate) const KEYS: usize = 4;

pub(crate) fn steps() -> impl Strategy<Value = Step> {
    let look = || 0u32..120;
    prop_oneof![
        6 => (0..KEYS, prop_oneof![Just(0u32), 0u32..15], look()).prop_map(|(key, hold, look)| Step::Press(key, hold, look)),
        1 => (5u8..95, [0..KEYS, 0..KEYS], look()).prop_map(|(chance, keys, look)| Step::Either(chance, keys, look)),
        2 => (0usize..5, look()).prop_map(|(turn, look)| {
            Step::Turn([Turn::Usb, Turn::Charging, Turn::Link, Turn::Fuller, Turn::Emptier][turn], look)
        }),
    ]
}

pub(crate) fn plans() -> impl Strategy<Value = Plan> {
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
pub(crate) fn action(number: u8, screen: usize, screens: usize) -> String {
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

pub(crate) fn device_file(plan: &Plan) -> String {
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
         [fields.ran]\nclock = \"%M:%S\"\nevery = \"1 s\"\nwhile = {{ for = \"2.37 s\", after = {{ key = \"any\" }} }}\n\
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
pub(crate) fn project(plan: &Plan, charge: &str) -> Loaded {
    load(plan, files(plan, charge))
}

/// Where it shows the time.
const CLOCKS: &str = ", { text = \"{clock} {slow} {ran}\", bottom = 16 }";

/// The same without a sight of the time, for pictures that are told without one.
pub(crate) fn timeless(plan: &Plan) -> Loaded {
    let files = files(plan, "").into_iter().map(|(name, text)| (name, text.replace(CLOCKS, "")));
    load(plan, files.collect())
}

fn files(plan: &Plan, charge: &str) -> Vec<(String, String)> {
    let mut files = vec![("device.toml".to_owned(), device_file(plan))];
    for screen in 0..plan.screens {
        let mut text = format!(
            "edit = [\"n\"]\ncontent = [ {{ text = \"{}\", left = 16, top = 16 }}, {{ value = \"n\" }}, {{ text = \"{{shaken}} {{calls}} {{usb}} {{link}}{charge}\", top = 16 }}{CLOCKS} ]\n[keys]\n",
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
    files
}

fn load(plan: &Plan, files: Vec<(String, String)>) -> Loaded {
    load_files(Files::from_memory(files)).unwrap_or_else(|failed| {
        let said = render(&failed.faults, &failed.sources, false);
        panic!("{said}\n{plan:?}")
    })
}

/// As many as may lie over one another.
pub(crate) const BOXES: usize = 4;
